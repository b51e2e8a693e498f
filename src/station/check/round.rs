//! Findings of the round: its order, its reference position, and what the detector is too thick for.

use crate::station::Station;
use crate::station::finding::{Finding, Where, note, warning};
use crate::station::words::called;
use crate::units::LengthUnit;

pub(super) fn check(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    order(station, length, found);
    unreached(station, length, found);
}

/// What is odd about the order of the round.
fn order(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    let plan = &station.plan;
    let positions = station.positions();
    let is_there = |name: &str| positions.iter().any(|p| p.name == name);
    if let Some(start) = plan.start.as_deref().filter(|name| !is_there(name)) {
        found.push(warning(
            Where::Plan("Start"),
            format!(
                "the route is to begin at {}, which the plan does not have",
                called("position", start)
            ),
            "choose another one, or none",
        ));
    }
    let Some(reference) = &plan.reference else {
        return;
    };
    if !is_there(&reference.position) {
        found.push(warning(
            Where::Plan("Reference"),
            format!(
                "the reference is {}, which the plan does not have",
                called("position", &reference.position)
            ),
            "choose another one, or none",
        ));
    }
    let height = reference.height;
    let lowest = station.plan_radiometer().map(|r| r.sensing_plane);
    if height >= station.source.face_height {
        found.push(warning(
            Where::Plan("Reference height"),
            format!(
                "the reference's height {} is not below the face",
                length.show_with_unit(height)
            ),
            "lower it",
        ));
    } else if let Some(lowest) = lowest.filter(|lowest| height < lowest - 1e-3) {
        found.push(warning(
            Where::Plan("Reference height"),
            format!(
                "the detector's sensing plane sits {} up and can't be brought to the reference's height {}",
                length.show_with_unit(lowest),
                length.show_with_unit(height)
            ),
            "raise the reference's height",
        ));
    }
}

/// Bond lines that the plan's detector is too thick for.
fn unreached(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    let Some(radiometer) = station.plan_radiometer() else {
        return;
    };
    for low in station.unreached(radiometer) {
        let cost = match low.more_percent {
            Some(percent) => format!(
                "about {percent:.0} % more is read there than lies at the bond, by the inverse square of the distance, an estimate"
            ),
            None => "that is not below the face".to_owned(),
        };
        found.push(note(
            Where::Plan("Radiometer"),
            format!(
                "the detector's sensing plane sits {} up and can't be brought to the bond line {} of {}: {cost}",
                length.show_with_unit(low.lowest),
                length.show_with_unit(low.height),
                called("sites", &station.sites[low.group].name)
            ),
            format!(
                "raise the source by {} for the survey and enter its face height there, use a lower detector, or let the field speak for the bond line",
                length.show_with_unit(low.raise())
            ),
        ));
    }
}
