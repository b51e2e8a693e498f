//! Undo and redo: for each edit the document before it. Versions of the document share the surveys that stayed the
//! same; of a long survey that did not only what differs is kept.

use std::sync::Arc;

use jiff::civil::Date;

use crate::station::{Difference, Edit, Refused, Shared, Station, Survey};

/// Steps that can be undone; older ones are let go.
const MOST_STEPS: usize = 200;

/// Edits with the same gesture number become one step: one drag, one slide.
pub type Gesture = u64;

/// Readings from which on a changed survey is told by what differs. Two hundred whole copies of a machine's scan would
/// not fit into memory.
const LONG: usize = 5_000;

struct Step {
    /// The document on the other side of the step.
    other: Other,
    name: String,
    gesture: Option<Gesture>,
}

/// A document on the other side of a step.
enum Other {
    /// It shares with this one what is the same.
    Held(Arc<Station>),
    /// By what it differs in from this one.
    Told(Difference),
}

impl Other {
    fn of(other: &Arc<Station>, now: &Station) -> Self {
        let surveys = other.surveys.iter().zip(&now.surveys);
        let is_long_and_changed = |(other, now): (&Shared<Survey>, &Shared<Survey>)| {
            other.readings.len() >= LONG && !other.is(now)
        };
        if other.surveys.len() == now.surveys.len() && surveys.into_iter().any(is_long_and_changed)
        {
            Self::Told(Difference::of(other, now))
        } else {
            Self::Held(other.clone())
        }
    }

    /// `None`: it does not belong to the document that is now.
    fn restored(&self, now: &Station) -> Option<Arc<Station>> {
        match self {
            Self::Held(station) => Some(station.clone()),
            Self::Told(difference) => difference.restored(now).map(Arc::new),
        }
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
            // what the gesture began from, beside what it has led to by now
            if let Some(step) = self.undo.last_mut()
                && let Some(began) = step.other.restored(&before)
            {
                step.other = Other::of(&began, &self.now);
            }
        } else {
            self.undo.push(Step {
                other: Other::of(&before, &self.now),
                name,
                gesture,
            });
            if self.undo.len() > MOST_STEPS {
                self.undo.remove(0);
            }
        }
        Ok(true)
    }

    /// Ends the gesture of the last step: what a gesture of the same number does from now on is a step of its own. Numbers
    /// count within one run of the program, and a journal may come from another one.
    pub(super) fn end_gesture(&mut self) {
        if let Some(step) = self.undo.last_mut() {
            step.gesture = None;
        }
    }

    /// Puts another document in place of this one, as one step of that name.
    pub(super) fn put(&mut self, station: Arc<Station>, name: &str) {
        self.redo.clear();
        let before = std::mem::replace(&mut self.now, station);
        self.undo.push(Step {
            other: Other::of(&before, &self.now),
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
    fn restore(now: &mut Arc<Station>, other: &Other) -> Option<Arc<Station>> {
        let other = other.restored(now)?;
        Some(std::mem::replace(now, other))
    }

    fn step(now: &mut Arc<Station>, from: &mut Vec<Step>, to: &mut Vec<Step>) -> bool {
        let Some(step) = from.pop() else {
            return false;
        };
        let Some(left) = Self::restore(now, &step.other) else {
            return false;
        };
        to.push(Step {
            other: Other::of(&left, now),
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
    use crate::geometry::{Place, Point, Shape};
    use crate::station::{Plan, PlanLayout, Reading};

    /// A scan, and a few readings.
    fn surveyed() -> Station {
        let mut station = Station::new("bench", Shape::Circle { diameter: 100.0 }, 80.0);
        let day = jiff::civil::date(2026, 3, 9);
        for (name, n) in [("scan", LONG), ("few", 10)] {
            let mut survey = station.new_survey(name, day);
            let reading = |i| Reading::new(Place::new(i as f64, 5.0, 10.0), Some(90.0));
            survey.readings = (0..n).map(reading).collect();
            station.surveys.push(survey.into());
        }
        station
    }

    fn typed(survey: usize, row: usize, value: f64) -> Edit {
        Edit::SetReadings {
            survey,
            row,
            readings: vec![Reading::new(Place::new(1.0, 2.0, 10.0), Some(value))],
            name: "type irradiance".into(),
        }
    }

    #[test]
    fn of_a_long_survey_undo_keeps_what_differs_and_of_all_else_pointers() {
        let mut history = History::new(Arc::new(surveyed()));
        let day = jiff::civil::date(2026, 3, 9);
        let edits = [
            (typed(0, 2000, 1.0), None),
            (Edit::Rename("other".into()), None),
            (typed(1, 3, 2.0), None),
            (typed(0, 0, 3.0), Some(7)),
            (typed(1, 0, 4.0), Some(7)),
            (typed(0, LONG, 5.0), Some(7)),
        ];
        let mut all = vec![history.now().clone()];
        for (edit, gesture) in edits {
            assert_eq!(history.apply(edit, gesture, day), Ok(true));
            all.push(history.now().clone());
        }
        let told: Vec<bool> = (history.undo.iter())
            .map(|step| matches!(step.other, Other::Told(_)))
            .collect();
        assert_eq!(told, [true, false, false, true]);
        // what was dragged in one gesture is one step
        for before in [3, 2, 1, 0] {
            assert!(history.undo());
            assert_eq!(*history.now(), all[before]);
        }
        assert!(!history.undo());
        for after in [1, 2, 3, 6] {
            assert!(history.redo());
            assert_eq!(*history.now(), all[after]);
        }
        let scan = history.now().surveys[0].clone();
        assert_eq!(
            history.apply(Edit::Rename("third".into()), None, day),
            Ok(true)
        );
        assert!(history.undo());
        assert!(history.now().surveys[0].is(&scan));
    }

    fn moved(history: &mut History, x: f64, gesture: Option<Gesture>) {
        let edit = Edit::MovePosition(0, Point::new(x, 20.0));
        let day = jiff::civil::date(2026, 3, 9);
        assert!(matches!(history.apply(edit, gesture, day), Ok(true)));
    }

    #[test]
    fn a_gesture_is_one_step_and_never_goes_on_after_its_run_of_the_program() {
        let shape = Shape::Rectangle {
            width: 100.0,
            depth: 80.0,
        };
        let mut station = Station::new("Bench", shape, 100.0);
        station.plan = Plan {
            heights: vec![20.0],
            layout: PlanLayout::Grid {
                columns: 2,
                rows: 2,
                margin: 10.0,
            },
            ..Plan::begin()
        };
        let mut history = History::new(Arc::new(station));
        moved(&mut history, 20.0, Some(1));
        moved(&mut history, 21.0, Some(1));
        assert_eq!(history.undo.len(), 1);
        history.end_gesture();
        moved(&mut history, 22.0, Some(1));
        assert_eq!(history.undo.len(), 2);
        moved(&mut history, 23.0, None);
        moved(&mut history, 24.0, None);
        assert_eq!(history.undo.len(), 4);
        history.undo();
        assert_eq!(history.now().positions()[0].at.x, 23.0);
    }
}
