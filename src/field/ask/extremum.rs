//! Where the field is coldest or hottest.

use crate::field::Fitted;
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
    mut best: Candidate,
    sign: f64,
    progress: &Progress,
) -> Result<Candidate, Cancelled> {
    while best.step > FINEST {
        let around = ring(&area.outline, best.at, best.step);
        let places = around.map(|p| p.at_height(area.height));
        let values = fitted.irradiance(&places, progress)?;
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
        if !moved || from.at.distance(best.at) < FINEST {
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
