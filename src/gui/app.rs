//! The program's window: each frame takes in what has ended ([`eframe::App::logic`]), draws the session
//! and does what the person asked for ([`eframe::App::ui`]).

use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{self, Context, Panel as Side, ThemePreference, Ui};
use jiff::civil::Date;

use super::dialogs::{Dialogs, Purpose};
use super::panels::{self, Panel};
use super::panes::{Pane, Panes};
use super::{bars, body, centre, import, keys, search, steps, theme, turns};
use crate::files::{Drive, Preferences, Theme};
use crate::session::{Action, Command, Keep, Session, SettingsFile, Step, Wish};
use crate::units::{IrradianceUnit, LengthUnit};

/// What the window opens with.
#[derive(Debug, Clone, Default)]
pub struct Start {
    /// The station file; `None`: the sample.
    pub station: Option<PathBuf>,
    /// Where this person's settings are kept; `None`: nowhere.
    pub folder: Option<PathBuf>,
    /// Where what is not saved is kept, and for whom; `None`: nowhere.
    pub keep: Option<Keep>,
}

/// The window.
pub struct App {
    session: Session,
    dialogs: Dialogs,
    panels: panels::PanelState,
    view: centre::CentreState,
    turn: body::Turn,
    panes: Panes,
    search: search::Search,
    /// Where the settings are kept; `None`: nowhere.
    settings: Option<SettingsFile>,
    /// The settings as they are in their file.
    kept: Preferences,
    /// The theme and scale that the window has now, and its title.
    shown: (Option<ThemePreference>, f32, String),
    /// The window was asked to close while a text was being edited.
    closing: bool,
    begun: Option<Instant>,
    /// The window had the keyboard in the frame before.
    was_focused: bool,
    /// Says what day it is; `None`: it stays the day that the session was given.
    today: Option<fn() -> Date>,
}

impl App {
    /// Opens the window's state.
    pub fn new(ctx: &Context, start: Start) -> Self {
        let begun = Instant::now();
        let (preferences, trouble) = match &start.folder {
            Some(folder) => Preferences::load(folder),
            None => (Preferences::default(), None),
        };
        if let Some(trouble) = trouble {
            log::warn!("{trouble}");
        }
        let waker = ctx.clone();
        let wake: crate::work::Wake = Arc::new(move || waker.request_repaint());
        let mut session = Session::on_sample(preferences, today(), wake);
        if let Some(keep) = start.keep {
            session.keep_in(keep);
        }
        if let Some(path) = start.station {
            session.handle(Command::Open(path));
        }
        let mut app = Self::of(ctx, session);
        app.dialogs = Dialogs::default();
        app.settings = (start.folder).map(|folder| SettingsFile::new(Drive::default(), folder));
        app.begun = Some(begun);
        app.today = Some(today);
        app
    }

    /// Asks this clock what day it is, from frame to frame.
    #[must_use]
    pub fn on_day(mut self, today: fn() -> Date) -> Self {
        self.today = Some(today);
        self
    }

    /// A window on a session that is there already; it keeps no settings and asks for paths by typing.
    pub fn of(ctx: &Context, session: Session) -> Self {
        theme::install(ctx);
        turns::install(ctx);
        // the scale is a setting of ours, changed by commands of ours
        ctx.options_mut(|options| options.zoom_with_keyboard = false);
        Self {
            kept: session.preferences().clone(),
            session,
            dialogs: Dialogs::typed(),
            panels: panels::PanelState::default(),
            view: centre::CentreState::default(),
            turn: body::Turn::default(),
            panes: Panes::default(),
            search: search::Search::default(),
            settings: None,
            shown: (None, 0.0, String::new()),
            closing: false,
            begun: None,
            was_focused: true,
            today: None,
        }
    }

    /// The session, for tests.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// Does what a panel would ask for, for tests and benchmarks.
    pub fn handle(&mut self, command: Command) {
        self.session.handle(command);
    }

    /// Keeps what is entered in a journal, for benchmarks.
    pub fn keep_in(&mut self, keep: Keep) {
        self.session.keep_in(keep);
    }

