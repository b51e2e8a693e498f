//! Zones: cells of the fixture where the local change is significant and large enough to matter, joined.

use faer::Mat;

use super::discovery::discoveries;
use super::model::Amplitude;
use super::told::{Bars, Zone};
use crate::field::{Raster, contours};
use crate::geometry::{Footprint, Place, Point};
use crate::numeric::distributions::student_above;
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

/// Which of some estimates are significant, colder or hotter, with the false discovery rate held.
pub fn significant(estimates: &[Amplitude], freedom: f64, level: f64) -> Vec<bool> {
    let p: Vec<f64> = estimates
        .iter()
        .map(|e| 2.0 * student_above(e.score().abs(), freedom))
        .collect();
    discoveries(&p, level)
}

/// Found zones joined to those that are told: their amplitudes, covariance, and how many standard uncertainties an interval has.
pub struct Joined<'a> {
    /// The cells.
    pub cells: &'a Cells,
    /// What each that was found is at the cells, a column each.
    pub found: &'a Mat<f64>,
    /// How much of each there is.
    pub amplitudes: &'a [f64],
    /// Their covariance.
    pub covariance: &'a Mat<f64>,
    /// How much deeper and less deep each is in other forms that are as likely.
    pub else_deep: &'a [(f64, f64)],
    /// Of an interval that is paid for having been picked.
    pub spread: f64,
    /// What is asked for.
    pub bars: &'a Bars,
}

impl Joined<'_> {
    fn uncertainty(&self, k: usize) -> f64 {
        let (b, n) = (self.found, self.found.ncols());
        let each = (0..n).flat_map(|i| (0..n).map(move |j| (i, j)));
        let sum: f64 = each
            .map(|(i, j)| b[(k, i)] * self.covariance[(i, j)] * b[(k, j)])
            .sum();
        sum.max(0.0).sqrt()
    }

    /// By how much its form alone may make it deeper and less deep at a cell.
    fn by_form(&self, k: usize) -> (f64, f64) {
        let n = self.found.nrows();
        let each = self.else_deep.iter().enumerate().map(|(j, &(down, up))| {
            let most = (0..n).map(|i| self.found[(i, j)]).fold(1e-9, f64::max);
            let share = self.found[(k, j)] / most;
            (share * down, share * up)
        });
        each.fold((0.0, 0.0), |(a, b), (down, up)| (a + down, b + up))
    }

    /// Zones of one sign: -1 cold, 1 hot; the strongest first, without sites and face.
    pub fn zones(&self, sign: f64) -> Vec<Zone> {
        let cells = self.cells;
        let worth = (1.0 + sign * self.bars.worth).ln();
        let values = summed(self.found, self.amplitudes);
        let mut member = vec![None; cells.size.0 * cells.size.1];
        for (k, &i) in cells.inside.iter().enumerate() {
            member[i] = (sign * values[k] >= sign * worth).then_some(k);
        }
        let mut zones = Vec::new();
        for start in 0..member.len() {
            let (mut open, mut zone) = (vec![start], Vec::new());
            while let Some(i) = open.pop() {
                if let Some(k) = member[i].take() {
                    zone.push(k);
                    open.extend(cells.neighbours(i));
                }
            }
            let of = |k: usize| sign * values[k];
            let Some(deepest) = zone
                .iter()
                .copied()
                .max_by(|&a, &b| of(a).total_cmp(&of(b)))
            else {
                continue;
            };
            let at = |k: usize| cells.point(cells.inside[k]);
            let sum: f64 = zone.iter().map(|&k| of(k)).sum();
            let mean = |along: fn(Point) -> f64| {
                zone.iter().map(|&k| of(k) * along(at(k))).sum::<f64>() / sum
            };
            let (log, spread) = (values[deepest], self.spread * self.uncertainty(deepest));
            let (down, up) = self.by_form(deepest);
            zones.push(Zone {
                centre: Point::new(mean(|p| p.x), mean(|p| p.y)),
                deepest: at(deepest).at_height(cells.height),
                area: zone.len() as f64 * cells.step.0 * cells.step.1,
                depth: log.exp_m1(),
                interval: (
                    (log - spread.hypot(down)).exp_m1(),
                    (log + spread.hypot(up)).exp_m1(),
                ),
                outline: outline(cells, &values, &zone, worth),
                sites: Vec::new(),
                positions: 0,
                face: None,
            });
        }
        zones.sort_by(|a, b| (sign * b.depth).total_cmp(&(sign * a.depth)));
        zones
    }
}

/// What all found together are: patterns, a column each, times how much there is of each.
pub fn summed(patterns: &Mat<f64>, amplitudes: &[f64]) -> Vec<f64> {
    let of = |i: usize| (0..amplitudes.len()).map(move |k| patterns[(i, k)] * amplitudes[k]);
    (0..patterns.nrows()).map(|i| of(i).sum()).collect()
}

/// Lines around the cells of a zone, where the change reaches what is worth one.
fn outline(cells: &Cells, values: &[f64], zone: &[usize], worth: f64) -> Vec<Vec<Point>> {
    let (columns, rows) = (cells.size.0 + 2, cells.size.1 + 2);
    let mut all = vec![0.0; columns * rows];
    let number = |i: usize| (i / cells.size.0 + 1) * columns + i % cells.size.0 + 1;
    for (&i, value) in cells.inside.iter().zip(values) {
        // other zones have lines of their own
        all[number(i)] = (worth.signum() * value).min(worth.abs() * 0.98);
    }
    for &k in zone {
        all[number(cells.inside[k])] = (worth.signum() * values[k]).max(worth.abs() * 1.02);
    }
    let raster = Raster {
        columns,
        rows,
        origin: Point::new(cells.origin.x - cells.step.0, cells.origin.y - cells.step.1),
        step_x: cells.step.0,
        step_y: cells.step.1,
        height: cells.height,
        irradiance: all,
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
