//! What `plan --json` says.
//!
//! Stops are numbered once, through all heights: `plan.csv`, drawings and tables say the same numbers.

use serde::Serialize;

use crate::numeric::neighbours::largest_gap;
use crate::probing::{self, Fewest, Pattern, Prospect};
use crate::station::Station;
use crate::units::fixed;

/// The probe-position plan in the order of its route.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanRecord {
    /// Name of the station.
    pub station: String,
    /// Name of the radiometer that the plan is made for.
    pub radiometer: Option<String>,
    /// In the order in which they are visited.
    pub positions: Vec<PositionRecord>,
    /// The largest disk without a position whose middle is on the fixture; `null` without positions.
    pub largest_gap: Option<GapRecord>,
    /// Whether it is read with the pallet out, on a plate.
    pub pallet_out: bool,
    /// What the positions can show before anything is read; `null` without positions.
    pub prospect: Option<ProspectRecord>,
    /// Plain sentences.
    pub warnings: Vec<String>,
}

/// What positions can show and what they can't.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProspectRecord {
    /// Share of the assessed area beyond the outermost positions.
    pub beyond_percent: f64,
    /// How far the farthest of it lies beyond them.
    pub beyond_mm: f64,
    /// So far apart positions lie at most.
    pub apart_mm: f64,
    /// The least working distance of what is assessed.
    pub working_distance_mm: f64,
    /// What is left there of a pattern on the face that positions so far apart can't tell.
    pub pattern_left_percent: f64,
    /// Positions no further apart leave 1 percent of it.
    pub proposed_apart_mm: f64,
}

impl From<Prospect> for ProspectRecord {
    fn from(prospect: Prospect) -> Self {
        Self {
            beyond_percent: 100.0 * prospect.beyond,
            beyond_mm: prospect.farthest,
            apart_mm: prospect.apart,
            working_distance_mm: prospect.distance,
            pattern_left_percent: 100.0 * prospect.left,
            proposed_apart_mm: prospect.proposed,
        }
    }
}

/// A disk without a position.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GapRecord {
    /// Its middle, to the right of the datum.
    pub x_mm: f64,
    /// Its middle, to the back of the datum.
    pub y_mm: f64,
    /// Its radius.
    pub radius_mm: f64,
}

/// One stop of the route.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PositionRecord {
    /// Place in the route, from 1.
    pub number: usize,
    /// Name of the position.
    pub position: String,
    /// To the right of the datum.
    pub x_mm: f64,
    /// To the back of the datum.
    pub y_mm: f64,
    /// Of the sensing plane above the fixture's base.
    pub height_mm: f64,
    /// From the source's face to the sensing plane.
    pub working_distance_mm: f64,
    /// What goes under the detector; `null` when its sensing plane is not known or already higher.
    pub spacer_mm: Option<f64>,
}

impl PlanRecord {
    /// The record of a station's plan.
    pub fn new(station: &Station) -> Self {
        let planned = station.planned_places();
        let places: Vec<_> = planned.iter().map(|(_, at)| *at).collect();
        let radiometer = station.plan_radiometer();
        let mut warnings = Vec::new();
        let positions = probing::route(&places)
            .into_iter()
            .enumerate()
            .map(|(i, stop)| {
                let (name, at) = &planned[stop];
                let spacer = radiometer.and_then(|r| probing::spacer(at.height, r.sensing_plane));
                if let Some(r) = radiometer
                    && spacer.is_none()
                {
                    warnings.push(format!(
                        "The sensing plane of '{}' sits {} mm up and can't be brought to {} mm; plan a height it can reach",
                        r.name, r.sensing_plane, at.height
                    ));
                }
                PositionRecord {
                    number: i + 1,
                    position: name.clone(),
                    x_mm: at.x,
                    y_mm: at.y,
                    height_mm: at.height,
                    working_distance_mm: station.source.face_height - at.height,
                    spacer_mm: spacer,
                }
            })
            .collect();
        warnings.dedup();
        if radiometer.is_none() {
            warnings.push(
                "No radiometer is chosen for the plan, so spacers and clearances are not known; choose one".into(),
            );
        }
        let points: Vec<_> = station.positions().iter().map(|p| p.at).collect();
        let largest_gap =
            largest_gap(&station.fixture.footprint(), &points).map(|(at, radius)| GapRecord {
                x_mm: at.x,
                y_mm: at.y,
                radius_mm: radius,
            });
        Self {
            station: station.name.clone(),
            radiometer: radiometer.map(|r| r.name.clone()),
            positions,
            largest_gap,
            pallet_out: station.plan.plate.is_some(),
            prospect: Prospect::of(station).map(Into::into),
            warnings,
        }
    }
}

/// What is expected of the fewest positions, as sentences without the last full stop.
pub fn fewest_in_words(fewest: &Fewest) -> String {
    let Fewest {
        positions,
        expected,
        ..
    } = fewest;
    let layout = match fewest.pattern {
        Pattern::Around { columns, rows, .. } => format!("{columns} x {rows} in rows"),
        Pattern::Rings { rings, .. } => format!("a middle one and {rings} rings"),
        Pattern::Staggered { .. } | Pattern::Sites | Pattern::Rim { .. } => String::new(),
    };
    let short = if fewest.reached {
        String::new()
    } else {
        format!("No pattern of up to {positions} positions is expected to keep the bound so near. ")
    };
    format!(
        "{short}With {positions} positions around what is assessed ({layout}), read with the pallet out, the bound is expected \
         {} % below the coldest spot, {} % at most, by {} lamps of this kind that were drawn",
        fixed(expected.below, 1),
        fixed(expected.most, 1),
        expected.lamps
    )
}
