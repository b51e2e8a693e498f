//! What is particular to each step in the window, all of it: where its panel comes from, how wide that is, what the
//! picture shows, and who brings a person to a finding. What can be dragged in a step stands in `centre/drags.rs`.

use eframe::egui::{Context, Ui};

use super::panels::{self, Panel};
use crate::session::Step;
use crate::sheet::picture::Layers;
use crate::station::Where;

/// A step in the window.
pub(super) struct InWindow {
    /// What its pane goes by: panes of one name have one width.
    pub pane: &'static str,
    /// Width of the panel to begin with, points.
    pub width: f32,
    /// Its least and its greatest width, points.
    pub widths: [f32; 2],
    /// What the picture shows to begin with.
    pub layers: Layers,
    /// The panel.
    pub show: fn(&mut Ui, &mut Panel<'_>),
    /// The panel scrolls by itself.
    pub scrolls_itself: bool,
    /// Opens the form where a finding is mended; whether the place is one of this panel.
    pub jump: fn(&Context, &mut Panel<'_>, &Where) -> bool,
}

/// The map with what lies on the fixture.
const FIELD: Layers = Layers {
    map: true,
    contours: true,
    spots: true,
    ..Layers::FIXTURE
};

/// A step that has nothing of its own yet.
const USUAL: InWindow = InWindow {
    pane: "step",
    width: 372.0,
    widths: [340.0, 560.0],
    layers: FIELD,
    show: |_, _| {},
    scrolls_itself: false,
    jump: |_, _, _| false,
};

/// The step Readings while a round is read: few words and large ones, and beside them where to go.
pub(super) const AT_BENCH: InWindow = InWindow {
    pane: "bench",
    width: 480.0,
    widths: [400.0, 760.0],
    ..USUAL
};

/// What is particular to a step.
pub(super) fn of(step: Step) -> InWindow {
    match step {
        Step::Fixture => InWindow {
            layers: Layers {
                face: true,
                ..Layers::FIXTURE
            },
            show: panels::fixture::show,
            jump: |ctx, panel, place| panels::fixture::jump(ctx, panel.state, place),
            ..USUAL
        },
        Step::Plan => InWindow {
            layers: Layers {
                positions: true,
                bodies: true,
                ..Layers::FIXTURE
            },
            show: panels::plan::show,
            jump: |ctx, panel, _| panels::plan::jump(ctx, panel),
            ..USUAL
        },
        Step::Readings => InWindow {
            pane: "readings",
            width: 672.0,
            widths: [520.0, 900.0],
            layers: Layers {
                readings: true,
                ..FIELD
            },
            show: panels::readings::show,
            scrolls_itself: true,
            jump: |ctx, panel, _| panels::readings::jump(ctx, panel),
        },
        Step::Field => InWindow {
            show: panels::field::show,
            ..USUAL
        },
        Step::Limits => InWindow {
            pane: "limits",
            width: 470.0,
            widths: [400.0, 760.0],
            layers: Layers {
                contours: false,
                ..FIELD
            },
            show: panels::limits::show,
            jump: |ctx, panel, place| panels::limits::jump(ctx, panel.state, place),
            ..USUAL
        },
        Step::Placement => InWindow {
            pane: "placement",
            width: 420.0,
            widths: [360.0, 640.0],
            layers: Layers {
                contours: false,
                spots: false,
                ..FIELD
            },
            show: panels::placement::show,
            ..USUAL
        },
        Step::Change => InWindow {
            show: panels::change::show,
            ..USUAL
        },
        Step::Upkeep => InWindow {
            pane: "upkeep",
            width: 500.0,
            widths: [420.0, 760.0],
            show: panels::upkeep::show,
            jump: panels::upkeep::jump,
            ..USUAL
        },
        Step::Export => InWindow {
            show: panels::export::show,
            ..USUAL
        },
    }
}
