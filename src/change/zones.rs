//! Zones: cells of the fixture where the local change is significant and large enough to matter, joined.

use super::discovery::{discoveries, level_of_picked};
use super::model::Local;
use super::told::{Bars, Zone};
use crate::field::{Raster, contours};
use crate::geometry::{Footprint, Place, Point};
use crate::numeric::distributions::{student_above, student_quantile};
use crate::station::Site;

/// Cells of the fixture.
#[derive(Debug, Clone)]
pub struct Cells {
    /// How many along x, along y.
    pub size: (usize, usize),
    /// The middle of the first.
    pub origin: Point,
    /// From middle to middle, mm.
    pub step: (f64, f64),
    /// At this height, mm.
    pub height: f64,
    /// For each that counts its number among all, row after row.
    pub inside: Vec<usize>,
}

impl Cells {
    /// As many as show a zone of a pitch between positions; those count that are on the fixture and not `beyond` what was read.
    pub fn over(
        outline: &Footprint,
        pitch: f64,
        height: f64,
        beyond: &dyn Fn(Point) -> bool,
    ) -> Self {
        let b = outline.bounds();
        let step = (pitch / 5.0).max(b.width().max(b.depth()) / 44.0).max(0.1);
        let count = |length: f64| ((length / step).round() as usize).clamp(2, 60);
        let size = (count(b.width()), count(b.depth()));
        let step = (b.width() / size.0 as f64, b.depth() / size.1 as f64);
        let mut cells = Self {
            size,
            origin: Point::new(b.min.x + 0.5 * step.0, b.min.y + 0.5 * step.1),
            step,
            height,
            inside: Vec::new(),
        };
        let all = (0..size.0 * size.1).filter(|&i| {
            let p = cells.point(i);
            outline.contains(p) && !beyond(p)
        });
        cells.inside = all.collect();
        cells
    }

    /// The middle of a cell by its number among all.
    pub fn point(&self, i: usize) -> Point {
        let (column, row) = (i % self.size.0, i / self.size.0);
        Point::new(
            self.origin.x + self.step.0 * column as f64,
            self.origin.y + self.step.1 * row as f64,
        )
    }

    /// The middles of those that count.
    pub fn places(&self) -> Vec<Place> {
        let each = self.inside.iter();
        each.map(|&i| self.point(i).at_height(self.height))
            .collect()
    }

    /// Values of those that count on a raster, the others not a number.
    pub fn raster(&self, values: impl IntoIterator<Item = f64>) -> Raster {
        let mut all = vec![f64::NAN; self.size.0 * self.size.1];
        for (&i, value) in self.inside.iter().zip(values) {
            all[i] = value;
        }
        Raster {
            columns: self.size.0,
            rows: self.size.1,
            origin: self.origin,
            step_x: self.step.0,
            step_y: self.step.1,
            height: self.height,
            irradiance: all,
            uncertainty: Vec::new(),
            extrapolated: Vec::new(),
        }
    }

    fn neighbours(&self, i: usize) -> impl Iterator<Item = usize> {
        let (columns, rows) = self.size;
        let (column, row) = (i % columns, i / columns);
        let left = (column > 0).then(|| i - 1);
        let right = (column + 1 < columns).then_some(i + 1);
        let front = (row > 0).then(|| i - columns);
        let back = (row + 1 < rows).then_some(i + columns);
        [left, right, front, back].into_iter().flatten()
    }
}

/// Which of some estimates are significant as colder (`sign` -1) or hotter (1) with the false discovery rate held.
pub fn significant(locals: &[Local], sign: f64, freedom: f64, level: f64) -> Vec<bool> {
    let p: Vec<f64> = locals
        .iter()
        .map(|l| student_above(sign * l.score(), freedom))
        .collect();
    discoveries(&p, level)
}

/// What zones are made from.
pub struct Seen<'a> {
    /// The cells.
    pub cells: &'a Cells,
    /// What is tested there.
    pub tested: &'a [Local],
    /// How large the change is there, whatever its size elsewhere.
    pub sized: &'a [Local],
    /// To tell noise by.
    pub freedom: f64,
    /// What is asked for.
    pub bars: &'a Bars,
}

