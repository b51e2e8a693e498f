//! An answer against the truth.

use crate::methods::Answer;
use crate::station::Station;

/// All in percent of the truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    /// Root mean square over the map.
    pub map_rms: Option<f64>,
    /// Of the coldest spot; positive is optimistic.
    pub coldest: f64,
    /// How far the relative assured minimum lies below the true minimum; negative when it does not hold.
    pub below: Option<f64>,
    pub fit_seconds: f64,
}

pub fn score(station: &Station, answer: &Answer) -> Result<Score, String> {
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
        fit_seconds: answer.fit_seconds,
    };
    let numbers = [Some(score.coldest), score.map_rms, score.below];
    if numbers.into_iter().flatten().all(f64::is_finite) {
        Ok(score)
    } else {
        Err(format!("not a number: {score:?}"))
    }
}
