//! Orders of one kind: carried out one at a time, in the order in which they were given. None replaces another, and what
//! became of one is told with the order itself.

use std::collections::VecDeque;

use crate::work::{Job, Look};

/// What an order came to: a value, or why not in a sentence; `None` when it was cancelled.
pub(super) type Ending<D> = Option<Result<D, String>>;

pub(super) struct Lane<O, D> {
    running: Option<(O, Job<D>)>,
    /// What the person is asked about: nothing else is begun before the answer.
    asked: Option<O>,
    waiting: VecDeque<O>,
}

impl<O, D> Default for Lane<O, D> {
    fn default() -> Self {
        Self {
            running: None,
            asked: None,
            waiting: VecDeque::new(),
        }
    }
}

impl<O, D: Send + 'static> Lane<O, D> {
    /// Those that wait for their turn.
    pub fn waiting(&mut self) -> &mut VecDeque<O> {
        &mut self.waiting
    }

    /// The order whose turn it is, if none runs and none is asked about.
    pub fn next(&mut self) -> Option<O> {
        let is_free = self.running.is_none() && self.asked.is_none();
        is_free.then(|| self.waiting.pop_front()).flatten()
    }

    /// An order is being carried out.
    pub fn run(&mut self, order: O, job: Job<D>) {
        self.running = Some((order, job));
    }

    /// The order that has ended since the last look, and with what.
    pub fn ended(&mut self) -> Option<(O, Ending<D>)> {
        let (_, job) = self.running.as_ref()?;
        let ending = match job.look() {
            Look::Working => return None,
            Look::Cancelled => None,
            Look::Ended(result) => Some(result),
        };
        let (order, _) = self.running.take()?;
        Some((order, ending))
    }

    /// The person is asked about an order.
    pub fn ask_about(&mut self, order: O) {
        self.asked = Some(order);
    }

    /// The order that the person was asked about.
    pub fn answered(&mut self) -> Option<O> {
        self.asked.take()
    }

    /// The order that is being carried out, and how far it is.
    pub fn running(&self) -> Option<(&O, f64)> {
        let (order, job) = self.running.as_ref()?;
        Some((order, job.fraction()))
    }

    /// Whether there is nothing to do, to wait for or to answer.
    pub fn is_idle(&self) -> bool {
        self.running.is_none() && self.asked.is_none() && self.waiting.is_empty()
    }

    /// Asks what runs to stop.
    pub fn cancel(&self) {
        if let Some((_, job)) = &self.running {
            job.cancel();
        }
    }
}
