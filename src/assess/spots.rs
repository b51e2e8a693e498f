//! Coldest and hottest spot with their bounds, per site and over all: what takes its time, and knows nothing of limits.

mod bounds;
mod part;

use bounds::{Bounds, bounds};
use part::{DRAWS, Part, SEED, empty_area};

use super::area::Assessed;
use super::lit::Lit;
use super::{Leaning, NoAnswer, OfBond, Spot, Standing, ThrownBack, ToCompare};
use crate::field::{Area, Estimate, Fitted, extremes_at_bonds, extremes_of_each};
use crate::geometry::Place;
use crate::numeric::random::Normals;
use crate::progress::Progress;
use crate::station::{Shared, Station, Survey};

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
    /// What stands in the light, and how bonds lie; `None`: nothing does, and all are open and level.
    pub standing: Option<Shared<Standing>>,
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
            standing: Standing::of(station, survey, assessed).map(Shared::from),
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
    /// What is told of light at bonds; `None` where nothing stands in its way.
    pub bond: Option<OfBond>,
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
    /// The light in the open at its coldest and at its hottest spot, mW/cm², where that is another.
    pub open: Option<[f64; 2]>,
}

impl ToSearch {
    /// A field as the parts get it.
    pub(super) fn lit<'a>(&'a self, field: &'a Fitted) -> Lit<'a> {
        Lit {
            field,
            at_bond: self.standing.as_ref().map(|s| s.at_bond(field)),
            bare: self.standing.as_ref().and_then(|s| s.bare(field)),
        }
    }
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
        let lit = of.lit(field);
        let extremes = match &lit.at_bond {
            Some(at_bond) => extremes_at_bonds(at_bond, &of.areas, progress)?,
            None => extremes_of_each(field, &of.areas, progress)?,
        };
        for (i, (area, spots)) in of.areas.iter().zip(extremes).enumerate() {
            progress.check()?;
            progress.set(0.5 * i as f64 / of.areas.len() as f64);
            let through = of.through.get(i).copied().unwrap_or(1.0);
            let count = of.areas.len();
            parts.push(Part::of(&lit, i, area, spots, through, count, progress)?);
        }
        let places: Vec<(usize, Place)> = (parts.iter().enumerate())
            .flat_map(|(i, part)| [(i, part.coldest.0), (i, part.hottest.0)])
            .collect();
        let there = lit.at(&places, progress)?;
        let open = match of.standing {
            Some(_) => {
                let places: Vec<Place> = places.iter().map(|p| p.1).collect();
                for (part, e) in parts.iter_mut().zip(there.chunks_exact(2)) {
                    (part.coldest.1, part.hottest.1) = (e[0].irradiance, e[1].irradiance);
                }
                field.irradiance(&places, progress)?
            }
            None => Vec::new(),
        };
        let open = |i: usize| open.get(2 * i).copied().zip(open.get(2 * i + 1).copied());
        let bounds = bounds(&lit, &parts, scale.as_deref(), progress)?;
        let of_parts = parts.iter().enumerate();
        let all: Vec<(usize, Place)> = of_parts
            .flat_map(|(i, part)| part.places.iter().map(move |at| (i, *at)))
            .collect();
        let is_shown = lit.is_shown(&all, progress)?;
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
                open: open(i).map(|(cold, hot)| [cold, hot]),
            })
            .collect();
        let beyond = field.beyond_positions(coldest.1.at.point());
        Ok(Self {
            parts,
            thrown_back: of.thrown_back.against(field, progress)?,
            leaning: (of.standing.is_none())
                .then(|| Leaning::of(field, &coldest.1, beyond))
                .flatten(),
            bond: match &of.standing {
                Some(standing) => Some(OfBond {
                    lamp_known: field.knows_a_lamp(),
                    is_shown,
                    open: [
                        open(cold).map_or(f64::NAN, |o| o.0),
                        open(hot).map_or(f64::NAN, |o| o.1),
                    ],
                    hangs: standing.hangs(field, cold, coldest.1.at, progress)?,
                    in_shadow: standing.in_shadow(field, progress)?,
                }),
                None => None,
            },
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