    /// Does what a menu, a shortcut or the command search asked for.
    fn act(&mut self, ctx: &Context, action: Action) {
        let station = self.session.station();
        let command = match action {
            Action::New => Command::New,
            Action::OpenSample => Command::OpenSample,
            Action::Save => Command::Save,
            Action::Undo => Command::Undo,
            Action::Redo => Command::Redo,
            Action::Quit => Command::Quit,
            Action::Step(i) => match Step::ALL.get(i) {
                Some(step) => Command::Go(*step),
                None => return,
            },
            Action::Open => return self.dialogs.ask(ctx, Purpose::Open, ""),
            Action::SaveAs => {
                let name = format!("{}.ron", file_name(&station.name));
                return self.dialogs.ask(ctx, Purpose::SaveAs, &name);
            }
            Action::Import => return self.dialogs.ask(ctx, Purpose::Import, ""),
            Action::ImportLog => return self.dialogs.ask(ctx, Purpose::ImportLog, ""),
            Action::Export => return self.dialogs.ask(ctx, Purpose::Export, ""),
            Action::OpenTyped => return self.dialogs.type_path(Purpose::Open, ""),
            Action::SaveAsTyped => {
                let here = self
                    .session
                    .file()
                    .map(|file| file.path.display().to_string());
                let path = here.unwrap_or_else(|| format!("{}.ron", file_name(&station.name)));
                return self.dialogs.type_path(Purpose::SaveAs, &path);
            }
            Action::ImportTyped => return self.dialogs.type_path(Purpose::Import, ""),
            Action::ImportLogTyped => return self.dialogs.type_path(Purpose::ImportLog, ""),
            Action::ExportTyped => return self.dialogs.type_path(Purpose::Export, ""),
            Action::FitView => {
                self.view.fit = true;
                return;
            }
            Action::FindCommand => return self.search.open(),
            Action::NextPane => return self.panes.go_on(true),
            Action::PreviousPane => return self.panes.go_on(false),
            Action::ToggleLengthUnit
            | Action::NextIrradianceUnit
            | Action::ToggleTheme
            | Action::LargerInterface
            | Action::SmallerInterface
            | Action::UsualInterface => {
                let mut preferences = self.session.preferences().clone();
                match action {
                    Action::ToggleLengthUnit => {
                        preferences.length_unit = next(&LengthUnit::ALL, preferences.length_unit);
                    }
                    Action::NextIrradianceUnit => {
                        preferences.irradiance_unit =
                            next(&IrradianceUnit::ALL, preferences.irradiance_unit);
                    }
                    Action::LargerInterface => preferences.scale_interface(1),
                    Action::SmallerInterface => preferences.scale_interface(-1),
                    Action::UsualInterface => preferences.interface_scale = 1.0,
                    _ => {
                        preferences.theme = match ctx.theme() {
                            egui::Theme::Dark => Theme::Light,
                            egui::Theme::Light => Theme::Dark,
                        };
                    }
                }
                Command::Prefer(preferences)
            }
        };
        self.session.handle(command);
    }

    /// Files dropped on the window: stations are opened, anything else is read as readings.
    fn take_dropped(&mut self, ctx: &Context) {
        let paths: Vec<PathBuf> = ctx.input(|input| {
            let files = input.raw.dropped_files.iter();
            files.map(|file| file.path().to_path_buf()).collect()
        });
        for path in paths {
            let is_station = path
                .extension()
                .is_some_and(|e| e.eq_ignore_ascii_case("ron"));
            self.session.handle(if is_station {
                Command::Open(path)
            } else {
                Command::Import(path)
            });
        }
    }

    /// Whether a text that is not taken yet may be in a field or cell.
    fn is_editing(&self, ctx: &Context) -> bool {
        self.panels.edits_a_cell() || ctx.text_edit_focused() || turns::is_waiting(ctx)
    }

    /// Leads to where a finding was clicked.
    fn jump(&mut self, ctx: &Context) {
        let Some(place) = self.session.go_to().cloned() else {
            return;
        };
        let mut commands = Vec::new();
        let mut panel = Panel {
            session: &self.session,
            state: &mut self.panels,
            commands: &mut commands,
        };
        (steps::of(Step::of(&place)).jump)(ctx, &mut panel, &place);
        self.session.take_go_to();
        // where it is mended is in the panel
        self.turn = body::Turn::Panel;
        for command in commands {
            self.session.handle(command);
        }
    }

