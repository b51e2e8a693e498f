//! The body of the window: the steps, the picture and the panel of the step, beside one another; where the window has no
//! room for both, picture and panel take turns.

use eframe::egui::{CentralPanel, Id, Panel as Side, Rect, ScrollArea, Ui};

use super::panels::{self, Panel};
use super::panes::{Pane, Panes};
use super::{bars, centre, steps};
use crate::session::{Command, Session, Step};

/// Below this width a picture tells nothing, points.
const PICTURE: f32 = 280.0;
/// Below this width the steps are their numbers and signs, points.
const SMALL: f32 = 900.0;
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
    state: &mut panels::PanelState,
    view: &mut centre::CentreState,
    turn: &mut Turn,
    panes: &mut Panes,
    commands: &mut Vec<Command>,
) -> Rect {
    // with large text, or in a small window, the picture needs the room more than the words of the steps
    let is_small = ui.available_width() < SMALL;
    Side::left("steps")
        .resizable(false)
        .exact_size(if is_small { 48.0 } else { 136.0 })
        .show(ui, |ui| {
            panes.enter(ui, Pane::Steps);
            // six steps may be higher than a small window with large text
            ScrollArea::vertical().show(ui, |ui| bars::steps(ui, session, commands));
        });
    let step = session.step();
    let here = if session.is_at_bench() {
        steps::AT_BENCH
    } else {
        steps::of(step)
    };
    let (id, width, [least, most]) = (here.pane, here.width, here.widths);
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
    let panel = |ui: &mut Ui, state: &mut panels::PanelState, commands: &mut Vec<Command>| {
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
            centre::show(ui, session, view, !has_line, state, commands)
        }
    });
    shown.inner
}

/// The verdict in a place of its own below the form, as high as what it says and no higher than leaves room for the form: it
/// grows and shrinks at its upper edge, and nothing that is typed into moves. While something is typed, or worked out, it
/// keeps its height.
fn verdict(ui: &mut Ui, panel: &mut Panel<'_>) {
    let id = Id::unique("height of what the verdict says");
    let room = ui.available_height();
    let most = (0.55 * room).max(120.0);
    let before = ui.data(|data| data.get_temp::<f32>(id));
    let shown = Side::bottom("verdict")
        .resizable(false)
        .exact_size(before.unwrap_or(0.4 * room).min(most))
        .show(ui, |ui| panels::limits::verdict(ui, panel));
    let is_still = ui.ctx().text_edit_focused() || panel.session.answers().is_answering();
    if before.is_none_or(|before| !is_still && (before - shown.inner).abs() > 0.5) {
        ui.data_mut(|data| data.insert_temp(id, shown.inner));
        ui.ctx().request_repaint();
    }
}

/// The panel of a step, what is odd in it below: so a form stays where it is while a finding comes or
/// goes. Only the readings scroll by themselves.
fn step_panel(ui: &mut Ui, step: Step, panel: &mut Panel<'_>) {
    let mut findings = panel.session.findings().iter();
    let flagged = step == Step::Readings && panels::readings::is_flagged(panel.state);
    if flagged || findings.any(|finding| Step::of(&finding.place) == step) {
        let most = 0.35 * ui.available_height();
        Side::bottom(step.name()).show(ui, |ui| {
            ScrollArea::vertical()
                .auto_shrink([false, true])
                .id_salt("findings")
                .min_scrolled_height(most)
                .max_height(most)
                .show(ui, |ui| {
                    if flagged {
                        panels::readings::flagged(ui, panel);
                    }
                    panels::findings::findings(ui, panel, step);
                });
        });
    }
    let here = steps::of(step);
    if here.scrolls_itself {
        return (here.show)(ui, panel);
    }
    if step == Step::Limits && panel.session.station().limits.is_some() {
        verdict(ui, panel);
    }
    ScrollArea::vertical()
        .auto_shrink([false, false])
        .id_salt(step.name())
        .show(ui, |ui| (here.show)(ui, panel));
}
