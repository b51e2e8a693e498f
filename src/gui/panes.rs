//! The panes of the window, between which a key moves the keyboard.

use eframe::egui::{Context, FocusDirection, Id, Rect, Ui};

/// A part of the window with things in it that can have the keyboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pane {
    /// The bar above all.
    Top,
    /// The list of steps.
    Steps,
    /// The forms and figures of a step.
    Panel,
    /// The picture with its tools.
    Picture,
}

/// Where the keyboard is, and where it was in each pane.
#[derive(Debug, Default)]
pub(super) struct Panes {
    /// Those in sight with the room that they have, in the order in which they are gone through.
    shown: Vec<(Pane, Rect)>,
    here: Option<Pane>,
    last: [Option<Id>; 4],
    wanted: Option<Pane>,
}

impl Panes {
    /// Looks where the keyboard is, before anything of the frame is shown.
    pub(super) fn begin(&mut self, ctx: &Context) {
        let focused = ctx.memory(|memory| memory.focused());
        let place = focused.and_then(|id| Some((id, place(ctx, id)?.center())));
        if let Some((id, at)) = place
            && let Some((pane, _)) = self.shown.iter().find(|(_, room)| room.contains(at))
        {
            self.here = Some(*pane);
            self.last[*pane as usize] = Some(id);
        }
        if let Some(id) = focused.filter(|_| self.wanted.is_some()) {
            ctx.memory_mut(|memory| memory.surrender_focus(id));
        }
        self.shown.clear();
    }

    /// Wants the keyboard in the next pane, or in the one before.
    pub(super) fn go_on(&mut self, forward: bool) {
        let all = self.shown.len();
        let here = (self.shown.iter()).position(|(pane, _)| Some(*pane) == self.here);
        let next = match (here, forward) {
            (Some(here), true) => here + 1,
            (Some(here), false) => here + all - 1,
            (None, true) => 0,
            (None, false) => all.saturating_sub(1),
        };
        self.wanted = (self.shown.get(next.checked_rem(all).unwrap_or(0))).map(|(pane, _)| *pane);
    }

    /// To be told at the begin of each pane. One that is wanted gets the keyboard where it was there last, or at its first
    /// place.
    pub(super) fn enter(&mut self, ui: &Ui, pane: Pane) {
        self.shown.push((pane, ui.max_rect()));
        if self.wanted.take_if(|wanted| *wanted == pane).is_none() {
            return;
        }
        self.here = Some(pane);
        let last = self.last[pane as usize].filter(|id| place(ui.ctx(), *id).is_some());
        ui.memory_mut(|memory| match last {
            Some(id) => memory.request_focus(id),
            // nothing has the keyboard now: the first that can will
            None => memory.move_focus(FocusDirection::Next),
        });
        ui.ctx().request_repaint();
    }
}

/// Where something was in the last frame. A response would tell too, but asking for one may take the keyboard away.
fn place(ctx: &Context, id: Id) -> Option<Rect> {
    ctx.viewport(|viewport| Some(viewport.prev_pass.widgets.get(id)?.rect))
}
