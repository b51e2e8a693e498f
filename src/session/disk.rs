//! What the session does on the disk, always in the background: opening, saving, importing, exporting.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{ColourRanges, Command, Question};
use crate::assess::Request;
use crate::export::bundle::{self, Bundle, Sheets};
use crate::files;
use crate::files::{Claim, InUse, Paper, Preferences, Raw, Understanding};
use crate::progress::Progress;
use crate::sheet::page::PaperSize;
use crate::station::Station;
use crate::work::{Job, Look, Wake};

/// The file that the document came from or was saved to.
#[derive(Debug, Clone)]
pub struct OpenFile {
    /// Where.
    pub path: PathBuf,
    /// As it was when it was read or written last.
    pub(super) stamp: files::Stamp,
}

/// What is known of who has the file open.
#[derive(Debug, Clone, Default)]
struct Sign {
    /// Our own, when nobody else has it.
    mine: Option<Arc<InUse>>,
    /// Somebody else, as they call themselves.
    theirs: Option<String>,
}

/// How a file is that was looked at because somebody may have changed it.
enum Looked {
    /// As we left it.
    Same,
    /// Written by somebody else.
    Changed(files::Stamp),
    /// Not there any more.
    Gone,
}

/// What may be written over when saving.
#[derive(Debug, Clone, Copy)]
pub(super) enum Over {
    /// Nothing: a file that is there is asked about.
    Nothing,
    /// The version that was read or written last, and none of somebody else's.
    Own(files::Stamp),
    /// Whatever is there.
    Anything,
}

/// What a piece of disk work ended with.
pub(super) enum Ended {
    /// The document, and who else has its file open.
    Opened(Arc<Station>, Option<String>),
    Saved(PathBuf),
    /// What went wrong; the document is as it was.
    NotSaved(String),
    /// A file of readings, taken apart and understood as it can be by itself.
    Imported(PathBuf, Box<Raw>, Understanding),
    Exported {
        folder: PathBuf,
        files: Vec<String>,
    },
    /// Nothing was written, for this would have been lost.
    Kept(Question),
    Trouble(String),
}

/// What goes from the worker to the session.
enum Done {
    Opened(PathBuf, Arc<Station>, files::Stamp, Sign),
    Saved(PathBuf, Arc<Station>, files::Stamp, Sign),
    NotSaved(String),
    Imported(PathBuf, Box<Raw>, Understanding),
    Kept(Question),
    Exported(PathBuf, Vec<String>, Exported),
}

/// What an export needs.
pub(super) struct Export {
    pub folder: PathBuf,
    pub replace: bool,
    pub sheets: Sheets,
    pub station: Arc<Station>,
    pub survey: Option<usize>,
    pub height: f64,
    pub colours: ColourRanges,
    pub preferences: Preferences,
}

/// What was exported last.
#[derive(Debug, Clone)]
pub(super) struct Exported {
    /// The document as it was then.
    pub station: Arc<Station>,
    /// The sheets written of it, by one export or by several.
    pub sheets: Sheets,
}

pub(super) struct Disk {
    wake: Wake,
    file: Option<OpenFile>,
    saved: Arc<Station>,
    exported: Option<Exported>,
    pub is_sample: bool,
    job: Option<(&'static str, Job<Done>)>,
    /// What this person is called beside a file that is open; `None`: files get no signs.
    who: Option<String>,
    sign: Sign,
    look: Option<Job<Looked>>,
    /// The last version of somebody else's that was told of, or that the file is gone.
    told: Option<Option<files::Stamp>>,
}

impl Disk {
    pub fn new(station: Arc<Station>, wake: Wake) -> Self {
        Self {
            wake,
            file: None,
            saved: station,
            exported: None,
            is_sample: false,
            job: None,
            who: None,
            sign: Sign::default(),
            look: None,
            told: None,
        }
    }

    /// Puts a sign beside each file that is open from now on.
    pub fn sign_as(&mut self, who: String) {
        self.who = Some(who);
    }

    pub fn new_document(&mut self, station: Arc<Station>, is_sample: bool) {
        self.file = None;
        self.sign = Sign::default();
        self.look = None;
        self.told = None;
        self.saved = station;
        self.exported = None;
        self.is_sample = is_sample;
    }

    pub fn file(&self) -> Option<&OpenFile> {
        self.file.as_ref()
    }

