//! The short check: the fewest positions of a survey that, read again, would catch what harms.

use faer::Mat;

use super::compare::FEW;
use super::discovery::level_of_picked;
use super::form::{Form, Lit, patterns};
use super::matching::{Level, levels};
use super::model::{Data, Sizes, Solved};
use super::modes::{Mode, Slopes, logs};
use super::search::{ROUGH, spread};
use super::set_up::NAMED;
use super::told::Bars;
use crate::assess::{Assessed, NoAnswer, Request, SurveyFit};
use crate::field::Area;
use crate::geometry::{Place, Point};
use crate::numeric::distributions::{normal_quantile, student_quantile};
use crate::progress::Progress;
use crate::station::{Shared, Station, Survey};

/// Light of one patch of the face is half as bright this many working distances aside, twice: what a zone's width can't well be
/// less than (Lambert's cosines and the inverse squares: (1 + r²)⁻² is a half at r = 0.6436).
const WIDTH_OVER_DISTANCE: f64 = 2.0 * 0.6436;
/// Places at which a zone is thought of.
const PLACES: usize = 48;
/// More are never proposed: then a whole survey is as quick.
const MOST: usize = 40;
/// Beyond what stands out on paper, for what a round's own sizes are not known as well, in standard deviations of a set-up error.
const ROOM: f64 = 0.5;
/// The same for zones, a factor on their standard uncertainty: their form is not known either.
const FORM: f64 = 1.8;
/// Of the tests in a zone that is just found so many are significant, a share.
const PICKED: f64 = 0.1;
/// A few positions need not catch less than so much times what all of the survey would.
const OF_ALL: f64 = 1.3;
/// Standard deviation of where the detector is set down that is reckoned with, mm (common practice, no source).
const PLACEMENT: f64 = 0.6;

/// What harms: what the check has to catch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Harm {
    /// A local loss, a share in the middle of a zone: less than that need not be caught.
    pub loss: f64,
    /// All of the round that much too high or low, mm.
    pub height: f64,
    /// That far aside, mm.
    pub shift: f64,
    /// That much tilted, degrees.
    pub tilt: f64,
}

impl Default for Harm {
    /// 10 %, 5 mm, 3 mm, 1 degree (common practice, no source).
    fn default() -> Self {
        Self {
            loss: 0.10,
            height: 5.0,
            shift: 3.0,
            tilt: 1.0,
        }
    }
}

/// What the short check is made from, beside the field of the survey.
#[derive(Debug, Clone, PartialEq)]
pub struct ToShorten {
    survey: Shared<Survey>,
    assessed: Assessed,
    middle: Point,
    face_height: f64,
    harm: Harm,
    bars: Bars,
}

/// A plan of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct ShortCheck {
    /// Name and place of what is to be read, in the order of the survey.
    pub positions: Vec<(String, Place)>,
    /// Width of the zones that are caught, mm.
    pub diameter: f64,
    /// What harms.
    pub harm: Harm,
    /// The probability at which each is caught.
    pub power: f64,
    /// The least local loss that is caught wherever in the assessed area its middle lies, a share.
    pub loss: f64,
    /// Places spread over the assessed area that were looked at.
    pub places: Vec<Place>,
    /// Set-up errors that are caught and named; the others the readings can't tell, however many.
    pub tells: Vec<Mode>,
    /// Of how many the survey has.
    pub of: usize,
}

impl ShortCheck {
    /// It is no use: nothing that harms is caught surely enough.
    pub fn catches_nothing(&self) -> bool {
        !self.catches_loss() && self.tells.is_empty()
    }

    /// Whether a local loss is caught that leaves more than it takes.
    pub fn catches_loss(&self) -> bool {
        self.loss < 0.5
    }
}

impl ToShorten {
    /// Of a survey of a station.
    ///
    /// # Errors
    /// [`NoAnswer::Missing`] where it is not there.
    pub fn of(station: &Station, survey: usize, harm: Harm, bars: Bars) -> Result<Self, NoAnswer> {
        let found = station.surveys.get(survey).cloned();
        let found = found.ok_or_else(|| {
            NoAnswer::Missing("That survey is not there; choose another one".into())
        })?;
        let request = Request::of_survey(survey);
        Ok(Self {
            assessed: Assessed::of(station, &found, &request),
            middle: station.fixture.footprint().middle(),
            face_height: found.face_height(station),
            survey: found,
            harm,
            bars,
        })
    }

