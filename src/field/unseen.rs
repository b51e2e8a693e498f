//! What no family says of the field: its own error between the positions and beyond them.
//!
//! A family's uncertainty supposes that the lamp is of its kind. What it misses is a field of its own, relative to the
//! light that is there: alike over a part of the working distance, for that blurs whatever the lamp does, and known
//! where readings are. So it is kriged from what the readings differ by from the family, and its uncertainty is that of
//! kriging: little at a reading, all of it away from them. Beyond the outermost positions an error of the slope is
//! added, which grows with the distance from them.
//!
//! How large both are the survey itself tells. The families' errors at positions that were left out say how much
//! structure lies between positions; the outer ring, left out together, how far off the slope was beyond those inside.
//! What they are added to, and times what they count, was found on simulated lamps (`tests/reference/widths.py`); what they
//! do on a kind that was left out of it stands in `tests/bench/study.md`.

use faer::Mat;

use super::equations::kernel::{Kernel, Scaled};
use super::readings::{Ground, spread_part};
use super::score::{Foretold, Predicted};
use crate::geometry::{Hull, Place, Point};
use crate::numeric::cholesky::Factor;
use crate::numeric::triangle::add_gram;

/// Over which the error between positions is alike, as a part of the working distance. What a face does over less is
/// blurred: a Lambertian pattern of period p by about exp(-2π d / p).
const ALIKE_OVER: f64 = 0.3;
/// Heights count as so much of their distance: the same error is blurred, not replaced, higher up.
const ALONG_HEIGHT: f64 = 0.5;
/// Working distance where no face is known, mm (common practice, no source).
const TYPICAL_DISTANCE: f64 = 80.0;
/// Relative standard deviation of the error between positions where nothing speaks for more, without mirrors and under
/// them, whose edges draw lines in the light; and how much of what left-out positions were missed by beyond their noise it
/// is more.
const BETWEEN: f64 = 0.03;
const BETWEEN_UNDER_MIRRORS: f64 = 0.06;
const BETWEEN_PER_MISSED: f64 = 1.3;
/// Relative standard deviation of the error beyond the positions per slope (mm beyond them over the working distance)
/// where nothing speaks for more, likewise; how much of the slope by which the outer ring was missed it is more; and under
/// mirrors how much of what left-out positions were missed by, for mirrors that draw lines between the positions draw one
/// beyond them too.
const BEYOND: f64 = 0.15;
const BEYOND_UNDER_MIRRORS: f64 = 0.35;
const BEYOND_PER_RING: f64 = 1.6;
const BEYOND_PER_MISSED: f64 = 40.0;
/// By how much fields that start from a lamp are too bright beyond the positions, per slope, at most: a family's even
/// lamp goes on there. No more than the slope by which the outer ring was missed.
const TOO_BRIGHT: f64 = 0.2;
/// The slope by which the outer ring is missed where there is none to leave out: that of the worse half of lamps.
const RING_UNKNOWN: f64 = 0.2;
/// Along a rim the error beyond is alike over about this, mm.
const ALONG_RIM: f64 = 30.0;
/// Variance of a reading beside its noise. What is left of it once a field was drawn through readings is little; what a
/// reading can tell of the light at its place is less sure, for the detector stands beside it by some tenths of a
/// millimetre and the light changes by a percent or two over one.
const LEFT: f64 = 0.003 * 0.003;
const PLACED: f64 = 0.01 * 0.01;
/// A left-out position is expected to be missed by so much of its noise, for those around it are noisy too.
const EXPECTED: f64 = 1.5;
/// What a family says of a reading that it had not seen is no number that a logarithm could be taken of where it is not
/// above zero: at least so much of what was read.
const LEAST_SAID: f64 = 0.1;
/// Where positions that were left out are missed by more than so many times the noise, half of the bounds that are made
/// from such fits fail on simulated lamps.
const FAILS: f64 = 3.0;
/// Readings from which the part of the error that they show is found.
const MOST_READ: usize = 260;
/// What that part may be, and what it is by itself and how surely (a factor of e).
const SHOWN: [f64; 8] = [0.003, 0.006, 0.01, 0.015, 0.02, 0.03, 0.05, 0.08];
const SHOWN_TYPICAL: f64 = 0.006;

