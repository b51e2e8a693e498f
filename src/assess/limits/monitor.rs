//! The monitor position: where the daily reading is taken, and what the radiometer must read there.
//!
//! The window comes from joint draws of the daily reading, with the scatter of one reading, over the coldest and the hottest
//! part, so what they have in common cancels. A source that only fades is set nine tenths up its window.

use super::sampled::{Sampled, Stand};
use super::terms::{Scale, Terms, rounded_down, rounded_up};
use super::verdict::{down, up};
use crate::assess::lit::Lit;
use crate::assess::no_bound::no_bound;
use crate::field::Fitted;
use crate::geometry::{Place, Point};
use crate::numeric::quantile::quantile;
use crate::numeric::random::Normals;
use crate::progress::{Cancelled, Progress};
use crate::station::limits::{Allowances, Kept, Limits, Monitor};
use crate::station::{Family, Station};

/// Where in its window a source that only fades is set when new, 0 the least and 1 the most: near the
/// upper end, a tenth of the window below it (our choice; that it is nearer the upper limit is common
/// practice, no source).
const SET_WHEN_NEW: f64 = 0.9;
/// What a millimetre from the parts weighs against a percent per millimetre of gradient when a position is
/// proposed (our choice).
const AWAY: f64 = 0.05;
/// Half the step over which a gradient is taken, mm.
const HALF_STEP: f64 = 1.0;
/// Stream of the scatter of the daily reading, and of the radiometer's scale.
const READING: u64 = 0x0da1_1e4d;

/// What the radiometer must read at the monitor position, mW/cm².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// At the least, so that the coldest part is above the lower limit with 95 % confidence.
    pub least: f64,
    /// At the most, so that the hottest part is below the upper limit with 95 % confidence; `None` without
    /// an upper limit.
    pub most: Option<f64>,
    /// What to set it to; `None` where the window is empty or has no upper end.
    pub set: Option<f64>,
}

/// The monitor position and what is said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct MonitorAnswer {
    /// Such as D4; may be empty.
    pub name: String,
    /// Of the sensing plane.
    pub at: Place,
    /// The program proposes it; otherwise the person chose it.
    pub proposed: bool,
    /// The field there, mW/cm².
    pub now: f64,
    /// How much the field changes per mm across the plan there, percent.
    pub gradient_percent_per_mm: f64,
    /// From the nearest part, mm; 0 over one.
    pub away: f64,
    /// What must be read there; a sentence of why it can't be said otherwise.
    pub window: Result<Window, String>,
    /// The window has no room: why, and what would open it. Empty otherwise.
    pub closed: Vec<String>,
    /// Hottest over coldest at the bond: the field's own value and, with 95 % confidence, at most.
    pub hot_to_cold: Option<(f64, f64)>,
}

impl Window {
    /// Whether some reading lies in it.
    pub fn is_open(&self) -> bool {
        self.most.is_none_or(|most| self.least <= most)
    }

    /// Least, most and what to set, as they are written: the least rounded up, the most rounded down.
    pub fn written(&self) -> Self {
        Self {
            least: rounded_up(self.least),
            most: self.most.map(rounded_down),
            set: self.set.map(|set| {
                // whole steps of the written ends
                let up = rounded_up(set);
                if self.most.is_some_and(|most| up > most) {
                    rounded_down(set)
                } else {
                    up
                }
            }),
        }
    }
}

/// Everything a window is made from. `monitor`, `coldest` and `hottest` are draws of the same fields, in
/// mW/cm²; `noise` is the relative scatter of one daily reading; `scale` are draws of the factor from what
/// the radiometer shows to what is there, where the calibration error is known.
#[derive(Debug, Clone, Copy)]
pub struct Drawn<'a> {
    /// At the monitor position.
    pub monitor: &'a [f64],
    /// Least at the bond.
    pub coldest: &'a [f64],
    /// Greatest at the bond.
    pub hottest: &'a [f64],
    /// Relative standard deviation of a daily reading.
    pub noise: f64,
    /// One factor a draw.
    pub scale: Option<&'a [f64]>,
}

