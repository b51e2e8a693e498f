//! What `limits --json` says, and the `limits` of a verdict.

use serde::Serialize;

use super::figures::{PlaceRecord, maybe, rounded};
use crate::assess::limits::{
    Basis, Counts, Judged, Line, Outlook, Scale, Side, Terms, Together, Verdict, Window,
};
use crate::units::{IrradianceUnit, LengthUnit};

/// The limits of a station and what follows from them for a survey.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitsRecord {
    /// Least irradiance for full cure.
    pub least_irradiance_mw_cm2: f64,
    /// Where it comes from.
    pub least_irradiance_from: String,
    /// How long parts are exposed.
    pub exposure_s: Option<f64>,
    /// How long they are at full irradiance in effect.
    pub effective_exposure_s: Option<f64>,
    /// On top of the least irradiance.
    pub safety_factor_percent: f64,
    /// Lower limit, unrounded: what the field is held against.
    pub lower_mw_cm2: f64,
    /// Lower limit as it is written, rounded up.
    pub lower_written_mw_cm2: f64,
    /// Which bound is held against it: `relative` or `absolute`.
    pub lower_bound: &'static str,
    /// Upper limit, unrounded; `null` without one.
    pub upper_mw_cm2: Option<f64>,
    /// Upper limit as it is written, rounded down.
    pub upper_written_mw_cm2: Option<f64>,
    /// Which bound is held against it.
    pub upper_bound: Option<&'static str>,
    /// Dose at the lower limit; `null` without an exposure time.
    pub dose_mj_cm2: Option<f64>,
    /// Dose at the coldest spot, in the mean and at the hottest spot.
    pub dose_of_parts: Option<DoseRecord>,
    /// `null` without readings.
    pub verdict: Option<&'static str>,
    /// Why.
    pub reasons: Vec<String>,
    /// How far the assured minimum lies above the lower limit, percent of it.
    pub headroom_lower_percent: Option<f64>,
    /// How far the assured maximum lies below the upper limit, percent of it.
    pub headroom_upper_percent: Option<f64>,
    /// How far the source may fade.
    pub fading: Option<FadingRecord>,
    /// What must be read at the monitor position; `null` where that can't be said.
    pub monitor: Option<MonitorRecord>,
    /// What would settle what is not proven.
    pub settle: Vec<SettleRecord>,
    /// Other working distances, from the nearest face to the furthest.
    pub distances: Vec<DistanceRecord>,
    /// Budget of uncertainties at the coldest spot.
    pub budget: Vec<ComponentRecord>,
    /// Positions without whose readings the verdict would not be `meets`.
    pub hangs_on: Vec<HangingRecord>,
    /// Errors that all readings share, of which `meets` bears less than can be expected.
    pub bears: Vec<BorneRecord>,
    /// Figures with the excluded readings counted; `null` when none is excluded.
    pub with_excluded: Option<ExcludedRecord>,
    /// Plain sentences.
    pub warnings: Vec<String>,
}

/// A position on which the verdict hangs: what would be said without its readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HangingRecord {
    /// Its name; may be empty.
    pub position: String,
    /// Where it is.
    pub x_mm: f64,
    /// Where it is.
    pub y_mm: f64,
    /// What would be said.
    pub verdict: &'static str,
    /// The coldest spot.
    pub coldest_mw_cm2: f64,
    /// Its assured minimum.
    pub assured_mw_cm2: Option<f64>,
    /// The same as a sentence.
    pub what: String,
}

/// An error that all readings share, and with more of which the verdict would not be `meets`: one of the two figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BorneRecord {
    /// All positions so much nearer to where it is bright than written.
    pub positions_mm: Option<f64>,
    /// Light from 60 degrees read so much too high.
    pub at_60_degrees_percent: Option<f64>,
    /// The same as a sentence.
    pub what: String,
}

/// Doses.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DoseRecord {
    /// At the coldest spot.
    pub coldest_mj_cm2: f64,
    /// In the mean.
    pub mean_mj_cm2: f64,
    /// At the hottest spot.
    pub hottest_mj_cm2: f64,
}

/// How far the source may fade before the coldest spot reaches the lower limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FadingRecord {
    /// With 95 % confidence.
    pub assured_percent: Option<f64>,
    /// By the field's own value.
    pub estimate_percent: f64,
    /// At the typed rate.
    pub hours: Option<f64>,
}

/// The monitor position.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MonitorRecord {
    /// Its name; may be empty.
    pub position: String,
    /// Where.
    #[serde(flatten)]
    pub at: PlaceRecord,
    /// The program proposes it.
    pub proposed: bool,
    /// What is there now.
    pub now_mw_cm2: f64,
    /// What must be read at the least.
    pub least_mw_cm2: Option<f64>,
    /// What may be read at the most; `null` without an upper limit.
    pub most_mw_cm2: Option<f64>,
    /// What to set; `null` where the window is empty or has no upper end.
    pub set_mw_cm2: Option<f64>,
    /// The window has room.
    pub open: Option<bool>,
    /// Why it has none, and what would open it; or why no window can be said.
    pub why: Vec<String>,
}

