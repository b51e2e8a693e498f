//! One survey against another.

use super::face::on_face;
use super::matching::{Pair, pairs};
use super::model::{Data, Local, Solved, sizes};
use super::modes::Mode;
use super::paired::Paired;
use super::power::{self, smallest};
use super::read::Read;
use super::states::{Cause, StateChange, days, is_same_scale, may_be, other_bands, state_changes};
use super::told::{Bars, Calibration, Change, Common, FadingRate, PositionChange, SetUp, Zone};
use super::zones::{self, Cells, encloses, significant, sites_in, zones};
use crate::assess::{Assessed, NoAnswer, Request, SurveyFit};
use crate::field::Face;
use crate::geometry::{Bounds, Footprint, Point};
use crate::numeric::distributions::student_quantile;
use crate::numeric::neighbours::{Nearest, median_spacing};
use crate::numeric::quantile::median;
use crate::progress::Progress;
use crate::station::{Radiometer, Shared, Station, Survey};

/// Fewer places than this tell a local change from nothing.
const FEW: usize = 8;
/// A local change that nothing is known of: how large one in a zone may be, so that its depth is not drawn to nothing.
const WIDE: f64 = 0.12;
/// A zone is looked for that is as wide as this many pitches.
const ZONE_PITCHES: f64 = 1.5;
/// Modes beyond this many standard uncertainties are named, where they change some reading by more than this share.
const NAMED: (f64, f64) = (3.0, 0.01);

/// All that a comparison is made from, beside the field of the earlier survey.
#[derive(Debug, Clone, PartialEq)]
pub struct ToCompare {
    /// Of the station, earlier and later.
    surveys: (usize, usize),
    from: Shared<Survey>,
    to: Shared<Survey>,
    fixture: Footprint,
    assessed: Assessed,
    face: Face,
    /// Of the face in the later survey, mm.
    face_after: f64,
    states: Vec<StateChange>,
    bars: Bars,
}

impl ToCompare {
    /// Of two surveys of a station.
    ///
    /// # Errors
    /// [`NoAnswer::Missing`] where there is nothing to compare: a survey is missing, is the same, or read in another band.
    pub fn of(station: &Station, from: usize, to: usize, bars: Bars) -> Result<Self, NoAnswer> {
        let missing = |what: &str| NoAnswer::Missing(what.to_owned());
        let at = |i: usize| station.surveys.get(i).cloned();
        let (Some(first), Some(second)) = (at(from), at(to)) else {
            return Err(missing("That survey is not there; choose another one"));
        };
        if from == to {
            return Err(missing(
                "A survey can't be held against itself; choose another one",
            ));
        }
        if let Some((a, b)) = other_bands(&first, &second) {
            return Err(NoAnswer::Missing(format!(
                "'{}' was read in the band {a}, '{}' in {b}: readings of different bands can't be compared by number; read again with a radiometer of the same band",
                first.name, second.name
            )));
        }
        let request = Request {
            survey: Some(to),
            ..Request::default()
        };
        Ok(Self {
            surveys: (from, to),
            fixture: station.fixture.footprint(),
            assessed: Assessed::of(station, &second, &request),
            face: Face {
                height: first.face_height(station),
                outline: station.source.face.clone(),
            },
            face_after: second.face_height(station),
            states: state_changes(station, &first, &second),
            from: first,
            to: second,
            bars,
        })
    }

    /// The earlier survey of the station.
    pub fn from(&self) -> usize {
        self.surveys.0
    }

