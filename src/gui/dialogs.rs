//! File dialogs of the system, never waited for on the window's thread, and a path that can always be
//! typed instead. The dialog library says "no path" for a dialog that was cancelled and for one that
//! could not be shown alike; how the two are told apart stands at [`was_shown`].

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use eframe::egui::{self, Id, Key, Modal, TextEdit};

use super::log;
use crate::session::Command;

/// What a path is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A station file to open.
    Open,
    /// Where to save.
    SaveAs,
    /// A readings file.
    Import,
    /// A file of an irradiance log.
    ImportLog,
    /// A folder for exports.
    Export,
}

/// A dialog that ended sooner than this without a path was never shown: nobody reads and cancels one so
/// soon, while a busy system may take this long to find that it has none.
const NEVER_SHOWN: Duration = Duration::from_millis(1000);

impl Purpose {
    fn title(self) -> &'static str {
        match self {
            Self::Open => "Open a station",
            Self::SaveAs => "Save the station as",
            Self::Import => "Import readings",
            Self::ImportLog => "Import a log",
            Self::Export => "Export into a folder",
        }
    }

    fn hint(self) -> &'static str {
        match self {
            Self::Open => "Path of a .ron file",
            Self::SaveAs => "Path of the .ron file to write",
            Self::Import | Self::ImportLog => "Path of a .csv, .tsv or .xlsx file",
            Self::Export => "Path of a folder; it is made when it is not there",
        }
    }

    fn verb(self) -> &'static str {
        match self {
            Self::Open => "Open",
            Self::SaveAs => "Save",
            Self::Import | Self::ImportLog => "Import",
            Self::Export => "Export",
        }
    }

    /// What to do with a path. The system's own save dialog has asked about replacing already.
    fn command(self, path: PathBuf, asked: bool) -> Command {
        match self {
            Self::Open => Command::Open(path),
            Self::SaveAs => Command::SaveAs {
                // Without an extension another name than the one asked about will be written.
                replace: asked && path.extension().is_some(),
                path,
            },
            Self::Import => Command::Import(path),
            Self::ImportLog => Command::ImportLog(path),
            Self::Export => Command::Export(path),
        }
    }
}

struct Pending {
    purpose: Purpose,
    since: Instant,
    /// Complaints of the dialog library before it was asked.
    complaints: usize,
    /// What a typed path begins with, should no dialog be there.
    suggestion: String,
    path: Receiver<Option<PathBuf>>,
}

#[derive(Default)]
enum DialogState {
    #[default]
    Idle,
    /// The system's dialog is up, or is believed to be.
    Waiting(Pending),
    /// A path is typed here.
    Typing {
        purpose: Purpose,
        text: String,
        note: Option<&'static str>,
    },
}

/// At most one dialog at a time.
#[derive(Default)]
pub struct Dialogs {
    state: DialogState,
    /// Ask with a typed path only.
    typed_only: bool,
    /// The question where to save was dropped for another one.
    is_save_dropped: bool,
}

impl Dialogs {
    /// Dialogs that never trouble the system: each path is typed.
    pub fn typed() -> Self {
        Self {
            typed_only: true,
            ..Self::default()
        }
    }

    /// Asks for a path.
    pub fn ask(&mut self, ctx: &egui::Context, purpose: Purpose, suggestion: &str) {
        if self.typed_only {
            return self.type_path(purpose, suggestion);
        }
        self.drop_save_for(purpose);
        let complaints = log::dialog_complaints();
        let dialog = rfd::AsyncFileDialog::new().set_title(purpose.title());
        let (sender, path) = channel();
        let ctx = ctx.clone();
        let station = |d: rfd::AsyncFileDialog| d.add_filter("Evenfield station", &["ron"]);
        // The dialog is made on this thread, as some systems want it, and waited for on another.
        let wait =
            |future: std::pin::Pin<Box<dyn Future<Output = Option<rfd::FileHandle>> + Send>>| {
                std::thread::spawn(move || {
                    let chosen = pollster::block_on(future).map(|handle| handle.path().to_owned());
                    // The window may have given up waiting.
                    let _ = sender.send(chosen);
                    ctx.request_repaint();
                });
            };
        match purpose {
            Purpose::Open => wait(Box::pin(station(dialog).pick_file())),
            Purpose::Import | Purpose::ImportLog => wait(Box::pin(
                dialog
                    .add_filter("Readings", &["csv", "tsv", "txt", "xlsx"])
                    .pick_file(),
            )),
            Purpose::SaveAs => wait(Box::pin(
                station(dialog).set_file_name(suggestion).save_file(),
            )),
            Purpose::Export => wait(Box::pin(dialog.pick_folder())),
        }
        self.state = DialogState::Waiting(Pending {
            purpose,
            since: Instant::now(),
            complaints,
            suggestion: suggestion.to_owned(),
            path,
        });
    }

