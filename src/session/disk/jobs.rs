//! What is done on the disk, away from the window: opening, saving, importing, exporting.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;

use super::last::{Exported, Sign};
use crate::assess::{Request, SurveyFit};
use crate::export::Arranged;
use crate::export::bundle::{self, Bundle, MadeOn, Sheets};
use crate::files::{
    self, Claim, Drive, Opened, Paper, Preferences, Raw, Saver, Stamp, Trail, TrailGap,
    Understanding,
};
use crate::progress::Progress;
use crate::session::question::Question;
use crate::session::{ColourRanges, Command};
use crate::sheet::page::PaperSize;
use crate::station::Station;
use crate::work::{Job, Wake};

/// What is ordered of the document as a whole; each waits for those before it.
pub(super) enum Order {
    /// Leave the document, or the program.
    Leave(Leave),
    /// Read the document of a file.
    Open(PathBuf, GivenUp),
    Save(Save),
}

/// A document whose changes are not wanted, as it was when the person said so.
pub(super) type GivenUp = Option<Arc<Station>>;

pub(super) struct Leave {
    /// For what.
    pub next: Command,
    pub given_up: GivenUp,
    /// The person knows what it waits for.
    pub is_told: bool,
}

impl Leave {
    pub fn for_the(next: Command) -> Self {
        Self {
            next,
            given_up: None,
            is_told: false,
        }
    }
}

#[derive(Clone)]
pub(super) struct Save {
    /// Where; `None`: into the document's own file.
    pub to: Option<PathBuf>,
    /// Whether what is there may be replaced, whatever it is.
    pub replace: bool,
    /// The document as it was when the save was asked for.
    pub station: Arc<Station>,
    /// When it was asked for.
    pub at: Timestamp,
    /// What follows once it is saved, and only then.
    pub then: Option<Command>,
}

/// What a file held when it was read or written last.
#[derive(Clone)]
pub(super) struct InFile {
    pub station: Arc<Station>,
    pub trail: Arc<Trail>,
    /// What does not fit in it.
    pub gaps: Vec<TrailGap>,
}

/// What an order of the document ended with.
pub(super) enum Done {
    Opened(InFile, Stamp, Sign),
    Saved(PathBuf, (Arc<Trail>, Vec<TrailGap>), Stamp, Sign),
    /// What went wrong; the stamp is that of what may be in the file all the same.
    NotSaved(PathBuf, String, Option<Stamp>),
    /// Nothing was written, for this would have been lost.
    Kept(Question),
}

/// A file of readings, taken apart and understood as it can be by itself.
pub(super) type Imported = (Box<Raw>, Understanding);

/// What an export needs.
#[derive(Clone)]
pub(super) struct Export {
    pub folder: PathBuf,
    pub replace: bool,
    pub sheets: Sheets,
    pub arranged: Option<Arc<Arranged>>,
    pub station: Arc<Station>,
    pub survey: Option<usize>,
    /// Its field, where it was fitted.
    pub fit: Option<SurveyFit>,
    pub height: f64,
    pub colours: ColourRanges,
    pub preferences: Preferences,
    pub today: Date,
    pub period: (Option<Date>, Option<Date>),
    pub trail: Arc<Trail>,
}

/// What an export ended with.
pub(super) enum Written {
    Files(Vec<String>, Exported),
    Kept(Question),
}

/// Where and how the work is done.
#[derive(Clone)]
pub(super) struct Place {
    pub drive: Drive,
    pub wake: Wake,
    /// What this person is called beside a file that is open; `None`: files get no signs.
    pub who: Option<String>,
}

impl Place {
    pub fn open(&self, path: PathBuf, held: Sign) -> Job<Done> {
        let place = self.clone();
        Job::start(self.wake.clone(), move |_| {
            let read = files::open_on(&place.drive, &path);
            Some(match read {
                Ok((Opened { station, trail }, stamp)) => {
                    let sign = place.signed(&path, held);
                    let held = InFile {
                        gaps: trail.gaps(&station),
                        station: Arc::new(station),
                        trail: Arc::new(trail),
                    };
                    Ok(Done::Opened(held, stamp, sign))
                }
                Err(error) => Err(error.to_string()),
            })
        })
    }

