//! The field beside the spots: at the monitor position, at places where more could be read, at other working distances.
//! All that takes its time, whatever the limits are.

use super::borne::Bending;
use super::distance::{self, Slip};
use super::monitor;
use super::sampled::{Sampled, sample, stands};
use super::settle::Candidate;
use super::verdict::Verdict;
use crate::assess::{NoAnswer, Spots, SurveyFit, ToSearch};
use crate::geometry::{Place, Point};
use crate::progress::Progress;
use crate::station::limits::Monitor;
use crate::station::{Shared, Station, Survey};

/// Draws of the parts together with monitor and candidates.
const DRAWS: usize = 1200;
const SEED: u64 = 0x0071_00c5;
/// Planned positions that are asked whether they would settle it.
const CANDIDATES: usize = 40;
/// How far from the coldest spot the nearest seat of the detector is looked for, mm.
const SEARCH: u32 = 60;

/// All that is looked at, beside the field and its spots.
#[derive(Debug, Clone, PartialEq)]
pub struct ToLook {
    /// Where detectors and parts can be, and nothing else of the station.
    bench: Shared<Station>,
    search: Shared<ToSearch>,
    /// The monitor position that was chosen.
    monitor: Option<Monitor>,
    /// Of the face when the survey was taken, mm.
    face_height: f64,
    /// Of the sensing plane above what the detector stands on, mm.
    lift: f64,
    /// Places where more could be read are looked at too.
    to_settle: bool,
    /// Errors that all readings share are looked at too.
    to_bear: bool,
    /// The detector's directional response is told, by its index or as measured.
    directional_is_known: bool,
}

/// What was found there.
#[derive(Debug)]
pub struct Looked {
    pub(super) monitor: Option<monitor::Looked>,
    /// Places where more could be read.
    pub(super) candidates: Vec<Candidate>,
    /// The parts together with monitor and candidates, in this order; `None` for a family without draws.
    pub(super) sampled: Option<Sampled>,
    pub(super) distances: distance::Looked,
    pub(super) slip: Slip,
    /// What errors that all readings share do to the coldest part; `None` where nothing hangs on it.
    pub(super) bending: Option<Bending>,
}

impl Looked {
    /// Offset of the candidates among the sampled places beside the parts.
    pub(super) fn first_candidate(&self) -> usize {
        usize::from(self.monitor.is_some())
    }
}

impl ToLook {
    /// Of a survey of a station, whose [bench](Station::bench) is given too; with places where more could be read where the
    /// verdict is not proven, and with errors that all readings share where it is `meets`.
    pub fn of(
        station: &Station,
        bench: &Shared<Station>,
        survey: &Survey,
        search: &Shared<ToSearch>,
        verdict: Verdict,
    ) -> Self {
        Self {
            bench: bench.clone(),
            search: search.clone(),
            monitor: station.limits.as_ref().and_then(|l| l.monitor.clone()),
            face_height: survey.face_height(station),
            lift: survey.radiometer.as_ref().map_or(0.0, |r| r.sensing_plane),
            to_settle: verdict == Verdict::NotProven,
            to_bear: verdict == Verdict::Meets,
            directional_is_known: (survey.radiometer.as_ref()).is_some_and(|r| {
                r.angular_error_percent.is_some() || !r.angular_response.is_empty()
            }),
        }
    }

