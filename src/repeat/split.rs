//! Noise and error of placement told apart: where the field is steep, setting the detector down beside its place costs
//! more.
//!
//! The variance of a position is `noise² + placement² |gradient|²`; each has so many degrees of freedom as the repeat study
//! leaves it. Both are found by maximum likelihood on a grid, their 95 % intervals by profile likelihood (Wilks 1938).

use super::Study;
use crate::field::Fitted;
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};

/// Noise and error of placement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Relative standard deviation of a reading at one place.
    pub noise: f64,
    /// With 95 % confidence.
    pub noise_interval: (f64, f64),
    /// Standard deviation along x and along y, mm.
    pub placement: f64,
    /// With 95 % confidence.
    pub placement_interval: (f64, f64),
}

/// Greatest error of placement that is looked for, mm.
const FARTHEST: f64 = 4.0;
/// Steps of the grid.
const STEPS: usize = 120;

/// Tells them apart by the slopes of a field. `None`: too few degrees of freedom, or slopes that are all alike.
///
/// # Errors
/// [`Cancelled`].
pub fn split(
    study: &Study,
    field: &Fitted,
    progress: &Progress,
) -> Result<Option<Split>, Cancelled> {
    let places: Vec<Place> = study.scattered.iter().map(|s| s.at).collect();
    let slopes = slopes(field, &places, progress)?;
    let (variances, freedom) = &study.at_rest;
    Ok(told_apart(variances, *freedom as f64, &slopes))
}

/// Square of the relative gradient along the plan, 1/mm², at places.
fn slopes(field: &Fitted, places: &[Place], progress: &Progress) -> Result<Vec<f64>, Cancelled> {
    const STEP: f64 = 1.0;
    let beside = |p: &Place| {
        [(STEP, 0.0), (-STEP, 0.0), (0.0, STEP), (0.0, -STEP)]
            .map(|(x, y)| Place::new(p.x + x, p.y + y, p.height))
    };
    let around: Vec<Place> = places.iter().flat_map(beside).collect();
    let light = field.at(&around, progress)?;
    let along = |a: f64, b: f64| ((a / b).ln() / (2.0 * STEP)).powi(2);
    let each = light
        .chunks_exact(4)
        .map(|e| along(e[0].irradiance, e[1].irradiance) + along(e[2].irradiance, e[3].irradiance));
    Ok(each.collect())
}

fn told_apart(variances: &[f64], freedom: f64, slopes: &[f64]) -> Option<Split> {
    const FEWEST: usize = 6;
    /// Half of what chi-square with one degree of freedom stays below with 95 %.
    const FALL: f64 = 1.920_729;
    let sound = variances.iter().chain(slopes).all(|v| v.is_finite());
    if variances.len() < FEWEST || variances.len() != slopes.len() || freedom <= 0.0 || !sound {
        return None;
    }
    let mean = variances.iter().sum::<f64>() / variances.len() as f64;
    if mean <= 0.0 {
        return None;
    }
    let top = 2.0 * mean.sqrt();
    let noise = |i: usize| top * (i as f64 + 0.5) / STEPS as f64;
    let placement = |j: usize| FARTHEST * j as f64 / STEPS as f64;
    let likelihood = |i: usize, j: usize| -> f64 {
        let (n, p) = (noise(i).powi(2), placement(j).powi(2));
        let each = variances.iter().zip(slopes).map(|(v, g)| {
            let expected = n + p * g;
            -0.5 * freedom * (expected.ln() + v / expected)
        });
        each.sum()
    };
    let all: Vec<Vec<f64>> = (0..STEPS)
        .map(|i| (0..=STEPS).map(|j| likelihood(i, j)).collect())
        .collect();
    let best = |row: &mut dyn Iterator<Item = f64>| row.fold(f64::NEG_INFINITY, f64::max);
    let of_noise: Vec<f64> = all
        .iter()
        .map(|row| best(&mut row.iter().copied()))
        .collect();
    let of_placement: Vec<f64> = (0..=STEPS)
        .map(|j| best(&mut all.iter().map(|row| row[j])))
        .collect();
    let ends = |profile: &[f64], value: &dyn Fn(usize) -> f64| {
        let highest = best(&mut profile.iter().copied());
        let inside = |i: &usize| profile[*i] >= highest - FALL;
        let at = (0..profile.len()).find(|&i| profile[i] == highest)?;
        let low = (0..profile.len()).find(inside)?;
        let high = (0..profile.len()).rev().find(inside)?;
        Some((value(at), (value(low), value(high))))
    };
    let (noise, noise_interval) = ends(&of_noise, &noise)?;
    let (placement, placement_interval) = ends(&of_placement, &placement)?;
    // an interval that goes on where nobody looks tells nothing
    (placement_interval.1 < FARTHEST).then_some(Split {
        noise,
        noise_interval,
        placement,
        placement_interval,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Normals;

    /// Sixty studies of 144 positions: the intervals hold the truth as often as they say (57 of 60 on average; 51 or fewer
    /// would come once in a hundred).
    #[test]
    fn noise_and_placement_come_out_as_they_went_in() {
        const FREEDOM: usize = 4;
        const STUDIES: u64 = 60;
        let slopes: Vec<f64> = (0..144)
            .map(|i| (0.02 * f64::from(i % 12) / 11.0).powi(2))
            .collect();
        let drawn = |seed: u64| -> Vec<f64> {
            let mut normals = Normals::new(seed, 1);
            let each = slopes.iter().map(|g| {
                let expected = 0.01_f64.powi(2) + 0.8_f64.powi(2) * g;
                let sum: f64 = (0..FREEDOM).map(|_| normals.draw().powi(2)).sum();
                expected * sum / FREEDOM as f64
            });
            each.collect()
        };
        let (mut means, mut held) = ((0.0, 0.0), (0, 0));
        for seed in 0..STUDIES {
            let split = told_apart(&drawn(seed), FREEDOM as f64, &slopes).expect("told");
            means.0 += split.noise / STUDIES as f64;
            means.1 += split.placement / STUDIES as f64;
            let holds = |(low, high): (f64, f64), truth: f64| (low..=high).contains(&truth);
            held.0 += u32::from(holds(split.noise_interval, 0.01));
            held.1 += u32::from(holds(split.placement_interval, 0.8));
        }
        assert!((means.0 / 0.01 - 1.0).abs() < 0.03, "{means:?}");
        assert!((means.1 / 0.8 - 1.0).abs() < 0.03, "{means:?}");
        assert!(held.0 >= 52 && held.1 >= 52, "{held:?}");
        let variances = drawn(7);
        // where the field is even placement costs nothing, and nothing is said of it
        let even = vec![1e-9; 144];
        assert_eq!(told_apart(&variances, FREEDOM as f64, &even), None);
    }
}