/// The window from draws. With a reading R, the coldest part has R / r, r the ratio of daily reading to
/// coldest part in a draw; so R must reach the lower limit times r in 95 % of the draws, and likewise at the
/// other end. The ratio changes with the working distance: the window holds at the distance in use.
///
/// # Errors
/// A sentence: the calibration error would be needed and is not known.
pub fn window(
    drawn: &Drawn<'_>,
    terms: &Terms,
    allowances: Allowances,
    kept: Kept,
) -> Result<Window, String> {
    let factors = |scale: Scale| {
        match scale {
        Scale::Relative => Ok(None),
        Scale::Absolute => drawn.scale.map(Some).ok_or_else(|| {
            "The limit was not found with the pair that judges, and the uncertainty of the radiometer's calibration is not known: no window can be said; enter it from the certificate".to_owned()
        }),
    }
    };
    let ratios = |extreme: &[f64], scale: Option<&[f64]>| -> Vec<f64> {
        let mut scatter = Normals::new(READING, 0);
        let each = drawn.monitor.iter().zip(extreme).enumerate();
        each.map(|(i, (m, e))| {
            let daily = m * (drawn.noise * scatter.draw()).exp();
            daily / e / scale.map_or(1.0, |s| s[i % s.len()])
        })
        .collect()
    };
    let none = || {
        "There are no draws of the field that could be counted; look for readings that contradict each other".to_owned()
    };
    let cold = ratios(drawn.coldest, factors(terms.lower.scale)?);
    let least = terms.lower.value * quantile(&cold, 0.95).ok_or_else(none)? / down(allowances);
    let most = match &terms.upper {
        None => None,
        Some(upper) => {
            let hot = ratios(drawn.hottest, factors(upper.scale)?);
            Some(upper.value * quantile(&hot, 0.05).ok_or_else(none)? / up(allowances))
        }
    };
    let set = most.filter(|most| least <= *most).map(|most| match kept {
        Kept::OnlyFades => least + SET_WHEN_NEW * (most - least),
        Kept::Adjusted => 0.5 * (least + most),
    });
    Ok(Window { least, most, set })
}

/// A factor a draw from the calibration's relative standard uncertainty.
pub(super) fn scale_draws(calibration: f64, n: usize) -> Vec<f64> {
    let mut normals = Normals::new(READING, 1);
    (0..n)
        .map(|_| (1.0 + calibration * normals.draw()).max(0.1))
        .collect()
}

/// A place of the detector with its name.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Chosen {
    pub name: String,
    pub at: Place,
    pub proposed: bool,
}

/// The position the person chose, else the one that is proposed: reachable, a small gradient, near the
/// parts, at the measured height nearest to the coldest part's bond line. `None` without a position.
pub(super) fn choose(
    station: &Station,
    chosen: Option<&Monitor>,
    field: &Fitted,
    heights: &[f64],
    coldest: Place,
    progress: &Progress,
) -> Result<Option<Chosen>, Cancelled> {
    if let Some(monitor) = chosen {
        return Ok(Some(Chosen {
            name: monitor.name.clone(),
            at: monitor.at,
            proposed: false,
        }));
    }
    let nearest = |h: &&f64| (**h - coldest.height).abs();
    let Some(&height) = heights
        .iter()
        .min_by(|a, b| nearest(a).total_cmp(&nearest(b)))
    else {
        return Ok(None);
    };
    let mut best: Option<(f64, Chosen)> = None;
    for position in station.positions() {
        progress.check()?;
        if !station.can_sit_on_pallet(position.at) {
            continue;
        }
        let at = position.at.at_height(height);
        let cost = gradient(field, at, progress)? + AWAY * away(station, position.at);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            let name = position.name;
            let proposed = true;
            best = Some((cost, Chosen { name, at, proposed }));
        }
    }
    Ok(best.map(|(_, chosen)| chosen))
}

/// From the nearest part, mm; 0 over one, or where there are no parts.
fn away(station: &Station, at: Point) -> f64 {
    let sites = station.all_sites();
    let distances = sites
        .iter()
        .map(|s| s.footprint.signed_distance(at).max(0.0));
    distances.reduce(f64::min).unwrap_or(0.0)
}

/// Greatest change of the field across the plan, percent per mm.
pub(super) fn gradient(field: &Fitted, at: Place, progress: &Progress) -> Result<f64, Cancelled> {
    let step = |dx: f64, dy: f64| Place::new(at.x + dx, at.y + dy, at.height);
    let h = HALF_STEP;
    let around = [step(-h, 0.0), step(h, 0.0), step(0.0, -h), step(0.0, h)];
    let e = field.irradiance(&around, progress)?;
    let (dx, dy) = (
        (e[1] / e[0]).ln() / (2.0 * h),
        (e[3] / e[2]).ln() / (2.0 * h),
    );
    Ok(100.0 * dx.hypot(dy))
}

/// The monitor position, whatever the limits are.
#[derive(Debug)]
pub(super) struct Looked {
    pub chosen: Chosen,
    now: f64,
    gradient_percent_per_mm: f64,
    away: f64,
    /// Hottest over coldest at the bond by the field's own value.
    ratio: f64,
}

