//! In which order places are visited, with the visits of the reference among them, how long the way is and how long it
//! takes.

mod rows;
mod shortest;

pub use shortest::{Ends, length, shortest};

use super::plate::Plates;
use crate::geometry::{Place, Point};
use crate::station::{Plan, Position, Reading, Reference, Station};
use rows::{bands, rows, there_and_back};

/// Heights that differ by less count as one, mm.
pub(super) const SAME_HEIGHT: f64 = 1e-3;

/// More positions than this are walked in bands: the shortest way through them takes long to find, and no hand walks it.
const MOST: usize = 160;

/// The order in which to visit points, as their indices: rows there and back where most of them stand in rows, else the
/// shortest way that was found; from `start` or else from the front left. One that is added at the end is put in where it
/// costs least; the others keep their order, but for what is shorter in another one.
pub fn walk(points: &[Point], start: Option<usize>) -> Vec<usize> {
    let start = start.filter(|start| *start < points.len());
    if points.len() > MOST || points.iter().any(|p| !(p.x.is_finite() && p.y.is_finite())) {
        return bands(points);
    }
    let (rows, rest) = rows(points);
    if 2 * rest.len() < points.len()
        && let Some(way) = there_and_back(&rows, start)
    {
        return rest.into_iter().fold(way, |mut way, i| {
            put_in(points, &mut way, i);
            way
        });
    }
    match start.or_else(|| front_left(points)) {
        Some(first) => shortest(points, Ends::From(first)),
        None => Vec::new(),
    }
}

/// The point nearest to the front left corner of their bounds.
fn front_left(points: &[Point]) -> Option<usize> {
    let left = points.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    let front = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let far = |i: &usize| points[*i].distance(Point::new(left, front));
    (0..points.len()).min_by(|a, b| far(a).total_cmp(&far(b)))
}

/// Puts a point behind the one of the way where it costs least; never before the first.
fn put_in(points: &[Point], way: &mut Vec<usize>, i: usize) {
    let p = points[i];
    let cost = |place: &usize| {
        let before = points[way[*place]];
        match way.get(place + 1) {
            Some(&after) => {
                let after = points[after];
                before.distance(p) + p.distance(after) - before.distance(after)
            }
            None => before.distance(p),
        }
    };
    let best = (0..way.len()).min_by(|a, b| cost(a).total_cmp(&cost(b)));
    way.insert(best.map_or(0, |place| place + 1), i);
}

/// The order in which to visit places, as their indices: one height after the other from the lowest up, so that the spacer
/// is changed as seldom as can be; at each height as [`walk`] says.
pub fn route(places: &[Place]) -> Vec<usize> {
    let mut heights: Vec<usize> = (0..places.len()).collect();
    heights.sort_by(|&a, &b| (places[a].height.total_cmp(&places[b].height)).then(a.cmp(&b)));
    let same = |a: &usize, b: &usize| places[*b].height - places[*a].height <= SAME_HEIGHT;
    let at_height = heights.chunk_by(same).flat_map(|at_height| {
        let mut at_height = at_height.to_vec();
        at_height.sort_unstable();
        let points: Vec<Point> = at_height.iter().map(|&i| places[i].point()).collect();
        let walked = walk(&points, None).into_iter();
        walked.map(move |i| at_height[i]).collect::<Vec<_>>()
    });
    at_height.collect()
}

/// One reading of a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Index of the position in the plan.
    pub position: usize,
    /// Where the sensing plane is.
    pub place: Place,
    /// Which visit of the reference it is, from 1; `None`: it is none.
    pub visit: Option<u32>,
    /// On which plate, from 0; `None`: the round is made without one.
    pub plate: Option<usize>,
    /// When it is read, from the beginning of the round, minutes.
    pub minute: f64,
}

/// A whole round by the plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Route {
    /// The plan's positions, as written out.
    pub positions: Vec<Position>,
    /// In the order in which they are read.
    pub stops: Vec<Stop>,
    /// From position to position, mm.
    pub length: f64,
    /// The whole round, minutes.
    pub minutes: f64,
    /// How often another spacer goes under the detector.
    pub height_changes: usize,
    /// How often another plate is put in place.
    pub plate_changes: usize,
}

impl Route {
    /// The round of a station's plan, each position at each height once. Where a position at the reference's place would be
    /// read, the reference's visits are its readings.
    pub fn of(station: &Station) -> Self {
        let plates = station.plan.bores.and_then(|_| Plates::of(station).ok());
        Self::on(station, plates.as_ref())
    }

    /// The same where the plates are worked out already; `None`: without any.
    pub fn on(station: &Station, plates: Option<&Plates>) -> Self {
        let (plan, positions) = (&station.plan, station.positions());
        let reference = plan.reference.as_ref().and_then(|reference| {
            let index = index_of(&positions, &reference.position)?;
            Some((index, reference))
        });
        let mut round = Round {
            plan,
            positions: &positions,
            plates,
            reference,
            since: 0,
            visits: 0,
            route: Self::default(),
        };
        let readings = readings(plan, &positions, plates);
        round.visit();
        for (i, (position, height, plate)) in readings.iter().enumerate() {
            round.read(*position, *height, *plate, None);
            let next = readings.get(i + 1);
            // where every reading is at another height than the one before, that is no reason for a visit
            let changes = !plan.positions_first
                && next.is_some_and(|(_, next, _)| (next - height).abs() > SAME_HEIGHT);
            if next.is_none() || changes || round.is_due() {
                round.visit();
            }
        }
        let mut route = round.route;
        route.positions = positions;
        route
    }