    /// Gives the window the theme, scale and title that the session asks for.
    fn dress(&mut self, ctx: &Context) {
        let preferences = self.session.preferences();
        let wanted = match preferences.theme {
            Theme::Light => ThemePreference::Light,
            Theme::Dark => ThemePreference::Dark,
            Theme::System => ThemePreference::System,
        };
        if self.shown.0 != Some(wanted) {
            ctx.set_theme(wanted);
            self.shown.0 = Some(wanted);
        }
        let scale = preferences.interface_scale;
        if self.shown.1 != scale {
            ctx.set_zoom_factor(scale);
            self.shown.1 = scale;
        }
        let changed = if self.session.is_changed() { "*" } else { "" };
        let title = format!("{}{changed} - Evenfield", self.session.station().name);
        if self.shown.2 != title {
            ctx.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.shown.2 = title;
        }
        if self.kept != *preferences {
            self.kept = preferences.clone();
            if let Some(settings) = &self.settings {
                settings.keep(self.kept.clone());
            }
        }
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        if let Some(command) = self.dialogs.collect() {
            self.session.handle(command);
        }
        // Whoever comes back from another window may have changed the file there.
        let is_focused = ctx.input(|input| input.focused);
        if is_focused && !std::mem::replace(&mut self.was_focused, is_focused) {
            self.session.handle(Command::LookAtFile);
        }
        if let Some(today) = self.today {
            // a window stays open over midnight
            self.session.set_today(today());
            self.session.set_now(jiff::ZonedDateTime::now());
        }
        self.session.update();
        if self.session.is_working() {
            // Progress is shown; the end of the work wakes the window by itself.
            ctx.request_repaint_after(Duration::from_millis(150));
        }
        if ctx.input(|input| input.viewport().close_requested()) && !self.session.wants_quit() {
            if self.is_editing(ctx) {
                self.closing = true;
                ctx.request_repaint();
            } else {
                self.session.handle(Command::Quit);
            }
            if !self.session.wants_quit() {
                ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            }
        } else if self.session.wants_quit() {
            ctx.send_viewport_cmd(egui::ViewportCommand::Close);
        }
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        self.dress(&ctx);
        self.take_dropped(&ctx);
        let mut actions = Vec::new();
        let is_asked = self.session.question().is_some() || self.session.import().is_some();
        if !is_asked && !self.search.is_open() {
            actions = keys::pressed(&ctx, self.panels.edits_a_cell());
            if !turns::is_waiting(&ctx) && std::mem::take(&mut self.closing) {
                actions.push(Action::Quit);
            }
        }
        // A command acts on what is typed so far: the field or cell hears that it has lost the keyboard
        // and hands its text over before the command is done, and has the keyboard back afterwards.
        let editing = ctx.memory(|memory| memory.focused());
        let editing = editing.filter(|_| !actions.is_empty() && self.is_editing(&ctx));
        if let Some(id) = editing {
            ctx.memory_mut(|memory| memory.surrender_focus(id));
        }
        let mut commands = Vec::new();
        self.jump(&ctx);
        self.panes.begin(&ctx);

        Side::top("top").show(ui, |ui| {
            self.panes.enter(ui, Pane::Top);
            bars::top(ui, &self.session, &mut commands, &mut actions);
        });
        Side::bottom("answer").show(ui, |ui| bars::answer(ui, &self.session, &mut commands));
        let step = self.session.step();
        let middle = body::show(
            ui,
            &self.session,
            &mut self.panels,
            &mut self.view,
            &mut self.turn,
            &mut self.panes,
            &mut commands,
        );
        if let Some(notice) = self.session.notice() {
            bars::notice(&ctx, middle, notice, &mut commands);
        }

        if let Some(question) = self.session.question() {
            bars::question(&ctx, question, &mut commands);
        }
        import::show(&ctx, &self.session, &mut commands);
        actions.extend(self.search.show(&ctx));
        commands.extend(self.dialogs.show(&ctx));
        actions.extend(self.panels.wish.take());

        let asked = !commands.is_empty() || !actions.is_empty();
        for command in commands {
            self.session.handle(command);
        }
        for action in actions {
            self.act(&ctx, action);
        }
        if let Some(id) = editing
            && self.session.step() == step
            && ctx.memory(|memory| memory.focused().is_none())
        {
            ctx.memory_mut(|memory| memory.request_focus(id));
        }
        if self.session.take_wish() == Some(Wish::SavePath) {
            self.act(&ctx, Action::SaveAs);
        }
        if asked {
            ctx.request_repaint();
        }
        if let Some(begun) = self.begun.take() {
            log::info!(
                "first frame laid out {:?} after the window's start",
                begun.elapsed()
            );
        }
    }
}

/// The day by this machine's clock.
fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

/// The entry after `now`, round and round.
fn next<T: Copy + PartialEq>(all: &[T], now: T) -> T {
    let at = all.iter().position(|&unit| unit == now).unwrap_or(0);
    all[(at + 1) % all.len()]
}

/// A name that every file system takes.
fn file_name(name: &str) -> String {
    let plain: String = name
        .chars()
        .map(|c| match c {
            c if c.is_alphanumeric() => c,
            '-' | '_' | ' ' => c,
            _ => ' ',
        })
        .take(60)
        .collect();
    let name = plain.split_whitespace().collect::<Vec<_>>().join("-");
    if name.is_empty() {
        "station".into()
    } else {
        name
    }
}