    /// Compares; `fit` is the field of the earlier survey.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn compare(&self, fit: &SurveyFit, progress: &Progress) -> Result<Change, NoAnswer> {
        let pairs = pairs(&self.from, &self.to);
        if pairs.is_empty() {
            return Err(NoAnswer::Missing(format!(
                "No reading of survey '{}' counts; enter, paste or import them",
                self.to.name
            )));
        }
        let raised = self.face.height - self.face_after;
        let read = Read::of((&self.from, &self.to), raised, fit, &pairs, progress)?;
        progress.set(0.2);
        if pairs.len() < FEW {
            return self.few(&pairs, &read);
        }
        self.whole(fit, &pairs, &read, progress)
    }

    /// From few positions: what they say together.
    fn few(&self, pairs: &[Pair], read: &Read) -> Result<Change, NoAnswer> {
        let paired = Paired::of(&read.z).filter(|_| read.baseline.is_none());
        let Some(paired) = paired else {
            return Err(NoAnswer::Missing(
                "Fewer than two places were read in both surveys; read the positions of the earlier survey again".into(),
            ));
        };
        let (low, high) = paired.interval(0.95);
        let common = self.common(paired.mean, (low, high));
        let locals = vec![0.0; pairs.len()];
        let positions =
            self.positions(pairs, read, paired.mean, &locals, &vec![false; pairs.len()]);
        Ok(Change {
            positions,
            noise: paired.uncertainty * (pairs.len() as f64 * 0.5).sqrt(),
            fading: self.fading(&common, false),
            may_be: may_be(&self.from, &self.to, &self.states),
            ..self.bare(common, pairs)
        })
    }

    fn bare(&self, common: Common, pairs: &[Pair]) -> Change {
        let matched = pairs.iter().filter(|p| p.from.is_some()).count();
        Change {
            surveys: self.surveys,
            common,
            cold: Vec::new(),
            hot: Vec::new(),
            positions: Vec::new(),
            set_up: Vec::new(),
            smallest: None,
            map: None,
            significant: Vec::new(),
            height: self.height(),
            states: self.states.clone(),
            may_be: Vec::new(),
            fading: None,
            matched,
            through_field: pairs.len() - matched,
            aside: pairs.iter().map(Pair::aside).fold(0.0, f64::max),
            noise: 0.0,
            bars: self.bars,
        }
    }

    fn whole(
        &self,
        fit: &SurveyFit,
        pairs: &[Pair],
        read: &Read,
        progress: &Progress,
    ) -> Result<Change, NoAnswer> {
        let unsolved = || {
            NoAnswer::Missing(
                "The two surveys can't be compared; look for rows with a wrong place or irradiance"
                    .into(),
            )
        };
        let middle = self.fixture.middle();
        let points: Vec<Point> = pairs.iter().map(|p| p.to.at.point()).collect();
        let pitch = median_spacing(&points).unwrap_or(20.0).max(1.0);
        let extent = Bounds::around(points.iter().copied())
            .map_or(pitch, |b| b.width().max(b.depth()))
            .max(2.0 * pitch);
        let modes = self.modes(read);
        let mut data = read.data(&modes, middle, self.face.height);
        let lengths = [1.0 * pitch, 1.8 * pitch];
        let mut sizes = sizes(&data, &lengths, 0.5 * extent, progress)?;
        progress.set(0.5);
        // what is large is not straight: the field is asked where the readings then were
        for _ in 0..2 {
            let solved = Solved::of(&data, sizes).ok_or_else(unsolved)?;
            let by: Vec<(Mode, f64)> = scaled(&modes, &solved.modes());
            if !read.straighten(&mut data, fit, &by, middle, progress)? {
                break;
            }
            sizes = super::model::sizes(&data, &lengths, 0.5 * extent, progress)?;
        }
        // where it is not as everywhere, the common change is not taken from
        let solved = Solved::of(&data, sizes).ok_or_else(unsolved)?;
        let locals = solved.local(&read.at);
        let freedom = solved.freedom();
        let apart = either(&locals, freedom, self.bars.false_share);
        drop(solved);
        data.weights = weights(&apart);
        let tested = Solved::of(&data, sizes).ok_or_else(unsolved)?;
        let sized =
            Solved::of(&data, sizes.with_local(sizes.local.max(WIDE))).ok_or_else(unsolved)?;
        progress.set(0.7);
        let freedom = tested.freedom();
        let (log, uncertainty) = sized_common(&tested, &sized);
        let t = student_quantile(0.975, freedom);
        let common = self.common(log, (log - t * uncertainty, log + t * uncertainty));

        let nearest = Nearest::new(&points);
        let beyond = |p: Point| nearest.distance(p) > pitch;
        let cells = Cells::over(&self.fixture, pitch, self.height(), &beyond);
        let places = cells.places();
        let by_test = tested.local(&places);
        progress.check()?;
        let by_size = sized.local(&places);
        progress.set(0.85);
        let seen = zones::Seen {
            cells: &cells,
            tested: &by_test,
            sized: &by_size,
            freedom,
            bars: &self.bars,
        };
        let at_positions = tested.local(&read.at);
        let sized_there = sized.local(&read.at);
        let told = |zone: Zone| self.told(zone, pairs, read, &sized_there);
        let cold: Vec<Zone> = zones(&seen, -1.0).into_iter().map(told).collect();
        let hot: Vec<Zone> = zones(&seen, 1.0).into_iter().map(told).collect();

        let outermost = fit
            .field
            .are_beyond_positions(places.iter().map(|p| p.point()));
        let within: Vec<bool> = outermost.iter().map(|b| !b).collect();
        let smallest = smallest(
            &power::Seen {
                tested: &tested,
                sized: &sized,
                at: &read.at,
                places: &places,
                by_test: &by_test,
                by_size: &by_size,
                within: &within,
                cell: cells.step.0 * cells.step.1,
                freedom,
                bars: &self.bars,
            },
            ZONE_PITCHES * pitch,
        );
        let set_up = set_up(&modes, &tested.modes(), &data, read, middle);
        let flags = either(&at_positions, freedom, self.bars.false_share);
        let local: Vec<f64> = sized_there.iter().map(|l| l.change).collect();
        let marks = either(&by_test, freedom, self.bars.false_share);
        let mut all = vec![false; cells.size.0 * cells.size.1];
        for (&i, mark) in cells.inside.iter().zip(marks) {
            all[i] = mark;
        }
        let height_named = set_up.iter().any(|s| s.named && s.mode == Mode::Height);
        Ok(Change {
            positions: self.positions(pairs, read, log, &local, &flags),
            map: Some(cells.raster(by_size.iter().map(|l| 100.0 * l.change.exp_m1()))),
            significant: all,
            smallest,
            may_be: causes(may_be(&self.from, &self.to, &self.states), &set_up, log),
            fading: self.fading(&common, height_named),
            noise: sizes.noise,
            set_up,
            cold,
            hot,
            ..self.bare(common, pairs)
        })
    }

    /// At which zones are looked for: where the parts are.
    fn height(&self) -> f64 {
        let heights: Vec<f64> = self.assessed.areas.iter().map(|a| a.height).collect();
        self.assessed
            .height
            .or_else(|| median(&heights))
            .unwrap_or(0.0)
    }

    fn modes(&self, read: &Read) -> Vec<Mode> {
        let mut modes = vec![
            Mode::Height,
            Mode::ShiftX,
            Mode::ShiftY,
            Mode::TiltX,
            Mode::TiltY,
        ];
        let mut heights: Vec<f64> = read.at.iter().map(|p| p.height).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|b, a| *b - *a < 0.5);
        modes.extend(heights.iter().take(6).map(|&h| Mode::Block(h)));
        if read.minutes.is_some() {
            modes.push(Mode::Drift);
        }
        modes
    }

    fn common(&self, log: f64, (low, high): (f64, f64)) -> Common {
        let (a, b) = (self.from.radiometer.as_ref(), self.to.radiometer.as_ref());
        let relative = |r: Option<&Radiometer>| {
            let r = r?;
            let expanded = r
                .expanded_uncertainty_percent
                .filter(|u| u.is_finite() && *u > 0.0)?;
            Some(0.01 * expanded / r.coverage_factor.max(1.0))
        };
        let calibration = if is_same_scale(a, b) {
            Calibration::Cancels
        } else {
            match (relative(a), relative(b)) {
                (Some(a), Some(b)) => Calibration::Counts(a.hypot(b)),
                _ => Calibration::NotKnown,
            }
        };
        let more = match calibration {
            Calibration::Counts(u) => 1.96 * u,
            Calibration::Cancels | Calibration::NotKnown => 0.0,
        };
        let wide = |edge: f64| (edge - log).hypot(more);
        Common {
            change: log.exp_m1(),
            relative: (low.exp_m1(), high.exp_m1()),
            interval: ((log - wide(low)).exp_m1(), (log + wide(high)).exp_m1()),
            calibration,
        }
    }

    /// How fast the lamp fades, where nothing else is known to have changed.
    fn fading(&self, common: &Common, moved: bool) -> Option<FadingRate> {
        let (a, b) = (self.from.state.lamp_hours?, self.to.state.lamp_hours?);
        let hours = b - a;
        let other = self.states.iter().any(|s| {
            !matches!(
                s,
                StateChange::Calibrated | StateChange::BandNotSaid | StateChange::PairNotSaid
            )
        });
        if !(hours > 0.0) || other || moved || common.calibration == Calibration::NotKnown {
            return None;
        }
        let rate = |change: f64| -((change.ln_1p()) * 100.0 / hours).exp_m1();
        Some(FadingRate {
            hours,
            per_100_h: rate(common.change),
            interval: (rate(common.interval.1), rate(common.interval.0)),
        })
    }

    fn positions(
        &self,
        pairs: &[Pair],
        read: &Read,
        common: f64,
        local: &[f64],
        significant: &[bool],
    ) -> Vec<PositionChange> {
        let _ = common;
        (0..pairs.len())
            .map(|i| {
                let to = &pairs[i].to;
                PositionChange {
                    position: to.position.clone(),
                    at: to.at,
                    before: (to.log - read.z[i]).exp(),
                    after: to.log.exp(),
                    change: read.z[i].exp_m1(),
                    local: local[i].exp_m1(),
                    significant: significant[i],
                    matched: pairs[i].from.is_some(),
                }
            })
            .collect()
    }

    /// A zone with what lies in it and what it points to.
    fn told(&self, mut zone: Zone, pairs: &[Pair], read: &Read, locals: &[Local]) -> Zone {
        zone.sites = sites_in(&zone, &self.assessed.sites);
        let mut inside: Vec<Point> = Vec::new();
        for pair in pairs {
            let p = pair.to.at.point();
            if encloses(&zone.outline, p) && inside.iter().all(|q| q.distance(p) > 0.5) {
                inside.push(p);
            }
        }
        zone.positions = inside.len();
        if zone.depth < 0.0 {
            let before: Vec<f64> = (0..pairs.len())
                .map(|i| (pairs[i].to.log - read.z[i]).exp())
                .collect();
            let reach = (2.0 * zone.area.sqrt()).max(1.0);
            let lost: Vec<f64> = (0..pairs.len())
                .map(|i| {
                    // of two zones each points to its own part
                    let far = pairs[i].to.at.point().distance(zone.deepest.point());
                    let part = (-0.5 * (far / reach).powi(2)).exp();
                    before[i] * -locals[i].change.exp_m1() * part
                })
                .collect();
            zone.face = on_face(&read.at, &before, &lost, &self.face, self.fixture.bounds());
        }
        zone
    }

    /// How long after the earlier survey the later one was taken, days.
    pub fn days(&self) -> i32 {
        days(self.from.date, self.to.date)
    }
}

