//! Coldest and hottest spot with their bounds, per site and over all: what takes its time, and knows nothing of limits.

mod bounds;
mod part;

use bounds::{Bounds, bounds};
use part::{DRAWS, Part, SEED, empty_area};

use super::area::Assessed;
use super::{Leaning, NoAnswer, Shade, Spot, ThrownBack, ToCompare, ToShade};
use crate::field::{Area, Estimate, Fitted, extremes_of_each};
use crate::geometry::Place;
use crate::numeric::random::Normals;
use crate::progress::Progress;
use crate::station::{Station, Survey};

/// All that spots are looked for in, beside the field.
#[derive(Debug, Clone, PartialEq)]
pub struct ToSearch {
    /// The outlines with their heights.
    pub areas: Vec<Area>,
    /// They are those of sites; otherwise that of the fixture.
    pub of_sites: bool,
    /// For each how much of the light over it reaches the bond, 0 to 1.
    pub through: Vec<f64>,
    /// Standard uncertainty of the radiometer's calibration, relative, where it is known.
    pub calibration: Option<f64>,
    /// What may stand in the light.
    pub shade: ToShade,
    /// What was read with the pallet in place, beside a survey with it out.
    pub thrown_back: ToCompare,
}

impl ToSearch {
    /// Of the assessed area of a station, read by a survey.
    pub fn of(station: &Station, survey: &Survey, assessed: &Assessed) -> Self {
        let areas = 0..assessed.areas.len();
        Self {
            areas: assessed.areas.clone(),
            of_sites: !assessed.sites.is_empty(),
            through: areas.map(|area| through(station, assessed, area)).collect(),
            calibration: calibration(survey),
            shade: ToShade::of(station, survey),
            thrown_back: ToCompare::of(station, survey),
        }
    }
}

/// Where a field is extreme, with bounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Spots {
    /// Of each area, in their order; the spots name no site.
    pub parts: Vec<PartSpots>,
    /// The area that holds the coldest spot, and the spot.
    pub coldest: (usize, Spot),
    /// The area that holds the hottest spot, and the spot.
    pub hottest: (usize, Spot),
    /// Coldest and hottest of what reaches the bonds: areas, spots and bounds there.
    pub at_bond: [(usize, Spot); 2],
    /// What the coldest spot's figure leans on; `None` for a field without knowledge of the lamp.
    pub leaning: Option<Leaning>,
    /// How far the coldest spot lies outside the outermost positions, mm; 0 between them.
    pub beyond: f64,
    /// What a keep-out could take beside a part, where that was not read.
    pub shade: Option<Shade>,
    /// Light thrown back that is not in readings with the pallet out.
    pub thrown_back: Option<ThrownBack>,
}

/// What the field is over one area.
#[derive(Debug, Clone, PartialEq)]
pub struct PartSpots {
    /// Its coldest spot.
    pub coldest: Spot,
    /// Its hottest spot.
    pub hottest: Spot,
    /// Mean over the outline, mW/cm².
    pub mean: f64,
    /// mm².
    pub area: f64,
    /// How much of the light over it reaches the bond, 0 to 1.
    pub through: f64,
}

