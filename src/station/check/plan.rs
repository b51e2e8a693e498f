//! Findings of the probe-position plan.

use std::collections::HashMap;

use super::repeated::repeated;
use crate::geometry::Shape;
use crate::station::finding::{Finding, Where, note, warning};
use crate::station::seats::Seat;
use crate::station::words::called;
use crate::station::{PlanLayout, Position, Site, Station};
use crate::units::LengthUnit;

pub(super) fn check(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
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
    heights(station, length, found);
    super::round::check(station, length, found);
    if let PlanLayout::Grid { margin, .. } = plan.layout {
        let (width, depth) = station.fixture.shape.size();
        let narrow = width.min(depth);
        if 2.0 * margin > narrow {
            found.push(warning(
                Where::Plan("Margin"),
                format!(
                    "the margin of {} is more than half of the fixture's {}",
                    length.show_with_unit(margin),
                    length.show_with_unit(narrow)
                ),
                "make the margin smaller",
            ));
            return;
        }
    }
    positions(station, length, found);
}

fn heights(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
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
            format!(
                "the height {} stands twice in the plan",
                length.show_with_unit(heights[i])
            ),
            "delete one of them",
        ));
    }
    for &height in heights {
        if height >= face {
            found.push(warning(
                Where::Plan("Heights"),
                format!(
                    "the plan's height {} is not below the face at {}",
                    length.show_with_unit(height),
                    length.show_with_unit(face)
                ),
                "lower the height or raise the face height",
            ));
        } else if height < 0.0 {
            found.push(note(
                Where::Plan("Heights"),
                format!(
                    "the plan's height {} is below the fixture's base",
                    length.show_with_unit(height)
                ),
                "heights are measured upwards from the base; check the sign",
            ));
        }
    }
}

fn positions(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
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
                    seat.what(position.at, length)
                ),
                mend(&seat, station, body, length),
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
fn mend(seat: &Seat<'_>, station: &Station, body: Option<&Shape>, length: LengthUnit) -> String {
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
                length.show_with_unit(0.5 * width.max(depth))
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