    /// The rows to fill in of a survey by this route, and the name of the position whose repeated readings are visits of
    /// the reference.
    pub fn rows(&self) -> (Vec<Reading>, Option<String>) {
        let name = |stop: &Stop| self.positions[stop.position].name.clone();
        let row = |stop: &Stop| Reading {
            position: name(stop),
            repeat: stop.visit.unwrap_or(1),
            ..Reading::new(stop.place, None)
        };
        let reference = self.stops.iter().find(|stop| stop.visit.is_some());
        (self.stops.iter().map(row).collect(), reference.map(name))
    }
}

fn index_of(positions: &[Position], name: &str) -> Option<usize> {
    positions.iter().position(|p| p.name == name)
}

/// Positions, heights and plates of a round in their order, without visits of the reference.
fn readings(
    plan: &Plan,
    positions: &[Position],
    plates: Option<&Plates>,
) -> Vec<(usize, f64, Option<usize>)> {
    let mut heights = plan.heights.clone();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|b, a| *b - *a <= SAME_HEIGHT);
    let start = (plan.start.as_deref()).and_then(|name| index_of(positions, name));
    let walked = |of: &[usize]| -> Vec<usize> {
        let points: Vec<Point> = of.iter().map(|&i| positions[i].at).collect();
        let start = start.and_then(|start| of.iter().position(|i| *i == start));
        walk(&points, start).into_iter().map(|i| of[i]).collect()
    };
    let ways: Vec<(Option<usize>, Vec<usize>)> = match plates {
        Some(plates) => (plates.shared().iter().enumerate())
            .map(|(plate, of)| (Some(plate), walked(of)))
            .collect(),
        None => {
            let all: Vec<usize> = (0..positions.len()).collect();
            vec![(None, walked(&all))]
        }
    };
    let is_reference = |position: usize, height: f64| {
        plan.reference.as_ref().is_some_and(|r| {
            positions[position].name == r.position && (r.height - height).abs() <= SAME_HEIGHT
        })
    };
    let mut all = Vec::new();
    let mut add = |position: usize, height: f64, plate| {
        if !is_reference(position, height) {
            all.push((position, height, plate));
        }
    };
    if plan.positions_first {
        for (plate, way) in &ways {
            for (i, &position) in way.iter().enumerate() {
                // up and down again: the spacer of the last reading is the first one's of the next position
                let up: Vec<f64> = heights.clone();
                let down: Vec<f64> = heights.iter().rev().copied().collect();
                let order = if i % 2 == 0 { up } else { down };
                order.iter().for_each(|&h| add(position, h, *plate));
            }
        }
    } else {
        for &height in &heights {
            for (plate, way) in &ways {
                way.iter()
                    .for_each(|&position| add(position, height, *plate));
            }
        }
    }
    all
}

/// A round while it is put together.
struct Round<'a> {
    plan: &'a Plan,
    positions: &'a [Position],
    plates: Option<&'a Plates>,
    reference: Option<(usize, &'a Reference)>,
    /// Readings since the last visit.
    since: u32,
    visits: u32,
    route: Route,
}

impl Round<'_> {
    fn is_due(&self) -> bool {
        let every = self.reference.and_then(|(_, reference)| reference.every);
        every.is_some_and(|every| self.since >= every)
    }

    fn visit(&mut self) {
        let Some((position, reference)) = self.reference else {
            return;
        };
        self.visits += 1;
        let on_now = self.route.stops.last().and_then(|stop| stop.plate);
        let plate = self.plates.map(|plates| {
            let on_now = on_now.filter(|&plate| plates.holds(plate, position));
            on_now.unwrap_or_else(|| plates.of_position(position))
        });
        self.read(position, reference.height, plate, Some(self.visits));
        self.since = 0;
    }

    fn read(&mut self, position: usize, height: f64, plate: Option<usize>, visit: Option<u32>) {
        let cycle = self.plan.cycle();
        let place = self.positions[position].at.at_height(height);
        let mut seconds = cycle.reading();
        let route = &mut self.route;
        if let Some(last) = route.stops.last() {
            route.length += last.place.point().distance(place.point());
            if (last.place.height - height).abs() > SAME_HEIGHT {
                route.height_changes += 1;
                seconds += cycle.change;
            }
            if last.plate != plate {
                route.plate_changes += 1;
                seconds += cycle.change;
            }
        }
        route.minutes += seconds / 60.0;
        route.stops.push(Stop {
            position,
            place,
            visit,
            plate,
            minute: route.minutes,
        });
        self.since += 1;
    }
}

#[cfg(test)]
mod tests;