    /// Takes up a document whose changes were not saved: `begin` is what they began from.
    pub fn take_up(&mut self, begin: files::Begin) {
        self.new_document(begin.station, begin.is_sample);
        if let (Some(path), Some(stamp)) = (begin.path, begin.stamp) {
            self.sign = signed(&path, self.who.as_deref(), Sign::default());
            self.file = Some(OpenFile { path, stamp });
        }
    }

    /// Who else has the document's file open.
    pub fn others(&self) -> Option<&str> {
        self.sign.theirs.as_deref()
    }

    /// Looks whether somebody else has changed the document's file.
    pub fn look_at_file(&mut self) {
        let Some(OpenFile { path, stamp }) = self.file.clone() else {
            return;
        };
        if self.look.is_some() || self.job.is_some() {
            return;
        }
        self.look = Some(Job::start(self.wake.clone(), move |_| {
            Some(Ok(match files::Stamp::of(&path) {
                Ok(now) if now == stamp => Looked::Same,
                Ok(now) => Looked::Changed(now),
                Err(_) if !path.exists() => Looked::Gone,
                // who can't read it now is told so when saving
                Err(_) => Looked::Same,
            }))
        }));
    }

    /// What the look at the file has found, said once for each version: whether the file is gone.
    pub fn found_changed(&mut self) -> Option<bool> {
        let looked = match self.look.as_ref()?.look() {
            Look::Working => return None,
            looked => looked,
        };
        self.look = None;
        let Look::Ended(Ok(looked)) = looked else {
            return None;
        };
        let now = match looked {
            // or it was saved meanwhile
            Looked::Same => return None,
            Looked::Changed(now) if self.file.as_ref().is_some_and(|f| f.stamp == now) => {
                return None;
            }
            Looked::Changed(now) => Some(now),
            Looked::Gone => None,
        };
        (self.told.replace(now) != Some(now)).then_some(now.is_none())
    }

    pub fn is_looking(&self) -> bool {
        self.look.is_some()
    }

    /// The document as it was when it was last in its file (or when it was new).
    pub fn saved(&self) -> &Arc<Station> {
        &self.saved
    }

    /// What was exported last.
    pub fn exported(&self) -> Option<&Exported> {
        self.exported.as_ref()
    }

    pub fn busy(&self) -> Option<(&'static str, f64)> {
        self.job.as_ref().map(|(what, job)| (*what, job.fraction()))
    }

    pub fn cancel(&mut self) {
        if let Some((_, job)) = &self.job {
            job.cancel();
        }
    }

    fn start(
        &mut self,
        what: &'static str,
        work: impl FnOnce(&Progress) -> Option<Result<Done, String>> + Send + 'static,
    ) {
        self.job = Some((what, Job::start(self.wake.clone(), work)));
    }

    pub fn open(&mut self, path: PathBuf) {
        let (who, sign) = (self.who.clone(), self.sign.clone());
        self.start("Opening", move |_| {
            Some(match files::read(&path) {
                Ok((station, stamp)) => {
                    let sign = signed(&path, who.as_deref(), sign);
                    Ok(Done::Opened(path, Arc::new(station), stamp, sign))
                }
                Err(error) => Err(error.to_string()),
            })
        });
    }

    /// Whether the document's file has this path.
    pub fn is_at(&self, path: &Path) -> bool {
        self.file.as_ref().is_some_and(|file| file.path == path)
    }

    /// Saves into the document's own file, unless it was written by somebody else since.
    pub fn save_again(&mut self, station: Arc<Station>) {
        if let Some(OpenFile { path, stamp }) = self.file.clone() {
            self.save(path, station, Over::Own(stamp));
        }
    }

    pub fn save(&mut self, path: PathBuf, station: Arc<Station>, over: Over) {
        let (who, sign) = (self.who.clone(), self.sign.clone());
        self.start("Saving", move |_| {
            let kept = match over {
                Over::Nothing if path.exists() => {
                    let command = Command::SaveAs {
                        path: path.clone(),
                        replace: true,
                    };
                    Some(Question::Replace(path.clone(), Box::new(command)))
                }
                // A file that can't be looked at will say so when it is written.
                Over::Own(stamp) if stamp.changed_since(&path).unwrap_or(false) => {
                    Some(Question::ChangedOnDisk(path.clone()))
                }
                _ => None,
            };
            if let Some(question) = kept {
                return Some(Ok(Done::Kept(question)));
            }
            Some(match files::save(&path, &station) {
                Ok(stamp) => {
                    let sign = signed(&path, who.as_deref(), sign);
                    Ok(Done::Saved(path, station, stamp, sign))
                }
                Err(error) => Ok(Done::NotSaved(error.to_string())),
            })
        });
    }