/// Significant one way or the other.
fn either(locals: &[Local], freedom: f64, level: f64) -> Vec<bool> {
    let cold = significant(locals, -1.0, freedom, level);
    let hot = significant(locals, 1.0, freedom, level);
    cold.into_iter().zip(hot).map(|(a, b)| a || b).collect()
}

/// Of the mean: all places that are not apart from the rest, or all where that leaves less than half.
fn weights(apart: &[bool]) -> Vec<f64> {
    let left = apart.iter().filter(|a| !**a).count();
    let n = apart.len();
    if 2 * left < n {
        return vec![1.0 / n as f64; n];
    }
    let each = apart.iter();
    each.map(|&a| if a { 0.0 } else { 1.0 / left as f64 })
        .collect()
}

/// The common change: what the model says that sizes zones, so that the two add up; never surer than the one that tests.
fn sized_common(tested: &Solved<'_>, sized: &Solved<'_>) -> (f64, f64) {
    let (log, uncertainty) = sized.common();
    (log, uncertainty.max(tested.common().1))
}

fn scaled(modes: &[Mode], solved: &[(f64, f64)]) -> Vec<(Mode, f64)> {
    let each = modes.iter().zip(solved);
    each.map(|(&mode, &(by, _))| (mode, by * mode.usual()))
        .collect()
}

