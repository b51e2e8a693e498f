//! Work in the background. The one who asks keeps a [`Latest`] (newest request wins) or a [`Job`]
//! (runs to its end unless cancelled) and looks at it once a frame; a plain closure wakes the window
//! when there is something to see. A panic in the work becomes a failure that can be shown.

mod pool;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use crate::progress::{Cancelled, Progress};
use pool::{Pool, Takes};

/// Called from the worker's thread when there is something new to look at.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// What background work ended with: a value, or why not as a sentence for the person; `None` when it
/// was cancelled.
type Ending<T> = Option<Result<T, String>>;

/// One piece of work that runs to its end unless it is cancelled.
pub struct Job<T> {
    progress: Progress,
    ending: Receiver<Ending<T>>,
}

/// What a [`Job`] has to say at a look.
#[derive(Debug, PartialEq)]
pub enum Look<T> {
    /// Still at it.
    Working,
    /// Ended with a value, or with a sentence of what went wrong.
    Ended(Result<T, String>),
    /// Ended because it was cancelled.
    Cancelled,
}

impl<T: Send + 'static> Job<T> {
    /// Starts the work on a thread of its own. It returns `None` when it stops because `progress` was
    /// cancelled.
    pub fn start(
        wake: Wake,
        work: impl FnOnce(&Progress) -> Option<Result<T, String>> + Send + 'static,
    ) -> Self {
        let (job, task) = Self::with(wake, work);
        let started = std::thread::Builder::new().name("job".into()).spawn(task);
        if let Err(error) = started {
            log::error!("no thread could be started: {error}");
        }
        job
    }

    /// Has the work done on one of the few threads for questions.
    fn queue(takes: Takes, wake: Wake, work: Work<T>) -> Self {
        let (job, task) = Self::with(wake, |progress| match progress.check() {
            Ok(()) => work(progress),
            // not wanted any more before its turn came
            Err(Cancelled) => None,
        });
        Pool::of_program().run(takes, Box::new(task));
        job
    }

    /// The job, and what is to be done for it.
    fn with(
        wake: Wake,
        work: impl FnOnce(&Progress) -> Option<Result<T, String>> + Send + 'static,
    ) -> (Self, impl FnOnce() + Send + 'static) {
        let progress = Progress::new();
        let (sender, ending) = channel();
        let inner = progress.clone();
        let task = move || {
            let ended = catch_unwind(AssertUnwindSafe(|| work(&inner))).unwrap_or_else(|panic| {
                let what = panic
                    .downcast_ref::<String>()
                    .map(String::as_str)
                    .or_else(|| panic.downcast_ref::<&str>().copied())
                    .unwrap_or("no details");
                log::error!("a computation failed: {what}");
                Some(Err(
                    "This computation failed inside the program; your work is safe. Save it and report what you did last"
                        .into(),
                ))
            });
            // Nobody listens any more when the asker is gone; that is fine.
            let _ = sender.send(ended);
            wake();
        };
        (Self { progress, ending }, task)
    }

    /// Whether it has ended, and with what. The value is given out once.
    pub fn look(&self) -> Look<T> {
        match self.ending.try_recv() {
            Ok(Some(result)) => Look::Ended(result),
            Ok(None) => Look::Cancelled,
            Err(TryRecvError::Empty) => Look::Working,
            Err(TryRecvError::Disconnected) => Look::Ended(Err(
                "The computation could not be started; close other programs and try again".into(),
            )),
        }
    }

    /// Asks it to stop at its next check.
    pub fn cancel(&self) {
        self.progress.cancel();
    }

    /// How far it is, from 0 to 1.
    pub fn fraction(&self) -> f64 {
        self.progress.fraction()
    }
}

impl<T> Drop for Job<T> {
    fn drop(&mut self) {
        self.progress.cancel();
    }
}

type Work<T> = Box<dyn FnOnce(&Progress) -> Ending<T> + Send>;

/// A slot for one kind of answer. Asking again with an equal key costs nothing; asking with another
/// key cancels what runs and starts anew when that has stopped, so that no two of a slot ever compete
/// for the processor.
pub struct Latest<K, T> {
    wake: Wake,
    takes: Takes,
    answer: Option<(K, T)>,
    failure: Option<(K, String)>,
    running: Option<(K, Job<T>)>,
    next: Option<(K, Work<T>)>,
}

