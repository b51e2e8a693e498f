//! What questions that are worked on in the background have in common.

use std::sync::Arc;

use crate::assess::NoAnswer;
use crate::work::Held;

/// A shared value by identity: two are the same when they are the same value in memory.
#[derive(Debug)]
pub struct Same<T>(pub Arc<T>);

impl<T> Clone for Same<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// What a slot holds that is asked once another one has its answer: older than that until then, and nothing at all where
/// that one has none, for an older picture would be one of something else.
pub(super) fn after<'a, T>(before: Held<'a, impl Sized>, held: Held<'a, T>) -> Held<'a, T> {
    match before {
        Held::Current(_) => held,
        Held::Updating(_, fraction) => Held::Updating(held.any(), fraction),
        Held::Failed(why, _) => Held::Failed(why, None),
        Held::Nothing => Held::Nothing,
    }
}

/// A computation's end as background work says it.
pub(super) fn told<T>(result: Result<T, NoAnswer>) -> Option<Result<T, String>> {
    match result {
        Ok(value) => Some(Ok(value)),
        Err(NoAnswer::Cancelled) => None,
        Err(NoAnswer::Missing(what)) => Some(Err(what)),
    }
}