    /// Asks for a path to be typed, whatever the system has.
    pub fn type_path(&mut self, purpose: Purpose, suggestion: &str) {
        self.drop_save_for(purpose);
        self.state = DialogState::Typing {
            purpose,
            text: suggestion.to_owned(),
            note: None,
        };
    }

    /// What was to follow a save must not follow a later one, which was never asked to.
    fn drop_save_for(&mut self, purpose: Purpose) {
        let was_for = match &self.state {
            DialogState::Idle => None,
            DialogState::Waiting(pending) => Some(pending.purpose),
            DialogState::Typing { purpose, .. } => Some(*purpose),
        };
        self.is_save_dropped |= was_for == Some(Purpose::SaveAs) && purpose != Purpose::SaveAs;
    }

    /// Takes in what the system's dialog said. To be called once a frame, also without a window.
    pub fn collect(&mut self) -> Option<Command> {
        if std::mem::take(&mut self.is_save_dropped) {
            return Some(Command::NoSavePath);
        }
        let DialogState::Waiting(pending) = &mut self.state else {
            return None;
        };
        let chosen = match pending.path.try_recv() {
            Ok(chosen) => chosen,
            Err(std::sync::mpsc::TryRecvError::Empty) => return None,
            Err(std::sync::mpsc::TryRecvError::Disconnected) => None,
        };
        let purpose = pending.purpose;
        match chosen {
            None if !was_shown(pending) => {
                self.state = DialogState::Typing {
                    purpose,
                    text: std::mem::take(&mut pending.suggestion),
                    note: Some("This system shows no file dialog; type the path"),
                };
                None
            }
            None => self.give_up(purpose),
            Some(path) => {
                self.state = DialogState::Idle;
                Some(purpose.command(path, true))
            }
        }
    }

    /// No path is given: nothing is done, nor what was to follow a save.
    fn give_up(&mut self, purpose: Purpose) -> Option<Command> {
        self.state = DialogState::Idle;
        (purpose == Purpose::SaveAs).then_some(Command::NoSavePath)
    }

    /// Shows what there is to show, and says what to do once a path is there.
    pub fn show(&mut self, ctx: &egui::Context) -> Option<Command> {
        match &mut self.state {
            DialogState::Idle => None,
            DialogState::Waiting(pending) => {
                let purpose = pending.purpose;
                let mut type_instead = false;
                let mut give_up = false;
                egui::Area::new(Id::unique("waiting for the dialog"))
                    .anchor(egui::Align2::CENTER_TOP, [0.0, 48.0])
                    .order(egui::Order::Foreground)
                    .show(ctx, |ui| {
                        egui::Frame::popup(ui.style()).show(ui, |ui| {
                            ui.horizontal(|ui| {
                                ui.label("Waiting for the file dialog");
                                type_instead = ui.button("Type a path instead").clicked();
                                give_up = ui.button("Cancel").clicked();
                            });
                        });
                    });
                if type_instead {
                    self.state = DialogState::Typing {
                        purpose,
                        text: std::mem::take(&mut pending.suggestion),
                        note: None,
                    };
                } else if give_up {
                    return self.give_up(purpose);
                }
                None
            }
            DialogState::Typing {
                purpose,
                text,
                note,
            } => {
                let purpose = *purpose;
                let mut path: Option<PathBuf> = None;
                let mut closed = false;
                let modal = Modal::new(Id::unique("type a path")).show(ctx, |ui| {
                    ui.set_width(460.0);
                    ui.heading(purpose.title());
                    if let Some(note) = note {
                        ui.label(*note);
                    }
                    let label = ui.label(purpose.hint());
                    let edit = ui
                        .add(TextEdit::singleline(text).desired_width(f32::INFINITY))
                        .labelled_by(label.id);
                    if !edit.has_focus() && !edit.lost_focus() {
                        edit.request_focus();
                    }
                    let entered =
                        edit.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
                    ui.add_space(8.0);
                    ui.horizontal(|ui| {
                        let ready = !text.trim().is_empty();
                        let go = ui
                            .add_enabled(ready, egui::Button::new(purpose.verb()))
                            .clicked();
                        if ready && (go || entered) {
                            path = Some(whole(text.trim()));
                        }
                        closed = ui.button("Cancel").clicked();
                    });
                });
                match path {
                    Some(path) => {
                        self.state = DialogState::Idle;
                        Some(purpose.command(path, false))
                    }
                    None if closed || modal.should_close() => self.give_up(purpose),
                    None => None,
                }
            }
        }
    }
}