/// What a [`Latest`] holds now.
#[derive(Debug, PartialEq)]
pub enum Held<'a, T> {
    /// Nothing was asked, or it was forgotten.
    Nothing,
    /// The answer to the newest question.
    Current(&'a T),
    /// The newest question is being worked on; the answer to an older one, if any, and how far it is.
    Updating(Option<&'a T>, f64),
    /// The newest question has no answer: why, and the answer to an older one, if any.
    Failed(&'a str, Option<&'a T>),
}

// By hand, for the derived ones would want `T: Copy` though only a reference is copied.
impl<T> Clone for Held<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Held<'_, T> {}

impl<'a, T> Held<'a, T> {
    /// The newest answer there is, current or old.
    pub fn any(self) -> Option<&'a T> {
        match self {
            Self::Nothing => None,
            Self::Current(value) => Some(value),
            Self::Updating(old, _) | Self::Failed(_, old) => old,
        }
    }

    /// The answer, if it is the answer to the newest question.
    pub fn current(self) -> Option<&'a T> {
        match self {
            Self::Current(value) => Some(value),
            _ => None,
        }
    }

    /// The same of a part of it.
    pub fn map<U>(self, part: impl Fn(&'a T) -> &'a U) -> Held<'a, U> {
        match self {
            Self::Nothing => Held::Nothing,
            Self::Current(value) => Held::Current(part(value)),
            Self::Updating(old, fraction) => Held::Updating(old.map(part), fraction),
            Self::Failed(why, old) => Held::Failed(why, old.map(part)),
        }
    }

    /// Whether work goes on.
    pub fn is_updating(self) -> bool {
        matches!(self, Self::Updating(..))
    }
}

