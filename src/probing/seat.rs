//! The nearest place where a detector can sit.

use std::cell::Cell;

use crate::assess::NoAnswer;
use crate::geometry::{Footprint, Point, Shape};
use crate::progress::Progress;
use crate::station::{Seats, Station};

/// Mesh on which seats are looked for where no raster is asked for, mm.
const MESH: f64 = 0.5;
/// How near to its best place a seat without a raster is brought, mm.
const FINEST: f64 = 0.01;

/// A raster finer than this is none that anyone places a detector on, mm.
pub const FINEST_RASTER: f64 = 0.1;
/// Places that are asked about for one pattern, at most: a second or so.
const MOST_ASKED: u32 = 2_000_000;

/// Looks for places where a detector can sit.
pub(super) struct Seating<'a> {
    seats: Seats<'a>,
    body: Option<&'a Shape>,
    /// Seats lie on whole multiples of it, mm; `None`: anywhere.
    raster: Option<f64>,
    /// The larger side of what detectors stand on, mm: nothing is looked for beyond it.
    extent: f64,
    /// From the aperture to the nearest place of the body's rim, mm: so far it keeps from whatever bars it.
    inner: f64,
    /// How many places were asked about.
    asked: Cell<u32>,
    progress: &'a Progress,
}

impl<'a> Seating<'a> {
    /// With the body of the plan's radiometer, where it is known; a raster is [`FINEST_RASTER`] at least.
    pub fn of(station: &'a Station, raster: Option<f64>, progress: &'a Progress) -> Self {
        let seats = station.seats();
        let bounds = (seats.bounds()).unwrap_or_else(|| station.fixture.footprint().bounds());
        let body = station.plan_radiometer().map(|r| &r.body);
        let inner = body.map_or(0.0, |body| {
            let at = Point::default();
            -Footprint::new(body.clone(), at).signed_distance(at)
        });
        Self {
            seats,
            body,
            inner: inner.max(0.0),
            progress,
            raster: raster
                .filter(|mesh| mesh.is_finite() && *mesh > 0.0)
                .map(|mesh| mesh.max(FINEST_RASTER)),
            extent: bounds.width().max(bounds.depth()),
            asked: Cell::new(0),
        }
    }

    /// Whether there is time left, and nobody has asked to stop. What was found until then counts only where it says so:
    /// a place that was not looked for to the end may have a seat all the same.
    ///
    /// # Errors
    /// [`NoAnswer`].
    pub fn may_go_on(&self) -> Result<(), NoAnswer> {
        self.progress.check()?;
        if self.is_spent() {
            return Err(NoAnswer::Missing(
                "Looking for room for the detector takes too long here; choose a coarser snap grid, a wider spacing or \
                 fewer positions"
                    .into(),
            ));
        }
        Ok(())
    }

    fn is_spent(&self) -> bool {
        self.asked.get() > MOST_ASKED
    }

    /// Whether a detector can sit there.
    pub fn is_free(&self, at: Point) -> bool {
        self.asked.set(self.asked.get().saturating_add(1));
        self.seats.is_free(at, self.body)
    }

    /// The point on the raster nearest to a point.
    pub fn snapped(&self, at: Point) -> Point {
        self.raster.map_or(at, |mesh| snapped(at, mesh))
    }

    /// Between the places that are looked at, mm.
    pub fn mesh(&self) -> f64 {
        self.raster.unwrap_or(MESH)
    }

    /// On the raster, the seat nearest to a place that is at most `reach` mm away; without a raster to
    /// a hundredth of a millimetre. `None` when there is none, or when too many were looked for already.
    pub fn nearest(&self, wanted: Point, reach: f64) -> Option<Point> {
        let mesh = self.mesh();
        let base = self.snapped(wanted);
        let found = self.on_mesh(base, wanted, mesh, reach.min(self.extent))?;
        Some(match self.raster {
            Some(_) => found,
            None => self.drawn_near(found, wanted, mesh),
        })
    }

    /// Square shells around a point of the mesh, until a shell lies wholly beyond the best one found.
    fn on_mesh(&self, base: Point, wanted: Point, mesh: f64, reach: f64) -> Option<Point> {
        let mut best: Option<(f64, Point)> = None;
        // What is between a place and the rim, or a keep-out, changes by no more than the way from one to the other: where
        // too little is, no seat is nearer than the rest.
        let least = self.inner - self.seats.clearance(wanted) - 1e-6;
        for shell in 0..=(reach / mesh).ceil() as i32 {
            let nearest = (f64::from(shell) - 0.5) * mesh;
            let is_done = best.is_some_and(|(distance, _)| nearest > distance);
            if is_done || self.is_spent() || self.progress.is_cancelled() {
                break;
            }
            for (i, j) in around(shell) {
                let at = Point::new(base.x + f64::from(i) * mesh, base.y + f64::from(j) * mesh);
                let distance = at.distance(wanted);
                let is_nearer = best.is_none_or(|(best, _)| distance < best - 1e-9);
                if (least..=reach).contains(&distance) && is_nearer && self.is_free(at) {
                    best = Some((distance, at));
                }
            }
        }
        best.map(|(_, at)| at)
    }

    /// Pattern search towards the wanted place over seats only.
    fn drawn_near(&self, from: Point, wanted: Point, mesh: f64) -> Point {
        let (mut at, mut step) = (from, 0.5 * mesh);
        while step >= FINEST {
            let nearer = (0..16)
                .map(|i| {
                    let angle = std::f64::consts::TAU * f64::from(i) / 16.0;
                    Point::new(at.x + step * angle.cos(), at.y + step * angle.sin())
                })
                .filter(|p| p.distance(wanted) < at.distance(wanted) - 1e-9)
                .find(|p| self.is_free(*p));
            match nearer {
                Some(nearer) => at = nearer,
                None => step *= 0.5,
            }
        }
        at
    }
}

/// The point on a raster from the datum nearest to a point.
fn snapped(at: Point, mesh: f64) -> Point {
    let on = |v: f64| (v / mesh).round() * mesh;
    Point::new(on(at.x), on(at.y))
}

/// The cells of a square shell around (0, 0).
fn around(shell: i32) -> impl Iterator<Item = (i32, i32)> {
    (-shell..=shell).flat_map(move |j| {
        let step = if j.abs() == shell {
            1
        } else {
            (2 * shell).max(1)
        };
        (-shell..=shell).step_by(step as usize).map(move |i| (i, j))
    })
}
