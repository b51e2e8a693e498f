//! Bounds of extremes from joint draws.

use super::{DRAWS, PLACES, Part, SEED, TAIL};
use crate::field::{Draws, Fitted};
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
    /// From the extreme of each drawn field, with the scale that each was drawn with.
    fn of(extremes: &[f64], scale: Option<&[f64]>) -> Self {
        let absolute: Option<Vec<f64>> =
            scale.map(|factors| extremes.iter().zip(factors).map(|(e, f)| e * f).collect());
        Self {
            at_least: quantile(extremes, TAIL),
            at_most: quantile(extremes, 1.0 - TAIL),
            at_least_absolute: absolute.as_deref().and_then(|a| quantile(a, TAIL)),
            at_most_absolute: absolute.as_deref().and_then(|a| quantile(a, 1.0 - TAIL)),
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
    field: &Fitted,
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
        let places: Vec<Place> = group
            .iter()
            .flat_map(|p| p.places.iter().copied())
            .collect();
        let Some(draws) = field.joint(&places, SEED + first as u64, DRAWS, progress)? else {
            return Ok(none);
        };
        let mut from = 0;
        for part in group {
            let span = from..from + part.places.len();
            let (low, high) = extremes(&draws, span.clone());
            of_parts.push((Bounds::of(&low, scale), Bounds::of(&high, scale)));
            from = span.end;
        }
        if group.len() == parts.len() {
            let (low, high) = extremes(&draws, 0..draws.places);
            let bond = behind.then(|| {
                let through: Vec<f64> = group
                    .iter()
                    .flat_map(|p| std::iter::repeat_n(p.through, p.places.len()))
                    .collect();
                let (low, high) = extremes_behind(&draws, &through);
                (Bounds::of(&low, scale), Bounds::of(&high, scale))
            });
            return Ok(AllBounds {
                coldest: Bounds::of(&low, scale),
                hottest: Bounds::of(&high, scale),
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
     -> Result<Option<(Draws, Vec<f64>)>, Cancelled> {
        let mut order: Vec<&Part> = parts.iter().collect();
        order.sort_by(|a, b| key(a).total_cmp(&key(b)));
        order.truncate(PLACES);
        let through = order.iter().map(|p| p.through).collect();
        let places: Vec<Place> = order.into_iter().map(spot).collect();
        let draws = field.joint(&places, SEED, DRAWS, progress)?;
        Ok(draws.map(|draws| (draws, through)))
    };
    let low = over_all(|p| p.coldest.0, &|p| p.coldest.1)?;
    let high = over_all(|p| p.hottest.0, &|p| -p.hottest.1)?;
    let bond = if behind {
        let low = over_all(|p| p.coldest.0, &|p| p.through * p.coldest.1)?;
        let high = over_all(|p| p.hottest.0, &|p| -p.through * p.hottest.1)?;
        Some((
            low.map_or_else(Bounds::default, |(d, through)| {
                Bounds::of(&extremes_behind(&d, &through).0, scale)
            }),
            high.map_or_else(Bounds::default, |(d, through)| {
                Bounds::of(&extremes_behind(&d, &through).1, scale)
            }),
        ))
    } else {
        None
    };
    Ok(AllBounds {
        coldest: low.map_or_else(Bounds::default, |(d, _)| {
            Bounds::of(&extremes(&d, 0..d.places).0, scale)
        }),
        hottest: high.map_or_else(Bounds::default, |(d, _)| {
            Bounds::of(&extremes(&d, 0..d.places).1, scale)
        }),
        bond,
        parts: of_parts,
    })
}

/// Least and greatest value of each draw over some of its places.
fn extremes(draws: &Draws, span: std::ops::Range<usize>) -> (Vec<f64>, Vec<f64>) {
    draws
        .values
        .chunks_exact(draws.places.max(1))
        .map(|draw| {
            draw[span.clone()]
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), &e| {
                    (lo.min(e), hi.max(e))
                })
        })
        .unzip()
}

/// As [`extremes`], over all places, each value weakened by what stands before it.
fn extremes_behind(draws: &Draws, through: &[f64]) -> (Vec<f64>, Vec<f64>) {
    draws
        .values
        .chunks_exact(draws.places.max(1))
        .map(|draw| {
            draw.iter()
                .zip(through)
                .map(|(e, t)| e * t)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), e| {
                    (lo.min(e), hi.max(e))
                })
        })
        .unzip()
}
