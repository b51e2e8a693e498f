//! Inverse-distance weights (Shepard 1968), power 2: the plain alternative, without a distribution.

use kiddo::{ImmutableKdTree, SquaredEuclidean};
use std::num::NonZero;

use crate::field::Sample;
use crate::geometry::{Place, Point};
use crate::numeric::neighbours::median_spacing;
use crate::numeric::quantile::median;

/// Up to this many places all of them have a weight.
const ALL: usize = 32;
/// With more, the nearest ones have, and any as near as the last of them.
const NEAREST: NonZero<usize> = NonZero::new(16).expect("16 is not zero");

/// Readings with what is needed to weigh them.
///
/// Height counts as distance times a factor, so that from one height read to the next is as far as from
/// one position to the next (between 1/4 and 4 times true length); where only one height was read it does
/// not count, and the map is the same at every height.
#[derive(Debug)]
pub(in crate::field) struct InverseDistance {
    tree: ImmutableKdTree<f64, 3>,
    /// One for each place of the tree: the mean of what was read there, mW/cm².
    means: Vec<f64>,
    height_factor: f64,
}

impl InverseDistance {
    /// `None` without samples.
    pub fn new(samples: &[Sample]) -> Option<Self> {
        Self::with_height_factor(samples.iter(), height_factor(samples))
    }

    fn with_height_factor<'a>(
        samples: impl Iterator<Item = &'a Sample>,
        height_factor: f64,
    ) -> Option<Self> {
        let mut found: Vec<([f64; 3], f64)> = samples
            .map(|s| (coordinates(s.at, height_factor), s.irradiance))
            .collect();
        found.sort_by(|(a, e), (b, f)| {
            let by_place = (0..3).fold(std::cmp::Ordering::Equal, |order, i| {
                order.then(a[i].total_cmp(&b[i]))
            });
            by_place.then(e.total_cmp(f))
        });
        let (mut places, mut means): (Vec<[f64; 3]>, Vec<f64>) = Default::default();
        for here in found.chunk_by(|a, b| a.0 == b.0) {
            places.push(here[0].0);
            means.push(here.iter().map(|s| s.1).sum::<f64>() / here.len() as f64);
        }
        if places.is_empty() {
            return None;
        }
        Some(Self {
            tree: ImmutableKdTree::new_from_slice(&places).ok()?,
            means,
            height_factor,
        })
    }

    /// The weighted mean at a place, mW/cm²; at a reading's place what was read there.
    pub fn at(&self, place: Place) -> f64 {
        let at = coordinates(place, self.height_factor);
        let wanted = if self.means.len() <= ALL {
            NonZero::new(self.means.len()).unwrap_or(NEAREST)
        } else {
            NEAREST
        };
        let query = self.tree.query(&at);
        let nearest = query.nearest_n::<SquaredEuclidean<f64>>(wanted).execute();
        let mut found: Vec<(f64, usize)> = nearest
            .iter()
            .map(|f| (f.distance, f.item as usize))
            .collect();
        if self.means.len() > ALL {
            // Which of several equally far places the tree leaves out is its own affair: take all.
            let reach = found.iter().map(|f| f.0).fold(0.0, f64::max);
            found = self
                .tree
                .query(&at)
                .within::<SquaredEuclidean<f64>>(reach * (1.0 + 1e-9))
                .execute()
                .iter()
                .map(|f| (f.distance, f.item as usize))
                .collect();
        }
        found.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        match found.first() {
            Some(&(distance, i)) if distance <= 1e-18 => self.means[i],
            _ => {
                let (sum, weights) = found.iter().fold((0.0, 0.0), |(s, w), &(d, i)| {
                    (s + self.means[i] / d, w + 1.0 / d)
                });
                sum / weights
            }
        }
    }

    /// What the other samples say at each of `left_out`; `None` when there are no others.
    pub fn without(&self, samples: &[Sample], left_out: &[usize]) -> Option<Vec<f64>> {
        let others = samples
            .iter()
            .enumerate()
            .filter(|(i, _)| !left_out.contains(i))
            .map(|(_, s)| s);
        let rest = Self::with_height_factor(others, self.height_factor)?;
        Some(left_out.iter().map(|&i| rest.at(samples[i].at)).collect())
    }
}

fn coordinates(p: Place, height_factor: f64) -> [f64; 3] {
    [p.x, p.y, p.height * height_factor]
}

/// What a millimetre of height counts as beside one on the plan.
pub(in crate::field) fn height_factor(samples: &[Sample]) -> f64 {
    let points: Vec<Point> = samples.iter().map(|s| s.at.point()).collect();
    let mut heights: Vec<f64> = samples.iter().map(|s| s.at.height).collect();
    heights.sort_unstable_by(f64::total_cmp);
    heights.dedup();
    let steps: Vec<f64> = heights.windows(2).map(|w| w[1] - w[0]).collect();
    match (median(&steps), median_spacing(&points)) {
        (None, _) => 0.0,
        (Some(_), None) => 1.0,
        (Some(step), Some(spacing)) => (spacing / step).clamp(0.25, 4.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(x: f64, y: f64, e: f64) -> Sample {
        Sample {
            at: Place::new(x, y, 10.0),
            irradiance: e,
            position: 0,
            minute: None,
        }
    }

    #[test]
    fn exact_at_readings_and_the_mean_of_repeats() {
        let s = [
            sample(0.0, 0.0, 10.0),
            sample(0.0, 0.0, 12.0),
            sample(5.0, 0.0, 20.0),
        ];
        let f = InverseDistance::new(&s).expect("samples");
        assert_eq!(f.at(Place::new(0.0, 0.0, 10.0)), 11.0);
        assert!((f.at(Place::new(2.5, 0.0, 10.0)) - 15.5).abs() < 1e-12);
        assert_eq!(f.without(&s, &[0]), Some(vec![12.0]));
        assert_eq!(f.without(&s, &[0, 1, 2]), None);
    }

    #[test]
    fn symmetric_readings_give_a_symmetric_field_with_many_ties() {
        let mut s = Vec::new();
        for i in -4..=4_i32 {
            for j in -4..=4_i32 {
                let (x, y) = (f64::from(i) * 10.0, f64::from(j) * 10.0);
                s.push(sample(x, y, 100.0 - f64::from(i * i + j * j)));
            }
        }
        let f = InverseDistance::new(&s).expect("samples");
        for (x, y) in [(3.0, 4.0), (0.0, 5.0), (17.0, 2.0)] {
            let e = f.at(Place::new(x, y, 10.0));
            for (sx, sy) in [(-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
                let mirrored = f.at(Place::new(sx * x, sy * y, 10.0));
                assert!((e - mirrored).abs() < 1e-9);
            }
        }
    }
}
