//! Where the field is coldest or hottest.

use crate::field::{AtBond, Fitted};
use crate::geometry::{Footprint, Place, Point};
use crate::progress::{Cancelled, Progress};

/// Which extreme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extreme {
    /// The least irradiance.
    Coldest,
    /// The greatest.
    Hottest,
}

/// A part of the assessed area: everything inside an outline at one height.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// The outline.
    pub outline: Footprint,
    /// Height of what counts there, mm.
    pub height: f64,
}

/// Nodes over all areas together, about; each area has at least some dozens.
const NODES: f64 = 20_000.0;
/// Candidates that are refined.
const CANDIDATES: usize = 4;
/// Refinement ends here, mm.
const FINEST: f64 = 1e-3;

/// The place of the field's extreme over areas, found on a lattice that reaches their rims and refined
/// between its nodes to a thousandth of a millimetre: index of the area and place. `None` without areas.
/// Of equal ones the first.
///
/// # Errors
/// [`Cancelled`].
pub fn extremum(
    fitted: &Fitted,
    areas: &[Area],
    extreme: Extreme,
    progress: &Progress,
) -> Result<Option<(usize, Place)>, Cancelled> {
    let sign = match extreme {
        Extreme::Coldest => 1.0,
        Extreme::Hottest => -1.0,
    };
    let total: f64 = areas.iter().map(|a| a.outline.area()).sum();
    let common = (total / NODES).sqrt();
    let mut candidates: Vec<Candidate> = Vec::new();
    for (area, part) in areas.iter().enumerate() {
        progress.check()?;
        let (width, depth) = part.outline.shape.size();
        let step = common
            .max(width.max(depth) / 100.0)
            .min(width.min(depth) / 6.0);
        let points = part.outline.lattice(step);
        let places: Vec<Place> = points.iter().map(|p| p.at_height(part.height)).collect();
        let values = fitted.irradiance(&places, progress)?;
        let best = values
            .iter()
            .zip(points)
            .map(|(value, at)| Candidate {
                area,
                at,
                value: sign * value,
                step,
            })
            .reduce(|a, b| if b.value < a.value { b } else { a });
        candidates.extend(best);
    }
    candidates.sort_by(|a, b| a.value.total_cmp(&b.value).then(a.area.cmp(&b.area)));
    candidates.truncate(CANDIDATES);
    let mut best: Option<Candidate> = None;
    for candidate in candidates {
        let part = &areas[candidate.area];
        let refined = refine(fitted, part, candidate, sign, progress)?;
        if best.as_ref().is_none_or(|b| refined.value < b.value) {
            best = Some(refined);
        }
    }
    Ok(best.map(|b| (b.area, b.at.at_height(areas[b.area].height))))
}

/// The coldest and the hottest place of each area, found and refined as by [`extremum`]: one lattice serves both, and the
/// areas share the nodes. An empty area has neither.
///
/// # Errors
/// [`Cancelled`].
pub fn extremes_of_each(
    fitted: &Fitted,
    areas: &[Area],
    progress: &Progress,
) -> Result<Vec<Option<[Place; 2]>>, Cancelled> {
    let total: f64 = areas.iter().map(|a| a.outline.area()).sum();
    let common = (total / NODES).sqrt();
    let mut all = Vec::with_capacity(areas.len());
    for (area, part) in areas.iter().enumerate() {
        progress.check()?;
        let (width, depth) = part.outline.shape.size();
        let step = common
            .max(width.max(depth) / 100.0)
            .min(width.min(depth) / 6.0);
        let points = part.outline.lattice(step);
        let places: Vec<Place> = points.iter().map(|p| p.at_height(part.height)).collect();
        let values = fitted.irradiance(&places, progress)?;
        let refined = |sign: f64| -> Result<Option<Place>, Cancelled> {
            let nodes = values.iter().zip(&points).map(|(value, &at)| Candidate {
                area,
                at,
                value: sign * value,
                step,
            });
            let best = nodes.reduce(|a, b| if b.value < a.value { b } else { a });
            let refined = best.map(|best| refine(fitted, part, best, sign, progress));
            Ok(refined.transpose()?.map(|r| r.at.at_height(part.height)))
        };
        let (coldest, hottest) = (refined(1.0)?, refined(-1.0)?);
        all.push(coldest.zip(hottest).map(|(cold, hot)| [cold, hot]));
    }
    Ok(all)
}

