//! A verdict in plain words, for people at a terminal.

use std::fmt::Write;

use crate::record::{PlaceRecord, VerdictRecord};
use crate::units::fixed;

/// The record as text.
pub(super) fn verdict(r: &VerdictRecord) -> String {
    let mut text = String::new();
    let bound = |value: Option<f64>| match value {
        Some(v) => format!("{} mW/cm²", fixed(v, 1)),
        None => "not known".into(),
    };
    let sure = |value: Option<f64>| {
        value.map_or_else(|| bound(None), |v| bound(Some(v)) + " with 95 % confidence")
    };
    // Writing to a String can't fail.
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    line(format!("{}, survey {}", r.station, r.survey));
    line(spot(
        "Coldest",
        &r.coldest.at,
        r.coldest.irradiance_mw_cm2,
        &r.coldest.site,
    ));
    line(format!(
        "  assured minimum  {}; with the radiometer's scale error {}",
        sure(r.coldest.assured_mw_cm2),
        bound(r.coldest.assured_absolute_mw_cm2)
    ));
    line(spot(
        "Hottest",
        &r.hottest.at,
        r.hottest.irradiance_mw_cm2,
        &r.hottest.site,
    ));
    line(format!(
        "  assured maximum  {}; with the radiometer's scale error {}",
        sure(r.hottest.at_most_mw_cm2),
        bound(r.hottest.at_most_absolute_mw_cm2)
    ));
    line(format!(
        "Coldest reading    {} mW/cm² at {}",
        fixed(r.coldest_reading.irradiance_mw_cm2, 1),
        r.coldest_reading.position
    ));
    line(format!(
        "Governing minimum  {}; the rule is {}",
        bound(r.governing_minimum.irradiance_mw_cm2),
        r.governing_minimum.rule
    ));
    line(format!(
        "Uniformity         mean {} mW/cm², min/mean {}, min/max {}, (max - min)/(max + min) {} %",
        fixed(r.uniformity.mean_mw_cm2, 1),
        fixed(r.uniformity.min_over_mean, 3),
        fixed(r.uniformity.min_over_max, 3),
        fixed(r.uniformity.nonuniformity_percent, 1)
    ));
    line(format!("Field              {}", r.model.used));
    for c in &r.model.candidates {
        line(format!(
            "  {:<17} predicts positions left out to {} % (root mean square)",
            c.name,
            fixed(c.holdout_rms_percent, 2)
        ));
    }
    if !r.sites.is_empty() {
        line(format!(
            "{:<12} {:>9} {:>9} {:>9} {:>9}   mW/cm²",
            "Site", "coldest", "assured", "mean", "hottest"
        ));
        let cell = |v: Option<f64>| v.map_or_else(|| "-".into(), |v| fixed(v, 1));
        for s in &r.sites {
            line(format!(
                "{:<12} {:>9} {:>9} {:>9} {:>9}",
                s.site,
                fixed(s.coldest_mw_cm2, 1),
                cell(s.assured_mw_cm2),
                fixed(s.mean_mw_cm2, 1),
                fixed(s.hottest_mw_cm2, 1)
            ));
        }
    }
    for warning in &r.warnings {
        line(format!("Note: {warning}"));
    }
    text
}

/// Where the field is extreme, and how much it is there.
fn spot(which: &str, at: &PlaceRecord, irradiance: f64, site: &Option<String>) -> String {
    let site = site
        .as_ref()
        .map_or_else(String::new, |name| format!(" (site {name})"));
    format!(
        "{which} spot       {} mW/cm² at {}, {} mm, height {} mm{site}",
        fixed(irradiance, 1),
        fixed(at.x_mm, 1),
        fixed(at.y_mm, 1),
        fixed(at.height_mm, 1),
    )
}
