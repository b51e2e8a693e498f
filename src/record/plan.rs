//! What `plan --json` says.
//!
//! Stops are numbered once, through all heights: `plan.csv`, drawings and tables say the same numbers.

use serde::Serialize;

use super::plates::PlatesRecord;
use crate::numeric::neighbours::largest_gap;
use crate::probing::plate::Plates;
use crate::probing::{self, Fewest, Pattern, Prospect, Route};
use crate::station::{Cycle, Radiometer, Station, Unreached};
use crate::units::{fixed, trim_zeros};

/// The probe-position plan in the order of its route.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanRecord {
    /// Name of the station.
    pub station: String,
    /// Name of the radiometer that the plan is made for.
    pub radiometer: Option<String>,
    /// The round as a whole.
    pub route: RouteRecord,
    /// In the order in which they are visited.
    pub positions: Vec<PositionRecord>,
    /// The largest disk without a position whose middle is on the fixture; `null` without positions.
    pub largest_gap: Option<GapRecord>,
    /// Whether it is read with the pallet out, on a plate.
    pub pallet_out: bool,
    /// Bond lines that the sensing plane can't be brought down to.
    pub unreached: Vec<UnreachedRecord>,
    /// The plate or plates that locate the detector, as they would be bored; `null` where they can't be.
    pub plates: Option<PlatesRecord>,
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

/// One stop of the route: a reading.
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
    /// Which visit of the reference position it is, from 1; `null`: it is none.
    pub reference_visit: Option<u32>,
    /// On which plate, from 1; `null`: the round is made without one.
    pub plate: Option<usize>,
    /// When it is read by the times of the cycle, from the beginning of the round.
    pub minute: f64,
}

/// The round as a whole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RouteRecord {
    /// `heights`: all positions at a height before the next one; `positions`: all heights at a position before the next one.
    pub outermost: &'static str,
    /// Readings, visits of the reference among them.
    pub readings: usize,
    /// From position to position.
    pub length_mm: f64,
    /// By the times of the cycle.
    pub minutes: f64,
    /// How often another spacer goes under the detector.
    pub height_changes: usize,
    /// How often another plate is put in place.
    pub plate_changes: usize,
    /// What a reading and a change take.
    pub cycle_s: CycleRecord,
    /// `null` without one.
    pub reference: Option<ReferenceRecord>,
}

/// What each step of a reading takes, seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[allow(missing_docs)] // as Cycle has them
pub struct CycleRecord {
    pub open: f64,
    pub place: f64,
    pub close: f64,
    pub settle: f64,
    pub expose: f64,
    pub read: f64,
    pub change: f64,
}

impl From<Cycle> for CycleRecord {
    fn from(cycle: Cycle) -> Self {
        let Cycle {
            open,
            place,
            close,
            settle,
            expose,
            read,
            change,
        } = cycle;
        Self {
            open,
            place,
            close,
            settle,
            expose,
            read,
            change,
        }
    }
}

/// Where drift is seen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReferenceRecord {
    /// Name of the position.
    pub position: String,
    /// Of the sensing plane, at every visit.
    pub height_mm: f64,
    /// After so many readings too; `null`: only at start, end and changes of height.
    pub every: Option<u32>,
    /// How often it is visited.
    pub visits: usize,
}

/// A bond line that the sensing plane can't be brought down to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnreachedRecord {
    /// Name of the sites.
    pub sites: String,
    /// Of the bond line.
    pub height_mm: f64,
    /// Of the sensing plane, the detector on the base.
    pub lowest_mm: f64,
    /// So much more is read there than lies at the bond line, by the inverse square of the distance, an estimate; `null`: the
    /// sensing plane is not below the face.
    pub more_percent: Option<f64>,
    /// So much higher the source must be for the survey to have the same working distance.
    pub raise_source_mm: f64,
}