/// Zones of one sign: -1 cold, 1 hot; the strongest first, without sites and face.
pub fn zones(seen: &Seen<'_>, sign: f64) -> Vec<Zone> {
    let Seen { cells, bars, .. } = *seen;
    let found = significant(seen.tested, sign, seen.freedom, bars.false_share);
    let picked = found.iter().filter(|f| **f).count();
    let level = level_of_picked(0.05, picked, found.len());
    let t = student_quantile(1.0 - 0.5 * level, seen.freedom);
    let worth = (1.0 + sign * bars.worth).ln();
    let mut member = vec![None; cells.size.0 * cells.size.1];
    for (k, &i) in cells.inside.iter().enumerate() {
        if found[k] && sign * seen.sized[k].change >= sign * worth {
            member[i] = Some(k);
        }
    }
    let mut zones = Vec::new();
    for start in 0..member.len() {
        if member[start].is_none() {
            continue;
        }
        let (mut open, mut zone) = (vec![start], Vec::new());
        while let Some(i) = open.pop() {
            if let Some(k) = member[i].take() {
                zone.push(k);
                open.extend(cells.neighbours(i));
            }
        }
        // a single cell at the edge of what counts is no zone but a corner of one
        let deepest = zone.iter().copied().max_by(|&a, &b| {
            let of = |k: usize| sign * seen.tested[k].score();
            of(a).total_cmp(&of(b))
        });
        let Some(deepest) = deepest else { continue };
        let at = |k: usize| cells.point(cells.inside[k]);
        let weight = |k: usize| sign * seen.sized[k].change;
        let sum: f64 = zone.iter().map(|&k| weight(k)).sum();
        let mean =
            |of: fn(Point) -> f64| zone.iter().map(|&k| weight(k) * of(at(k))).sum::<f64>() / sum;
        let sized = seen.sized[deepest];
        let share = |log: f64| log.exp_m1();
        let spread = t * sized.uncertainty;
        zones.push(Zone {
            centre: Point::new(mean(|p| p.x), mean(|p| p.y)),
            deepest: at(deepest).at_height(cells.height),
            area: zone.len() as f64 * cells.step.0 * cells.step.1,
            depth: share(sized.change),
            interval: (share(sized.change - spread), share(sized.change + spread)),
            outline: outline(cells, seen.sized, &zone, worth),
            sites: Vec::new(),
            positions: 0,
            face: None,
        });
    }
    zones.sort_by(|a, b| (sign * b.depth).total_cmp(&(sign * a.depth)));
    zones
}

/// Lines around the cells of a zone, where the change reaches what is worth one.
fn outline(cells: &Cells, sized: &[Local], zone: &[usize], worth: f64) -> Vec<Vec<Point>> {
    let (columns, rows) = (cells.size.0 + 2, cells.size.1 + 2);
    // outside the zone as far on the other side as the zone is on this one: the line then runs half-way between cells
    let mut values = vec![0.0; columns * rows];
    let number = |i: usize| (i / cells.size.0 + 1) * columns + i % cells.size.0 + 1;
    for (&i, local) in cells.inside.iter().zip(sized) {
        let within = worth.abs() * 0.98;
        values[number(i)] = (worth.signum() * local.change).min(within);
    }
    for &k in zone {
        values[number(cells.inside[k])] =
            (worth.signum() * sized[k].change).max(worth.abs() * 1.02);
    }
    let raster = Raster {
        columns,
        rows,
        origin: Point::new(cells.origin.x - cells.step.0, cells.origin.y - cells.step.1),
        step_x: cells.step.0,
        step_y: cells.step.1,
        height: cells.height,
        irradiance: values,
        uncertainty: Vec::new(),
        extrapolated: Vec::new(),
    };
    let lines = contours(&raster, &[worth.abs()]);
    lines.into_iter().map(|line| line.points).collect()
}

/// Names of the sites that a zone touches.
pub fn sites_in(zone: &Zone, sites: &[Site]) -> Vec<String> {
    let touched = |site: &&Site| {
        let inside = site.footprint.lattice(2.0).into_iter();
        let rim = site.footprint.outline().into_iter();
        inside.chain(rim).any(|p| encloses(&zone.outline, p))
    };
    sites
        .iter()
        .filter(touched)
        .map(|s| s.name.clone())
        .collect()
}

/// Whether a point lies in the lines of an outline, by the even-odd rule.
pub fn encloses(outline: &[Vec<Point>], p: Point) -> bool {
    let mut inside = false;
    for line in outline {
        for pair in line.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                inside = !inside;
            }
        }
    }
    inside
}