impl<K: PartialEq + Clone, T: Send + 'static> Latest<K, T> {
    /// An empty slot for answers that are soon there.
    pub fn new(wake: Wake) -> Self {
        Self::taking(Takes::Little, wake)
    }

    /// An empty slot for answers that take long: others need not wait for them.
    pub fn long(wake: Wake) -> Self {
        Self::taking(Takes::Long, wake)
    }

    fn taking(takes: Takes, wake: Wake) -> Self {
        Self {
            wake,
            takes,
            answer: None,
            failure: None,
            running: None,
            next: None,
        }
    }

    /// Asks for the answer to `key`; `work` is built only when it has to be done.
    pub fn ask<W>(&mut self, key: K, work: impl FnOnce() -> W)
    where
        W: FnOnce(&Progress) -> Option<Result<T, String>> + Send + 'static,
    {
        self.ask_after(|_| false, key, work);
    }

    /// As [`ask`](Self::ask), but what runs is let end where `kept` says so of its question. A question that a moving
    /// hand changes each frame would else stop every answer that takes longer than a frame, and none would ever come.
    pub fn ask_after<W>(&mut self, kept: impl FnOnce(&K) -> bool, key: K, work: impl FnOnce() -> W)
    where
        W: FnOnce(&Progress) -> Option<Result<T, String>> + Send + 'static,
    {
        if self.newest() == Some(&key) {
            return;
        }
        if self.running.is_none() && self.answer.as_ref().is_some_and(|(k, _)| *k == key) {
            // back to the question that was answered before a failure
            self.failure = None;
            return;
        }
        self.next = Some((key, Box::new(work())));
        if let Some((running, job)) = &self.running
            && !kept(running)
        {
            job.cancel();
        }
        self.collect();
    }

    /// The newest question.
    fn newest(&self) -> Option<&K> {
        let asked = self.next.as_ref().map(|(k, _)| k);
        let running = self.running.as_ref().map(|(k, _)| k);
        let failed = self.failure.as_ref().map(|(k, _)| k);
        asked
            .or(running)
            .or(failed)
            .or(self.answer.as_ref().map(|(k, _)| k))
    }

    /// Takes in what has ended and starts what waits. To be called once a frame.
    pub fn collect(&mut self) {
        if let Some((key, job)) = &self.running {
            match job.look() {
                Look::Working => return,
                Look::Cancelled => {}
                Look::Ended(Ok(value)) => {
                    self.answer = Some((key.clone(), value));
                    self.failure = None;
                }
                Look::Ended(Err(why)) => self.failure = Some((key.clone(), why)),
            }
            self.running = None;
        }
        if let Some((key, work)) = self.next.take() {
            let job = Job::queue(self.takes, self.wake.clone(), work);
            self.running = Some((key, job));
        }
    }

    /// What there is to show.
    pub fn held(&self) -> Held<'_, T> {
        let old = self.answer.as_ref().map(|(_, value)| value);
        if let Some((_, job)) = &self.running {
            Held::Updating(old, job.fraction())
        } else if let Some((_, why)) = &self.failure {
            Held::Failed(why, old)
        } else {
            old.map_or(Held::Nothing, Held::Current)
        }
    }

    /// The question that [`held`](Self::held)'s answer belongs to.
    pub fn answered(&self) -> Option<&K> {
        self.answer.as_ref().map(|(k, _)| k)
    }

    /// Forgets everything and stops what runs.
    pub fn forget(&mut self) {
        self.answer = None;
        self.failure = None;
        self.running = None;
        self.next = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;
    use std::time::Duration;

    fn wake() -> (Wake, mpsc::Receiver<()>) {
        let (sender, receiver) = mpsc::channel();
        let sender = std::sync::Mutex::new(sender);
        let wake = move || {
            let _ = sender.lock().expect("never poisoned").send(());
        };
        (Arc::new(wake), receiver)
    }

    fn settle<K: PartialEq + Clone, T: Send + 'static>(
        slot: &mut Latest<K, T>,
        woken: &mpsc::Receiver<()>,
    ) {
        while slot.held().is_updating() {
            woken.recv_timeout(Duration::from_secs(20)).expect("woken");
            slot.collect();
        }
    }

    #[test]
    fn the_newest_request_wins_and_the_older_one_is_stopped() {
        let (wake, woken) = wake();
        let mut slot: Latest<u32, u32> = Latest::new(wake);
        slot.ask(1, || {
            |progress: &Progress| {
                while progress.check().is_ok() {
                    std::thread::sleep(Duration::from_millis(1));
                }
                None
            }
        });
        slot.ask(2, || |_: &Progress| Some(Ok(20)));
        settle(&mut slot, &woken);
        assert_eq!(slot.held(), Held::Current(&20));
    }

    #[test]
    fn a_question_that_changes_each_frame_has_answers_where_it_lets_them_end() {
        let (wake, woken) = wake();
        let mut slot: Latest<u32, u32> = Latest::new(wake);
        let slow = |n: u32| {
            move |progress: &Progress| {
                std::thread::sleep(Duration::from_millis(20));
                progress.check().ok()?;
                Some(Ok(n))
            }
        };
        for n in 1..=3 {
            slot.ask_after(|_| true, n, || slow(n));
        }
        woken.recv_timeout(Duration::from_secs(20)).expect("woken");
        slot.collect();
        assert_eq!(slot.held(), Held::Updating(Some(&1), 0.0));
        settle(&mut slot, &woken);
        assert_eq!(slot.held(), Held::Current(&3));
    }

    #[test]
    fn equal_questions_are_not_worked_on_twice() {
        let (wake, woken) = wake();
        let mut slot: Latest<u32, u32> = Latest::new(wake);
        slot.ask(1, || |_: &Progress| Some(Ok(10)));
        settle(&mut slot, &woken);
        slot.ask(1, || |_: &Progress| Some(Err("asked twice".into())));
        assert_eq!(slot.held(), Held::Current(&10));
    }

    #[test]
    fn a_failure_keeps_the_old_answer_and_a_panic_is_a_failure() {
        let (wake, woken) = wake();
        let mut slot: Latest<u32, u32> = Latest::new(wake);
        slot.ask(1, || |_: &Progress| Some(Ok(10)));
        settle(&mut slot, &woken);
        slot.ask(2, || {
            |_: &Progress| -> Option<Result<u32, String>> { panic!("on purpose") }
        });
        settle(&mut slot, &woken);
        assert!(matches!(slot.held(), Held::Failed(_, Some(&10))));
        slot.ask(1, || |_: &Progress| Some(Err("asked twice".into())));
        assert_eq!(slot.held(), Held::Current(&10));
    }
}