/// The error of a field, as logarithms: expected and uncertain.
#[derive(Debug, Clone)]
pub(super) struct Unseen {
    hull: Hull,
    /// Of the face above the fixture's base, mm.
    face: Option<f64>,
    read: Scaled,
    alike_over: [f64; 3],
    factor: Factor,
    /// Standard deviation of the error between positions.
    between: f64,
    /// What readings are off by, as weights on the correlations with them.
    pull: Vec<f64>,
    /// Standard deviation beyond the positions, per slope.
    beyond: f64,
    /// By how much the field is too bright beyond the positions, per slope.
    too_bright: f64,
    /// Root mean square error of left-out positions over the noise of a reading.
    missed_over_noise: f64,
}

impl Unseen {
    /// From what a field of a noise gives at the samples, mW/cm², and what it said of left-out ones. `None` where there
    /// is no equation to solve.
    pub fn of(
        ground: &Ground,
        fitted: &[f64],
        noise: f64,
        foretold: &Foretold,
        face: Option<f64>,
        mirrors: bool,
    ) -> Option<Self> {
        let samples = &ground.samples;
        let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
        let away = distance(face, median_height(&places));
        let alike_over = {
            let l = ALIKE_OVER * away;
            [l, l, l / ALONG_HEIGHT]
        };
        let of_reading = if ground.scatter.is_some() {
            0.0
        } else {
            noise * noise
        };
        let noises = |more: f64| -> Vec<f64> {
            let each = ground.floor.iter().map(|f| f + of_reading + more);
            each.collect()
        };
        let (left, told) = (noises(LEFT), noises(PLACED));
        let off: Vec<f64> = samples
            .iter()
            .zip(fitted)
            .map(|(s, f)| log_ratio(s.irradiance, *f))
            .collect();
        let missed = |(i, said): &Predicted| {
            let read = samples[*i].irradiance;
            log_ratio(read, said.max(LEAST_SAID * read))
        };
        let expected = (EXPECTED * noise).powi(2);
        let mean = |squares: &mut dyn Iterator<Item = f64>| {
            let (sum, n) = squares.fold((0.0, 0.0), |(s, n), e| (s + e, n + 1.0));
            (n > 0.0).then(|| sum / n)
        };
        let position = mean(&mut foretold.positions.iter().map(|p| missed(p).powi(2)));
        let structure = (position.unwrap_or(0.0) - expected).max(0.0).sqrt();
        let (least_between, least_beyond, per_structure) = if mirrors {
            (
                BETWEEN_UNDER_MIRRORS,
                BEYOND_UNDER_MIRRORS,
                BEYOND_PER_MISSED,
            )
        } else {
            (BETWEEN, BEYOND, 0.0)
        };
        let between = least_between.hypot(BETWEEN_PER_MISSED * structure);
        let inner = Hull::of(&inside(samples.len(), &places, &foretold.ring));
        let slopes = foretold.ring.iter().filter_map(|p| {
            let at = places[p.0];
            let slope = inner.outside(at.point()) / distance(face, at.height);
            (slope > 0.0).then(|| (missed(p).powi(2) - expected) / (slope * slope))
        });
        let ring = mean(&mut slopes.filter(|s| s.is_finite()));
        let ring = ring.map_or(RING_UNKNOWN, |square| square.max(0.0).sqrt());
        let shown = shown(ground, &places, &off, &left, alike_over);
        let weights = {
            let factor = correlated(&places, &left, alike_over, shown)?;
            let mut pull = Mat::from_fn(off.len(), 1, |i, _| off[i]);
            factor.whiten(pull.as_mut());
            factor.unwhiten(pull.as_mut());
            pull.col_as_slice(0).to_vec()
        };
        // what readings show is part of what there is
        let between = between.max(shown);
        Some(Self {
            hull: Hull::of(&ground.reach.positions),
            face,
            read: Scaled::of(&places, alike_over),
            alike_over,
            factor: correlated(&places, &told, alike_over, between)?,
            between,
            pull: weights,
            beyond: (least_beyond.hypot(BEYOND_PER_RING * ring)).hypot(per_structure * structure),
            too_bright: face.map_or(0.0, |_| TOO_BRIGHT.min(ring)),
            missed_over_noise: position.map_or(0.0, |square| square.sqrt() / noise.max(1e-6)),
        })
    }