    pub fn import(&mut self, path: PathBuf) {
        self.start("Reading", move |_| {
            Some(match files::open_readings(&path) {
                Ok(raw) => {
                    let understanding = Understanding::guess(&raw, None);
                    Ok(Done::Imported(path, Box::new(raw), understanding))
                }
                Err(error) => Err(format!("Nothing was imported. {error}")),
            })
        });
    }

    pub fn export(&mut self, export: Export) {
        self.start("Exporting", move |progress| {
            let Export {
                folder,
                replace,
                sheets,
                station,
                survey,
                height,
                colours,
                preferences,
            } = export;
            // what is there and may not be replaced
            let kept = |names: &[&str]| {
                let there = files::those_there(&folder, names);
                let command = Command::Export {
                    folder: folder.clone(),
                    replace: true,
                };
                (!replace && !there.is_empty()).then(|| {
                    Done::Kept(Question::ReplaceExports {
                        folder: folder.clone(),
                        files: there.into_iter().map(str::to_owned).collect(),
                        command: Box::new(command),
                    })
                })
            };
            if let Some(kept) = kept(&bundle::names(sheets)) {
                return Some(Ok(kept));
            }
            let wanted = Bundle {
                station: &station,
                request: Request {
                    survey,
                    ..Request::default()
                },
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
            };
            let made = match bundle::files(&wanted, progress) {
                Ok(made) => made,
                Err(bundle::NoBundle::Cancelled) => return None,
                Err(error) => return Some(Err(error.to_string())),
            };
            // how many pages a map has is known by now
            let names: Vec<&str> = made.iter().map(|(name, _)| &**name).collect();
            if let Some(kept) = kept(&names) {
                return Some(Ok(kept));
            }
            Some(match files::write_all(&folder, &made) {
                Ok(_) => {
                    let names = made.into_iter().map(|(name, _)| name).collect();
                    Ok(Done::Exported(folder, names, Exported { station, sheets }))
                }
                Err(error) => Err(error.to_string()),
            })
        });
    }

    /// What has ended since the last look.
    pub fn collect(&mut self) -> Option<Ended> {
        let (_, job) = self.job.as_ref()?;
        let look = job.look();
        if matches!(look, Look::Working) {
            return None;
        }
        self.job = None;
        match look {
            Look::Working | Look::Cancelled => None,
            Look::Ended(Err(text)) => Some(Ended::Trouble(text)),
            Look::Ended(Ok(done)) => Some(self.take_in(done)),
        }
    }

    fn take_in(&mut self, done: Done) -> Ended {
        match done {
            Done::Opened(path, station, stamp, sign) => {
                self.new_document(station.clone(), false);
                self.file = Some(OpenFile { path, stamp });
                self.sign = sign;
                Ended::Opened(station, self.sign.theirs.clone())
            }
            Done::NotSaved(text) => Ended::NotSaved(text),
            Done::Saved(path, station, stamp, sign) => {
                self.saved = station;
                self.is_sample = false;
                self.sign = sign;
                self.told = None;
                self.file = Some(OpenFile {
                    path: path.clone(),
                    stamp,
                });
                Ended::Saved(path)
            }
            Done::Imported(path, raw, understanding) => Ended::Imported(path, raw, understanding),
            Done::Kept(question) => Ended::Kept(question),
            Done::Exported(folder, files, mut now) => {
                if let Some(before) = &self.exported
                    && *before.station == *now.station
                {
                    now.sheets = now.sheets.and(before.sheets);
                }
                self.exported = Some(now);
                Ended::Exported { folder, files }
            }
        }
    }
}

/// The sign beside a file; the one that is held already stays when it is of the same file.
fn signed(path: &Path, who: Option<&str>, held: Sign) -> Sign {
    let Some(who) = who else {
        return Sign::default();
    };
    if held.mine.as_ref().is_some_and(|mine| mine.is_of(path)) {
        return held;
    }
    match Claim::on(path, who) {
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

/// The built-in sample station.
pub fn sample() -> Station {
    let text = include_str!("../../sample-maps/rain-gauge-pallet.ron");
    files::parse(text.as_bytes()).expect("the built-in sample is read by the test `sample`")
}
