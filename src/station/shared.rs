//! Parts of a document that several versions of it hold together.

use std::ops::{Deref, DerefMut};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// A part that is held by every version of the document in which it stayed the same: undo, what is saved, what is
/// computed. A clone is a pointer. Writing copies it first where somebody else holds it too. Two are equal at once when
/// they are the same one in memory, else by value.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Shared<T>(Arc<T>);

impl<T> Shared<T> {
    /// Whether both are the same one in memory.
    pub fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl<T> Clone for Shared<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T> From<T> for Shared<T> {
    fn from(value: T) -> Self {
        Self(Arc::new(value))
    }
}

impl<T> Deref for Shared<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.0
    }
}

impl<T: Clone> DerefMut for Shared<T> {
    fn deref_mut(&mut self) -> &mut T {
        Arc::make_mut(&mut self.0)
    }
}

impl<T: PartialEq> PartialEq for Shared<T> {
    fn eq(&self, other: &Self) -> bool {
        self.is(other) || *self.0 == *other.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clone_is_the_same_one_until_it_is_written() {
        let one = Shared::from(vec![1.0]);
        let mut other = one.clone();
        assert!(one.is(&other));
        other[0] = 2.0;
        assert!(!one.is(&other) && one != other);
        assert_eq!(*one, [1.0]);
        other[0] = 1.0;
        assert!(!one.is(&other) && one == other);
        // the same one needs no look at what it holds
        let none = Shared::from(f64::NAN);
        assert_eq!(none, none.clone());
    }
}
