//! An answer against the truth.

use evenfield::field::Family;

use crate::methods::{Answer, More};
use crate::station::Station;

/// In percent of the truth, but where another unit is said.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// Root mean square over the map.
    pub map_rms: Option<f64>,
    /// Of the coldest spot; positive is optimistic.
    pub coldest: f64,
    /// How far the relative assured minimum lies below the true minimum; negative when it does not hold.
    pub below: Option<f64>,
    pub detail: Option<Detail>,
    pub fit_seconds: f64,
}

/// What the program's own fields say besides.
#[derive(Debug, Clone, PartialEq)]
pub struct Detail {
    /// Standard uncertainty at the coldest spot that was found, percent of what is found there.
    pub uncertainty: Option<f64>,
    /// From the true coldest spot to the one that was found, mm.
    pub away: f64,
    /// From the outermost positions to the true coldest spot, mm.
    pub beyond: f64,
    /// Share of places at which the truth is above the estimate less 1.645 standard uncertainties.
    pub covered_below: f64,
    /// Share of places at which the truth is within 1.96 standard uncertainties.
    pub covered: f64,
    /// Median of the relative standard uncertainty over places, percent.
    pub places_uncertainty: f64,
    pub left_out: Option<f64>,
    pub ring: Option<f64>,
    pub noise: Option<f64>,
    /// At a limit that is the truth and falsely called met: whether it is said that an error which all readings share would
    /// undo that. `None` where the bound holds.
    pub said: Option<bool>,
    /// Whether the same is said at a limit 5 % below the bound.
    pub said_at_5: bool,
    /// Family, share, positions left out and ring left out, percent.
    pub families: Vec<(Family, f64, f64, Option<f64>)>,
}

pub fn score(station: &Station, answer: Answer) -> Result<Score, String> {
    let map_rms = answer.map.as_ref().map(|map| {
        let squares = station.map.iter().zip(map);
        let squares = squares.map(|((_, truth), said)| (said / truth - 1.0).powi(2));
        100.0 * (squares.sum::<f64>() / map.len() as f64).sqrt()
    });
    let over_truth = |value: f64| 100.0 * (value / station.coldest - 1.0);
    let score = Score {
        map_rms,
        coldest: over_truth(answer.coldest),
        below: answer.assured.map(|assured| -over_truth(assured)),
        detail: answer
            .more
            .map(|more| detail(station, answer.coldest, answer.assured, more)),
        fit_seconds: answer.fit_seconds,
    };
    let numbers = [Some(score.coldest), score.map_rms, score.below];
    if numbers.into_iter().flatten().all(f64::is_finite) {
        Ok(score)
    } else {
        Err(format!("not a number: {score:?}"))
    }
}

fn detail(station: &Station, coldest: f64, assured: Option<f64>, more: More) -> Detail {
    let said = |part: f64| !more.bending.bears(part).is_empty();
    let too_high = assured.filter(|assured| *assured > station.coldest);
    let each: Vec<(f64, f64)> = (more.places.iter())
        .filter_map(|(i, e)| Some((station.map[*i].1 - e.irradiance, e.uncertainty?)))
        .collect();
    let share = |test: &dyn Fn(f64) -> bool| {
        let hits = each.iter().filter(|(error, u)| test(error / u)).count();
        hits as f64 / each.len() as f64
    };
    let relative = (more.places.iter()).filter_map(|(_, e)| Some(e.uncertainty? / e.irradiance));
    let relative: Vec<f64> = relative.collect();
    Detail {
        uncertainty: more.uncertainty.map(|u| 100.0 * u / coldest),
        away: more.at.distance(station.coldest_at),
        beyond: more.beyond,
        covered_below: share(&|z| z >= -1.645),
        covered: share(&|z| z.abs() <= 1.96),
        places_uncertainty: 100.0
            * evenfield::numeric::quantile::median(&relative).unwrap_or(f64::NAN),
        left_out: more.left_out,
        ring: more.ring,
        noise: more.noise.map(|n| 100.0 * n),
        said: too_high.map(|assured| said(station.coldest / assured)),
        said_at_5: said(0.95),
        families: more.families,
    }
}
