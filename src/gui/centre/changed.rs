//! The pictures of the step Change: both fields on one scale, and the local change; one of them, or all beside each other.

use std::sync::Arc;

use eframe::egui::{Panel as Side, Rect, Ui, UiBuilder};

use super::readout;
use crate::gui::widgets::colour_bar::{ColourBar, Quantity};
use crate::gui::widgets::plan_view::PlanView;
use crate::session::{Compared, Session};
use crate::sheet::change::local_ticks;
use crate::sheet::colour::LeftOut;
use crate::sheet::drawing::Drawing;

/// Width of a colour bar with its values, points.
const BAR: f32 = 98.0;

/// Which pictures are seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Pictures {
    #[default]
    Local,
    Earlier,
    Later,
    All,
}

/// One picture.
#[derive(Clone, Copy)]
struct Part<'a> {
    name: &'static str,
    drawing: &'a Arc<Drawing>,
    bar: Option<ColourBar<'a>>,
}

/// Shows what is chosen, with the choice above it; where the pictures are.
pub(super) fn show(
    ui: &mut Ui,
    session: &Session,
    chosen: &mut Pictures,
    fit: bool,
    compared: &Compared,
) -> Rect {
    let pictures = &compared.pictures;
    ui.horizontal_wrapped(|ui| {
        ui.label("Picture of");
        for (seen, name, tip) in [
            (
                Pictures::Local,
                "Local change",
                "What has changed beside what is common",
            ),
            (
                Pictures::Earlier,
                "Earlier",
                "The field of the earlier survey",
            ),
            (
                Pictures::Later,
                "Later",
                "The field of the later survey, on the same scale",
            ),
            (
                Pictures::All,
                "All side by side",
                "Both fields on one scale, and the local change",
            ),
        ] {
            ui.selectable_value(chosen, seen, name).on_hover_text(tip);
        }
    });
    Side::bottom("read-out")
        .show_separator_line(false)
        .show(ui, |ui| readout::of_change(ui, session));
    let ticks = pictures
        .local
        .as_ref()
        .map(|(_, scale)| local_ticks(*scale));
    let bar = |scale, ticks, quantity| ColourBar {
        scale,
        ticks,
        quantity,
        left_out: LeftOut::default(),
        coldest: None,
        hottest: None,
    };
    let unit = session.preferences().irradiance_unit;
    let of_fields = bar(
        pictures.scale,
        &pictures.levels[..],
        Quantity::Irradiance(unit),
    );
    let field = |i: usize, with_bar: bool| Part {
        name: ["Earlier", "Later"][i],
        drawing: &pictures.fields[i],
        bar: with_bar.then_some(of_fields),
    };
    let local = (pictures.local.as_ref())
        .zip(ticks.as_ref())
        .map(|((drawing, scale), ticks)| Part {
            name: "Local change",
            drawing,
            bar: Some(bar(*scale, ticks, Quantity::Change)),
        });
    let room = ui.available_rect_before_wrap();
    let seen = match (*chosen, &local) {
        (Pictures::Earlier, _) | (Pictures::Local, None) => vec![(field(0, true), room)],
        (Pictures::Later, _) => vec![(field(1, true), room)],
        (Pictures::Local, Some(local)) => vec![(*local, room)],
        (Pictures::All, local) => {
            // both fields above, as wide as each other without the bar that stands for both
            let height = if local.is_some() { 0.5 } else { 1.0 };
            let (above, below) = room.split_top_bottom_at_fraction(height);
            let (left, right) = above.split_left_right_at_x(above.center().x - 0.5 * BAR);
            let fields = [(field(0, false), left), (field(1, true), right)];
            let local = local.iter().map(|local| (*local, below));
            fields.into_iter().chain(local).collect()
        }
    };
    let several = seen.len() > 1;
    let mut hover = None;
    for (part, rect) in seen {
        let place = UiBuilder::new().id_salt(part.name).max_rect(rect);
        let over = ui
            .scope_builder(place, |ui| one(ui, session, &part, several, fit))
            .inner;
        hover = hover.or(over);
    }
    readout::remember(ui, hover);
    room
}

/// Shows one picture with its name and colours; where the pointer is over it.
fn one(
    ui: &mut Ui,
    session: &Session,
    part: &Part<'_>,
    is_named: bool,
    fit: bool,
) -> Option<crate::geometry::Point> {
    if is_named {
        ui.strong(part.name);
    }
    if let Some(bar) = &part.bar {
        Side::right(("colour bar", part.name))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(BAR)
            .show(ui, |ui| bar.show(ui));
    }
    let station = session.station();
    let description = format!("{}: {}", part.name, station.name);
    let view = PlanView::<()> {
        name: part.name,
        id_salt: part.name,
        drawing: part.drawing,
        unit: session.preferences().length_unit,
        description: &description,
        handles: &[],
        chosen: None,
        snap: None,
        fit,
    };
    view.show(ui).hover
}