fn set_up(
    modes: &[Mode],
    solved: &[(f64, f64)],
    data: &Data,
    read: &Read,
    middle: Point,
) -> Vec<SetUp> {
    let all = modes.iter().zip(solved).enumerate();
    all.filter(|(_, (mode, _))| mode.is_of_set_up())
        .map(|(k, (&mode, &(by, uncertainty)))| {
            let (by, uncertainty) = (by * mode.usual(), uncertainty * mode.usual());
            let raw = read.slopes.shape(mode, &read.at, middle);
            let mean: f64 = raw.iter().zip(&data.weights).map(|(r, w)| r * w).sum();
            let most = (0..raw.len())
                .map(|i| (data.modes[(i, k)] / mode.usual() * by).abs())
                .fold(0.0, f64::max);
            SetUp {
                mode,
                by,
                uncertainty,
                common: (mean * by).exp_m1(),
                named: by.abs() > NAMED.0 * uncertainty && most > NAMED.1,
            }
        })
        .collect()
}

/// Distance comes first where the pattern shows it, and last or not at all where the pattern speaks against it.
fn causes(mut open: Vec<Cause>, set_up: &[SetUp], log: f64) -> Vec<Cause> {
    let Some(height) = set_up.iter().find(|s| s.mode == Mode::Height) else {
        return open;
    };
    if height.named {
        open.retain(|c| *c != Cause::Distance);
        open.insert(0, Cause::Distance);
    } else if height.by != 0.0 {
        let slope = height.common.ln_1p() / height.by;
        let most = slope.abs() * (height.by.abs() + 2.0 * height.uncertainty);
        if most < 0.25 * log.abs() {
            open.retain(|c| *c != Cause::Distance);
        }
    }
    open
}
