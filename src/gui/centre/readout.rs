//! The line below the picture: what is read at the pointer.

use eframe::egui::Ui;

use super::shown::Shown;
use crate::geometry::Point;
use crate::progress::Progress;
use crate::session::{MapOf, Session, Step};
use crate::sheet::drawing::{Drawing, Item};
use crate::units::fixed;

fn hover_id() -> eframe::egui::Id {
    eframe::egui::Id::unique("pointer over the plan")
}

/// The read-out stands below the picture and is laid out before it, so it shows last frame's pointer.
pub(super) fn remember(ui: &Ui, hover: Option<Point>) {
    if hovered(ui) != hover {
        ui.data_mut(|data| data.insert_temp(hover_id(), hover));
        // after the closure: the context must not be asked for anything while it is held
        ui.ctx().request_repaint();
    }
}

fn hovered(ui: &Ui) -> Option<Point> {
    ui.data(|data| data.get_temp::<Option<Point>>(hover_id()).flatten())
}

/// What both fields and the local change are at the pointer, or a hint.
pub(super) fn of_change(ui: &mut Ui, session: &Session) {
    let preferences = session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    let compared = session.answers().change().any();
    let Some((at, compared)) = hovered(ui).zip(compared) else {
        ui.weak("Point at a picture to read both fields and the local change");
        return;
    };
    let pictures = &compared.pictures;
    let mut said = vec![format!(
        "{}, {} {}",
        mm.show(at.x),
        mm.show(at.y),
        mm.symbol()
    )];
    let fields = pictures
        .fields
        .each_ref()
        .map(|drawing| shown_at(drawing, at));
    if let [Some(before), Some(after)] = fields {
        said.push(format!(
            "earlier {}, later {} {}",
            unit.show(before, None),
            unit.show(after, None),
            unit.symbol()
        ));
    }
    let local = pictures.local.as_ref();
    if let Some(change) = local.and_then(|(drawing, _)| shown_at(drawing, at)) {
        said.push(format!(
            "local change {} %, beside what is common",
            fixed(change, 1)
        ));
    }
    ui.label(said.join(": "));
}

/// What the map of a drawing is at a place.
fn shown_at(drawing: &Drawing, at: Point) -> Option<f64> {
    let raster = drawing.items.iter().find_map(|item| match item {
        Item::Field { raster, .. } => Some(raster),
        _ => None,
    });
    raster.and_then(|raster| raster.nearest(at))
}

/// What the field is at the pointer, or a hint.
pub(super) fn show(ui: &mut Ui, session: &Session, shown: Shown<'_>) {
    let preferences = session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    let Some(at) = hovered(ui) else {
        let hint = match session.step() {
            Step::Fixture => {
                "Drag a site's or keep-out's centre, or a corner, to move it; arrow keys move what is chosen"
            }
            Step::Plan => "Drag a position to move it; arrow keys move what is chosen",
            _ if session.answers().map().any().is_none() => {
                "The map appears here as soon as there are readings"
            }
            Step::Field | Step::Readings => {
                "Point at the map to read it; click, or drag the cross, for the line below"
            }
            _ => "Point at the map to read it",
        };
        ui.weak(hint);
        return;
    };
    let mut text = format!("{}, {} {}", mm.show(at.x), mm.show(at.y), mm.symbol());
    let brightness = shown.map.filter(|_| shown.of == MapOf::Brightness);
    if let Some((brightness, _)) = brightness {
        if let Some(value) = brightness.raster.nearest(at) {
            text += &format!(
                ": brightness {} of the face's mean, inferred",
                fixed(value, 2)
            );
        }
        ui.label(text);
        return;
    }
    let inside = session.station().fixture.footprint().contains(at);
    if let Some(fit) = session.answers().fit().current().filter(|_| inside) {
        let place = [at.at_height(session.height())];
        if let Ok(there) = fit.field.at(&place, &Progress::new())
            && let Some(e) = there.first()
        {
            text += " at height ";
            text += &mm.show_with_unit(session.height());
            text += ": ";
            text += &match e.uncertainty {
                Some(u) => format!("{} {}", unit.show_expanded(e.irradiance, u), unit.symbol()),
                None => format!(
                    "{}, uncertainty not known",
                    unit.show_with_unit(e.irradiance, None)
                ),
            };
            if e.extrapolated {
                text += ", extrapolated";
            }
        }
    }
    ui.label(text);
}