    /// Picks positions one by one, each the one that lacks least with it, until nothing is lacking or nothing helps; then leaves
    /// out what is not needed.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn shorten(&self, fit: &SurveyFit, progress: &Progress) -> Result<ShortCheck, NoAnswer> {
        let levels = levels(&self.survey);
        if levels.len() < FEW {
            return Err(NoAnswer::Missing(format!(
                "Survey '{}' has too few readings for a shorter check of it",
                self.survey.name
            )));
        }
        let bench = Bench::of(self, &levels, fit, progress)?;
        let mut picked = bench.begin();
        let mut lacking = bench.lacking(&picked);
        while (lacking > 0.0 || picked.len() < FEW) && picked.len() < MOST.min(levels.len()) {
            progress.check()?;
            let free = (0..levels.len()).filter(|i| !picked.contains(i));
            let each = free.map(|i| {
                let mut with = picked.clone();
                with.push(i);
                (bench.lacking(&with), i)
            });
            let Some((next, i)) = each.min_by(|a, b| a.0.total_cmp(&b.0)) else {
                break;
            };
            if next > lacking - 1e-4 && picked.len() >= FEW {
                break;
            }
            picked.push(i);
            lacking = next;
        }
        for i in picked.clone() {
            progress.check()?;
            let without: Vec<usize> = picked.iter().copied().filter(|&j| j != i).collect();
            if without.len() >= FEW && bench.lacking(&without) <= lacking + 1e-9 {
                picked = without;
            }
        }
        picked.sort_unstable();
        let (loss, tells) = bench.catches(&picked);
        let each = picked
            .iter()
            .map(|&i| (levels[i].position.clone(), levels[i].at));
        Ok(ShortCheck {
            positions: each.collect(),
            diameter: bench.diameter,
            harm: self.harm,
            power: self.bars.power,
            loss,
            tells,
            of: levels.len(),
            places: bench.places,
        })
    }
}

/// Everything that does not hang on which positions are picked.
struct Bench<'a> {
    asked: &'a ToShorten,
    at: Vec<Place>,
    slopes: Slopes,
    noise: f64,
    /// Some of the assessed area, and dark parts of the lamp's face above them.
    places: Vec<Place>,
    zones: Vec<Form>,
    diameter: f64,
    /// What all positions together could show: nothing lacks that they lack too.
    possible: Caught,
}

/// What some positions catch.
#[derive(Default)]
struct Caught {
    /// For each place the least loss that is caught with the power asked for, as a logarithm.
    losses: Vec<f64>,
    /// For each set-up error by how many standard deviations it is told with that power; below 0 it is not.
    modes: Vec<f64>,
}

const MODES: [Mode; 5] = [
    Mode::Height,
    Mode::ShiftX,
    Mode::ShiftY,
    Mode::TiltX,
    Mode::TiltY,
];

impl<'a> Bench<'a> {
    fn of(
        asked: &'a ToShorten,
        levels: &[Level],
        fit: &SurveyFit,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let at: Vec<Place> = levels.iter().map(|l| l.at).collect();
        let slopes = Slopes::of(fit, &at, progress)?;
        let places = places_of(&asked.assessed.areas);
        let height = places.first().map_or(0.0, |p| p.height);
        let before = logs(fit, &places, progress)?;
        let each = places.iter().copied().zip(before);
        let dark = |(under, log)| Form::Face {
            under,
            log,
            forward: 0.0,
        };
        let zones = each.map(dark).collect();
        let mut bench = Self {
            asked,
            at,
            slopes,
            noise: fit.field.noise().unwrap_or(0.012).clamp(0.005, 0.03),
            places,
            zones,
            diameter: WIDTH_OVER_DISTANCE * (asked.face_height - height).max(10.0),
            possible: Caught::default(),
        };
        // of many readings a spread-out part says as well what can be told at all
        let step = levels.len().div_ceil(160).max(1);
        let all: Vec<usize> = (0..levels.len()).step_by(step).collect();
        bench.possible = bench.caught_by(&all);
        Ok(bench)
    }

    /// Corners of what can be read, far from each other.
    fn begin(&self) -> Vec<usize> {
        let mut picked = vec![0];
        while picked.len() < 3 {
            let far = |i: &usize| {
                let each = picked
                    .iter()
                    .map(|&j| self.at[*i].point().distance(self.at[j].point()));
                each.fold(f64::INFINITY, f64::min)
            };
            let next = (0..self.at.len()).max_by(|a, b| far(a).total_cmp(&far(b)));
            picked.push(next.unwrap_or(0));
        }
        picked
    }

    fn solve_with<T>(
        &self,
        picked: &[usize],
        of: impl FnOnce(&Data, &Solved<'_>) -> T,
    ) -> Option<T> {
        let n = picked.len();
        let points: Vec<Point> = picked.iter().map(|&i| self.at[i].point()).collect();
        let (pitch, extent) = spread(&points);
        let shape = |mode: Mode, i: usize| {
            let one = Slopes {
                log: vec![0.0],
                along: vec![self.slopes.along[picked[i]]],
            };
            one.shape(mode, &[self.at[picked[i]]], self.asked.middle)[0]
        };
        let raw = Mat::from_fn(n, MODES.len(), |i, k| shape(MODES[k], i) * MODES[k].usual());
        let mean: Vec<f64> = (0..MODES.len())
            .map(|k| (0..n).map(|i| raw[(i, k)]).sum::<f64>() / n as f64)
            .collect();
        let mut heights: Vec<f64> = picked.iter().map(|&i| self.at[i].height).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|b, a| *b - *a < 0.5);
        let modes = Mat::from_fn(n, MODES.len() + heights.len(), |i, k| {
            match k.checked_sub(MODES.len()) {
                None => raw[(i, k)] - mean[k],
                Some(block) => {
                    let mode = Mode::Block(heights[block]);
                    shape(mode, i) * mode.usual()
                }
            }
        });
        let data = Data {
            z: vec![0.0; n],
            at: picked.iter().map(|&i| self.at[i]).collect(),
            readings: vec![2.0; n],
            slope: picked
                .iter()
                .map(|&i| 2.0 * self.slopes.level(i).powi(2))
                .collect(),
            known: vec![0.0; n],
            baseline: None,
            modes,
            weights: vec![1.0 / n as f64; n],
            has_zones: false,
            face_height: self.asked.face_height,
        };
        let sizes = Sizes {
            noise: self.noise,
            placement: PLACEMENT,
            local: ROUGH,
            length: pitch,
            smooth: 0.5 * extent,
        };
        let solved = Solved::of(&data, sizes)?;
        Some(of(&data, &solved))
    }

