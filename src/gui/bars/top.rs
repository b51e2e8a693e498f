//! The top bar.

use eframe::egui::{self, Align, Button, Layout, RichText, Ui};

use crate::files::Preferences;
use crate::gui::widgets::list::{list, open_on};
use crate::gui::words;
use crate::session::{Action, Command, Session};
use crate::units::{IrradianceUnit, LengthUnit};

/// The width in points from which the bar is one row.
const ROOM: f32 = 1000.0;

/// The top bar: what is open, undo and redo, units, menu.
pub fn top(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>, actions: &mut Vec<Action>) {
    // with large text, or in a small window, one row has no room for all
    let in_one_row = ui.available_width() >= ROOM;
    ui.add_space(2.0);
    ui.horizontal(|ui| {
        document(ui, session, commands, actions);
        if in_one_row {
            shown_as(ui, session, commands, actions);
        }
    });
    // in a low window the picture needs the room more; units are in the menu, too
    let is_low = super::is_low(ui.ctx()) && session.busy().is_none();
    if !in_one_row && !is_low {
        ui.horizontal(|ui| shown_as(ui, session, commands, actions));
    }
    ui.add_space(2.0);
}

/// The document: menus, name, survey, undo and redo.
fn document(
    ui: &mut Ui,
    session: &Session,
    commands: &mut Vec<Command>,
    actions: &mut Vec<Action>,
) {
    ui.menu_button("File", |ui| {
        for action in [
            Action::New,
            Action::Open,
            Action::OpenSample,
            Action::Save,
            Action::SaveAs,
            Action::Import,
            Action::Export,
            Action::Quit,
        ] {
            entry(ui, action, actions);
        }
        let recent = &session.preferences().recent;
        if !recent.is_empty() {
            ui.separator();
            ui.weak("Recent stations");
        }
        for path in recent {
            let name = path.file_name().map_or_else(
                || path.display().to_string(),
                |n| n.to_string_lossy().into(),
            );
            if ui
                .button(name)
                .on_hover_text(path.display().to_string())
                .clicked()
            {
                ui.close();
                commands.push(Command::Open(path.clone()));
            }
        }
    });
    ui.menu_button("View", |ui| view(ui, session.preferences(), actions));
    let name = &session.station().name;
    let changed = if session.is_changed() {
        " (changed)"
    } else {
        ""
    };
    ui.add(egui::Label::new(RichText::new(format!("{name}{changed}")).strong()).truncate());
    survey_choice(ui, session, commands);
    ui.separator();
    let (undo, redo) = session.undo_names();
    for (action, verb, what) in [(Action::Undo, "Undo", undo), (Action::Redo, "Redo", redo)] {
        let tip = what.map_or_else(
            || format!("Nothing to {}", verb.to_lowercase()),
            |what| format!("{verb} {what} ({})", action.text().keys),
        );
        let button = ui.add_enabled(what.is_some(), Button::new(verb));
        if button
            .on_hover_text(&tip)
            .on_disabled_hover_text(&tip)
            .clicked()
        {
            actions.push(action);
        }
    }
}

/// From the right: the command search, units, the size of text and buttons, what runs.
fn shown_as(
    ui: &mut Ui,
    session: &Session,
    commands: &mut Vec<Command>,
    actions: &mut Vec<Action>,
) {
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let search = Action::FindCommand.text();
        if ui
            .button("Find a command")
            .on_hover_text(format!("{} ({})", search.tip, search.keys))
            .clicked()
        {
            actions.push(Action::FindCommand);
        }
        units(ui, session.preferences(), commands);
        let preferences = session.preferences();
        if preferences.interface_scale != 1.0 {
            let usual = Action::UsualInterface.text();
            let tip = format!(
                "How large text and buttons are; click for the usual size ({})",
                usual.keys
            );
            if ui
                .small_button(scale(preferences))
                .on_hover_text(tip)
                .clicked()
            {
                actions.push(Action::UsualInterface);
            }
        }
        if let Some((what, fraction)) = session.busy() {
            ui.weak(format!("{what} {:.0} %", 100.0 * fraction));
            if what == "Exporting" && ui.button("Stop").clicked() {
                commands.push(Command::CancelExport);
            }
        }
    });
}

/// What changes how things are shown and no answer.
fn view(ui: &mut Ui, now: &Preferences, actions: &mut Vec<Action>) {
    entry(ui, Action::FitView, actions);
    entry(ui, Action::ToggleTheme, actions);
    entry(ui, Action::ToggleLengthUnit, actions);
    entry(ui, Action::NextIrradianceUnit, actions);
    entry(ui, Action::FindCommand, actions);
    ui.separator();
    ui.weak(format!("Text and buttons at {}", scale(now)));
    for action in [
        Action::LargerInterface,
        Action::SmallerInterface,
        Action::UsualInterface,
    ] {
        entry(ui, action, actions);
    }
}

/// `110 %`.
fn scale(preferences: &Preferences) -> String {
    format!("{:.0} %", 100.0 * preferences.interface_scale)
}

fn entry(ui: &mut Ui, action: Action, actions: &mut Vec<Action>) {
    let row = action.text();
    let button = Button::new(row.text).shortcut_text(row.keys);
    if ui.add(button).on_hover_text(row.tip).clicked() {
        // By the keyboard, too, the menu is done with.
        ui.close();
        actions.push(action);
    }
}

fn survey_choice(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let Some((shown, survey)) = session.survey() else {
        ui.weak("no survey yet");
        return;
    };
    ui.label("Survey");
    egui::ComboBox::from_id_salt("survey shown")
        .selected_text(words::survey(survey))
        .show_ui(ui, |ui| {
            for (i, survey) in words::newest_first(session.station()) {
                let row = ui.selectable_label(i == shown, words::survey(survey));
                open_on(ui, &row, i == shown);
                if row.clicked() {
                    commands.push(Command::ShowSurvey(i));
                }
            }
        })
        .response
        .on_hover_text("The survey that the map is made from");
}

fn units(ui: &mut Ui, now: &Preferences, commands: &mut Vec<Command>) {
    let mut wanted = now.clone();
    let irradiances = IrradianceUnit::ALL.map(|unit| (unit, unit.symbol()));
    let lengths = LengthUnit::ALL.map(|unit| (unit, unit.symbol()));
    ui.scope(|ui| {
        ui.spacing_mut().combo_width = 72.0;
        list(
            ui,
            "irradiance unit",
            &mut wanted.irradiance_unit,
            &irradiances,
        )
        .on_hover_text("Unit of irradiance");
    });
    ui.scope(|ui| {
        ui.spacing_mut().combo_width = 48.0;
        list(ui, "length unit", &mut wanted.length_unit, &lengths).on_hover_text("Unit of length");
    });
    if wanted != *now {
        commands.push(Command::Prefer(wanted));
    }
}
