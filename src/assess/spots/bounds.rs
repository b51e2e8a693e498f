//! Bounds of extremes from joint draws.

use std::ops::Range;

use super::part::{DRAWS, PLACES, Part, SEED, TAIL};
use crate::assess::lit::{Lit, LitDraws};
use crate::field::Draws;
use crate::geometry::Place;
use crate::numeric::quantile::quantile;
use crate::progress::{Cancelled, Progress};

/// Bounds of an extreme; see [`Spot`].
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Bounds {
    pub(super) at_least: Option<f64>,
    pub(super) at_most: Option<f64>,
    pub(super) at_least_absolute: Option<f64>,
    pub(super) at_most_absolute: Option<f64>,
}

impl Bounds {
    /// From below by one value of each drawn field, from above by another, with the scale that each was drawn with.
    fn of(below: &[f64], above: &[f64], scale: Option<&[f64]>) -> Self {
        let scaled = |values: &[f64]| -> Option<Vec<f64>> {
            let each = |factors: &[f64]| values.iter().zip(factors).map(|(e, f)| e * f).collect();
            scale.map(each)
        };
        Self {
            at_least: quantile(below, TAIL),
            at_most: quantile(above, 1.0 - TAIL),
            at_least_absolute: scaled(below).and_then(|a| quantile(&a, TAIL)),
            at_most_absolute: scaled(above).and_then(|a| quantile(&a, 1.0 - TAIL)),
        }
    }
}

pub(super) struct AllBounds {
    pub(super) coldest: Bounds,
    pub(super) hottest: Bounds,
    /// As `coldest` and `hottest`, of what reaches the bond; `None` where that is all of it.
    pub(super) bond: Option<(Bounds, Bounds)>,
    /// Coldest and hottest of each part.
    pub(super) parts: Vec<(Bounds, Bounds)>,
}

/// Draws the field at the places of all parts and takes the extremes of each draw, so that the fact
/// that a spot was chosen as the coldest of many is paid for. Parts are drawn jointly in groups that
/// fit one draw; when they are so many that there are several groups, the extremes over all come from
/// one more joint draw at the places that can be extreme at all.
pub(super) fn bounds(
    lit: &Lit<'_>,
    parts: &[Part],
    scale: Option<&[f64]>,
    progress: &Progress,
) -> Result<AllBounds, Cancelled> {
    let behind = parts.iter().any(|p| p.through != 1.0);
    let none = AllBounds {
        coldest: Bounds::default(),
        hottest: Bounds::default(),
        bond: behind.then(Default::default),
        parts: vec![(Bounds::default(), Bounds::default()); parts.len()],
    };
    let mut of_parts = Vec::with_capacity(parts.len());
    let mut first = 0;
    while first < parts.len() {
        let mut last = first + 1;
        let mut count = parts[first].places.len();
        while last < parts.len() && count + parts[last].places.len() <= 2 * PLACES {
            count += parts[last].places.len();
            last += 1;
        }
        let group = &parts[first..last];
        let places: Vec<(usize, Place)> = group
            .iter()
            .enumerate()
            .flat_map(|(i, p)| p.places.iter().map(move |&at| (first + i, at)))
            .collect();
        let Some(draws) = lit.joint(&places, SEED + first as u64, DRAWS, progress)? else {
            return Ok(none);
        };
        let mut from = 0;
        for part in group {
            let span = from..from + part.places.len();
            let extremes = Extremes::of(&draws, span.clone(), &|_| 1.0);
            of_parts.push(extremes.both(scale));
            from = span.end;
        }
        if group.len() == parts.len() {
            let (coldest, hottest) = Extremes::of(&draws, 0..places.len(), &|_| 1.0).both(scale);
            let bond = behind.then(|| {
                let through: Vec<f64> = group
                    .iter()
                    .flat_map(|p| std::iter::repeat_n(p.through, p.places.len()))
                    .collect();
                Extremes::of(&draws, 0..places.len(), &|place| through[place]).both(scale)
            });
            return Ok(AllBounds {
                coldest,
                hottest,
                bond,
                parts: of_parts,
            });
        }
        progress.set(0.5 + 0.5 * last as f64 / parts.len() as f64);
        first = last;
    }
    // the parts that can be extreme at all, by a key that is least where they are
    let over_all = |spot: fn(&Part) -> Place,
                    key: &dyn Fn(&Part) -> f64|
     -> Result<Option<(LitDraws, Vec<f64>)>, Cancelled> {
        let mut order: Vec<(usize, &Part)> = parts.iter().enumerate().collect();
        order.sort_by(|a, b| key(a.1).total_cmp(&key(b.1)));
        order.truncate(PLACES);
        let through = order.iter().map(|p| p.1.through).collect();
        let places: Vec<(usize, Place)> = order.into_iter().map(|(i, p)| (i, spot(p))).collect();
        let draws = lit.joint(&places, SEED, DRAWS, progress)?;
        Ok(draws.map(|draws| (draws, through)))
    };
    let bare = |found: Option<(LitDraws, Vec<f64>)>| {
        found.map(|(d, _)| Extremes::of(&d, 0..d.low.places, &|_| 1.0))
    };
    let behind_all = |found: Option<(LitDraws, Vec<f64>)>| {
        found.map(|(d, through)| Extremes::of(&d, 0..d.low.places, &|place| through[place]))
    };
    let cold = |e: Option<Extremes>| e.map_or_else(Bounds::default, |e| e.coldest(scale));
    let hot = |e: Option<Extremes>| e.map_or_else(Bounds::default, |e| e.hottest(scale));
    let low = over_all(|p| p.coldest.0, &|p| p.coldest.1)?;
    let high = over_all(|p| p.hottest.0, &|p| -p.hottest.1)?;
    let bond = if behind {
        let low = over_all(|p| p.coldest.0, &|p| p.through * p.coldest.1)?;
        let high = over_all(|p| p.hottest.0, &|p| -p.through * p.hottest.1)?;
        Some((cold(behind_all(low)), hot(behind_all(high))))
    } else {
        None
    };
    Ok(AllBounds {
        coldest: cold(bare(low)),
        hottest: hot(bare(high)),
        bond,
        parts: of_parts,
    })
}

