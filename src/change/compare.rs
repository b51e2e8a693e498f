//! One survey against another.

use faer::Mat;

use super::discovery::level_of_picked;
use super::face::on_face;
use super::form::Lit;
use super::matching::{Pair, pairs, pooled};
use super::model::{Solved, sizes};
use super::modes::{Mode, logs};
use super::paired::Paired;
use super::power::smallest;
use super::read::Read;
use super::robust::pseudo_median;
use super::search::{WIDTHS, search, spread};
use super::set_up::{causes, set_up};
use super::states::{StateChange, days, is_same_scale, may_be, other_bands, state_changes};
use super::told::{Bars, Calibration, Change, Common, FadingRate, PositionChange, Zone};
use super::zones::{Cells, Joined, encloses, sites_in, summed};
use crate::assess::{Assessed, NoAnswer, Request, SurveyFit};
use crate::field::Face;
use crate::geometry::{Footprint, Place, Point};
use crate::numeric::distributions::student_quantile;
use crate::numeric::neighbours::Nearest;
use crate::numeric::quantile::median;
use crate::progress::Progress;
use crate::station::{Radiometer, Shared, Station, Survey};

/// More places than this are taken together.
const MANY: usize = 300;
/// Fewer places than this tell a local change from nothing.
pub const FEW: usize = 8;

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
        let request = Request::of_survey(to);
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
        let pairs = pooled(pairs, MANY);
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
        let positions = self.positions(pairs, read, &locals, &vec![false; pairs.len()]);
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
            typical: None,
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
        let (pitch, extent) = spread(&points);
        let modes = self.modes(read);
        let mut data = read.data(&modes, middle, self.face.height);
        let lengths = [pitch, 2.0 * pitch];
        let mut sizes = sizes(&data, &lengths, 0.5 * extent, progress)?;
        progress.set(0.5);
        // what is large is not straight: the field is asked where the readings then were
        for _ in 0..2 {
            let solved = Solved::of(&data, sizes).ok_or_else(unsolved)?;
            let by = modes.iter().zip(solved.modes().0);
            let by: Vec<(Mode, f64)> = by.map(|(&m, by)| (m, by * m.usual())).collect();
            if !read.straighten(&mut data, fit, &by, middle, progress)? {
                break;
            }
            sizes = super::model::sizes(&data, &lengths, 0.5 * extent, progress)?;
        }
        let nearest = Nearest::new(&points);
        let beyond = |p: Point| nearest.distance(p) > 0.8 * pitch;
        let cells = Cells::over(&self.fixture, pitch, self.height(), &beyond);
        let raised = self.face.height - self.face_after;
        // at the same distance from the face as in the earlier round
        let places: Vec<Place> = (cells.places().iter())
            .map(|p| Place::new(p.x, p.y, p.height + raised))
            .collect();
        let lit = |at, log| Lit {
            at,
            log,
            face_height: self.face.height,
        };
        let before = logs(fit, &places, progress)?;
        let lit = (&lit(&read.at, &read.slopes.log), &lit(&places, &before));
        let searched = search(data, sizes, lit, pitch, &self.bars, progress)?;
        let searched = searched.ok_or_else(unsolved)?;
        progress.set(0.8);
        // with the zones known, the rest is no rougher than it is
        let data = &searched.data;
        if searched.found.ncols() > 0 {
            sizes = super::model::sizes(data, &lengths, 0.5 * extent, progress)?;
        }
        let solved = Solved::of(data, sizes).ok_or_else(unsolved)?;
        let freedom = solved.freedom();
        let (log, uncertainty) = solved.common();
        let t = student_quantile(0.975, freedom);
        let common = self.common(log, (log - t * uncertainty, log + t * uncertainty));
        let (sizes_of_modes, covariance) = solved.modes();
        let zones_from = modes.len();
        let of_zones = sizes_of_modes.len() - zones_from;
        let covariance_of_zones = Mat::from_fn(of_zones, of_zones, |i, j| {
            covariance[(zones_from + i, zones_from + j)]
        });
        let (picked, tests) = searched.picked;
        let level = level_of_picked(0.05, picked, tests);
        let joined = Joined {
            cells: &cells,
            found: &searched.found,
            amplitudes: &sizes_of_modes[zones_from..],
            covariance: &covariance_of_zones,
            else_deep: &searched.else_deep,
            spread: student_quantile(1.0 - 0.5 * level, freedom),
            bars: &self.bars,
        };
        let whole = |places: &[Place], zones: &Mat<f64>| -> Vec<f64> {
            let each = solved.local(places).into_iter();
            let zones = summed(zones, joined.amplitudes);
            each.zip(zones).map(|(rest, zone)| rest + zone).collect()
        };
        let zones_there = data.modes.subcols(zones_from, of_zones).to_owned();
        let there = whole(&read.at, &zones_there);
        let told = |zone: Zone| self.told(zone, pairs, read, &there);
        let cold: Vec<Zone> = joined.zones(-1.0).into_iter().map(told).collect();
        let hot: Vec<Zone> = joined.zones(1.0).into_iter().map(told).collect();

        let outermost = fit
            .field
            .are_beyond_positions(places.iter().map(|p| p.point()));
        let within = searched.narrowest.iter().zip(&outermost);
        let smallest = smallest(
            within.filter(|(_, beyond)| !**beyond).map(|(zone, _)| zone),
            WIDTHS[0] * pitch,
            (cells.step.0 * cells.step.1, places.len()),
            freedom,
            &self.bars,
        );
        let set_up = set_up(&modes, (&sizes_of_modes, &covariance), data, read, middle);
        let height_named = set_up.iter().any(|s| s.named && s.mode == Mode::Height);
        let flags = nearest_marks(&read.at, &cells, &searched.marks);
        let mut marks = vec![false; cells.size.0 * cells.size.1];
        for (&i, mark) in cells.inside.iter().zip(&searched.marks) {
            marks[i] = *mark;
        }
        Ok(Change {
            positions: self.positions(pairs, read, &there, &flags),
            map: Some(
                cells.raster(
                    whole(&places, &searched.found)
                        .iter()
                        .map(|l| 100.0 * l.exp_m1()),
                ),
            ),
            significant: marks,
            smallest,
            may_be: causes(may_be(&self.from, &self.to, &self.states), &set_up, log),
            fading: self.fading(&common, height_named),
            noise: sizes.noise,
            typical: pseudo_median(&read.z)
                .map(|(middle, (low, high))| (middle.exp_m1(), (low.exp_m1(), high.exp_m1()))),
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
        if hours.is_nan()
            || hours <= 0.0
            || other
            || moved
            || common.calibration == Calibration::NotKnown
        {
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
        local: &[f64],
        significant: &[bool],
    ) -> Vec<PositionChange> {
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
                    significant: significant[i] && local[i].exp_m1().abs() >= self.bars.worth,
                    matched: pairs[i].from.is_some(),
                }
            })
            .collect()
    }

    /// A zone with what lies in it and what it points to.
    fn told(&self, mut zone: Zone, pairs: &[Pair], read: &Read, locals: &[f64]) -> Zone {
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
                    before[i] * -locals[i].exp_m1() * part
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

/// For each place the mark of the nearest cell.
fn nearest_marks(at: &[Place], cells: &Cells, marks: &[bool]) -> Vec<bool> {
    let middles: Vec<Point> = cells.places().iter().map(|p| p.point()).collect();
    let nearest = Nearest::new(&middles);
    let each = at.iter().map(|p| nearest.nearest(p.point()));
    each.map(|found| found.is_some_and(|(i, _)| marks[i]))
        .collect()
}
