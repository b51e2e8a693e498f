//! The threads that questions are answered on: a few for the whole program, begun when they are first needed. Files have
//! threads of their own (see [`Job::start`](super::Job::start)): a disk that hangs must not keep answers waiting.

use std::collections::VecDeque;
use std::num::NonZero;
use std::sync::{Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::thread;

/// Work that takes long never has so many of the threads: what is soon there has not to wait for it.
const KEPT_FREE: usize = 2;

/// How long work takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Takes {
    /// Little beside what a person notices.
    Little,
    /// Much longer than that.
    Long,
}

type Task = Box<dyn FnOnce() + Send>;

/// Threads that share what there is to do.
pub(super) struct Pool {
    most: usize,
    state: Mutex<PoolState>,
    more: Condvar,
}

#[derive(Default)]
struct PoolState {
    little: VecDeque<Task>,
    long: VecDeque<Task>,
    threads: usize,
    idle: usize,
    /// Threads at work that takes long.
    at_long: usize,
}

impl Pool {
    /// The one of the program.
    pub(super) fn of_program() -> &'static Self {
        static POOL: OnceLock<Pool> = OnceLock::new();
        POOL.get_or_init(|| {
            let cores = thread::available_parallelism().map_or(1, NonZero::get);
            Self::new(cores + KEPT_FREE)
        })
    }

    fn new(most: usize) -> Self {
        Self {
            most,
            state: Mutex::default(),
            more: Condvar::new(),
        }
    }

    /// Has work done, as soon as a thread is free; work that panics must catch that itself. Without any thread the work
    /// is dropped undone.
    pub(super) fn run(&'static self, takes: Takes, task: Task) {
        let mut state = self.state();
        match takes {
            Takes::Little => state.little.push_back(task),
            Takes::Long => state.long.push_back(task),
        }
        let waiting = state.little.len() + state.long.len();
        if waiting > state.idle && state.threads < self.most {
            let begun = thread::Builder::new()
                .name("work".into())
                .spawn(move || self.work());
            match begun {
                Ok(_) => state.threads += 1,
                Err(error) => {
                    log::error!("no thread could be started: {error}");
                    if state.threads == 0 {
                        let PoolState { little, long, .. } = &mut *state;
                        little.clear();
                        long.clear();
                    }
                }
            }
        }
        self.more.notify_one();
    }

    /// Nothing panics while the state is held: a poisoned one is as good as any.
    fn state(&self) -> MutexGuard<'_, PoolState> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What a thread does for as long as the program runs.
    fn work(&self) {
        let mut state = self.state();
        loop {
            if let Some(task) = state.little.pop_front() {
                drop(state);
                task();
                state = self.state();
            } else if state.at_long + KEPT_FREE < self.most
                && let Some(task) = state.long.pop_front()
            {
                state.at_long += 1;
                drop(state);
                task();
                state = self.state();
                state.at_long -= 1;
                // one that looked while all that may were at it waits
                self.more.notify_one();
            } else {
                state.idle += 1;
                state = self
                    .more
                    .wait(state)
                    .unwrap_or_else(PoisonError::into_inner);
                state.idle -= 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::{Receiver, Sender, channel};
    use std::time::Duration;

    /// A task that says its number when it begins and ends when it is told to.
    fn told_to_end(number: u32, begun: &Sender<u32>) -> (Sender<()>, Task) {
        let (end, told): (Sender<()>, Receiver<()>) = channel();
        let begun = begun.clone();
        let task = move || {
            begun.send(number).expect("heard");
            told.recv().expect("told");
        };
        (end, Box::new(task))
    }

    #[test]
    fn what_is_soon_there_does_not_wait_for_what_takes_long() {
        let pool: &'static Pool = Box::leak(Box::new(Pool::new(2 + KEPT_FREE)));
        let (begun, begins) = channel();
        let next = || {
            begins
                .recv_timeout(Duration::from_secs(20))
                .expect("begins")
        };
        let ends: Vec<Sender<()>> = (0..4)
            .map(|number| {
                let (end, task) = told_to_end(number, &begun);
                pool.run(Takes::Long, task);
                end
            })
            .collect();
        let mut first = [next(), next()];
        first.sort_unstable();
        assert_eq!(first, [0, 1]);
        for number in 10..12 {
            let (end, task) = told_to_end(number, &begun);
            pool.run(Takes::Little, task);
            assert_eq!(next(), number, "before those that wait");
            end.send(()).expect("it waits for that");
        }
        for number in [0, 1] {
            ends[number as usize].send(()).expect("it waits for that");
            assert_eq!(next(), number + 2);
        }
        assert!(pool.state().threads <= 4);
        ends[2..]
            .iter()
            .for_each(|end| end.send(()).expect("it waits for that"));
    }

    #[test]
    fn threads_are_used_again() {
        let pool: &'static Pool = Box::leak(Box::new(Pool::new(8)));
        let (said, hears) = channel();
        for number in 0..50 {
            let said = said.clone();
            pool.run(
                Takes::Little,
                Box::new(move || said.send(number).expect("heard")),
            );
            assert_eq!(hears.recv_timeout(Duration::from_secs(20)), Ok(number));
        }
        // one that has just ended may not wait yet when the next task comes
        assert!(pool.state().threads <= 8);
    }
}
