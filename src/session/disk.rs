//! What the session does on the disk, always in the background: opening, saving, importing, exporting.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Command, Question};
use crate::assess::Request;
use crate::export::bundle::{self, Bundle, Sheets};
use crate::files;
use crate::files::{Paper, Preferences};
use crate::progress::Progress;
use crate::sheet::page::PaperSize;
use crate::station::{Reading, Station};
use crate::work::{Job, Look, Wake};

/// The file that the document came from or was saved to.
#[derive(Debug, Clone)]
pub struct OpenFile {
    /// Where.
    pub path: PathBuf,
    stamp: files::Stamp,
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
    Opened(Arc<Station>),
    Saved(PathBuf),
    Imported {
        name: String,
        readings: Vec<Reading>,
    },
    Exported {
        folder: PathBuf,
        files: Vec<String>,
    },
    /// Nothing was written, for this would have been lost.
    Kept(Question),
    Trouble {
        text: String,
        details: Vec<String>,
    },
}

/// What goes from the worker to the session.
enum Done {
    Opened(PathBuf, Arc<Station>, files::Stamp),
    Saved(PathBuf, Arc<Station>, files::Stamp),
    Imported(String, Vec<Reading>),
    Unreadable(String, Vec<String>),
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
        }
    }

    pub fn new_document(&mut self, station: Arc<Station>, is_sample: bool) {
        self.file = None;
        self.saved = station;
        self.exported = None;
        self.is_sample = is_sample;
    }

    pub fn file(&self) -> Option<&OpenFile> {
        self.file.as_ref()
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
        self.start("Opening", move |_| {
            Some(match files::read(&path) {
                Ok((station, stamp)) => Ok(Done::Opened(path, Arc::new(station), stamp)),
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
                Ok(stamp) => Ok(Done::Saved(path, station, stamp)),
                Err(error) => Err(error.to_string()),
            })
        });
    }

    pub fn import(&mut self, path: PathBuf) {
        self.start("Importing", move |_| {
            let name = path
                .file_stem()
                .map_or_else(|| "Imported".into(), |s| s.to_string_lossy().into_owned());
            Some(match files::read_readings(&path, None) {
                Ok(table) => Ok(Done::Imported(name, table.readings)),
                Err(errors) => Ok(Done::Unreadable(
                    format!(
                        "Nothing was imported from {}; mend what is listed and import again",
                        path.display()
                    ),
                    errors.iter().map(ToString::to_string).collect(),
                )),
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
                preferences,
            } = export;
            let there = files::those_there(&folder, &bundle::names(sheets));
            if !replace && !there.is_empty() {
                let command = Command::Export {
                    folder: folder.clone(),
                    replace: true,
                };
                return Some(Ok(Done::Kept(Question::ReplaceExports {
                    folder,
                    files: there.into_iter().map(str::to_owned).collect(),
                    command: Box::new(command),
                })));
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
            };
            let made = match bundle::files(&wanted, progress) {
                Ok(made) => made,
                Err(bundle::NoBundle::Cancelled) => return None,
                Err(error) => return Some(Err(error.to_string())),
            };
            Some(match files::write_all(&folder, &made) {
                Ok(_) => {
                    let names = made.iter().map(|(name, _)| (*name).to_owned()).collect();
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
            Look::Ended(Err(text)) => Some(Ended::Trouble {
                text,
                details: Vec::new(),
            }),
            Look::Ended(Ok(done)) => Some(self.take_in(done)),
        }
    }

    fn take_in(&mut self, done: Done) -> Ended {
        match done {
            Done::Opened(path, station, stamp) => {
                self.new_document(station.clone(), false);
                self.file = Some(OpenFile { path, stamp });
                Ended::Opened(station)
            }
            Done::Saved(path, station, stamp) => {
                self.saved = station;
                self.is_sample = false;
                self.file = Some(OpenFile {
                    path: path.clone(),
                    stamp,
                });
                Ended::Saved(path)
            }
            Done::Imported(name, readings) => Ended::Imported { name, readings },
            Done::Unreadable(text, details) => Ended::Trouble { text, details },
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

/// The built-in sample station.
pub fn sample() -> Station {
    let text = include_str!("../../sample-maps/rain-gauge-pallet.ron");
    files::parse(text.as_bytes()).expect("the built-in sample is read by the test `sample`")
}