impl PlanRecord {
    /// The record of a station's plan.
    pub fn new(station: &Station) -> Self {
        let plates = Plates::of(station);
        let used = station.plan.bores.and(plates.as_ref().ok());
        let route = Route::on(station, used);
        let radiometer = station.plan_radiometer();
        let mut warnings = Vec::new();
        let positions = (route.stops.iter().enumerate())
            .map(|(i, stop)| {
                let at = stop.place;
                let spacer = radiometer.and_then(|r| probing::spacer(at.height, r.sensing_plane));
                if let Some(r) = radiometer
                    && spacer.is_none()
                {
                    warnings.push(out_of_reach(station, r, at.height));
                }
                PositionRecord {
                    number: i + 1,
                    position: route.positions[stop.position].name.clone(),
                    x_mm: at.x,
                    y_mm: at.y,
                    height_mm: at.height,
                    working_distance_mm: station.source.face_height - at.height,
                    spacer_mm: spacer,
                    reference_visit: stop.visit,
                    plate: stop.plate.map(|plate| plate + 1),
                    minute: stop.minute,
                }
            })
            .collect();
        let mut said = std::collections::HashSet::new();
        warnings.retain(|warning| said.insert(warning.clone()));
        if radiometer.is_none() {
            warnings.push(
                "No radiometer is chosen for the plan, so spacers and clearances are not known; choose one".into(),
            );
        }
        if let (Some(_), Err(why)) = (station.plan.bores, &plates) {
            warnings.push(format!("There is no plate: {why}"));
        }
        let points: Vec<_> = route.positions.iter().map(|p| p.at).collect();
        let largest_gap =
            largest_gap(&station.fixture.footprint(), &points).map(|(at, radius)| GapRecord {
                x_mm: at.x,
                y_mm: at.y,
                radius_mm: radius,
            });
        Self {
            station: station.name.clone(),
            radiometer: radiometer.map(|r| r.name.clone()),
            route: RouteRecord::new(station, &route),
            positions,
            largest_gap,
            pallet_out: station.plan.plate.is_some(),
            unreached: unreached(station),
            plates: plates
                .ok()
                .map(|plates| PlatesRecord::new(station, &plates)),
            prospect: Prospect::of(station).map(Into::into),
            warnings,
        }
    }
}

impl RouteRecord {
    fn new(station: &Station, route: &Route) -> Self {
        let plan = &station.plan;
        let visits = route.stops.iter().filter(|stop| stop.visit.is_some());
        let visits = visits.count();
        let reference = plan.reference.as_ref().filter(|_| visits > 0);
        Self {
            outermost: if plan.positions_first {
                "positions"
            } else {
                "heights"
            },
            readings: route.stops.len(),
            length_mm: route.length,
            minutes: route.minutes,
            height_changes: route.height_changes,
            plate_changes: route.plate_changes,
            cycle_s: plan.cycle().into(),
            reference: reference.map(|reference| ReferenceRecord {
                position: reference.position.clone(),
                height_mm: reference.height,
                every: reference.every,
                visits,
            }),
        }
    }
}

/// That a height is below the sensing plane, and what helps.
fn out_of_reach(station: &Station, radiometer: &Radiometer, height: f64) -> String {
    let raise = radiometer.sensing_plane - height;
    format!(
        "The sensing plane of '{}' sits {} mm up and can't be brought to {} mm; plan a height it can reach, or raise the source by {} mm to {} mm for the survey",
        radiometer.name,
        radiometer.sensing_plane,
        height,
        trim_zeros(fixed(raise, 3)),
        trim_zeros(fixed(station.source.face_height + raise, 3))
    )
}

fn unreached(station: &Station) -> Vec<UnreachedRecord> {
    let Some(radiometer) = station.plan_radiometer() else {
        return Vec::new();
    };
    let record = |low: Unreached| UnreachedRecord {
        sites: station.sites[low.group].name.clone(),
        height_mm: low.height,
        lowest_mm: low.lowest,
        more_percent: low.more_percent,
        raise_source_mm: low.raise(),
    };
    (station.unreached(radiometer).into_iter())
        .map(record)
        .collect()
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