/// Nodes over all areas together, about, where light at bonds is looked for: it takes longer.
const NODES_AT_BONDS: f64 = 3000.0;
/// So many of the areas that are most extreme are refined there.
const REFINED_AT_BONDS: usize = 3;
/// And no finer than this, mm.
const FINEST_AT_BONDS: f64 = 0.1;

/// The coldest and the hottest place of each bond; area and bond of the same index belong together. Those that are coldest or
/// hottest of all are refined between the nodes. An empty area has neither.
///
/// # Errors
/// [`Cancelled`].
pub fn extremes_at_bonds(
    at_bond: &AtBond<'_>,
    areas: &[Area],
    progress: &Progress,
) -> Result<Vec<Option<[Place; 2]>>, Cancelled> {
    let total: f64 = areas.iter().map(|a| a.outline.area()).sum();
    let common = (total / NODES_AT_BONDS).sqrt();
    let mut found: Vec<[Option<Candidate>; 2]> = Vec::with_capacity(areas.len());
    for (area, part) in areas.iter().enumerate() {
        progress.check()?;
        let (width, depth) = part.outline.shape.size();
        let step = common
            .max(width.max(depth) / 24.0)
            .min(width.min(depth) / 5.0);
        let points = part.outline.lattice(step);
        let places: Vec<Place> = points.iter().map(|p| p.at_height(part.height)).collect();
        let values = at_bond.about(area, &places, progress)?;
        found.push([1.0, -1.0].map(|sign| {
            let nodes = values.iter().zip(&points).map(|(value, &at)| Candidate {
                area,
                at,
                value: sign * value,
                step,
            });
            nodes.reduce(|a, b| if b.value < a.value { b } else { a })
        }));
    }
    for (which, sign) in [1.0, -1.0].into_iter().enumerate() {
        let mut order: Vec<usize> = (0..found.len())
            .filter(|&i| found[i][which].is_some())
            .collect();
        let value = |i: usize| found[i][which].map_or(f64::INFINITY, |c| c.value);
        order.sort_by(|&a, &b| value(a).total_cmp(&value(b)));
        for area in order.into_iter().take(REFINED_AT_BONDS) {
            if let Some(best) = found[area][which] {
                let light = |places: &[Place]| at_bond.about(area, places, progress);
                let refined = refine_by(&light, &areas[area], best, sign, FINEST_AT_BONDS)?;
                found[area][which] = Some(refined);
            }
        }
    }
    let each = found.into_iter().zip(areas).map(|(pair, area)| {
        let at = |c: Option<Candidate>| c.map(|c| c.at.at_height(area.height));
        at(pair[0]).zip(at(pair[1])).map(|(cold, hot)| [cold, hot])
    });
    Ok(each.collect())
}

#[derive(Debug, Clone, Copy)]
struct Candidate {
    area: usize,
    at: Point,
    /// Irradiance, negative when the hottest is wanted.
    value: f64,
    step: f64,
}

/// Pattern search: the eight neighbours at a step, then half the step. Points outside go to the nearest
/// place inside.
fn refine(
    fitted: &Fitted,
    area: &Area,
    best: Candidate,
    sign: f64,
    progress: &Progress,
) -> Result<Candidate, Cancelled> {
    let light = |places: &[Place]| fitted.irradiance(places, progress);
    refine_by(&light, area, best, sign, FINEST)
}

/// What places get, mW/cm².
type Light<'a> = dyn Fn(&[Place]) -> Result<Vec<f64>, Cancelled> + 'a;

fn refine_by(
    light: &Light<'_>,
    area: &Area,
    mut best: Candidate,
    sign: f64,
    finest: f64,
) -> Result<Candidate, Cancelled> {
    while best.step > finest {
        let around = ring(&area.outline, best.at, best.step);
        let places = around.map(|p| p.at_height(area.height));
        let values = light(&places)?;
        let (mut moved, from) = (false, best);
        for (value, at) in values.iter().zip(around) {
            if sign * value < best.value {
                moved = true;
                best = Candidate {
                    at,
                    value: sign * value,
                    ..best
                };
            }
        }
        if !moved || from.at.distance(best.at) < finest {
            best.step *= 0.5;
        }
    }
    Ok(best)
}

fn ring(outline: &Footprint, at: Point, step: f64) -> [Point; 8] {
    std::array::from_fn(|i| {
        let angle = std::f64::consts::TAU * i as f64 / 8.0;
        outline.nearest_inside(Point::new(
            at.x + step * angle.cos(),
            at.y + step * angle.sin(),
        ))
    })
}
