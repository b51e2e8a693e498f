//! Undo and redo: snapshots of the document with the name of the edit between them. Readings are kept only where they
//! differ from those of the document beside it: two hundred whole copies of a machine's scan would not fit into memory.

use std::sync::Arc;

use jiff::civil::Date;

use crate::station::{Edit, Reading, Refused, Station};

/// Steps that can be undone; older ones are let go.
const MOST_STEPS: usize = 200;

/// Edits with the same gesture number become one step: one drag, one slide.
pub type Gesture = u64;

struct Step {
    /// The document on the other side of the step.
    other: Beside,
    name: String,
    gesture: Option<Gesture>,
}

/// A document as it differs from the one on this side of a step.
struct Beside {
    /// All but the readings.
    rest: Station,
    /// For each survey its readings.
    readings: Vec<Differing>,
}

/// A list of readings: so many as the other list begins with, those between, so many as it ends with.
struct Differing {
    head: usize,
    between: Vec<Reading>,
    tail: usize,
}

impl Beside {
    fn of(other: Arc<Station>, here: &Station) -> Self {
        let mut rest = Arc::unwrap_or_clone(other);
        let lists = rest.surveys.iter_mut().enumerate();
        let readings = lists.map(|(i, survey)| {
            let list = std::mem::take(&mut survey.readings);
            let here = here.surveys.get(i).map_or(&[][..], |s| &s.readings);
            Differing::of(list, here)
        });
        let readings = readings.collect();
        Self { rest, readings }
    }

    fn restored(self, here: &Station) -> Arc<Station> {
        let mut station = self.rest;
        let lists = station.surveys.iter_mut().zip(self.readings).enumerate();
        for (i, (survey, differing)) in lists {
            let here = here.surveys.get(i).map_or(&[][..], |s| &s.readings);
            survey.readings = differing.restored(here);
        }
        Arc::new(station)
    }
}

impl Differing {
    fn of(mut list: Vec<Reading>, here: &[Reading]) -> Self {
        let head = list.iter().zip(here).take_while(|(a, b)| a == b).count();
        let ends = list[head..].iter().rev().zip(here[head..].iter().rev());
        let tail = ends.take_while(|(a, b)| a == b).count();
        list.truncate(list.len() - tail);
        let between = list.split_off(head);
        Self {
            head,
            between,
            tail,
        }
    }

    fn restored(self, here: &[Reading]) -> Vec<Reading> {
        let (head, tail) = (&here[..self.head], &here[here.len() - self.tail..]);
        [head, &self.between, tail].concat()
    }
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
            // what the gesture began from is beside what it has led to by now
            if let Some(step) = self.undo.pop() {
                let other = step.other.restored(&before);
                let other = Beside::of(other, &self.now);
                self.undo.push(Step { other, ..step });
            }
        } else {
            self.undo.push(Step {
                other: Beside::of(before, &self.now),
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
            other: Beside::of(before, &self.now),
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
            Some(step) => {
                self.now = step.other.restored(&self.now);
                true
            }
            None => false,
        }
    }

    fn step(now: &mut Arc<Station>, from: &mut Vec<Step>, to: &mut Vec<Step>) -> bool {
        let Some(step) = from.pop() else {
            return false;
        };
        let other = step.other.restored(now);
        let left = std::mem::replace(now, other);
        to.push(Step {
            other: Beside::of(left, now),
            name: step.name,
            // A gesture that was undone is over.
            gesture: None,
        });
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Place;

    fn list(values: &[f64]) -> Vec<Reading> {
        let at = Place::new(1.0, 2.0, 3.0);
        values.iter().map(|&v| Reading::new(at, Some(v))).collect()
    }

    #[test]
    fn what_differs_gives_the_list_back() {
        let lists = [
            vec![],
            vec![1.0],
            vec![1.0, 1.0],
            vec![1.0, 2.0, 3.0],
            vec![1.0, 3.0],
            vec![1.0, 2.0, 2.0, 3.0],
            vec![4.0, 2.0, 3.0],
            vec![5.0, 6.0],
        ];
        for one in &lists {
            for other in &lists {
                let (one, other) = (list(one), list(other));
                let differing = Differing::of(one.clone(), &other);
                assert_eq!(differing.restored(&other), one);
            }
        }
    }

    #[test]
    fn of_a_long_list_only_what_differs_is_kept() {
        let long: Vec<f64> = (0..1000).map(f64::from).collect();
        let mut changed = long.clone();
        changed[500] = -1.0;
        changed.insert(501, -2.0);
        let differing = Differing::of(list(&long), &list(&changed));
        assert_eq!((differing.head, differing.tail), (500, 499));
        assert_eq!(differing.between, list(&[500.0]));
        assert!(differing.between.capacity() < 10);
    }
}
