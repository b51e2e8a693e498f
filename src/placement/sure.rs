//! With what confidence parts lie inside the limits: joint draws of the field at all of them at once.

use super::cells::{Level, offsets};
use super::light::Light;
use super::passes::Passes;
use super::{Bars, Part};
use crate::assess::limits::Scale;
use crate::field::Fitted;
use crate::geometry::{Place, Point};
use crate::numeric::quantile::quantile;
use crate::numeric::random::Normals;
use crate::progress::{Cancelled, Progress};

/// Places in a joint draw, all passes together.
const PLACES: usize = 480;
/// One-sided 95 %.
const TAIL: f64 = 0.05;

/// What holds parts against limits.
pub(super) struct Judge<'a> {
    pub field: &'a Fitted,
    pub light: &'a Light,
    pub part: &'a Part,
    pub bars: &'a Bars,
    pub passes: &'a Passes,
    pub height: f64,
}

/// What the draws say.
#[derive(Debug, Clone)]
pub(super) struct Sure {
    /// Share of draws in which every part lies inside; 1 without limits.
    pub all: f64,
    /// For each part the share in which it does.
    pub alone: Vec<f64>,
    /// For each part one-sided 95 % bounds of its least and its greatest, relative, mW/cm².
    pub bounds: Vec<(f64, f64)>,
    /// Of the coldest and the hottest of all of them.
    pub extremes: (f64, f64),
}

impl Judge<'_> {
    /// Points that stand for a part in a draw: its corners and middle, as many more as there is room for, and where it is
    /// coldest and hottest.
    fn points(&self, centre: Point, turned: bool, most: usize) -> Vec<Point> {
        let on = |o: &Point| Point::new(centre.x + o.x, centre.y + o.y);
        let all: Vec<Point> = offsets(self.part, turned, 150).iter().map(on).collect();
        let level = Level::of(self.bars);
        let by = |key: &dyn Fn(Point) -> f32| {
            let keyed = all.iter().map(|p| (key(*p), *p));
            keyed.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, p)| p)
        };
        let mut points: Vec<Point> = [
            by(&|p| level.at(self.light.at(p))),
            by(&|p| self.light.at(p).0),
            by(&|p| -self.light.at(p).0),
        ]
        .into_iter()
        .flatten()
        .collect();
        if most > 7 {
            let few = self.part.covers(centre, turned);
            let mut step = (few.area() / most as f64).sqrt();
            let mut lattice = few.lattice(step);
            while lattice.len() > most.saturating_sub(3) && lattice.len() > 9 {
                step *= 1.15;
                lattice = few.lattice(step);
            }
            points.extend(lattice);
        }
        points.dedup();
        let mut kept: Vec<Point> = Vec::with_capacity(points.len());
        for p in points {
            if !kept.contains(&p) {
                kept.push(p);
            }
        }
        kept
    }

    /// Draws; `None` for a family without.
    pub fn sure(
        &self,
        parts: &[(Point, bool)],
        seed: u64,
        draws: usize,
        progress: &Progress,
    ) -> Result<Option<Sure>, Cancelled> {
        let passes = self.passes.len().max(1);
        let most = (PLACES / passes / parts.len().max(1)).clamp(3, 40);
        let points: Vec<Vec<Point>> = parts
            .iter()
            .map(|&(centre, turned)| self.points(centre, turned, most))
            .collect();
        let mut parts_inside = vec![0usize; parts.len()];
        let mut all_inside = vec![true; draws];
        let mut least = vec![Vec::with_capacity(draws); parts.len()];
        let mut greatest = vec![Vec::with_capacity(draws); parts.len()];
        let scales = self.scales(seed, draws);
        let mut from = 0;
        // more parts than one draw holds are drawn in groups: from the same numbers, yet groups are not joint, which makes
        // them less sure together, never more
        while from < parts.len() {
            let mut to = from;
            let mut count = 0;
            while to < parts.len()
                && (to == from || count + points[to].len() * passes <= 2 * PLACES)
            {
                count += points[to].len() * passes;
                to += 1;
            }
            let places: Vec<Place> = points[from..to]
                .iter()
                .flatten()
                .flat_map(|p| (0..passes).map(|pass| self.passes.image(pass, *p)))
                .map(|p| p.at_height(self.height))
                .collect();
            let Some(drawn) = self
                .field
                .joint(&places, seed + from as u64, draws, progress)?
            else {
                return Ok(None);
            };
            for (draw, values) in drawn.values.chunks_exact(places.len().max(1)).enumerate() {
                let mut place = 0;
                for part in from..to {
                    let mut ends = (f64::INFINITY, f64::NEG_INFINITY);
                    for _ in 0..points[part].len() {
                        let sum: f64 = values[place..place + passes].iter().sum();
                        place += passes;
                        let e = sum / passes as f64;
                        ends = (ends.0.min(e), ends.1.max(e));
                    }
                    least[part].push(ends.0);
                    greatest[part].push(ends.1);
                    if self.inside(ends, scales[draw]) {
                        parts_inside[part] += 1;
                    } else {
                        all_inside[draw] = false;
                    }
                }
            }
            from = to;
        }
        let share = |n: usize| n as f64 / draws.max(1) as f64;
        let over = |of: &[Vec<f64>], pick: fn(f64, f64) -> f64, start: f64| -> Vec<f64> {
            let each = |draw: usize| of.iter().map(|v| v[draw]).fold(start, pick);
            (0..draws).map(each).collect()
        };
        let extremes = (
            quantile(&over(&least, f64::min, f64::INFINITY), TAIL).unwrap_or(f64::NAN),
            quantile(&over(&greatest, f64::max, f64::NEG_INFINITY), 1.0 - TAIL).unwrap_or(f64::NAN),
        );
        let bounds = least.iter().zip(&greatest).map(|(low, high)| {
            let low = quantile(low, TAIL).unwrap_or(f64::NAN);
            (low, quantile(high, 1.0 - TAIL).unwrap_or(f64::NAN))
        });
        Ok(Some(Sure {
            all: share(all_inside.iter().filter(|i| **i).count()),
            alone: parts_inside.into_iter().map(share).collect(),
            bounds: bounds.collect(),
            extremes,
        }))
    }

    /// Whether a part of these ends lies inside the limits, the radiometer's scale off by a factor.
    fn inside(&self, (cold, hot): (f64, f64), off: f64) -> bool {
        let bars = self.bars;
        let by = |scale: Scale| match scale {
            Scale::Relative => bars.through,
            Scale::Absolute => bars.through * off,
        };
        let low = bars
            .lower
            .is_none_or(|b| cold * by(b.scale) * bars.allowed.0 >= b.value);
        low && bars
            .upper
            .is_none_or(|b| hot * by(b.scale) * bars.allowed.1 <= b.value)
    }

    fn scales(&self, seed: u64, draws: usize) -> Vec<f64> {
        let mut normals = Normals::new(seed, u64::MAX);
        let relative = self.bars.calibration.unwrap_or(0.0);
        (0..draws)
            .map(|_| 1.0 + relative * normals.draw())
            .collect()
    }
}