/// What would settle one side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettleRecord {
    /// `lower` or `upper`.
    pub limit: &'static str,
    /// What to do.
    pub what: Vec<String>,
    /// Readings that would do it.
    pub readings: Option<ReadingsRecord>,
    /// The calibration that would do it, k = 2.
    pub calibration_percent: Option<f64>,
}

/// Readings that would settle a side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingsRecord {
    /// Name of the position; may be empty.
    pub position: String,
    /// Where.
    #[serde(flatten)]
    pub at: PlaceRecord,
    /// How many.
    pub repeats: u32,
}

/// One working distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DistanceRecord {
    /// Of the face above the fixture's base.
    pub face_height_mm: f64,
    /// From the face to the coldest part's bond line.
    pub working_distance_mm: f64,
    /// The distance in use.
    pub in_use: bool,
    /// Least at the bond.
    pub coldest_mw_cm2: f64,
    /// Its assured minimum, relative.
    pub assured_mw_cm2: Option<f64>,
    /// The assured minimum that the lower limit is held against: `lower_bound` says which.
    pub judged_mw_cm2: Option<f64>,
    /// Greatest at the bond.
    pub hottest_mw_cm2: f64,
    /// Its assured maximum, relative.
    pub at_most_mw_cm2: Option<f64>,
    /// Least over greatest.
    pub min_over_max: f64,
    /// The monitor's window there.
    pub monitor_least_mw_cm2: Option<f64>,
    /// The monitor's window there.
    pub monitor_most_mw_cm2: Option<f64>,
}

/// One component of the budget.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComponentRecord {
    /// What it is.
    pub what: &'static str,
    /// Standard uncertainty (k = 1); `null`: not known.
    pub percent: Option<f64>,
    /// Where it counts: `in the field`, `both`, `absolute`, `beside`.
    pub counts: &'static str,
}

/// Figures with the excluded readings counted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExcludedRecord {
    /// How many are excluded.
    pub excluded: usize,
    /// Coldest spot with them.
    pub coldest_mw_cm2: f64,
    /// Its assured minimum, relative.
    pub assured_mw_cm2: Option<f64>,
    /// Hottest spot with them.
    pub hottest_mw_cm2: f64,
    /// Its assured maximum, relative.
    pub at_most_mw_cm2: Option<f64>,
    /// The verdict with them.
    pub verdict: Option<&'static str>,
}

/// `relative` or `absolute`.
pub fn scale_name(scale: Scale) -> &'static str {
    match scale {
        Scale::Relative => "relative",
        Scale::Absolute => "absolute",
    }
}

/// Where a component counts, in a word or two.
pub fn counts_name(counts: Counts) -> &'static str {
    match counts {
        Counts::InField => "in the field",
        Counts::Both => "both",
        Counts::Absolute => "absolute",
        Counts::Beside => "beside",
    }
}

/// An irradiance in the sentences of records.
pub fn said_mw_cm2(mw_cm2: f64) -> String {
    let decimals = if mw_cm2.abs() < 10.0 { 3 } else { 1 };
    format!("{} mW/cm²", crate::units::fixed(mw_cm2, decimals))
}

impl LimitsRecord {
    /// The record of limits; `judged` where there are readings, `outlook` where it was worked out.
    pub fn new(terms: &Terms, judged: Option<&Judged>, outlook: Option<&Outlook>) -> Self {
        let upper = terms.upper.as_ref();
        let of_upper = |get: fn(&Line) -> f64| upper.map(|u| rounded(get(u)));
        let headroom = |side: &Side| maybe(side.headroom_percent);
        let mut warnings = terms.warnings.clone();
        if judged.is_none() {
            warnings.push(
                "There is no field to hold against the limits yet, so there is no verdict and no monitor window; enter readings".to_owned(),
            );
        }
        Self {
            least_irradiance_mw_cm2: rounded(terms.least),
            least_irradiance_from: terms.least_from.clone(),
            exposure_s: maybe(terms.exposure_s),
            effective_exposure_s: maybe(terms.effective_s),
            safety_factor_percent: rounded(terms.safety_factor_percent),
            lower_mw_cm2: rounded(terms.lower.value),
            lower_written_mw_cm2: rounded(terms.lower.written),
            lower_bound: scale_name(terms.lower.scale),
            upper_mw_cm2: of_upper(|u| u.value),
            upper_written_mw_cm2: of_upper(|u| u.written),
            upper_bound: upper.map(|u| scale_name(u.scale)),
            dose_mj_cm2: terms.effective_s.map(|s| rounded(s * terms.lower.value)),
            dose_of_parts: judged.and_then(|j| j.dose).map(|d| DoseRecord {
                coldest_mj_cm2: rounded(d.coldest),
                mean_mj_cm2: rounded(d.mean),
                hottest_mj_cm2: rounded(d.hottest),
            }),
            verdict: judged.map(|j| j.verdict.words()),
            reasons: judged.map_or_else(Vec::new, |j| {
                let exact = |e| IrradianceUnit::MilliwattPerCm2.exact_with_unit(e);
                j.reasons(&j.saying(&said_mw_cm2, &exact))
            }),
            headroom_lower_percent: judged.and_then(|j| headroom(&j.coldest)),
            headroom_upper_percent: judged.and_then(|j| headroom(j.hottest.as_ref()?)),
            fading: judged.map(|j| FadingRecord {
                assured_percent: maybe(j.fading.assured_percent),
                estimate_percent: rounded(j.fading.estimate_percent),
                hours: maybe(j.fading.hours),
            }),
            monitor: outlook.and_then(monitor),
            settle: outlook.map_or_else(Vec::new, settle),
            distances: outlook.map_or_else(Vec::new, distances),
            budget: outlook.map_or_else(Vec::new, budget),
            hangs_on: outlook.map_or_else(Vec::new, hanging),
            bears: outlook.map_or_else(Vec::new, bears),
            with_excluded: outlook.and_then(with_excluded),
            warnings,
        }
    }
}

