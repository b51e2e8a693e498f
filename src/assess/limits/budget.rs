//! The budget of uncertainties at the coldest spot, in relative terms.

use super::super::{Answer, SurveyFit};
use super::distance::Slip;
use crate::field::SPACER_BLOCK;
use crate::numeric::combine::{Component as Part, combined};
use crate::station::{Family, Reading, Survey};

/// How far a careful hand sets a detector down beside its place, mm (standard deviation; common practice,
/// no source).
const PLACEMENT: f64 = 0.7;

/// Where a component counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// It is part of the field's own uncertainty already: the readings scatter by it.
    InField,
    /// In the relative and the absolute bound.
    Both,
    /// In the absolute bound only.
    Absolute,
    /// In none: it is not known from the readings, and said so that it can be judged.
    Beside,
}

/// Where a component comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// The detector stands so far beside its place, mm (standard deviation), by the gradient at the coldest spot.
    Placement(f64),
    /// A spacer block is so far off, mm (standard deviation), common to all readings on it, by the change with height there.
    Block(f64),
    /// A plain sentence without a full stop.
    Plain(&'static str),
}

/// One component.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// What it is.
    pub what: &'static str,
    /// Standard uncertainty (k = 1), percent of the irradiance; `None`: not known.
    pub percent: Option<f64>,
    /// Degrees of freedom; infinite for what is taken as known.
    pub freedom: f64,
    /// Where it counts.
    pub counts: Counts,
    /// Where it comes from.
    pub from: Basis,
}

/// The budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// In the order of the list.
    pub components: Vec<Component>,
    /// Combined standard uncertainty of the relative figure, percent, and its effective degrees of freedom.
    pub relative: (f64, f64),
    /// Of the absolute one; `None` without the calibration's uncertainty.
    pub absolute: Option<(f64, f64)>,
}

/// The budget at the coldest spot.
pub fn budget(answer: &Answer, fit: &SurveyFit, survey: &Survey, slip: &Slip) -> Budget {
    let spot = &answer.coldest;
    let field = spot.uncertainty.map(|u| 100.0 * u / spot.irradiance);
    let mut positions: Vec<(i64, i64)> = fit
        .rows
        .iter()
        .map(|&row| &survey.readings[row])
        .map(|r| ((10.0 * r.x).round() as i64, (10.0 * r.y).round() as i64))
        .collect();
    positions.sort_unstable();
    positions.dedup();
    let of_field = positions.len().saturating_sub(1).max(1) as f64;
    let known = f64::INFINITY;
    let component = |what, percent, freedom, counts, from| Component {
        what,
        percent,
        freedom,
        counts,
        from,
    };
    let radiometer = survey.radiometer.as_ref();
    // what readings share of height and slant is a column of the fields that start from a lamp, and of no other
    let of_lamp = match answer.family {
        Family::SourceAware => Counts::InField,
        _ => Counts::Beside,
    };
    // a directional error is a band: its standard deviation is a root three of it (JCGM 100:2008, 4.3.7)
    let angular = radiometer
        .and_then(|r| r.angular_error_percent)
        .map(|f2| f2 / 3f64.sqrt());
    let drift = drift(&survey.readings, &fit.rows, answer.noise);
    let components = vec![
        component(
            "Field at the coldest spot",
            field,
            of_field,
            Counts::Both,
            Basis::Plain(
                "what the readings leave open there: model, reading noise, placement and blocks together",
            ),
        ),
        component(
            "Reading noise",
            answer.noise.map(|n| 100.0 * n),
            of_field,
            Counts::InField,
            Basis::Plain("scatter of one reading about the field, from the readings"),
        ),
        component(
            "Placement",
            Some(slip.plan_percent_per_mm * PLACEMENT),
            known,
            Counts::InField,
            Basis::Placement(PLACEMENT),
        ),
        component(
            "Height",
            Some(slip.height_percent_per_mm.abs() * SPACER_BLOCK),
            known,
            of_lamp,
            Basis::Block(SPACER_BLOCK),
        ),
        component(
            "Angular response",
            angular,
            known,
            of_lamp,
            Basis::Plain(
                "directional response index f2 of the detector as a band, from one place to the next; what it is in all places alike is the calibration's",
            ),
        ),
        component(
            "Calibration",
            answer.calibration.map(|u| 100.0 * u),
            known,
            Counts::Absolute,
            Basis::Plain("from the certificate; it cancels while one pair judges"),
        ),
        component(
            "Drift over the round",
            drift.ok(),
            known,
            Counts::Beside,
            Basis::Plain(drift.err().unwrap_or(
                "from places that were read twice, by the minutes between; as a band over the round",
            )),
        ),
    ];
    let combine = |wanted: &[Counts]| {
        let counted = components.iter().filter(|c| wanted.contains(&c.counts));
        let parts: Vec<Part> = counted
            .filter_map(|c| {
                Some(Part {
                    uncertainty: c.percent?,
                    dof: c.freedom,
                })
            })
            .collect();
        let all = combined(&parts);
        (all.uncertainty, all.dof)
    };
    let relative = combine(&[Counts::Both]);
    let absolute =
        (answer.calibration.is_some()).then(|| combine(&[Counts::Both, Counts::Absolute]));
    Budget {
        components,
        relative,
        absolute,
    }
}

