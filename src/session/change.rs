//! The step Change: one survey against another, in the background.

use std::sync::Arc;

use super::background::Same;
use crate::change::Change;
use crate::export::bundle::NoBundle;
use crate::export::change::Compared as Both;
use crate::progress::Progress;
use crate::record::ChangeRecord;
use crate::sheet::change::difference;
use crate::sheet::drawing::Drawing;
use crate::station::Station;
use crate::units::LengthUnit;
use crate::work::{Held, Latest, Wake};

/// What was found, as the window shows it.
#[derive(Debug)]
pub struct Compared {
    /// The change.
    pub change: Change,
    /// What is said of it.
    pub record: ChangeRecord,
    /// The local change over the fixture; `None`: nothing can be said place by place.
    pub drawing: Option<Arc<Drawing>>,
}

/// All that is asked of: verdicts hang on limits and sites, so on the whole document.
type Key = (Same<Station>, (usize, usize), LengthUnit);

/// The question.
pub(super) struct Comparing {
    slot: Latest<Key, Arc<Compared>>,
}

impl Comparing {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            slot: Latest::long(wake.clone()),
        }
    }

    /// Takes in what has ended, and asks where it is looked at.
    pub(super) fn update(
        &mut self,
        station: &Arc<Station>,
        wanted: Option<(usize, usize)>,
        length: LengthUnit,
    ) {
        self.slot.collect();
        let Some(surveys) = wanted else {
            return;
        };
        let of = station.clone();
        self.slot.ask((Same(station.clone()), surveys, length), || {
            move |progress: &Progress| match Both::of(&of, surveys, progress) {
                Ok(both) => {
                    let record = ChangeRecord::new(&of, &both.change, both.verdicts, length);
                    Some(Ok(Arc::new(Compared {
                        drawing: difference(&of, &both.change).map(Arc::new),
                        change: both.change,
                        record,
                    })))
                }
                Err(NoBundle::Cancelled) => None,
                Err(why) => Some(Err(why.to_string())),
            }
        });
    }

    pub(super) fn held(&self) -> Held<'_, Arc<Compared>> {
        self.slot.held()
    }
}

/// Which surveys are held against each other where nobody chose: the newest against the first.
pub(super) fn usual(station: &Station) -> Option<(usize, usize)> {
    let newest = station.newest_survey()?;
    let first = (0..station.surveys.len()).min_by_key(|&i| station.surveys[i].date)?;
    (first != newest).then_some((first, newest))
}