/// Of each drawn field over some places.
struct Extremes {
    least: Vec<f64>,
    greatest: Vec<f64>,
    /// At the place that is coldest in the mean of the draws, and at the hottest.
    at_coldest: Vec<f64>,
    at_hottest: Vec<f64>,
}

impl Extremes {
    /// Over a span of places; `through` says how much of the light at each counts, 0 to 1. What bounds from below is taken
    /// where walls throw back the least, what bounds from above where they throw back the most.
    fn of(draws: &LitDraws, span: Range<usize>, through: &dyn Fn(usize) -> f64) -> Self {
        let low = Self::of_draws(&draws.low, span.clone(), through);
        let Some(high) = &draws.high else {
            return low;
        };
        let high = Self::of_draws(high, span, through);
        Self {
            greatest: high.greatest,
            at_coldest: high.at_coldest,
            ..low
        }
    }

    fn of_draws(draws: &Draws, span: Range<usize>, through: &dyn Fn(usize) -> f64) -> Self {
        let rows = || draws.values.chunks_exact(draws.places.max(1));
        let ends = rows().map(|draw| {
            let counts = span.clone().map(|place| draw[place] * through(place));
            counts.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), e| {
                (lo.min(e), hi.max(e))
            })
        });
        let (least, greatest) = ends.unzip();
        let mut sums = vec![0.0; span.len()];
        for draw in rows() {
            let each = sums.iter_mut().zip(span.clone());
            each.for_each(|(sum, place)| *sum += draw[place] * through(place));
        }
        let at = |place: Option<usize>| match place {
            Some(n) => rows()
                .map(|draw| draw[span.start + n] * through(span.start + n))
                .collect(),
            None => Vec::new(),
        };
        let by_sum = |a: &usize, b: &usize| sums[*a].total_cmp(&sums[*b]);
        Self {
            least,
            greatest,
            at_coldest: at((0..sums.len()).min_by(by_sum)),
            at_hottest: at((0..sums.len()).max_by(by_sum)),
        }
    }

    /// Bounds of the coldest spot. The least value of a field is at most its value at any one place, so what the place taken
    /// for the coldest is at most bounds it from above: by how much drawn fields dip elsewhere does not count there.
    fn coldest(&self, scale: Option<&[f64]>) -> Bounds {
        Bounds::of(&self.least, &self.at_coldest, scale)
    }

    /// Bounds of the hottest spot, likewise.
    fn hottest(&self, scale: Option<&[f64]>) -> Bounds {
        Bounds::of(&self.at_hottest, &self.greatest, scale)
    }

    fn both(&self, scale: Option<&[f64]>) -> (Bounds, Bounds) {
        (self.coldest(scale), self.hottest(scale))
    }
}