    /// The positions that were left out are missed by so much that bounds can't be relied on: root mean square error
    /// over the noise of a reading.
    pub fn fails(&self) -> Option<f64> {
        (self.missed_over_noise > FAILS).then_some(self.missed_over_noise)
    }

    /// Standard deviation of the error beyond the positions at a place, relative; 0 within them.
    pub fn beyond(&self, at: Place) -> f64 {
        self.beyond * self.slope(at)
    }

    fn slope(&self, at: Place) -> f64 {
        self.hull.outside(at.point()) / distance(self.face, at.height)
    }

    /// The length over which it changes, mm; longer than it is alike over, for it is a small part of the field.
    pub fn smooth_over(&self) -> f64 {
        2.5 * self.alike_over[0]
    }

    /// What is to be added to the logarithm of the field at places.
    pub fn shifts(&self, places: &[Place]) -> Vec<f64> {
        let targets = Scaled::of(places, self.alike_over);
        let mut near = vec![0.0; self.pull.len()];
        let each = places.iter().enumerate().map(|(j, &place)| {
            self.read.squared_from(&targets, j, &mut near);
            Kernel::Matern52.correlate(&mut near);
            let off: f64 = near.iter().zip(&self.pull).map(|(r, p)| r * p).sum();
            off - self.too_bright * self.slope(place)
        });
        each.collect()
    }

    /// Variance of the logarithm at places.
    pub fn variances(&self, places: &[Place]) -> Vec<f64> {
        let known = self.known(places);
        let each = places.iter().enumerate().map(|(j, &place)| {
            let known: f64 = known.col_as_slice(j).iter().map(|k| k * k).sum();
            self.between.powi(2) * (1.0 - known).max(0.0) + self.beyond(place).powi(2)
        });
        each.collect()
    }

    /// What is to be added to logarithms at places, and its covariance (lower triangle).
    pub fn joint(&self, places: &[Place]) -> (Vec<f64>, Mat<f64>) {
        let known = self.known(places);
        let mut covariance = Mat::<f64>::zeros(places.len(), places.len());
        add_gram(&mut covariance, known.as_ref(), 1.0);
        let beyond: Vec<f64> = places.iter().map(|&p| self.beyond(p)).collect();
        let (scaled, rim) = (
            Scaled::of(places, self.alike_over),
            Scaled::of(places, [ALONG_RIM, ALONG_RIM, f64::INFINITY]),
        );
        let (mut near, mut along) = (vec![0.0; places.len()], vec![0.0; places.len()]);
        for j in 0..places.len() {
            let (near, along) = (&mut near[j..], &mut along[j..]);
            scaled.squared_below(j, near);
            rim.squared_below(j, along);
            Kernel::Matern52.correlate(near);
            Kernel::Matern52.correlate(along);
            let column = &mut covariance.col_as_slice_mut(j)[j..];
            let beside = near.iter().zip(&*along).zip(&beyond[j..]);
            for (c, ((near, along), further)) in column.iter_mut().zip(beside) {
                *c = self.between.powi(2) * (near - *c) + beyond[j] * further * along;
            }
        }
        (self.shifts(places), covariance)
    }

    /// Correlations of places with the readings, whitened: how much is known, a column a place.
    fn known(&self, places: &[Place]) -> Mat<f64> {
        let targets = Scaled::of(places, self.alike_over);
        let mut known = Mat::<f64>::zeros(self.pull.len(), places.len());
        for j in 0..places.len() {
            let near = known.col_as_slice_mut(j);
            self.read.squared_from(&targets, j, near);
            Kernel::Matern52.correlate(near);
        }
        self.factor.whiten(known.as_mut());
        known
    }
}