    /// Looks there.
    ///
    /// # Errors
    /// [`NoAnswer::Cancelled`].
    pub fn look(
        &self,
        fit: &SurveyFit,
        spots: &Spots,
        progress: &Progress,
    ) -> Result<Looked, NoAnswer> {
        let (field, station) = (&*fit.field, &self.bench);
        let lit = self.search.lit(field);
        let stands = stands(&self.search, spots);
        let coldest = spots.coldest.1.at;
        let monitor = self.monitor.as_ref();
        let chosen = monitor::choose(station, monitor, field, &fit.heights, coldest, progress)?;
        let candidates = if self.to_settle {
            self.candidates(fit, spots)
        } else {
            Vec::new()
        };
        let mut beside: Vec<Place> = chosen.iter().map(|c| c.at).collect();
        beside.extend(candidates.iter().map(|c| c.at));
        let sampled = sample(&lit, &stands, &beside, DRAWS, SEED, progress)?;
        progress.set(0.5);
        let seen = distance::DistanceGrounds {
            lit: &lit,
            heights: &fit.heights,
            face_height: self.face_height,
            stands: &stands,
            monitor: chosen.as_ref().map(|c| c.at),
        };
        let bending = || {
            let places: Vec<(usize, Place)> = stands.iter().map(|s| s.place()).collect();
            let at: Vec<Place> = stands.iter().map(|s| s.at).collect();
            let open = field.irradiance(&at, progress)?;
            let lit = lit.irradiance(&places, progress)?;
            let each = stands.iter().zip(open.iter().zip(lit));
            let places: Vec<(Place, f64)> = each
                .map(|(s, (open, lit))| {
                    (
                        s.at,
                        if lit == *open {
                            s.through
                        } else {
                            s.through * lit / open
                        },
                    )
                })
                .collect();
            Bending::of(field, &places, self.directional_is_known, progress)
        };
        let bending = self.to_bear.then(bending).transpose()?;
        let monitor = chosen.map(|chosen| monitor::look(station, &lit, &stands, chosen, progress));
        Ok(Looked {
            distances: distance::look(&seen, progress)?,
            slip: distance::slip(field, coldest, progress)?,
            bending,
            monitor: monitor.transpose()?,
            candidates,
            sampled,
        })
    }

    /// The planned positions nearest to the coldest and the hottest spot at the measured height next to them,
    /// and the seats of the detector that are nearest to both.
    fn candidates(&self, fit: &SurveyFit, spots: &Spots) -> Vec<Candidate> {
        let station = &self.bench;
        let mut all = Vec::new();
        for spot in [spots.coldest.1.at, spots.hottest.1.at] {
            let from = |h: &f64| (h - spot.height).abs();
            let nearest = fit
                .heights
                .iter()
                .copied()
                .min_by(|a, b| from(a).total_cmp(&from(b)));
            // the detector's plane can't be brought lower than it sits
            let height = if spot.height >= self.lift {
                Some(spot.height)
            } else {
                nearest
            };
            if let (Some(height), Some(at)) = (height, nearest_seat(station, spot.point())) {
                all.push(Candidate {
                    name: String::new(),
                    at: at.at_height(height),
                });
            }
            let Some(height) = nearest else { continue };
            let mut positions = station.positions();
            positions.retain(|p| station.can_sit(p.at));
            positions.sort_by(|a, b| {
                let away = |p: Point| p.distance(spot.point());
                away(a.at).total_cmp(&away(b.at))
            });
            all.extend(
                positions
                    .into_iter()
                    .take(CANDIDATES / 2)
                    .map(|p| Candidate {
                        name: p.name,
                        at: p.at.at_height(height),
                    }),
            );
        }
        let mut kept: Vec<Candidate> = Vec::new();
        for candidate in all {
            if kept.iter().all(|k| k.at != candidate.at) {
                kept.push(candidate);
            }
        }
        kept
    }
}

/// The place nearest to a point where the detector can sit, to a millimetre.
fn nearest_seat(station: &Station, point: Point) -> Option<Point> {
    if station.can_sit(point) {
        return Some(point);
    }
    (1..=SEARCH).find_map(|r| {
        (0..48).find_map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 48.0;
            let at = Point::new(
                point.x + f64::from(r) * angle.cos(),
                point.y + f64::from(r) * angle.sin(),
            );
            let rounded = Point::new((2.0 * at.x).round() / 2.0, (2.0 * at.y).round() / 2.0);
            station.can_sit(rounded).then_some(rounded)
        })
    })
}
