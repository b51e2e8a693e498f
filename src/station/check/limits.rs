//! What is odd about the limits.

use crate::station::finding::{Finding, Where, note, warning};
use crate::station::limits::{Least, Limits, Origin, Upper};
use crate::station::{Site, Station};
use crate::units::Units;

pub(super) fn check(station: &Station, units: Units, found: &mut Vec<Finding>) {
    let Some(limits) = station.limits.as_deref() else {
        return;
    };
    let at = Where::Limits;
    if let Least::Typed(figure) = &limits.least
        && figure.irradiance.is_none()
    {
        found.push(warning(
            at("Least irradiance"),
            "no least irradiance for full cure is given".into(),
            "type it with its origin, or take it from cure trials",
        ));
    }
    if limits.safety_factor_percent == 0.0 {
        found.push(note(
            at("Safety factor"),
            "the safety factor is 0 %: the lower limit is the least irradiance itself".into(),
            "type the factor that your process calls for; it is yours to validate",
        ));
    }
    let sites = station.all_sites();
    if let Some(upper) = &limits.upper {
        check_upper(station, (limits, upper), &sites, units, found);
    }
    for through in &limits.transmission {
        let name = through.sites.trim();
        let known = sites.iter().any(|s| s.name.trim() == name)
            || station.sites.iter().any(|g| g.name.trim() == name);
        if !known {
            found.push(warning(
                at("Transmission"),
                format!(
                    "a transmission is given for '{name}', which is no site and no group of sites"
                ),
                "type the name of a site or of a group of sites",
            ));
        }
    }
    if let Some(monitor) = &limits.monitor
        && !station.can_sit(monitor.at.point())
    {
        found.push(warning(
            at("Monitor position"),
            "no detector can sit at the monitor position".into(),
            "choose a place inside the outline, clear of keep-outs and the rim",
        ));
    }
}

fn check_upper(
    station: &Station,
    (limits, upper): (&Limits, &Upper),
    sites: &[Site],
    units: Units,
    found: &mut Vec<Finding>,
) {
    let at = Where::Limits;
    match (upper.figure.irradiance, &limits.least) {
        (None, _) => found.push(warning(
            at("Highest undamaged"),
            "the upper limit has no irradiance".into(),
            "type the highest that gave undamaged parts, or remove the upper limit",
        )),
        (Some(most), Least::Typed(least)) => {
            let lower = least
                .irradiance
                .map(|e| e * (1.0 + limits.safety_factor_percent / 100.0));
            if let Some(lower) = lower.filter(|&lower| lower >= most) {
                found.push(warning(
                    at("Highest undamaged"),
                    format!(
                        "the upper limit {} is not above the lower limit {}",
                        units.irradiance.show_with_unit(most, None),
                        units.irradiance.show_with_unit(lower, None)
                    ),
                    "nothing can lie between them; look at both figures and the safety factor",
                ));
            }
        }
        (Some(_), Least::FromTrials) => {}
    }
    if upper.source.is_some_and(|kind| kind != station.source.kind) {
        found.push(warning(
            at("Highest undamaged"),
            "the upper limit was found under another kind of source".into(),
            "heat and ultraviolet differ from kind to kind; find it again under this one",
        ));
    }
    if let Some((near, far)) = upper.distances {
        let face = station.source.face_height;
        let outside = sites
            .iter()
            .map(|s| face - s.height)
            .find(|d| *d < near || *d > far);
        if let Some(distance) = outside {
            found.push(warning(
                at("Distances"),
                format!(
                    "the upper limit holds for working distances of {} to {}, and parts lie at {}",
                    units.length.show_with_unit(near),
                    units.length.show_with_unit(far),
                    units.length.show_with_unit(distance)
                ),
                "find it again at the distance in use",
            ));
        }
    }
    if upper.figure.origin == Origin::DataSheet {
        found.push(note(
            at("Highest undamaged"),
            "the upper limit comes from a data sheet".into(),
            "heat is often what limits: find it on your own parts",
        ));
    }
}
