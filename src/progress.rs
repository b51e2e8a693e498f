//! How far long work is, and whether it should stop. Nothing here knows threads or windows: the one
//! who starts the work keeps a clone and reads it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

/// Shared between the one who works and the one who waits. Clones speak of the same work.
#[derive(Debug, Clone, Default)]
pub struct Progress {
    shared: Arc<Shared>,
    /// What this is a part of.
    whole: Option<Box<Progress>>,
}

#[derive(Debug, Default)]
struct Shared {
    stop: AtomicBool,
    per_mille: AtomicU32,
}

/// The work was asked to stop and did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cancelled;

impl std::fmt::Display for Cancelled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("cancelled")
    }
}

impl std::error::Error for Cancelled {}

impl Progress {
    /// Work that has not begun and nobody has stopped.
    pub fn new() -> Self {
        Self::default()
    }

    /// Says how far the work is, from 0 to 1.
    pub fn set(&self, fraction: f64) {
        let per_mille = (fraction.clamp(0.0, 1.0) * 1000.0) as u32;
        self.shared.per_mille.store(per_mille, Ordering::Relaxed);
    }

    /// How far the work is, from 0 to 1.
    pub fn fraction(&self) -> f64 {
        f64::from(self.shared.per_mille.load(Ordering::Relaxed)) / 1000.0
    }

    /// Asks the work to stop at its next check.
    pub fn cancel(&self) {
        self.shared.stop.store(true, Ordering::Relaxed);
    }

    /// Whether the work was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.shared.stop.load(Ordering::Relaxed)
            || self
                .whole
                .as_ref()
                .is_some_and(|whole| whole.is_cancelled())
    }

    /// For a part of the work: stopped with it, but with a fraction of its own.
    pub fn part(&self) -> Self {
        Self {
            shared: Arc::new(Shared::default()),
            whole: Some(Box::new(self.clone())),
        }
    }

    /// To be called inside every long loop, with `?`.
    ///
    /// # Errors
    /// [`Cancelled`] once [`cancel`](Self::cancel) was called.
    pub fn check(&self) -> Result<(), Cancelled> {
        if self.is_cancelled() {
            Err(Cancelled)
        } else {
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clone_stops_the_same_work() {
        let work = Progress::new();
        let waiting = work.clone();
        assert_eq!(work.check(), Ok(()));
        waiting.cancel();
        assert_eq!(work.check(), Err(Cancelled));
        work.set(0.25);
        assert_eq!(waiting.fraction(), 0.25);
    }
}