/// Logarithm of what was read over what is said, within [`LEAST_SAID`] either way: a reading that a family misses by more is
/// no small part of the light, and a field that is drawn to it would be none.
fn log_ratio(read: f64, said: f64) -> f64 {
    let log = (read / said).ln();
    if log.is_nan() {
        return 0.0;
    }
    log.clamp(LEAST_SAID.ln(), -LEAST_SAID.ln())
}

/// mm from the face down to a height.
fn distance(face: Option<f64>, height: f64) -> f64 {
    face.map_or(TYPICAL_DISTANCE, |face| (face - height).max(1.0))
}

fn median_height(places: &[Place]) -> f64 {
    let mut heights: Vec<f64> = places.iter().map(|p| p.height).collect();
    heights.sort_unstable_by(f64::total_cmp);
    heights.get(heights.len() / 2).copied().unwrap_or(0.0)
}

/// Positions of the samples that are not in the ring.
fn inside(n: usize, places: &[Place], ring: &[Predicted]) -> Vec<Point> {
    let mut outer = vec![false; n];
    ring.iter().for_each(|(i, _)| outer[*i] = true);
    let kept = (0..n).filter(|&i| !outer[i]).map(|i| places[i].point());
    kept.collect()
}

/// The factor of correlations and of noise relative to a standard deviation.
fn correlated(
    places: &[Place],
    noises: &[f64],
    alike_over: [f64; 3],
    deviation: f64,
) -> Option<Factor> {
    let n = places.len();
    let scaled = Scaled::of(places, alike_over);
    let mut matrix = Mat::<f64>::zeros(n, n);
    for (j, noise) in noises.iter().enumerate() {
        let column = &mut matrix.col_as_slice_mut(j)[j..];
        scaled.squared_below(j, column);
        Kernel::Matern52.correlate(column);
        column[0] += noise / (deviation * deviation);
    }
    Factor::of(matrix.as_ref()).ok()
}

