//! Joint draws of the parts' extremes together with other places, so that what is said of a ratio is said
//! of possible fields and not of two figures that were found apart.

use super::super::lit::{Lit, OPEN};
use super::super::{PartSpots, Spots, ToSearch};
use crate::field::Area;
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};

/// Sites whose spots are among the places, on either end.
const SITES: usize = 250;
/// Of these so many on either end are looked at closely.
const CLOSELY: usize = 8;
/// Places over a site that is looked at closely, and over a fixture without sites.
const OVER_SITE: f64 = 14.0;
const OVER_FIXTURE: f64 = 300.0;

/// A place where parts are, and how much of the light there reaches the bond.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stand {
    pub at: Place,
    pub through: f64,
    /// The area it lies in.
    pub area: usize,
}

impl Stand {
    pub fn place(&self) -> (usize, Place) {
        (self.area, self.at)
    }
}

/// Draws of the least and the greatest irradiance at the bond, and of the field at other places: draw for
/// draw from the same field, mW/cm².
#[derive(Debug, Clone)]
pub(super) struct Sampled {
    pub coldest: Vec<f64>,
    pub hottest: Vec<f64>,
    /// For each of the other places its draws.
    pub beside: Vec<Vec<f64>>,
}

/// Places that stand for the parts: every site's spots, and a lattice over those that can be extreme; without sites, over
/// the fixture.
pub(super) fn stands(of: &ToSearch, spots: &Spots) -> Vec<Stand> {
    let over = |index: usize, area: &Area, through: f64, count: f64| {
        let step = (area.outline.area() / count).sqrt();
        let height = area.height;
        let lattice = area.outline.lattice(step).into_iter();
        lattice.map(move |p| Stand {
            at: p.at_height(height),
            through,
            area: index,
        })
    };
    let mut stands = Vec::new();
    if !of.of_sites {
        for (i, area) in of.areas.iter().enumerate() {
            stands.extend(over(i, area, 1.0, OVER_FIXTURE));
        }
        let spots = [&spots.coldest, &spots.hottest];
        stands.extend(spots.map(|(area, spot)| Stand {
            at: spot.at,
            through: 1.0,
            area: *area,
        }));
        return stands;
    }
    let all = spots.parts.iter().zip(of.areas.iter().enumerate());
    let mut sites: Vec<(&PartSpots, (usize, &Area))> = all.collect();
    sites.sort_by(|a, b| {
        let coldest = |part: &PartSpots| part.coldest.irradiance;
        coldest(a.0).total_cmp(&coldest(b.0))
    });
    let mut cold = sites.clone();
    cold.sort_by(|(a, _), (b, _)| {
        (a.through * a.coldest.irradiance).total_cmp(&(b.through * b.coldest.irradiance))
    });
    let mut hot = sites;
    hot.sort_by(|(a, _), (b, _)| {
        (b.through * b.hottest.irradiance).total_cmp(&(a.through * a.hottest.irradiance))
    });
    let mut push = |stand: Stand| {
        if !stands.contains(&stand) {
            stands.push(stand);
        }
    };
    for (site, (area, _)) in cold.iter().take(SITES) {
        push(Stand {
            at: site.coldest.at,
            through: site.through,
            area: *area,
        });
    }
    for (site, (area, _)) in hot.iter().take(SITES) {
        push(Stand {
            at: site.hottest.at,
            through: site.through,
            area: *area,
        });
    }
    let close = cold.iter().take(CLOSELY).chain(hot.iter().take(CLOSELY));
    for (site, (index, area)) in close {
        over(*index, area, site.through, OVER_SITE).for_each(&mut push);
    }
    stands
}

/// Draws; `None` for a family without.
pub(super) fn sample(
    lit: &Lit<'_>,
    stands: &[Stand],
    beside: &[Place],
    draws: usize,
    seed: u64,
    progress: &Progress,
) -> Result<Option<Sampled>, Cancelled> {
    let places: Vec<(usize, Place)> = stands
        .iter()
        .map(Stand::place)
        .chain(beside.iter().map(|&at| (OPEN, at)))
        .collect();
    let Some(drawn) = lit.joint(&places, seed, draws, progress)? else {
        return Ok(None);
    };
    let mut out = Sampled {
        coldest: Vec::with_capacity(draws),
        hottest: Vec::with_capacity(draws),
        beside: vec![Vec::with_capacity(draws); beside.len()],
    };
    let rows = drawn.low.values.chunks_exact(places.len().max(1));
    let walled = drawn.high().values.chunks_exact(places.len().max(1));
    for (draw, walled) in rows.zip(walled) {
        let (parts, others) = draw.split_at(stands.len());
        let at_bond = |parts: &[f64], of: fn(f64, f64) -> f64, from: f64| {
            let each = parts.iter().zip(stands).map(|(e, s)| e * s.through);
            each.fold(from, of)
        };
        out.coldest.push(at_bond(parts, f64::min, f64::INFINITY));
        out.hottest
            .push(at_bond(walled, f64::max, f64::NEG_INFINITY));
        for (kept, e) in out.beside.iter_mut().zip(others) {
            kept.push(*e);
        }
    }
    Ok(Some(out))
}