    /// Saves; `before` is what was saved last, `own` are the stamps of what this program may have left in that file.
    pub fn save(
        &self,
        save: Save,
        path: PathBuf,
        before: InFile,
        own: Option<Vec<Stamp>>,
        held: Sign,
    ) -> Job<Done> {
        let place = self.clone();
        Job::start(self.wake.clone(), move |_| {
            let Save { station, .. } = save;
            let there = if save.replace {
                Ok(None)
            } else {
                Stamp::on(&place.drive, &path)
            };
            let question = match (there, own) {
                (Ok(None), _) => None,
                (Ok(Some(now)), Some(own)) if own.contains(&now) => None,
                (Ok(Some(_)), Some(_)) => Some(Question::ChangedOnDisk(path.clone())),
                (Ok(Some(_)), None) => Some(Question::Replace(path.clone())),
                // who can't see what is there must not write over it
                (Err(error), _) => return Some(Ok(Done::NotSaved(path, error.to_string(), None))),
            };
            if let Some(question) = question {
                return Some(Ok(Done::Kept(question)));
            }
            let saver = Saver {
                at: save.at,
                by: place.who.clone().unwrap_or_default(),
                program: env!("CARGO_PKG_VERSION").to_owned(),
            };
            let trail = (before.trail).with(&station, Some(&before.station), Some(&saver));
            Some(Ok(
                match files::save_on(&place.drive, &path, &station, &trail) {
                    Ok(stamp) => {
                        let sign = place.signed(&path, held);
                        // the document is the one that its last entry tells of
                        let gaps = trail.broken().map(TrailGap::Entry).collect();
                        Done::Saved(path, (Arc::new(trail), gaps), stamp, sign)
                    }
                    Err(failed) => Done::NotSaved(path, failed.why.to_string(), failed.stamp),
                },
            ))
        })
    }

    pub fn import(&self, path: PathBuf) -> Job<Imported> {
        let drive = self.drive.clone();
        Job::start(self.wake.clone(), move |_| {
            Some(match files::open_readings(&drive, &path) {
                Ok(raw) => {
                    let understanding = Understanding::guess(&raw, None);
                    Ok((Box::new(raw), understanding))
                }
                Err(error) => Err(format!("Nothing was imported. {error}")),
            })
        })
    }

    pub fn export(&self, export: Export) -> Job<Written> {
        let drive = self.drive.clone();
        Job::start(self.wake.clone(), move |progress| {
            written(&drive, export, progress)
        })
    }

    /// The sign beside a file; the one that is held already stays when it is of the same file.
    pub fn signed(&self, path: &Path, held: Sign) -> Sign {
        let Some(who) = &self.who else {
            return Sign::default();
        };
        if held.mine.as_ref().is_some_and(|mine| mine.is_of(path)) {
            return held;
        }
        match Claim::on(&self.drive, path, who) {
            Claim::Mine(mine) => Sign {
                mine: Some(Arc::new(mine)),
                theirs: None,
            },
            Claim::Theirs(theirs) => Sign {
                mine: None,
                theirs: Some(theirs),
            },
            Claim::Unknown => Sign::default(),
        }
    }
}

fn written(drive: &Drive, export: Export, progress: &Progress) -> Option<Result<Written, String>> {
    let Export {
        folder,
        replace,
        sheets,
        arranged,
        station,
        survey,
        fit,
        height,
        colours,
        preferences,
        today,
        period,
        trail,
    } = export;
    // what is there and may not be replaced
    let kept = |names: &[&str]| -> Result<Option<Written>, String> {
        if replace {
            return Ok(None);
        }
        let there = files::those_there(drive, &folder, names).map_err(|e| e.to_string())?;
        Ok((!there.is_empty()).then(|| {
            Written::Kept(Question::ReplaceExports {
                folder: folder.clone(),
                files: there.into_iter().map(str::to_owned).collect(),
            })
        }))
    };
    match kept(&bundle::names(sheets)) {
        Ok(None) => {}
        Ok(Some(kept)) => return Some(Ok(kept)),
        Err(error) => return Some(Err(error)),
    }
    let wanted = Bundle {
        station: &station,
        request: Request {
            survey,
            ..Request::default()
        },
        fit: fit.as_ref(),
        map_height: Some(height),
        sheets,
        length: preferences.length_unit,
        irradiance: preferences.irradiance_unit,
        paper: match preferences.paper {
            Paper::A4 => PaperSize::A4,
            Paper::Letter => PaperSize::Letter,
        },
        colours: Default::default(),
        range: colours.irradiance,
        uncertainty_range: colours.uncertainty,
        arranged: arranged.as_deref(),
        made: MadeOn {
            today,
            trail: &trail,
            period,
        },
    };
    let made = match bundle::files(&wanted, progress) {
        Ok(made) => made,
        Err(bundle::NoBundle::Cancelled) => return None,
        Err(error) => return Some(Err(error.to_string())),
    };
    // how many pages a map has is known by now
    let names: Vec<&str> = made.iter().map(|(name, _)| &**name).collect();
    match kept(&names) {
        Ok(None) => {}
        Ok(Some(kept)) => return Some(Ok(kept)),
        Err(error) => return Some(Err(error)),
    }
    Some(match files::write_all(drive, &folder, &made) {
        Ok(_) => {
            let names = made.into_iter().map(|(name, _)| name).collect();
            Ok(Written::Files(names, Exported { station, sheets }))
        }
        Err(error) => Err(error.to_string()),
    })
}
