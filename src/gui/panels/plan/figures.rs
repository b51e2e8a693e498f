//! What a plan comes to: how many readings, how dense, what goes under the detector.

use eframe::egui::{Label, Ui};

use super::super::Panel;
use super::change::change;
use crate::gui::widgets::field_row::FieldRow;
use crate::probing::{self, Expectation, Prospect, Route, heights_around};
use crate::record::fewest_in_words;
use crate::session::{Command, Session, Trial};
use crate::units::{LengthUnit, fixed, parse_number, trim_zeros};
use crate::work::Held;

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
        let route = &figures.route;
        let readings = count(figures.positions * heights.len(), "reading");
        let make = if figures.positions == 1 {
            "makes"
        } else {
            "make"
        };
        say(format!("{positions} at {at_heights} {make} {readings}"));
        if !route.stops.is_empty() {
            say(round(route, unit));
        }
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
                        "out of reach, the sensing plane sits {} up; raise the source by {} for the survey",
                        unit.show_with_unit(r.sensing_plane),
                        unit.show_with_unit(r.sensing_plane - height)
                    ),
                },
            };
            say(format!(
                "At {}: working distance {}, {spacer}",
                unit.show_with_unit(height),
                unit.show_with_unit(station.source.face_height - height)
            ));
        }
        for text in of_detector(session, unit) {
            say(text);
        }
    });
}

/// How many stops the round has, how long it is and takes.
fn round(route: &Route, unit: LengthUnit) -> String {
    let visits = route.stops.iter().filter(|s| s.visit.is_some()).count();
    let visits = match visits {
        0 => String::new(),
        n => format!(", {n} of them visits of the reference"),
    };
    let times = |n: usize, what: &str| match n {
        0 => String::new(),
        1 => format!(", {what} changed once"),
        n => format!(", {what} changed {n} times"),
    };
    format!(
        "The round has {} stops{visits}: about {} min, {} from position to position{}{}",
        route.stops.len(),
        fixed(route.minutes.ceil(), 0),
        unit.show_with_unit(route.length.round()),
        times(route.height_changes, "spacer"),
        times(route.plate_changes, "plate")
    )
}

/// What the detector can't show: bond lines below its sensing plane, by the field where there is one, and what its aperture
/// averages.
fn of_detector(session: &Session, unit: LengthUnit) -> Vec<String> {
    let station = session.station();
    let Some(radiometer) = station.plan_radiometer() else {
        return Vec::new();
    };
    let by_field = session
        .answers()
        .answer()
        .any()
        .map(|answer| &answer.detector);
    let mut all = Vec::new();
    let unreached = by_field.and_then(|d| d.unreached.as_ref());
    match unreached.filter(|u| u.lowest == radiometer.sensing_plane) {
        Some(u) => all.push(format!(
            "The sensing plane can't be brought to the bond line of site {} at {}: by the field {} % more is read {} up than lies there",
            u.site,
            unit.show_with_unit(u.height),
            fixed(u.more_percent, 1),
            unit.show_with_unit(u.lowest)
        )),
        None => all.extend(station.unreached(radiometer).iter().map(|u| {
            let cost = u.more_percent.map_or_else(String::new, |percent| {
                format!(
                    ": by the inverse square of the distance, an estimate, {} % more is read {} up than lies there",
                    fixed(percent, 0),
                    unit.show_with_unit(u.lowest)
                )
            });
            format!(
                "The sensing plane can't be brought to the bond line at {}{cost}",
                unit.show_with_unit(u.height)
            )
        })),
    }
    let averaged = by_field.and_then(|d| d.averaged_percent);
    if let (Some(percent), Some(aperture)) = (averaged, radiometer.aperture_diameter) {
        all.push(format!(
            "At the coldest spot the aperture of {} averages {} % away",
            unit.show_with_unit(aperture),
            fixed(percent, 2)
        ));
    }
    all
}