/// Where a component of the budget comes from, in words.
pub fn basis_words(basis: Basis, length: LengthUnit) -> String {
    match basis {
        Basis::Placement(by) => format!(
            "{} beside the place by the gradient at the coldest spot (common practice)",
            length.show_finely(by)
        ),
        Basis::Block(by) => format!(
            "{} of a spacer block, common to all readings on it (common practice), by the change with height at the coldest spot",
            length.show_finely(by)
        ),
        Basis::Plain(said) => said.to_owned(),
    }
}

fn monitor(outlook: &Outlook) -> Option<MonitorRecord> {
    let m = outlook.monitor.as_ref()?;
    let window: Option<Window> = m.window.as_ref().ok().map(Window::written);
    let why = match &m.window {
        Ok(_) => m.closed.clone(),
        Err(why) => vec![why.clone()],
    };
    Some(MonitorRecord {
        position: m.name.clone(),
        at: m.at.into(),
        proposed: m.proposed,
        now_mw_cm2: rounded(m.now),
        least_mw_cm2: window.map(|w| rounded(w.least)),
        most_mw_cm2: window.and_then(|w| maybe(w.most)),
        set_mw_cm2: window.and_then(|w| maybe(w.set)),
        open: m.window.as_ref().ok().map(Window::is_open),
        why,
    })
}

fn settle(outlook: &Outlook) -> Vec<SettleRecord> {
    let each = outlook.settle.iter().map(|s| SettleRecord {
        limit: if s.of_lower { "lower" } else { "upper" },
        what: s.sentences.clone(),
        readings: s.readings.as_ref().map(|r| ReadingsRecord {
            position: r.position.clone(),
            at: r.at.into(),
            repeats: r.repeats,
        }),
        calibration_percent: maybe(s.calibration_percent),
    });
    each.collect()
}

fn distances(outlook: &Outlook) -> Vec<DistanceRecord> {
    let each = outlook.distances.rows.iter().map(|row| {
        let window = row.window.map(|w| w.written());
        DistanceRecord {
            face_height_mm: rounded(row.face_height),
            working_distance_mm: rounded(row.working_distance),
            in_use: row.in_use,
            coldest_mw_cm2: rounded(row.coldest),
            assured_mw_cm2: maybe(row.assured),
            judged_mw_cm2: maybe(row.judged),
            hottest_mw_cm2: rounded(row.hottest),
            at_most_mw_cm2: maybe(row.at_most),
            min_over_max: rounded(row.min_over_max),
            monitor_least_mw_cm2: window.map(|w| rounded(w.least)),
            monitor_most_mw_cm2: window.and_then(|w| maybe(w.most)),
        }
    });
    each.collect()
}

fn budget(outlook: &Outlook) -> Vec<ComponentRecord> {
    let each = outlook.budget.components.iter().map(|c| ComponentRecord {
        what: c.what,
        percent: maybe(c.percent),
        counts: counts_name(c.counts),
    });
    each.collect()
}

fn hanging(outlook: &Outlook) -> Vec<HangingRecord> {
    let each = outlook.hanging.iter().map(|h| HangingRecord {
        position: h.position.clone(),
        x_mm: h.at.x,
        y_mm: h.at.y,
        verdict: h.verdict.words(),
        coldest_mw_cm2: rounded(h.coldest.0),
        assured_mw_cm2: maybe(h.coldest.1),
        what: h.sentence.clone(),
    });
    each.collect()
}

fn bears(outlook: &Outlook) -> Vec<BorneRecord> {
    let each = outlook.borne.iter().map(|b| BorneRecord {
        positions_mm: (b.of == Together::Aside).then(|| rounded(b.most)),
        at_60_degrees_percent: (b.of == Together::Slanting).then(|| rounded(b.most)),
        what: b.sentence.clone(),
    });
    each.collect()
}

fn with_excluded(outlook: &Outlook) -> Option<ExcludedRecord> {
    let both = outlook.with_excluded.as_ref()?;
    Some(ExcludedRecord {
        excluded: both.excluded,
        coldest_mw_cm2: rounded(both.coldest.0),
        assured_mw_cm2: maybe(both.coldest.1),
        hottest_mw_cm2: rounded(both.hottest.0),
        at_most_mw_cm2: maybe(both.hottest.1),
        verdict: both.verdict.map(Verdict::words),
    })
}