/// Standard deviation of the drift over a round, percent: the slope of the logarithm against time, from
/// places that were read more than once, as a band as wide as the round is long.
///
/// # Errors
/// Why it is not known: no such places, or a slope of no more than twice what the readings' noise makes of it.
fn drift(readings: &[Reading], rows: &[usize], noise: Option<f64>) -> Result<f64, &'static str> {
    let taken: Vec<(f64, f64, &Reading)> = rows
        .iter()
        .map(|&row| &readings[row])
        .filter_map(|r| Some((r.minute?, r.counted()?.ln(), r)))
        .collect();
    let span = taken
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), t| {
            (lo.min(t.0), hi.max(t.0))
        });
    let (mut shared, mut squares) = (0.0, 0.0);
    let mut by_place: std::collections::HashMap<[i64; 3], Vec<(f64, f64)>> = Default::default();
    for (minute, log, r) in &taken {
        let key = [r.x, r.y, r.height].map(|v| (10.0 * v).round() as i64);
        by_place.entry(key).or_default().push((*minute, *log));
    }
    let mut keys: Vec<_> = by_place.into_iter().collect();
    keys.sort_by_key(|(key, _)| *key);
    for (_, here) in &keys {
        let n = here.len() as f64;
        let mean = |get: fn(&(f64, f64)) -> f64| here.iter().map(get).sum::<f64>() / n;
        let (minute, log) = (mean(|h| h.0), mean(|h| h.1));
        for (m, l) in here {
            shared += (m - minute) * (l - log);
            squares += (m - minute).powi(2);
        }
    }
    // minutes apart, or the slope is that of the noise
    if squares <= 1.0 {
        return Err("not known: no place was read twice with its minute noted");
    }
    let slope = shared / squares;
    if slope.abs() <= 2.0 * noise.unwrap_or(0.0) / squares.sqrt() {
        return Err(
            "not seen: places that were read twice differ by no more than the readings scatter",
        );
    }
    Ok(100.0 * (slope * (span.1 - span.0)).abs() / 12f64.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drift_is_seen_where_a_place_was_read_again() {
        use crate::geometry::Place;
        let read = |x: f64, minute: f64, e: f64| Reading {
            minute: Some(minute),
            ..Reading::new(Place::new(x, 0.0, 0.0), Some(e))
        };
        // one percent an hour
        let at = |e: f64, minute: f64| e * (0.01 * minute / 60.0).exp();
        let readings: Vec<Reading> = [(0.0, 0.0), (10.0, 30.0), (0.0, 60.0), (10.0, 60.0)]
            .map(|(x, minute)| read(x, minute, at(100.0 + x, minute)))
            .to_vec();
        let percent = drift(&readings, &[0, 1, 2, 3], Some(1e-4)).expect("two places read twice");
        assert!((percent - 1.0 / 12f64.sqrt()).abs() < 1e-9, "{percent}");
        assert!(
            drift(&readings, &[0, 1, 2, 3], Some(0.02)).is_err(),
            "lost in the noise"
        );
        assert!(drift(&readings[..2], &[0, 1], None).is_err());
    }
}
