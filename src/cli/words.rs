//! A verdict in plain words, for people at a terminal.

use std::fmt::Write;

use crate::record::{LimitsRecord, PlaceRecord, VerdictRecord};
use crate::station::named;
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
    if let (Some(verdict), Some(limits)) = (r.verdict, &r.limits) {
        line(format!("All parts together: {verdict}"));
        for reason in &limits.reasons {
            line(format!("  {reason}"));
        }
    }
    line(spot(
        "Coldest",
        &r.coldest.at,
        r.coldest.irradiance_mw_cm2,
        &r.coldest.site,
    ));
    if let Some(open) = r.coldest.in_the_open_mw_cm2 {
        line(format!(
            "  at the bond; in the open {} mW/cm² there, which a radiometer can check",
            fixed(open, 1)
        ));
    }
    line(match r.coldest.assured_mw_cm2 {
        None if r.coldest.in_the_open_mw_cm2.is_some() => {
            "  no assured minimum at the bond: the warnings say why".to_owned()
        }
        None => format!(
            "  no assured minimum: this field by {} has none",
            r.model.used
        ),
        assured => format!(
            "  assured minimum  {}, relative; absolute {}",
            sure(assured),
            bound(r.coldest.assured_absolute_mw_cm2)
        ),
    });
    line(spot(
        "Hottest",
        &r.hottest.at,
        r.hottest.irradiance_mw_cm2,
        &r.hottest.site,
    ));
    line(format!(
        "  assured maximum  {}, relative; absolute {}",
        sure(r.hottest.at_most_mw_cm2),
        bound(r.hottest.at_most_absolute_mw_cm2)
    ));
    line(format!(
        "Coldest reading    {} mW/cm² at {}",
        fixed(r.coldest_reading.irradiance_mw_cm2, 1),
        named("position", &r.coldest_reading.position)
    ));
    line(format!(
        "Governing minimum  {}; the rule is {}{}",
        bound(r.governing_minimum.irradiance_mw_cm2),
        r.governing_minimum.rule,
        r.governing_minimum
            .bound
            .map_or_else(String::new, |which| format!(", {which}"))
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
            "  {:<33} predicts positions left out to {} %{} (root mean square)",
            c.name,
            fixed(c.holdout_rms_percent, 2),
            c.outer_ring_rms_percent
                .map_or_else(String::new, |e| format!(
                    ", the outer ring to {} %",
                    fixed(e, 2)
                ))
        ));
    }
    if !r.sites.is_empty() {
        line(format!(
            "{:<12} {:>9} {:>9} {:>9} {:>9}   mW/cm², assured: relative{}",
            "Site",
            "coldest",
            "assured",
            "mean",
            "hottest",
            if r.verdict.is_some() {
                ", each site by itself"
            } else {
                ""
            }
        ));
        let cell = |v: Option<f64>| v.map_or_else(|| "-".into(), |v| fixed(v, 1));
        for s in &r.sites {
            line(format!(
                "{:<12} {:>9} {:>9} {:>9} {:>9}   {}",
                s.site,
                fixed(s.coldest_mw_cm2, 1),
                cell(s.assured_mw_cm2),
                fixed(s.mean_mw_cm2, 1),
                fixed(s.hottest_mw_cm2, 1),
                s.verdict.unwrap_or_default()
            ));
        }
    }
    if let Some(limits) = &r.limits {
        text.push_str(&what_hangs_on_it(limits));
    }
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    for warning in &r.warnings {
        line(format!("Note: {warning}"));
    }
    text
}

/// What a limit is rounded to, where that is another figure.
fn rounded(value: f64, written: f64, way: &str) -> String {
    if value == written {
        return String::new();
    }
    format!(", rounded {way} to {}", plain(written))
}

/// The limits as text.
pub(super) fn limits(r: &LimitsRecord) -> String {
    let mut text = String::new();
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    let e = |v: f64| format!("{} mW/cm²", plain(v));
    line(format!(
        "Least irradiance   {}, {}",
        e(r.least_irradiance_mw_cm2),
        r.least_irradiance_from
    ));
    line(format!(
        "Lower limit        {}{}: with a safety factor of {} %, held against the {} bound",
        e(r.lower_mw_cm2),
        rounded(r.lower_mw_cm2, r.lower_written_mw_cm2, "up"),
        plain(r.safety_factor_percent),
        r.lower_bound
    ));
    line(
        match (r.upper_mw_cm2, r.upper_written_mw_cm2, r.upper_bound) {
            (Some(upper), Some(written), Some(bound)) => format!(
                "Upper limit        {}{}: held against the {bound} bound",
                e(upper),
                rounded(upper, written, "down")
            ),
            _ => "Upper limit        none".to_owned(),
        },
    );
    if let (Some(s), Some(dose)) = (r.exposure_s, r.dose_mj_cm2) {
        line(format!(
            "Exposure           {} s; dose at the lower limit {} mJ/cm²",
            plain(s),
            fixed(dose, 0)
        ));
    }
    if let Some(d) = &r.dose_of_parts {
        line(format!(
            "Dose of the parts  coldest {}, mean {}, hottest {} mJ/cm²",
            fixed(d.coldest_mj_cm2, 0),
            fixed(d.mean_mj_cm2, 0),
            fixed(d.hottest_mj_cm2, 0)
        ));
    }
    if let Some(verdict) = r.verdict {
        line(format!("All parts together: {verdict}"));
        for reason in &r.reasons {
            line(format!("  {reason}"));
        }
    }
    text.push_str(&what_hangs_on_it(r));
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    for warning in &r.warnings {
        line(format!("Note: {warning}"));
    }
    line("Limits and safety factor are yours to validate".to_owned());
    text
}

