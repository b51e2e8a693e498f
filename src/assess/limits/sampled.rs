//! Joint draws of the parts' extremes together with other places, so that what is said of a ratio is said
//! of possible fields and not of two figures that were found apart.

use super::super::{PartSpots, Spots, ToSearch};
use crate::field::{Area, Fitted};
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
    let over = |area: &Area, through: f64, count: f64| {
        let step = (area.outline.area() / count).sqrt();
        let height = area.height;
        let lattice = area.outline.lattice(step).into_iter();
        lattice.map(move |p| Stand {
            at: p.at_height(height),
            through,
        })
    };
    let mut stands = Vec::new();
    if !of.of_sites {
        for area in &of.areas {
            stands.extend(over(area, 1.0, OVER_FIXTURE));
        }
        let spots = [&spots.coldest, &spots.hottest];
        stands.extend(spots.map(|(_, spot)| Stand {
            at: spot.at,
            through: 1.0,
        }));
        return stands;
    }
    let mut sites: Vec<(&PartSpots, &Area)> = spots.parts.iter().zip(&of.areas).collect();
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
    for (site, _) in cold.iter().take(SITES) {
        push(Stand {
            at: site.coldest.at,
            through: site.through,
        });
    }
    for (site, _) in hot.iter().take(SITES) {
        push(Stand {
            at: site.hottest.at,
            through: site.through,
        });
    }
    let close = cold.iter().take(CLOSELY).chain(hot.iter().take(CLOSELY));
    for (site, area) in close {
        over(area, site.through, OVER_SITE).for_each(&mut push);
    }
    stands
}

/// Draws; `None` for a family without.
pub(super) fn sample(
    field: &Fitted,
    stands: &[Stand],
    beside: &[Place],
    draws: usize,
    seed: u64,
    progress: &Progress,
) -> Result<Option<Sampled>, Cancelled> {
    let places: Vec<Place> = stands
        .iter()
        .map(|s| s.at)
        .chain(beside.iter().copied())
        .collect();
    let Some(drawn) = field.joint(&places, seed, draws, progress)? else {
        return Ok(None);
    };
    let mut out = Sampled {
        coldest: Vec::with_capacity(draws),
        hottest: Vec::with_capacity(draws),
        beside: vec![Vec::with_capacity(draws); beside.len()],
    };
    for draw in drawn.values.chunks_exact(places.len().max(1)) {
        let (parts, others) = draw.split_at(stands.len());
        let at_bond = parts.iter().zip(stands).map(|(e, stand)| e * stand.through);
        let (low, high) = at_bond.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), e| {
            (lo.min(e), hi.max(e))
        });
        out.coldest.push(low);
        out.hottest.push(high);
        for (kept, e) in out.beside.iter_mut().zip(others) {
            kept.push(*e);
        }
    }
    Ok(Some(out))
}
