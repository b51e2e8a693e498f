//! The body of the window: the steps, the picture and the panel of the step, beside one another; where the window has no
//! room for both, picture and panel take turns.

use eframe::egui::{CentralPanel, Panel as Side, Rect, ScrollArea, Ui};

use super::panels::{self, Panel};
use super::panes::{Pane, Panes};
use super::{bars, centre};
use crate::session::{Command, Session, Step};

/// Below this width a picture tells nothing, points.
const PICTURE: f32 = 280.0;
/// Below this height a picture has no room for the line under it, points.
const LINE: f32 = 330.0;

/// Which of the two is seen where only one is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Turn {
    /// The panel of the step.
    #[default]
    Panel,
    /// The picture.
    Picture,
    /// The field along a line, where the picture has no room for it.
    Line,
}

/// Shows it; where its middle is.
pub(super) fn show(
    ui: &mut Ui,
    session: &Session,
    state: &mut panels::State,
    view: &mut centre::State,
    turn: &mut Turn,
    panes: &mut Panes,
    commands: &mut Vec<Command>,
) -> Rect {
    Side::left("steps")
        .resizable(false)
        .exact_size(136.0)
        .show(ui, |ui| {
            panes.enter(ui, Pane::Steps);
            // six steps may be higher than a small window with large text
            ScrollArea::vertical().show(ui, |ui| bars::steps(ui, session, commands));
        });
    let step = session.step();
    let (id, width, least, most) = match step {
        Step::Readings => ("readings", 672.0f32, 520.0f32, 900.0f32),
        Step::Limits => ("limits", 470.0, 400.0, 760.0),
        _ => ("step", 372.0, 340.0, 560.0),
    };
    let room = ui.available_width();
    let is_narrow = room < least + PICTURE;
    let has_line = is_narrow && ui.available_height() < LINE && centre::has_line(session);
    if is_narrow {
        Side::top("turns").show(ui, |ui| {
            ui.horizontal(|ui| {
                for (which, text) in [
                    (Turn::Panel, "Forms and figures"),
                    (Turn::Picture, "Picture"),
                    (Turn::Line, "Line through the cross"),
                ] {
                    if which == Turn::Line && !has_line {
                        continue;
                    }
                    ui.selectable_value(turn, which, text)
                        .on_hover_text("The window has no room for both beside one another");
                }
            });
        });
    }
    let panel = |ui: &mut Ui, state: &mut panels::State, commands: &mut Vec<Command>| {
        let mut panel = Panel {
            session,
            state,
            commands,
        };
        step_panel(ui, step, &mut panel);
    };
    if is_narrow && *turn == Turn::Panel {
        let shown = CentralPanel::default().show(ui, |ui| {
            panes.enter(ui, Pane::Panel);
            panel(ui, state, commands);
        });
        return shown.response.rect;
    }
    if !is_narrow {
        Side::right(id)
            .resizable(true)
            .default_size(width)
            // never more than leaves room for the picture
            .size_range(least..=most.min(room - PICTURE).max(least))
            .show(ui, |ui| {
                panes.enter(ui, Pane::Panel);
                panel(ui, state, commands);
            });
    }
    let shown = CentralPanel::default().show(ui, |ui| {
        panes.enter(ui, Pane::Picture);
        if has_line && *turn == Turn::Line {
            centre::line(ui, session, commands);
            ui.min_rect()
        } else {
            centre::show(ui, session, view, !has_line, &mut state.chosen, commands)
        }
    });
    shown.inner
}

/// The panel of a step, what is odd in it below: so a form stays where it is while a finding comes or
/// goes. Only the readings scroll by themselves.
fn step_panel(ui: &mut Ui, step: Step, panel: &mut Panel<'_>) {
    let mut findings = panel.session.findings().iter();
    if findings.any(|finding| Step::of(&finding.place) == step) {
        let most = 0.35 * ui.available_height();
        Side::bottom(step.name()).show(ui, |ui| {
            ScrollArea::vertical()
                .auto_shrink([false, true])
                .id_salt("findings")
                .min_scrolled_height(most)
                .max_height(most)
                .show(ui, |ui| panels::findings::findings(ui, panel, step));
        });
    }
    if step == Step::Readings {
        return panels::readings::show(ui, panel);
    }
    if step == Step::Limits && panel.session.station().limits.is_some() {
        // its height is the window's matter and not that of what it says: nothing below it moves
        let room = ui.available_height();
        Side::top("verdict")
            .resizable(true)
            .default_size((0.45 * room).clamp(200.0, 420.0))
            .size_range(120.0..=(0.7 * room).max(120.0))
            .show(ui, |ui| panels::limits::verdict(ui, panel));
    }
    ScrollArea::vertical()
        .auto_shrink([false, false])
        .id_salt(step.name())
        .show(ui, |ui| match step {
            Step::Fixture => panels::fixture::show(ui, panel),
            Step::Plan => panels::plan::show(ui, panel),
            Step::Readings => {}
            Step::Field => panels::field::show(ui, panel),
            Step::Limits => panels::limits::show(ui, panel),
            Step::Export => panels::export::show(ui, panel),
        });
}
