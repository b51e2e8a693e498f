//! What the session does on the disk, always in the background: opening, saving, importing, exporting.

use std::path::{Path, PathBuf};
use std::sync::Arc;

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

impl OpenFile {
    /// Whether somebody else has written the file since.
    pub fn changed_outside(&self) -> bool {
        self.stamp.changed_since(&self.path).unwrap_or(false)
    }
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
    Exported(PathBuf, Vec<String>, Arc<Station>),
}

pub(super) struct Disk {
    wake: Wake,
    file: Option<OpenFile>,
    /// The document as it was when it was last in its file (or when it was new).
    saved: Arc<Station>,
    exported: Option<Arc<Station>>,
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

    pub fn is_changed(&self, now: &Arc<Station>) -> bool {
        !Arc::ptr_eq(&self.saved, now) && *self.saved != **now
    }

    pub fn exported(&self, now: &Arc<Station>) -> bool {
        self.exported
            .as_ref()
            .is_some_and(|e| Arc::ptr_eq(e, now) || **e == **now)
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

    pub fn save(&mut self, path: PathBuf, station: Arc<Station>) {
        self.start("Saving", move |_| {
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

    pub fn export(
        &mut self,
        folder: PathBuf,
        station: Arc<Station>,
        survey: usize,
        height: f64,
        preferences: Preferences,
    ) {
        self.start("Exporting", move |progress| {
            let wanted = Bundle {
                station: &station,
                request: Request {
                    survey: Some(survey),
                    ..Request::default()
                },
                map_height: Some(height),
                sheets: Sheets::ALL,
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
                    Ok(Done::Exported(folder, names, station))
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
            Done::Exported(folder, files, station) => {
                self.exported = Some(station);
                Ended::Exported { folder, files }
            }
        }
    }
}

/// The first of the files an export would write that is already in the folder.
pub(super) fn first_there(folder: &Path) -> Option<PathBuf> {
    files::first_there(folder, &bundle::names(Sheets::ALL))
}

/// The built-in sample station.
pub fn sample() -> Station {
    let text = include_str!("../../sample-maps/rain-gauge-pallet.ron");
    files::parse(text.as_bytes()).expect("the built-in sample is read by the test `sample`")
}
