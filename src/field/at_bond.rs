//! The field as it arrives at bonds: in the open, times what comes past all that stands there, on the bond's own plane and
//! through what lies over it.
//!
//! The ratio is that of the inferred lamps. Its uncertainty counts beside the field's as if one told nothing of the other: at
//! a place where readings are near, the light in the open is known whatever direction it comes from, and beyond them the two
//! mostly pull apart.

use std::sync::Arc;

use faer::Mat;

use super::bond::{Bond, EvenFace, Receiver, Scene, Walls};
use super::equations::kernel::{Kernel, Scaled};
use super::families::lamp::Ratios;
use super::{Draws, Estimate, Fitted};
use crate::geometry::{Bounds, Footprint, Place, Shape};
use crate::numeric::cholesky::Factor;
use crate::numeric::random::Normals;
use crate::numeric::triangle::lower_times;
use crate::progress::{Cancelled, Progress};

/// What lamps of smooth lobes on a lattice miss of where light comes from: relative standard deviation of the ratio for each
/// [spread](Ratios::spread). Found on simulated lamps (`tests/bench/bond.md`, the kinds it names for tuning).
const MISSED: f64 = 0.1;
/// What a shadow's edge misses of a lamp that shines by grains, as panels of LEDs do: they are hidden one by one, and readings
/// at a distance do not tell where they are. Variance of the ratio for each spread, likewise.
const GRAIN: f64 = 0.015;
/// The same under mirrors: each place is lit by way of few parts of them, and which these are no reading of irradiance tells.
const GRAIN_UNDER_MIRRORS: f64 = 0.5;
/// Over which that is alike, as a part of the distance to the face.
const ALIKE_OVER: f64 = 0.3;
/// Some draws: their first one's number, and where the least and the most of them belong.
type Block<'a> = (usize, (&'a mut [f64], &'a mut [f64]));

/// Draws that are made at once.
const DRAWS_AT_ONCE: usize = 64;

/// A field and what bonds see of its lamp. Bonds are known by their index.
pub struct AtBond<'a> {
    field: &'a Fitted,
    reflectance: Option<f64>,
    walls: Arc<Walls>,
    bonds: &'a [Bond],
    even: Option<Arc<EvenFace>>,
    /// By how much bonds and all that stands around them are moved up, mm.
    lifted: f64,
}

/// Draws of the light at bonds where walls throw back the least that they may, and the most.
pub struct BondDraws {
    /// Least.
    pub low: Draws,
    /// Most.
    pub high: Draws,
}

impl<'a> AtBond<'a> {
    /// No bond: in the open.
    pub const OPEN: usize = usize::MAX;

    /// Of a field.
    pub fn new(field: &'a Fitted, scene: &Scene, bonds: &'a [Bond]) -> Self {
        let known = field.knows_a_lamp();
        Self {
            field,
            reflectance: scene.reflectance,
            walls: Arc::new(Walls::of(scene)),
            bonds,
            even: (!known).then(|| Arc::new(field.even_face())),
            lifted: 0.0,
        }
    }

    /// Whether readings tell where the light comes from; otherwise an even face stands for it, and nothing is said of how far
    /// off that may be.
    pub fn is_known(&self) -> bool {
        self.even.is_none()
    }

    /// The same with bonds and all that stands around them moved up, mm; places are given where they then are.
    pub fn lifted(&self, by: f64) -> Self {
        Self {
            even: self.even.clone(),
            walls: Arc::clone(&self.walls),
            lifted: by,
            ..*self
        }
    }

    /// A bond that there is not stands for a level detector in the scene; [`OPEN`](Self::OPEN) for one in the open.
    fn receiver(&self, bond: usize, open: Place) -> Receiver {
        if bond == Self::OPEN {
            return Receiver::open(open);
        }
        let detector = Bond::default();
        let bond = self.bonds.get(bond).unwrap_or(&detector);
        let stands = Place::new(open.x, open.y, open.height - self.lifted);
        Receiver::among(&self.walls, self.reflectance, bond, stands).lifted(self.lifted)
    }