/// Headroom, what would settle it, the monitor position, distances.
fn what_hangs_on_it(r: &LimitsRecord) -> String {
    let mut text = String::new();
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    let one = |v: f64| fixed(v, 1);
    if let Some(headroom) = r.headroom_lower_percent {
        let hot = r
            .headroom_upper_percent
            .map_or_else(String::new, |h| format!(", to the upper {} %", one(h)));
        line(format!(
            "Headroom           to the lower limit {} %{hot} (assured, with allowances)",
            one(headroom)
        ));
    }
    if let Some(fading) = r.fading.as_ref().filter(|_| r.verdict != Some("fails")) {
        let assured = fading.assured_percent.map_or_else(
            || "not proven".to_owned(),
            |p| format!("{} % with 95 % confidence", one(p)),
        );
        let hours =
            (fading.hours).map_or_else(String::new, |h| format!(", in {} hours", fixed(h, 0)));
        line(format!("May fade by        {assured}{hours}"));
    }
    for settle in &r.settle {
        for what in &settle.what {
            line(format!("To settle it       {what}"));
        }
    }
    for hanging in &r.hangs_on {
        line(format!("Hangs on           {}", hanging.what));
    }
    for borne in &r.bears {
        line(format!("No reading shows   {}", borne.what));
    }
    if let Some(m) = &r.monitor {
        let named = if m.position.is_empty() { "" } else { ", " };
        line(format!(
            "Monitor position   {}{named}x {}, y {}, height {} mm{}",
            m.position,
            one(m.at.x_mm),
            one(m.at.y_mm),
            one(m.at.height_mm),
            if m.proposed { ", proposed" } else { "" }
        ));
        if let Some(least) = m.least_mw_cm2 {
            let most = (m.most_mw_cm2).map_or_else(
                || " mW/cm², no upper end".to_owned(),
                |v| format!(", at most {} mW/cm²", plain(v)),
            );
            let set = (m.set_mw_cm2).map_or_else(String::new, |v| {
                format!("; when the source is set anew, to {}", plain(v))
            });
            line(format!(
                "  must read        at least {}{most}{set}; now {}",
                plain(least),
                one(m.now_mw_cm2)
            ));
        }
        for why in &m.why {
            line(format!("  {why}"));
        }
    }
    if r.distances.len() > 1 {
        line(format!(
            "{:<12} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}   mm; mW/cm², assured: {}",
            "Face height",
            "distance",
            "coldest",
            "assured",
            "hottest",
            "min/max",
            "window",
            r.lower_bound
        ));
        for d in &r.distances {
            let cell = |v: Option<f64>| v.map_or_else(|| "-".into(), one);
            let window = match (d.monitor_least_mw_cm2, d.monitor_most_mw_cm2) {
                (Some(least), Some(most)) if least <= most => {
                    format!("{} to {}", plain(least), plain(most))
                }
                (Some(_), Some(_)) => "empty".to_owned(),
                (Some(least), None) => format!("from {}", plain(least)),
                _ => "-".to_owned(),
            };
            line(format!(
                "{:<12} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}{}",
                one(d.face_height_mm),
                one(d.working_distance_mm),
                one(d.coldest_mw_cm2),
                cell(d.judged_mw_cm2),
                one(d.hottest_mw_cm2),
                fixed(d.min_over_max, 3),
                window,
                if d.in_use { "   in use" } else { "" }
            ));
        }
    }
    if let Some(x) = &r.with_excluded {
        line(format!(
            "With the {} counted: coldest {} mW/cm², hottest {}{}",
            if x.excluded == 1 {
                "excluded reading".to_owned()
            } else {
                format!("{} excluded readings", x.excluded)
            },
            one(x.coldest_mw_cm2),
            one(x.hottest_mw_cm2),
            x.verdict
                .map_or_else(String::new, |v| format!("; verdict {v}"))
        ));
    }
    text
}

/// A number without trailing zeros.
fn plain(value: f64) -> String {
    let text = fixed(value, 4);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
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
