//! Undo and redo: for each edit the document before it, told by what it differs in from the one after it.

use std::sync::Arc;

use jiff::civil::Date;

use crate::station::{Difference, Edit, Refused, Station};

/// Steps that can be undone; older ones are let go.
const MOST_STEPS: usize = 200;

/// Edits with the same gesture number become one step: one drag, one slide.
pub type Gesture = u64;

struct Step {
    /// The document on the other side of the step.
    other: Difference,
    name: String,
    gesture: Option<Gesture>,
}

/// The document and the way back.
pub struct History {
    now: Arc<Station>,
    undo: Vec<Step>,
    redo: Vec<Step>,
}

impl History {
    /// A document without a past.
    pub fn new(station: Arc<Station>) -> Self {
        Self {
            now: station,
            undo: Vec::new(),
            redo: Vec::new(),
        }
    }

    /// The document.
    pub fn now(&self) -> &Arc<Station> {
        &self.now
    }

    /// Makes a change on a day. Whether the document is another one afterwards: an edit that changes nothing
    /// leaves no step.
    ///
    /// # Errors
    /// [`Refused`]; the document is then as it was.
    pub fn apply(
        &mut self,
        edit: Edit,
        gesture: Option<Gesture>,
        day: Date,
    ) -> Result<bool, Refused> {
        let name = edit.name(&self.now);
        let mut next = Station::clone(&self.now);
        next.apply_on(edit, Some(day))?;
        if next == *self.now {
            return Ok(false);
        }
        let before = std::mem::replace(&mut self.now, Arc::new(next));
        self.redo.clear();
        let same_gesture =
            gesture.is_some() && self.undo.last().is_some_and(|s| s.gesture == gesture);
        if same_gesture {
            // what the gesture began from, told by what it has led to by now
            if let Some(step) = self.undo.last_mut()
                && let Some(began) = step.other.restored(&before)
            {
                step.other = Difference::of(&began, &self.now);
            }
        } else {
            self.undo.push(Step {
                other: Difference::of(&before, &self.now),
                name,
                gesture,
            });
            if self.undo.len() > MOST_STEPS {
                self.undo.remove(0);
            }
        }
        Ok(true)
    }

    /// Puts another document in place of this one, as one step of that name.
    pub(super) fn put(&mut self, station: Arc<Station>, name: &str) {
        self.redo.clear();
        let before = std::mem::replace(&mut self.now, station);
        self.undo.push(Step {
            other: Difference::of(&before, &self.now),
            name: name.to_owned(),
            gesture: None,
        });
    }

    /// What undo would take back.
    pub fn undo_name(&self) -> Option<&str> {
        self.undo.last().map(|s| s.name.as_str())
    }

    /// What redo would make again.
    pub fn redo_name(&self) -> Option<&str> {
        self.redo.last().map(|s| s.name.as_str())
    }

    /// Takes the last step back; whether there was one.
    pub fn undo(&mut self) -> bool {
        Self::step(&mut self.now, &mut self.undo, &mut self.redo)
    }

    /// Makes the step last taken back again; whether there was one.
    pub fn redo(&mut self) -> bool {
        Self::step(&mut self.now, &mut self.redo, &mut self.undo)
    }

    /// Goes back to before a gesture that is still going on, as if it had never begun; whether there was
    /// anything to go back over.
    pub fn give_up(&mut self, gesture: Gesture) -> bool {
        match self.undo.pop_if(|step| step.gesture == Some(gesture)) {
            Some(step) => Self::restore(&mut self.now, &step.other).is_some(),
            None => false,
        }
    }

    /// Puts the document on the other side in place of this one, which is given back.
    fn restore(now: &mut Arc<Station>, other: &Difference) -> Option<Arc<Station>> {
        let other = other.restored(now)?;
        Some(std::mem::replace(now, Arc::new(other)))
    }

    fn step(now: &mut Arc<Station>, from: &mut Vec<Step>, to: &mut Vec<Step>) -> bool {
        let Some(step) = from.pop() else {
            return false;
        };
        let Some(left) = Self::restore(now, &step.other) else {
            return false;
        };
        to.push(Step {
            other: Difference::of(&left, now),
            name: step.name,
            // A gesture that was undone is over.
            gesture: None,
        });
        true
    }
}