/// The standard deviation of the error that the readings show: the one of [`SHOWN`] that is likeliest.
fn shown(
    ground: &Ground,
    places: &[Place],
    off: &[f64],
    noises: &[f64],
    alike_over: [f64; 3],
) -> f64 {
    let part = if places.len() > MOST_READ {
        spread_part(places, &ground.reach, MOST_READ)
    } else {
        (0..places.len()).collect()
    };
    let places: Vec<Place> = part.iter().map(|&i| places[i]).collect();
    let noises: Vec<f64> = part.iter().map(|&i| noises[i]).collect();
    let loss = |deviation: f64| {
        let factor = correlated(&places, &noises, alike_over, deviation)?;
        let mut white = Mat::from_fn(part.len(), 1, |i, _| off[part[i]] / deviation);
        factor.whiten(white.as_mut());
        let misfit: f64 = white.col_as_slice(0).iter().map(|w| w * w).sum();
        let scale = part.len() as f64 * deviation.ln();
        let prior = (deviation / SHOWN_TYPICAL).ln().powi(2);
        Some(0.5 * (factor.log_determinant() + misfit + prior) + scale)
    };
    let losses = SHOWN.into_iter().filter_map(|d| Some((d, loss(d)?)));
    let best = losses.min_by(|a, b| a.1.total_cmp(&b.1));
    best.map_or(SHOWN_TYPICAL, |(deviation, _)| deviation)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Sample;

    /// 5 by 5 positions 20 mm apart.
    fn grid(read: impl Fn(Point) -> f64) -> Ground {
        let samples = (0..25).map(|i| {
            let at = Point::new(20.0 * f64::from(i % 5), 20.0 * f64::from(i / 5));
            Sample {
                at: at.at_height(10.0),
                irradiance: read(at),
                position: i as usize,
                minute: None,
            }
        });
        Ground::of(samples.collect(), 0.0)
    }

    fn unseen(ground: &Ground, ring: &[Predicted]) -> Unseen {
        let fitted = vec![100.0; ground.samples.len()];
        let foretold = Foretold {
            positions: Vec::new(),
            ring: ring.to_vec(),
        };
        Unseen::of(ground, &fitted, 0.01, &foretold, Some(90.0), false).expect("solved")
    }

    #[test]
    fn less_is_known_between_positions_and_least_beyond_them() {
        let u = unseen(&grid(|_| 100.0), &[]);
        let at = |x: f64, y: f64| u.variances(&[Place::new(x, y, 10.0)])[0];
        assert!(at(40.0, 40.0) < at(50.0, 50.0));
        assert!(at(50.0, 50.0) < at(-4.0, 40.0));
        assert!(at(-4.0, 40.0) < at(-8.0, 40.0));
        assert_eq!(u.beyond(Place::new(40.0, 0.0, 10.0)), 0.0);
        // 8 mm beyond at a distance of 80 mm is a slope of a tenth
        let expected = 0.1 * BEYOND.hypot(BEYOND_PER_RING * RING_UNKNOWN);
        assert!((u.beyond(Place::new(-8.0, 40.0, 10.0)) - expected).abs() < 1e-12);
    }

    #[test]
    fn variances_are_the_diagonal_of_the_covariance() {
        let u = unseen(&grid(|_| 100.0), &[]);
        let places = [
            Place::new(3.0, 5.0, 10.0),
            Place::new(-7.0, 90.0, 20.0),
            Place::new(50.0, 31.0, 4.0),
        ];
        let (shifts, covariance) = u.joint(&places);
        assert_eq!(shifts, u.shifts(&places));
        for (j, variance) in u.variances(&places).into_iter().enumerate() {
            assert!((covariance[(j, j)] - variance).abs() < 1e-12);
        }
    }

    #[test]
    fn what_readings_show_together_is_taken_over_and_noise_is_not() {
        let dull = |p: Point| if p.x < 30.0 { 92.0 } else { 100.0 };
        let shown = unseen(&grid(dull), &[]);
        let there = shown.shifts(&[Place::new(5.0, 45.0, 10.0), Place::new(75.0, 45.0, 10.0)]);
        assert!(there[0] < -0.06 && there[1].abs() < 0.015, "{there:?}");
        let noisy = |p: Point| {
            100.0
                + if ((p.x + p.y) / 20.0) as i32 % 2 == 0 {
                    1.0
                } else {
                    -1.0
                }
        };
        let noise = unseen(&grid(noisy), &[]);
        let there = noise.shifts(&[Place::new(40.0, 40.0, 10.0)]);
        assert!(there[0].abs() < 0.005, "{there:?}");
    }

    #[test]
    fn a_ring_that_was_missed_widens_what_lies_beyond() {
        let ground = grid(|_| 100.0);
        let outer = |i: &usize| [0, 4].contains(&(i % 5)) || [0, 4].contains(&(i / 5));
        let ring =
            |said: f64| -> Vec<Predicted> { (0..25).filter(outer).map(|i| (i, said)).collect() };
        let at = Place::new(-8.0, 40.0, 10.0);
        let (well, badly) = (
            unseen(&ground, &ring(100.5)).beyond(at),
            unseen(&ground, &ring(112.0)).beyond(at),
        );
        assert!((well / 0.1 - BEYOND).abs() < 1e-9);
        assert!(badly > 2.0 * well, "{badly} {well}");
    }

    #[test]
    fn positions_missed_by_far_more_than_noise_are_told() {
        let ground = grid(|_| 100.0);
        let of = |said: f64| {
            let foretold = Foretold {
                positions: (0..25).map(|i| (i, said)).collect(),
                ring: Vec::new(),
            };
            let fitted = vec![100.0; 25];
            Unseen::of(&ground, &fitted, 0.01, &foretold, Some(90.0), false)
                .expect("solved")
                .fails()
        };
        assert_eq!(of(101.0), None);
        assert!(of(104.0).is_some_and(|times| (3.0..4.5).contains(&times)));
    }
}