impl Spots {
    /// Looks for them.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn of(field: &Fitted, of: &ToSearch, progress: &Progress) -> Result<Self, NoAnswer> {
        let scale = of.calibration.map(|u| scale_draws(u, DRAWS));
        if of.areas.is_empty() {
            return Err(empty_area());
        }
        let mut parts = Vec::with_capacity(of.areas.len());
        let extremes = extremes_of_each(field, &of.areas, progress)?;
        for (i, (area, spots)) in of.areas.iter().zip(extremes).enumerate() {
            progress.check()?;
            progress.set(0.5 * i as f64 / of.areas.len() as f64);
            let through = of.through.get(i).copied().unwrap_or(1.0);
            let count = of.areas.len();
            parts.push(Part::of(field, area, spots, through, count, progress)?);
        }
        let bounds = bounds(field, &parts, scale.as_deref(), progress)?;
        let places: Vec<Place> = (parts.iter())
            .flat_map(|part| [part.coldest.0, part.hottest.0])
            .collect();
        let there = field.at(&places, progress)?;
        let coldest_of =
            |part: usize, bounds| spot(parts[part].coldest.0, &there[2 * part], bounds);
        let hottest_of =
            |part: usize, bounds| spot(parts[part].hottest.0, &there[2 * part + 1], bounds);
        let cold = least(&parts, |part| part.coldest.1);
        let hot = least(&parts, |part| -part.hottest.1);
        let coldest = (cold, coldest_of(cold, bounds.coldest));
        let hottest = (hot, hottest_of(hot, bounds.hottest));
        let at_bond = match bounds.bond {
            None => [coldest.clone(), hottest.clone()],
            Some((below, above)) => {
                let cold = least(&parts, |part| part.through * part.coldest.1);
                let hot = least(&parts, |part| -part.through * part.hottest.1);
                let behind = |part: usize, spot: Spot| {
                    let through = parts[part].through;
                    let spot = Spot {
                        irradiance: through * spot.irradiance,
                        uncertainty: spot.uncertainty.map(|u| through * u),
                        ..spot
                    };
                    (part, spot)
                };
                [
                    behind(cold, coldest_of(cold, below)),
                    behind(hot, hottest_of(hot, above)),
                ]
            }
        };
        let all = parts.iter().zip(bounds.parts).enumerate();
        let parts = all
            .map(|(i, (part, (below, above)))| PartSpots {
                coldest: coldest_of(i, below),
                hottest: hottest_of(i, above),
                mean: part.mean,
                area: part.area,
                through: part.through,
            })
            .collect();
        let beyond = field.beyond_positions(coldest.1.at.point());
        Ok(Self {
            parts,
            thrown_back: of.thrown_back.against(field, progress)?,
            shade: of.shade.most(&of.areas, progress)?,
            leaning: Leaning::of(field, &coldest.1, beyond),
            coldest,
            hottest,
            at_bond,
            beyond,
        })
    }
}

/// Standard uncertainty of the calibration, relative.
fn calibration(survey: &Survey) -> Option<f64> {
    let radiometer = survey.radiometer.as_ref()?;
    let expanded = radiometer.expanded_uncertainty_percent?;
    let u = expanded / 100.0 / radiometer.coverage_factor;
    (u.is_finite() && u >= 0.0).then_some(u)
}

/// Factors that the radiometer's scale may be off by: one for each drawn field, common to all places
/// of it.
fn scale_draws(relative: f64, n: usize) -> Vec<f64> {
    let mut normals = Normals::new(SEED, u64::MAX);
    (0..n).map(|_| 1.0 + relative * normals.draw()).collect()
}

/// How much of the light over an area reaches the bond there.
fn through(station: &Station, assessed: &Assessed, area: usize) -> f64 {
    let (Some(limits), Some(site)) = (station.limits.as_deref(), assessed.sites.get(area)) else {
        return 1.0;
    };
    let group = station.sites.get(site.group).map_or("", |g| &g.name);
    limits.through(&site.name, group)
}

fn spot(at: Place, there: &Estimate, bounds: Bounds) -> Spot {
    // where drawn fields have their extremes all over the area, these can lie beyond that of the estimate: nobody would
    // understand a figure outside its own bounds, and wider is never wrong
    let least = |bound: Option<f64>| bound.map(|b| b.min(there.irradiance));
    let most = |bound: Option<f64>| bound.map(|b| b.max(there.irradiance));
    Spot {
        at,
        irradiance: there.irradiance,
        uncertainty: there.uncertainty,
        at_least: least(bounds.at_least),
        at_most: most(bounds.at_most),
        at_least_absolute: least(bounds.at_least_absolute),
        at_most_absolute: most(bounds.at_most_absolute),
        extrapolated: there.extrapolated,
        site: None,
    }
}

/// Index of the part with the least key.
fn least(parts: &[Part], key: impl Fn(&Part) -> f64) -> usize {
    (0..parts.len())
        .min_by(|&a, &b| key(&parts[a]).total_cmp(&key(&parts[b])))
        .unwrap_or(0)
}