/// What the plan can show before a single reading, what it can't, and what would be better.
pub(super) fn prospect(ui: &mut Ui, panel: &mut Panel<'_>, unit: LengthUnit) {
    let station = panel.session.station().clone();
    let held = panel.session.answers().planning().figures();
    if let Some(prospect) = held.any().and_then(|figures| figures.prospect) {
        for text in words(&prospect, station.plan.plate.is_some(), unit) {
            ui.add(Label::new(text).wrap());
        }
    }
    let heights = heights_around(&station);
    if heights != station.plan.heights {
        let shown: Vec<String> = heights.iter().map(|h| unit.show(*h)).collect();
        let button = ui
            .button(format!("Read at {} {}", shown.join(", "), unit.symbol()))
            .on_hover_text("At the bond lines and a height on either side, so that the readings tell how the light changes with height");
        if button.clicked() {
            change(panel, |plan| plan.heights = heights);
        }
    }
    let now = panel.session.trial();
    let mut expect = now.expect;
    ui.checkbox(&mut expect, "Say how wide the bound will be")
        .on_hover_text("Lamps of this kind are drawn over this face, read by this plan with the usual errors, and judged as a survey is; it takes some seconds");
    if expect != now.expect {
        panel.send(Command::Try(Trial { expect, ..now }));
    }
    if !expect {
        return;
    }
    match panel.session.answers().planning().expected() {
        Held::Failed(why, _) => {
            ui.add(Label::new(why.to_string()).wrap());
        }
        held => match held.current() {
            Some(expected) => {
                for text in expected_in_words(expected) {
                    ui.add(Label::new(text).wrap());
                }
            }
            None => {
                ui.weak("Reading lamps of this kind by this plan");
            }
        },
    }
    fewest(ui, panel);
}

/// As few positions as reach a wanted width, tried out with a click.
fn fewest(ui: &mut Ui, panel: &mut Panel<'_>) {
    let now = panel.session.trial();
    let typed = FieldRow {
        key: "plan Within",
        label: "Keep the bound within",
        unit: "%",
        shown: &now
            .within
            .map_or_else(String::new, |w| trim_zeros(fixed(w, 2))),
    }
    .read(ui, |text| {
        if text.trim().is_empty() {
            return Ok(None);
        }
        match parse_number(text) {
            Ok(percent) if percent > 0.0 => Ok(Some(percent)),
            Ok(_) => Err("Type a number above zero, or nothing".into()),
            Err(why) => Err(why.to_string()),
        }
    });
    if let Some(within) = typed.filter(|within| *within != now.within) {
        panel.send(Command::Try(Trial { within, ..now }));
    }
    if now.within.is_none() {
        ui.weak("Type how far below the coldest spot it may lie, and as few positions as reach that are looked for");
        return;
    }
    let found = match panel.session.answers().planning().fewest() {
        Held::Failed(why, _) => {
            ui.add(Label::new(why.to_string()).wrap());
            return;
        }
        held => held.current().copied(),
    };
    let Some(found) = found else {
        ui.weak("Looking for as few positions as reach that");
        return;
    };
    ui.add(Label::new(fewest_in_words(&found)).wrap());
    if ui.button("Try out these positions").clicked() {
        let pattern = Some(found.pattern);
        panel.send(Command::Try(Trial { pattern, ..now }));
    }
}

fn words(prospect: &Prospect, pallet_out: bool, unit: LengthUnit) -> Vec<String> {
    let mm = |v: f64| unit.show_with_unit(v.round());
    let percent = |part: f64| {
        let percent = 100.0 * part;
        if percent < 0.95 {
            format!("{percent:.1}")
        } else {
            format!("{percent:.0}")
        }
    };
    let mut all = Vec::new();
    if prospect.beyond > 0.0 {
        let around = if pallet_out {
            "The pattern around what is assessed leaves none of it out."
        } else {
            "Read with the pallet out, around the parts, none of it would."
        };
        all.push(format!(
            "{} % of the assessed area lies beyond the outermost positions, up to {} of them: no reading shows the light there, and the bound pays for it. {around}",
            percent(prospect.beyond),
            mm(prospect.farthest),
        ));
    } else {
        all.push("All of the assessed area lies between positions.".into());
    }
    let mut spacing = format!(
        "Positions lie up to {} apart at a working distance of {}: of a pattern on the lamp's face too fine for them, {} % is left at most",
        mm(prospect.apart),
        mm(prospect.distance),
        percent(prospect.left),
    );
    if prospect.apart > 1.05 * prospect.proposed {
        spacing += &format!(
            "; {} or less would leave 1 %",
            mm(prospect.proposed.floor())
        );
    }
    all.push(spacing);
    if let Some(left) = prospect.left_of_array {
        all.push(format!(
            "The panel's rows of LEDs are finer than the positions can tell: {} % of them is left at that distance.",
            percent(left)
        ));
    }
    all
}

fn expected_in_words(expected: &Expectation) -> Vec<String> {
    let of = |e: &probing::Expected| format!("{:.1} % ({:.1} % at most)", e.below, e.most);
    let mut all = vec![format!(
        "The bound is expected to lie {} below the coldest spot, by {} lamps of this kind that were drawn.",
        of(&expected.planned),
        expected.planned.lamps
    )];
    all.extend(expected.around.map(|around| {
        format!(
            "With the pallet in place it costs that much; around the parts, with the pallet out, it would be {}.",
            of(&around)
        )
    }));
    all
}
