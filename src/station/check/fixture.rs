//! Findings of the first step: source, fixture, sites and keep-outs.

use super::overlap::{self, meet};
use super::repeated::repeated;
use crate::station::finding::{Finding, Where, note, warning};
use crate::station::words::called;
use crate::station::{Bars, SourceKind, Station};
use crate::units::LengthUnit;

pub(super) fn check(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    source(station, length, found);
    heights(station, length, found);
    places(station, found);
    radiometers(station, found);
}

fn source(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    let source = &station.source;
    let Some(array) = &source.array else {
        return;
    };
    if source.kind != SourceKind::LedPanel {
        found.push(note(
            Where::Source("Kind"),
            "rows and columns of LEDs are given, and the source is no LED panel".into(),
            "choose LED panel, or they do not count",
        ));
    }
    let Some(face) = &source.face else {
        return;
    };
    let ((width, depth), (across, along)) = (face.shape.size(), array.size());
    if across > width || along > depth {
        found.push(warning(
            Where::Source("Rows of LEDs"),
            format!(
                "the LEDs reach over {} x {}, the face is {} x {}",
                length.show(across),
                length.show_with_unit(along),
                length.show(width),
                length.show_with_unit(depth)
            ),
            "correct rows, columns and pitch, or the face",
        ));
    }
}

fn heights(station: &Station, length: LengthUnit, found: &mut Vec<Finding>) {
    let face = station.source.face_height;
    for (i, keep_out) in station.keep_outs.iter().enumerate() {
        let Some(height) = keep_out.height.filter(|&height| height >= face) else {
            continue;
        };
        found.push(warning(
            Where::KeepOut(i),
            format!(
                "{} is {} high and reaches up to the face at {}",
                called("keep-out", &keep_out.name),
                length.show_with_unit(height),
                length.show_with_unit(face)
            ),
            "correct its height or the face height; both are measured from the fixture's base",
        ));
    }
    for (i, group) in station.sites.iter().enumerate() {
        let sites = called("bond line of site", &group.name);
        if group.height >= face {
            found.push(warning(
                Where::Sites(i),
                format!(
                    "the {sites} at {} is not below the face at {}",
                    length.show_with_unit(group.height),
                    length.show_with_unit(face)
                ),
                "lower the bond line or raise the face height",
            ));
        } else if group.height < 0.0 {
            found.push(note(
                Where::Sites(i),
                format!(
                    "the {sites} at {} is below the fixture's base",
                    length.show_with_unit(group.height)
                ),
                "heights are measured upwards from the base; check the sign",
            ));
        }
    }
}

fn places(station: &Station, found: &mut Vec<Finding>) {
    let outline = station.fixture.footprint();
    let sites = station.all_sites();
    for (i, j) in repeated(sites.iter().map(|s| &s.name)) {
        let other = if sites[i].group == sites[j].group {
            "in one group"
        } else {
            "in two groups"
        };
        found.push(warning(
            Where::Sites(sites[i].group),
            format!("the name of site {} stands twice {other}", sites[i].name),
            "give each site its own name",
        ));
    }
    for site in &sites {
        if !outline.covers(&site.footprint) {
            found.push(warning(
                Where::Sites(site.group),
                format!(
                    "{} reaches over the fixture's rim",
                    called("site", &site.name)
                ),
                "move it or change the outline of the fixture",
            ));
        }
    }
    for keep_out in &station.keep_outs {
        if !matches!(keep_out.bars, Bars::Both | Bars::Parts) {
            continue;
        }
        let bounds = keep_out.footprint.bounds();
        for site in &sites {
            if meet(&bounds, &site.footprint.bounds())
                && keep_out.footprint.overlaps(&site.footprint)
            {
                found.push(warning(
                    Where::Sites(site.group),
                    format!(
                        "{} overlaps {}",
                        called("site", &site.name),
                        called("keep-out", &keep_out.name)
                    ),
                    "move one of them",
                ));
            }
        }
    }
    let outlines: Vec<_> = sites.iter().map(|s| s.footprint.clone()).collect();
    for (i, j) in overlap::pairs(&outlines) {
        found.push(warning(
            Where::Sites(sites[j].group),
            format!(
                "{} overlaps {}",
                called("site", &sites[i].name),
                called("site", &sites[j].name)
            ),
            "move one of them or widen the pitch",
        ));
    }
}

fn radiometers(station: &Station, found: &mut Vec<Finding>) {
    for (i, _) in repeated(station.radiometers.iter().map(|r| &r.name)) {
        found.push(warning(
            Where::Radiometer(i, "Name"),
            format!("radiometer {} stands twice", station.radiometers[i].name),
            "give each radiometer its own name",
        ));
    }
    for (i, radiometer) in station.radiometers.iter().enumerate() {
        if let (Some(on), Some(due)) = (radiometer.calibrated_on, radiometer.due)
            && due < on
        {
            found.push(warning(
                Where::Radiometer(i, "Due"),
                format!(
                    "the calibration of {} is due on {due}, before it was made on {on}",
                    called("radiometer", &radiometer.name)
                ),
                "check both dates on the certificate",
            ));
        }
    }
}