/// Whether the dialog that ended without a path was on the screen, so that the person has cancelled it.
///
/// On Linux the library asks the desktop's portal and, when that fails, starts `zenity`. It writes an
/// error to the log for each of the two that fails, and none for a cancelled one. So with no `zenity`
/// to fall back on, a complaint since the dialog was asked for means that nothing was shown, however
/// long the portal took to fail. A `zenity` that ends at once (no display for it) complains of nothing
/// and is known by its haste.
fn was_shown(pending: &Pending) -> bool {
    let complained = log::dialog_complaints() > pending.complaints;
    let failed = cfg!(target_os = "linux") && complained && !has_zenity();
    !failed && pending.since.elapsed() > NEVER_SHOWN
}

/// Whether the program that the dialog library falls back on is installed.
fn has_zenity() -> bool {
    std::env::var_os("PATH").is_some_and(|folders| {
        std::env::split_paths(&folders).any(|folder| folder.join("zenity").is_file())
    })
}

/// A typed path with its folder, so that what is said of it later says where it is; `~` is the person's
/// own folder, as in a terminal.
fn whole(typed: &str) -> PathBuf {
    let home = || std::env::home_dir().filter(|home| !home.as_os_str().is_empty());
    let path = match (typed.strip_prefix('~'), home()) {
        (Some(""), Some(home)) => home,
        (Some(rest), Some(home)) if rest.starts_with(['/', std::path::MAIN_SEPARATOR]) => {
            home.join(&rest[1..])
        }
        _ => PathBuf::from(typed),
    };
    std::path::absolute(&path).unwrap_or(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ended(chosen: Option<PathBuf>, before: Duration) -> Dialogs {
        let (sender, path) = channel();
        sender.send(chosen).expect("the receiver is there");
        let since = Instant::now()
            .checked_sub(before)
            .expect("the machine runs for longer than that");
        Dialogs {
            state: DialogState::Waiting(Pending {
                purpose: Purpose::SaveAs,
                since,
                complaints: log::dialog_complaints(),
                suggestion: "Bench.ron".into(),
                path,
            }),
            ..Dialogs::default()
        }
    }

    #[test]
    fn a_dialog_for_saving_that_gives_way_to_another_one_saves_nothing() {
        let mut dialogs = Dialogs::typed();
        dialogs.type_path(Purpose::SaveAs, "");
        dialogs.type_path(Purpose::SaveAs, "again");
        assert_eq!(dialogs.collect(), None);
        dialogs.type_path(Purpose::Import, "");
        assert_eq!(dialogs.collect(), Some(Command::NoSavePath));
        assert_eq!(dialogs.collect(), None);
    }

    #[test]
    fn a_dialog_that_was_never_there_leads_to_a_typed_path_and_a_cancelled_one_does_not() {
        let mut never = ended(None, Duration::ZERO);
        assert_eq!(never.collect(), None);
        assert!(matches!(
            &never.state,
            DialogState::Typing { text, note: Some(_), .. } if text == "Bench.ron"
        ));
        let mut cancelled = ended(None, 2 * NEVER_SHOWN);
        assert_eq!(cancelled.collect(), Some(Command::NoSavePath));
        assert!(matches!(cancelled.state, DialogState::Idle));
        let mut chosen = ended(Some("/a/b.ron".into()), Duration::ZERO);
        let command = Command::SaveAs {
            path: "/a/b.ron".into(),
            replace: true,
        };
        assert_eq!(chosen.collect(), Some(command));
    }

    #[test]
    fn typed_paths_have_their_folder() {
        assert!(whole("a.ron").is_absolute());
        assert!(whole("a.ron").ends_with("a.ron"));
        if let Some(home) = std::env::home_dir().filter(|home| home.is_absolute()) {
            assert_eq!(whole("~/a.ron"), home.join("a.ron"));
            assert_eq!(whole("~"), home);
        }
        assert!(whole("~a.ron").ends_with("~a.ron"));
    }
}
