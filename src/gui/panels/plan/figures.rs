//! What a plan comes to: how many readings, how dense, what goes under the detector.

use eframe::egui::{Label, Ui};

use crate::probing;
use crate::session::Session;
use crate::units::LengthUnit;

/// Shows them; those of the plan as it was stay, greyed, until the newer ones are there.
pub(super) fn show(ui: &mut Ui, session: &Session, unit: LengthUnit) {
    let held = session.answers().planning().figures();
    let Some(figures) = held.any() else {
        ui.weak("Working out what the plan comes to");
        return;
    };
    let station = session.station();
    ui.add_enabled_ui(held.current().is_some(), |ui| {
        let mut say = |text: String| ui.add(Label::new(text).wrap());
        let heights = &station.plan.heights;
        let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
        let (positions, at_heights) = (
            count(figures.positions, "position"),
            count(heights.len(), "height"),
        );
        let readings = count(figures.positions * heights.len(), "reading");
        let make = if figures.positions == 1 { "makes" } else { "make" };
        say(format!("{positions} at {at_heights} {make} {readings}"));
        if let Some(spacing) = figures.spacing {
            say(format!("Median spacing {}", unit.show_with_unit(spacing)));
        }
        if let Some((at, radius)) = figures.gap {
            say(format!(
                "Largest gap: radius {} around {}, {}",
                unit.show_with_unit(radius),
                unit.show(at.x),
                unit.show(at.y)
            ));
        }
        let radiometer = station.plan_radiometer();
        for &height in heights {
            let spacer = match radiometer {
                None => "spacer not known without a radiometer".to_owned(),
                Some(r) => match probing::spacer(height, r.sensing_plane) {
                    Some(0.0) => "no spacer".to_owned(),
                    Some(spacer) => format!("spacer {}", unit.show_with_unit(spacer)),
                    None => format!(
                        "out of reach, the sensing plane sits {} up",
                        unit.show_with_unit(r.sensing_plane)
                    ),
                },
            };
            say(format!(
                "At {}: working distance {}, {spacer}",
                unit.show_with_unit(height),
                unit.show_with_unit(station.source.face_height - height)
            ));
        }
        say("Route: height by height from the lowest up, row by row from the front left, there and back. The plan sheet numbers the stops.".into());
    });
}