/// Looks at the field there.
pub(super) fn look(
    station: &Station,
    lit: &Lit<'_>,
    stands: &[Stand],
    chosen: Chosen,
    progress: &Progress,
) -> Result<Looked, Cancelled> {
    let field = lit.field;
    let places: Vec<(usize, Place)> = stands.iter().map(Stand::place).collect();
    let values = lit.irradiance(&places, progress)?;
    let at_bond = values.iter().zip(stands).map(|(e, s)| e * s.through);
    let (low, high) = at_bond.fold((f64::INFINITY, 0.0_f64), |(lo, hi), e| {
        (lo.min(e), hi.max(e))
    });
    Ok(Looked {
        now: field.irradiance(&[chosen.at], progress)?[0],
        gradient_percent_per_mm: gradient(field, chosen.at, progress)?,
        away: away(station, chosen.at.point()),
        ratio: high / low,
        chosen,
    })
}

/// What is known where the monitor's answer is made.
pub(super) struct MonitorGrounds<'a> {
    pub limits: &'a Limits,
    pub terms: &'a Terms,
    /// With the monitor as the first of the other places.
    pub sampled: Option<&'a Sampled>,
    pub noise: Option<f64>,
    pub calibration: Option<f64>,
    pub family: Family,
    pub unproven_at_bond: bool,
}

pub(super) fn answer(seen: &MonitorGrounds<'_>, looked: &Looked) -> MonitorAnswer {
    let scale = (seen.calibration.zip(seen.sampled))
        .map(|(u, sampled)| scale_draws(u, sampled.coldest.len()));
    let window = match seen.sampled {
        None => Err(format!(
            "What must be read at the monitor position is not proven: {}",
            no_bound(seen.family, seen.unproven_at_bond)
        )),
        Some(sampled) => window(
            &Drawn {
                monitor: &sampled.beside[0],
                coldest: &sampled.coldest,
                hottest: &sampled.hottest,
                noise: seen.noise.unwrap_or(0.0),
                scale: scale.as_deref(),
            },
            seen.terms,
            seen.limits.allowances,
            seen.limits.kept,
        ),
    };
    let hot_to_cold = seen.sampled.map(|s| {
        let ratios: Vec<f64> = s
            .hottest
            .iter()
            .zip(&s.coldest)
            .map(|(h, c)| h / c)
            .collect();
        let ratio = looked.ratio;
        (ratio, quantile(&ratios, 0.95).unwrap_or(ratio))
    });
    let closed = match &window {
        Ok(window) if !window.is_open() => why_closed(seen, window, looked.ratio, hot_to_cold),
        _ => Vec::new(),
    };
    let chosen = looked.chosen.clone();
    MonitorAnswer {
        away: looked.away,
        name: chosen.name,
        at: chosen.at,
        proposed: chosen.proposed,
        now: looked.now,
        gradient_percent_per_mm: looked.gradient_percent_per_mm,
        window,
        closed,
        hot_to_cold,
    }
}

fn why_closed(
    seen: &MonitorGrounds<'_>,
    window: &Window,
    ratio: f64,
    hot_to_cold: Option<(f64, f64)>,
) -> Vec<String> {
    let Some(upper) = &seen.terms.upper else {
        return Vec::new();
    };
    let limits = upper.value / seen.terms.lower.value;
    let surely = hot_to_cold.map_or(ratio, |(_, most)| most);
    let mut said = vec![format!(
        "No reading keeps all parts inside: the hottest part gets {ratio:.2} times what the coldest gets (with 95 % confidence up to {surely:.2} times), and the upper limit is {limits:.2} times the lower"
    )];
    said.push(if ratio >= limits {
        "An evener field would open the window: another working distance, parts away from the coldest and the hottest places, or a source that covers them better; so would wider limits".to_owned()
    } else {
        let allowed = down(seen.limits.allowances) < 1.0 || up(seen.limits.allowances) > 1.0;
        let noise = seen.noise.unwrap_or(0.0);
        let most = window.most.unwrap_or(window.least);
        format!(
            "The field alone would fit; what is not known of it closes the window by {:.1} %: more readings near the coldest and the hottest spot, a monitor position that is read more than once a day (one reading scatters by {:.1} %){} would open it",
            100.0 * (window.least / most - 1.0),
            100.0 * noise,
            if allowed { ", or smaller allowances" } else { "" }
        )
    });
    said
}

#[cfg(test)]
mod tests;
