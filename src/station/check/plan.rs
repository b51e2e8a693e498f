//! Findings of the probe-position plan.

use std::collections::HashMap;

use super::repeated::repeated;
use crate::geometry::Shape;
use crate::station::finding::{Finding, Where, note, warning};
use crate::station::seats::Seat;
use crate::station::words::{called, mm};
use crate::station::{PlanLayout, Position, Site, Station};

pub(super) fn check(station: &Station, found: &mut Vec<Finding>) {
    let plan = &station.plan;
    if let Some(name) = &plan.radiometer
        && station.plan_radiometer().is_none()
    {
        found.push(warning(
            Where::Plan("Radiometer"),
            format!("the plan is made for radiometer {name}, which the station does not have"),
            "choose one of the station's radiometers or add this one",
        ));
    }
    heights(station, found);
    round(station, found);
    unreached(station, found);
    if let PlanLayout::Grid { margin, .. } = plan.layout {
        let (width, depth) = station.fixture.shape.size();
        let narrow = width.min(depth);
        if 2.0 * margin > narrow {
            found.push(warning(
                Where::Plan("Margin"),
                format!(
                    "the margin of {} is more than half of the fixture's {}",
                    mm(margin),
                    mm(narrow)
                ),
                "make the margin smaller",
            ));
            return;
        }
    }
    positions(station, found);
}

fn heights(station: &Station, found: &mut Vec<Finding>) {
    let (heights, face) = (&station.plan.heights, station.source.face_height);
    if heights.is_empty() {
        found.push(warning(
            Where::Plan("Heights"),
            "the plan has no height".into(),
            "type at least one height to measure at",
        ));
    }
    for (i, _) in repeated(heights.iter().map(|h| h.to_bits())) {
        found.push(warning(
            Where::Plan("Heights"),
            format!("the height {} stands twice in the plan", mm(heights[i])),
            "delete one of them",
        ));
    }
    for &height in heights {
        if height >= face {
            found.push(warning(
                Where::Plan("Heights"),
                format!(
                    "the plan's height {} is not below the face at {}",
                    mm(height),
                    mm(face)
                ),
                "lower the height or raise the face height",
            ));
        } else if height < 0.0 {
            found.push(note(
                Where::Plan("Heights"),
                format!(
                    "the plan's height {} is below the fixture's base",
                    mm(height)
                ),
                "heights are measured upwards from the base; check the sign",
            ));
        }
    }
}

/// What is odd about the order of the round.
fn round(station: &Station, found: &mut Vec<Finding>) {
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
                mm(height)
            ),
            "lower it",
        ));
    } else if let Some(lowest) = lowest.filter(|lowest| height < lowest - 1e-3) {
        found.push(warning(
            Where::Plan("Reference height"),
            format!(
                "the detector's sensing plane sits {} up and can't be brought to the reference's height {}",
                mm(lowest),
                mm(height)
            ),
            "raise the reference's height",
        ));
    }
}

/// Bond lines that the plan's detector is too thick for.
fn unreached(station: &Station, found: &mut Vec<Finding>) {
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
                mm(low.lowest),
                mm(low.height),
                called("sites", &station.sites[low.group].name)
            ),
            format!(
                "raise the source by {} for the survey and enter its face height there, use a lower detector, or let the field speak for the bond line",
                mm(low.raise())
            ),
        ));
    }
}

fn positions(station: &Station, found: &mut Vec<Finding>) {
    let positions = station.positions();
    if positions.is_empty() {
        found.push(warning(
            Where::Plan("Positions"),
            "the plan has no position".into(),
            "add positions, or choose rows and columns",
        ));
    }
    for (i, _) in repeated(positions.iter().map(|p| &p.name)) {
        found.push(warning(
            Where::Position(i),
            format!(
                "the name of {} stands twice in the plan",
                called("position", &positions[i].name)
            ),
            "give each position its own name",
        ));
    }
    called_like_sites(station, &positions, found);
    let seats = station.seats();
    let body = station.plan_radiometer().map(|r| &r.body);
    for (i, position) in positions.iter().enumerate() {
        if let Some(seat) = seats.wrong(position.at, body) {
            found.push(warning(
                Where::Position(i),
                format!(
                    "{} {}",
                    called("position", &position.name),
                    seat.what(position.at)
                ),
                mend(&seat, station, body),
            ));
        }
    }
}

/// Positions that are called as a site is in which they do not lie: whoever hears the name takes one for the other.
fn called_like_sites(station: &Station, positions: &[Position], found: &mut Vec<Finding>) {
    let sites = station.all_sites();
    let by_name: HashMap<&str, &Site> = sites
        .iter()
        .map(|site| (site.name.trim(), site))
        .filter(|(name, _)| !name.is_empty())
        .collect();
    for (i, position) in positions.iter().enumerate() {
        let same = by_name.get(position.name.trim());
        if same.is_some_and(|site| !site.footprint.contains(position.at)) {
            let name = position.name.trim();
            found.push(note(
                Where::Position(i),
                format!("position {name} and site {name} have one name and are two places"),
                "rename one of the two, such as the sites with S- before their names",
            ));
        }
    }
}

/// What to do about a position where no detector can sit; each kind of seat has a sentence of its own.
fn mend(seat: &Seat<'_>, station: &Station, body: Option<&Shape>) -> String {
    // a margin is counted from the bounds, which are the rim of a rectangle only
    let is_rim = matches!(station.fixture.shape, Shape::Rectangle { .. });
    let in_rows = matches!(station.plan.layout, PlanLayout::Grid { .. });
    match (seat, body) {
        (Seat::BodyOverRim, _) if in_rows && !is_rim => {
            "place the positions by hand and move this one inwards, or use a pattern".into()
        }
        (Seat::BodyOverRim, Some(body)) if in_rows => {
            let (width, depth) = body.size();
            format!(
                "make the margin at least {}, half of the body",
                mm(0.5 * width.max(depth))
            )
        }
        (Seat::BodyOverRim, _) => "move the position inwards, so that the body has room".into(),
        (Seat::BodyOverPlate, _) => {
            "make the plate larger, or move the position inwards, so that the body has room".into()
        }
        (Seat::BodyOverKeepOut(_), _) => {
            "move the position away from the keep-out, so that the body has room".into()
        }
        (Seat::OutsideFixture, _) => {
            "move the position onto the fixture, delete it, or read the plan with the pallet out"
                .into()
        }
        (Seat::OutsidePlate, _) => {
            "make the plate larger, move the position onto it or delete it".into()
        }
        (Seat::InKeepOut(_), _) => "move the position out of the keep-out or delete it".into(),
    }
}