    /// Expected light at places of a bond, mW/cm², by the likeliest lamp alone: to look for extremes.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn about(
        &self,
        bond: usize,
        places: &[Place],
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        let mut values = self.field.irradiance(places, progress)?;
        let of: Vec<(usize, Place)> = places.iter().map(|&p| (bond, p)).collect();
        let shares = self.shares(&of, progress)?;
        values.iter_mut().zip(shares).for_each(|(e, s)| *e *= s);
        Ok(values)
    }

    /// About how much of the light in the open arrives at places of bonds, by the likeliest lamp alone.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn shares(
        &self,
        places: &[(usize, Place)],
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        // enough for a thread to be worth its while
        const EACH: usize = 64;
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let each = places.len().div_ceil(threads.clamp(1, 4)).max(EACH);
        let part = |places: &[(usize, Place)]| -> Result<Vec<f64>, Cancelled> {
            let mut out = Vec::with_capacity(places.len());
            for block in places.chunks(EACH) {
                progress.check()?;
                out.extend(self.shares_of(block));
            }
            Ok(out)
        };
        if places.len() <= each {
            return part(places);
        }
        let parts: Vec<Result<Vec<f64>, Cancelled>> = std::thread::scope(|scope| {
            let running: Vec<_> = places
                .chunks(each)
                .map(|places| scope.spawn(move || part(places)))
                .collect();
            running
                .into_iter()
                .map(|thread| match thread.join() {
                    Ok(shares) => shares,
                    Err(panic) => std::panic::resume_unwind(panic),
                })
                .collect()
        });
        let mut out = Vec::with_capacity(places.len());
        for shares in parts {
            out.extend(shares?);
        }
        Ok(out)
    }

    fn shares_of(&self, places: &[(usize, Place)]) -> Vec<f64> {
        let receivers: Vec<Receiver> = places
            .iter()
            .map(|&(bond, p)| self.receiver(bond, p))
            .collect();
        let of: Vec<&Receiver> = receivers.iter().filter(|r| !r.is_open()).collect();
        let logs = match &self.even {
            Some(even) => of.iter().map(|r| even.ratio(r).max(1e-3).ln()).collect(),
            None => self.field.inner.model.log_ratios(&of).unwrap_or_default(),
        };
        let mut logs = logs.into_iter();
        let share = |receiver: &Receiver| {
            if receiver.is_open() {
                return 1.0;
            }
            logs.next()
                .map_or(1.0, |log| thrown_back(receiver, log.exp()))
        };
        receivers.iter().map(share).collect()
    }

    /// The field at bonds: of each place its bond. Without a lamp no uncertainty.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn at(
        &self,
        places: &[(usize, Place)],
        progress: &Progress,
    ) -> Result<Vec<Estimate>, Cancelled> {
        let open: Vec<Place> = places.iter().map(|p| p.1).collect();
        let mut out = self.field.at(&open, progress)?;
        let seen = self.seen(places);
        for (k, &i) in seen.shaded.iter().enumerate() {
            let ratio = thrown_back(&seen.receivers[i], seen.ratios.logs[k].exp());
            let variance = seen.ratios.covariance[(k, k)].max(0.0);
            let (below, above) = seen.receivers[i].walls();
            // a flat distribution over what walls may throw back
            let walls = (above - below) / 12f64.sqrt() / ratio;
            let e = &mut out[i];
            let relative = e
                .uncertainty
                .filter(|_| self.is_known())
                .map(|u| ((u / e.irradiance).powi(2) + variance + walls * walls).sqrt());
            e.irradiance *= ratio;
            e.uncertainty = relative.map(|r| r * e.irradiance);
        }
        Ok(out)
    }

    /// `n` draws of the light at bonds, from those of the field at the places in the open with the same seed. `Ok(None)`
    /// without joint draws, and where no lamp was inferred and something stands in the way.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn joint(
        &self,
        places: &[(usize, Place)],
        seed: u64,
        n: usize,
        progress: &Progress,
    ) -> Result<Option<BondDraws>, Cancelled> {
        let open: Vec<Place> = places.iter().map(|p| p.1).collect();
        // neither hangs on the other
        let (draws, seen) = std::thread::scope(|scope| {
            let seen = scope.spawn(|| self.seen(places));
            let draws = self.field.joint(&open, seed, n, progress);
            match seen.join() {
                Ok(seen) => (draws, seen),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        });
        let Some(draws) = draws? else {
            return Ok(None);
        };
        let mut both = BondDraws {
            high: draws.clone(),
            low: draws,
        };
        if seen.shaded.is_empty() {
            return Ok(Some(both));
        }
        if !self.is_known() {
            return Ok(None);
        }
        let Ok(factor) = Factor::of(seen.ratios.covariance.as_ref()) else {
            return Ok(None);
        };
        let each = DRAWS_AT_ONCE * places.len();
        let low = both.low.values.chunks_mut(each);
        let mut blocks: Vec<_> = low
            .zip(both.high.values.chunks_mut(each))
            .enumerate()
            .collect();
        let half = blocks.len().div_ceil(2);
        let (first, second) = blocks.split_at_mut(half);
        let draw = |blocks: &mut [Block<'_>]| -> Result<(), Cancelled> {
            for (block, (low, high)) in blocks {
                progress.check()?;
                self.draw_block(&seen, &factor, seed, *block, (low, high));
            }
            Ok(())
        };
        let (a, b) = std::thread::scope(|scope| {
            let beside = scope.spawn(|| draw(first));
            let b = draw(second);
            match beside.join() {
                Ok(a) => (a, b),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        });
        a.and(b)?;
        Ok(Some(both))
    }

    /// Multiplies a block of draws of the light in the open by draws of the ratios.
    fn draw_block(
        &self,
        seen: &Seen,
        factor: &Factor,
        seed: u64,
        block: usize,
        (low, high): (&mut [f64], &mut [f64]),
    ) {
        let (m, places) = (seen.shaded.len(), seen.receivers.len());
        let count = low.len() / places.max(1);
        let mut normals = Mat::<f64>::zeros(m, DRAWS_AT_ONCE);
        let mut walls = [0.0; DRAWS_AT_ONCE];
        for (d, wall) in walls.iter_mut().enumerate().take(count) {
            let mut stream = Normals::new(seed ^ RATIO, (block * DRAWS_AT_ONCE + d) as u64);
            let column = normals.col_as_slice_mut(d);
            column.iter_mut().for_each(|z| *z = stream.draw());
            *wall = crate::numeric::distributions::normal_above(stream.draw());
        }
        let drawn = lower_times(factor.lower(), normals.as_ref());
        // of walls that nothing is known of, black ones are not unlikely
        let is_known = self.reflectance.is_some();
        for (k, &i) in seen.shaded.iter().enumerate() {
            let receiver = &seen.receivers[i];
            let (least, most) = receiver.walls();
            let cap = receiver.most().unwrap_or(f64::INFINITY);
            for (d, wall) in walls.iter().enumerate().take(count) {
                let ratio = (seen.ratios.logs[k] + drawn[(k, d)]).exp().min(cap);
                let thrown = least + wall * (most - least);
                low[d * places + i] *= ratio + if is_known { thrown } else { 0.0 };
                high[d * places + i] *= ratio + thrown;
            }
        }
    }

    fn seen(&self, places: &[(usize, Place)]) -> Seen {
        let receivers: Vec<Receiver> = (places.iter())
            .map(|&(bond, p)| self.receiver(bond, p))
            .collect();
        let shaded: Vec<usize> = (0..places.len())
            .filter(|&i| !receivers[i].is_open())
            .collect();
        let of: Vec<&Receiver> = shaded.iter().map(|&i| &receivers[i]).collect();
        let mut ratios = match &self.even {
            None => self.field.inner.model.ratios(&of),
            Some(_) => None,
        }
        .unwrap_or_else(|| Ratios {
            logs: of
                .iter()
                .map(|r| {
                    self.even
                        .as_ref()
                        .map_or(1.0, |e| e.ratio(r))
                        .max(1e-3)
                        .ln()
                })
                .collect(),
            covariance: Mat::zeros(of.len(), of.len()),
            spread: vec![0.0; of.len()],
        });
        self.widen(&of, &mut ratios);
        Seen {
            receivers,
            shaded,
            ratios,
        }
    }

    /// What no lamp of the families sees, and what is not known of a substrate.
    fn widen(&self, of: &[&Receiver], ratios: &mut Ratios) {
        let places: Vec<Place> = of.iter().map(|r| r.open).collect();
        let lowest = places
            .iter()
            .map(|p| p.height)
            .fold(f64::INFINITY, f64::min);
        let away = self.field.face_height().map_or(80.0, |face| face - lowest);
        let alike = ALIKE_OVER * away.max(10.0);
        let scaled = Scaled::of(&places, [alike; 3]);
        let per = if self.field.inner.mirrors {
            GRAIN_UNDER_MIRRORS
        } else {
            GRAIN
        };
        let missed: Vec<f64> = of
            .iter()
            .zip(&ratios.spread)
            .map(|(receiver, spread)| {
                let grain = if receiver.is_shaded() {
                    per * spread
                } else {
                    0.0
                };
                (MISSED * MISSED * spread * spread + grain).sqrt()
            })
            .collect();
        let mut near = vec![0.0; of.len()];
        for j in 0..of.len() {
            let near = &mut near[j..];
            scaled.squared_below(j, near);
            Kernel::Matern52.correlate(near);
            let column = ratios.covariance.col_as_slice_mut(j)[j..].iter_mut();
            for (i, (c, r)) in column.zip(near.iter()).enumerate() {
                *c += missed[j] * missed[j + i] * r
                    + of[j].glass_uncertainty() * of[j + i].glass_uncertainty();
            }
            // rounding where a ratio is sure
            ratios.covariance[(j, j)] = ratios.covariance[(j, j)].max(0.0) + 1e-9;
        }
    }
}

/// Which stream of random numbers the ratio is drawn with.
const RATIO: u64 = 0xb0_4d;

/// Of some places those that do not get all the light, and what they get.
struct Seen {
    receivers: Vec<Receiver>,
    shaded: Vec<usize>,
    ratios: Ratios,
}

/// A ratio with what walls are expected to throw back, where that is known.
fn thrown_back(receiver: &Receiver, ratio: f64) -> f64 {
    let (least, most) = receiver.walls();
    if least > 0.0 {
        ratio + 0.5 * (least + most)
    } else {
        ratio
    }
}

impl Fitted {
    /// Whether a lamp was inferred, so that it is known where the light at a place comes from.
    pub fn knows_a_lamp(&self) -> bool {
        self.inner.model.log_ratios(&[]).is_some()
    }

    fn face_height(&self) -> Option<f64> {
        self.inner.face.as_ref().map(|face| face.height)
    }

    /// The lamp's face; without an outline as large as what was read.
    fn even_face(&self) -> EvenFace {
        let face = self.inner.face.as_ref();
        let positions = &self.inner.reach.positions;
        let over = || {
            let bounds = Bounds::around(positions.iter().copied());
            let (width, depth) = bounds.map_or((1.0, 1.0), |b| (b.width(), b.depth()));
            let shape = Shape::Rectangle {
                width: width.max(1.0),
                depth: depth.max(1.0),
            };
            Footprint::new(shape, bounds.map_or_else(Default::default, |b| b.centre()))
        };
        let outline = face.and_then(|f| f.outline.clone()).unwrap_or_else(over);
        EvenFace::new(&outline, face.map_or(80.0, |f| f.height))
    }
}