    fn caught_by(&self, picked: &[usize]) -> Caught {
        let power = normal_quantile(self.asked.bars.power);
        let harm = self.asked.harm;
        let worth = -(-self.asked.bars.worth).ln_1p();
        self.solve_with(picked, |data, solved| {
            let log: Vec<f64> = picked.iter().map(|&i| self.slopes.log[i]).collect();
            let lit = Lit {
                at: &data.at,
                log: &log,
                face_height: data.face_height,
            };
            let zones = solved.amplitudes(&patterns(&lit, &self.zones));
            let share = 0.25 * std::f64::consts::PI * self.diameter.powi(2) / self.area();
            let cells = (PICKED * share * 1000.0) as usize;
            let level = level_of_picked(self.asked.bars.false_share, cells, 1000).min(0.3);
            let beyond = student_quantile(1.0 - 0.5 * level, solved.freedom());
            let losses = zones.iter().map(|zone| {
                // significant, and read as worth a zone
                let u = FORM * zone.uncertainty;
                ((beyond + power) * u).max(worth + power * u)
            });
            // a set-up error is told from all others: what it shares with them does not count
            let (_, covariance) = solved.modes();
            // in any direction it is at least so much along one axis
            let along = std::f64::consts::FRAC_1_SQRT_2;
            let (shift, tilt) = (along * harm.shift, along * harm.tilt);
            let size = [harm.height, shift, shift, tilt, tilt];
            let modes = MODES.iter().enumerate().map(|(k, mode)| {
                let uncertainty = covariance[(k, k)].max(0.0).sqrt().max(1e-6);
                let told = (1.0 - uncertainty * uncertainty).max(0.0);
                let mean = size[k] / mode.usual() * told;
                // the estimate is drawn to nothing by its prior, and so is its scatter
                let scatter = uncertainty * told.sqrt();
                let caught = (mean - NAMED.0 * scatter) / scatter.max(1e-6) - power - ROOM;
                let most = (0..picked.len()).map(|i| data.modes[(i, k)].abs() * mean);
                let seen = most.fold(0.0, f64::max) > NAMED.1;
                if seen { caught } else { -10.0 }
            });
            Caught {
                losses: losses.collect(),
                modes: modes.collect(),
            }
        })
        .unwrap_or_else(|| Caught {
            losses: vec![10.0; self.zones.len()],
            modes: vec![-10.0; MODES.len()],
        })
    }

    fn area(&self) -> f64 {
        let b = crate::geometry::Bounds::around(self.at.iter().map(|p| p.point()));
        b.map_or(1.0, |b| b.width() * b.depth()).max(1.0)
    }

    /// How much is lacking that could be had.
    fn lacking(&self, picked: &[usize]) -> f64 {
        let caught = self.caught_by(picked);
        let harm = -(-self.asked.harm.loss).ln_1p();
        let losses = caught.losses.iter().zip(&self.possible.losses);
        let losses = losses.map(|(loss, of_all)| loss / harm.max(OF_ALL * of_all) - 1.0);
        let modes = caught.modes.iter().zip(&self.possible.modes);
        // what all positions together can't tell is not asked of a few
        let modes = modes.filter(|(_, of_all)| **of_all >= 0.0);
        let modes = modes.map(|(margin, _)| -0.3 * margin);
        losses.chain(modes).map(|m| m.clamp(0.0, 2.0).powi(2)).sum()
    }

    fn catches(&self, picked: &[usize]) -> (f64, Vec<Mode>) {
        let caught = self.caught_by(picked);
        let tells = (MODES.iter().zip(&caught.modes))
            .filter(|(_, m)| **m > -1e-3)
            .map(|(m, _)| *m);
        let loss = caught.losses.iter().copied().fold(0.0, f64::max);
        (-(-loss).exp_m1(), tells.collect())
    }
}

/// Some places spread over the assessed area.
fn places_of(areas: &[Area]) -> Vec<Place> {
    let all: f64 = areas.iter().map(|a| a.outline.area()).sum();
    let step = (all / PLACES as f64).sqrt().max(1.0);
    let each = areas.iter().flat_map(|area| {
        let mut points = area.outline.lattice(step);
        if points.is_empty() || areas.len() > PLACES / 2 {
            points = vec![area.outline.middle()];
        }
        points.into_iter().map(|p| p.at_height(area.height))
    });
    each.collect()
}
