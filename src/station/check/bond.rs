//! Findings about what stands in the light's way: rim, tops of parts, how bonds lie.

use crate::station::bond::Lying;
use crate::station::finding::{Finding, Where, note, warning};
use crate::station::words::called;
use crate::station::{SiteGroup, Station};
use crate::units::LengthUnit;

pub(super) fn check(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    rim(station, length, found);
    for (i, group) in station.sites.iter().enumerate() {
        of_group(station, i, group, length, found);
    }
}

fn rim(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    let Some(rim) = &station.fixture.rim else {
        return;
    };
    let face = station.source.face_height;
    if rim.height >= face {
        found.push(warning(
            Where::Fixture("Rim height"),
            format!(
                "the rim is {} high and reaches up to the face at {}",
                length.show_with_unit(rim.height),
                length.show_with_unit(face)
            ),
            "correct its height or the face height; both are measured from the fixture's base",
        ));
    }
    let outline = station.fixture.footprint();
    let on_rim = |p| outline.signed_distance(p) > -rim.thickness + 1e-6;
    for site in station.all_sites() {
        if site.footprint.outline().into_iter().any(on_rim) {
            found.push(warning(
                Where::Sites(site.group),
                format!("{} lies on the rim", called("site", &site.name)),
                "move it or correct the thickness of the rim",
            ));
        }
    }
}

fn of_group(
    station: &Station,
    i: usize,
    group: &SiteGroup,
    length: LengthUnit,
    found: &mut Vec<Finding>,
) {
    let (at, name) = (Where::Sites(i), &group.name);
    let face = station.source.face_height;
    if let Some(top) = group.top.filter(|&top| top >= face) {
        found.push(warning(
            at.clone(),
            format!(
                "the top of {} at {} is not below the face at {}",
                called("site", name),
                length.show_with_unit(top),
                length.show_with_unit(face)
            ),
            "correct its top or the face height; both are measured from the fixture's base",
        ));
    }
    let Some(bond) = &group.bond else {
        return;
    };
    match &bond.lies {
        Lying::Level => {}
        Lying::Pocket { shape, .. } => {
            let ((width, depth), part) = (shape.size(), group.shape.size());
            if width > part.0 || depth > part.1 {
                found.push(warning(
                    at.clone(),
                    format!(
                        "the pocket of {} is larger than the part",
                        called("site", name)
                    ),
                    "correct the pocket or the part's outline",
                ));
            }
        }
        Lying::Overhang { .. } => {}
        Lying::Tilted { angle, .. } => {
            let (width, depth) = group.shape.size();
            let rise = 0.5 * width.hypot(depth) * angle.to_radians().tan().abs();
            if group.height + rise >= face {
                found.push(warning(
                    at.clone(),
                    format!(
                        "the tilted bond of {} may reach up to {}, the face is at {}",
                        called("site", name),
                        length.show_with_unit(group.height + rise),
                        length.show_with_unit(face)
                    ),
                    "correct the tilt, the part's outline or the face height",
                ));
            }
        }
    }
    let Some(behind) = &bond.behind else {
        return;
    };
    if behind.percent > behind.clear_percent() {
        found.push(note(
            at.clone(),
            format!(
                "the substrate of {} lets more through than clear faces of index {} do, which is {:.1} %",
                called("site", name),
                behind.index,
                behind.clear_percent()
            ),
            "correct transmission or index, unless its faces are coated",
        ));
    }
    let twice = station.limits.as_deref().is_some_and(|limits| {
        let sites = group.written_out(i);
        let named = |n: &str| n == name.trim() || sites.iter().any(|s| s.name.trim() == n);
        limits.transmission.iter().any(|t| named(t.sites.trim()))
    });
    if twice {
        found.push(warning(
            at,
            format!(
                "{} lies behind a substrate here and in the limits, and both count",
                called("site", name)
            ),
            "remove the transmission from the limits, or the substrate here",
        ));
    }
}
