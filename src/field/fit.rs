//! From samples to a fitted field: families are made, scored and chosen between.
//!
//! The lamp families are fitted at once, each on a thread of its own, and before them the krigings and the plain ones;
//! nothing else is parallel, and no figure depends on how many cores there are.

use std::sync::Arc;
use std::thread::ScopedJoinHandle;

use super::equations::trend::Trend;
use super::families::blend::{Blend, MadeBlend};
use super::families::kriging::{self, LogKriging, Made};
use super::families::lamp::{Detector, Given};
use super::families::model::Model;
use super::families::plain::{self, MadePlain};
use super::fitted::{Fitted, Inner};
use super::readings::{Drifting, Ground, Pooled, Reach, Round};
use super::score::Foretold;
use super::unseen::Unseen;
use super::{
    Face, Family, FitError, FitSettings, HoldOutScore, LeaveOneOut, MOST_READINGS, Sample,
    Shortcoming,
};
use crate::geometry::{Place, Point};
use crate::progress::{Cancelled, Progress};

/// Positions below which no trend is tried.
const POSITIONS_FOR_TREND: usize = 4;

/// Makes a field from samples.
///
/// All families are tried and scored; with fewer than four positions, or where readings support no trend
/// beyond a constant, universal kriging is tried only if it is asked for. Without one asked for, none is taken that
/// has no joint draws.
///
/// # Errors
/// [`FitError`]; every number of samples from 1 on gives a field.
pub fn fit(
    settings: &FitSettings,
    samples: &[Sample],
    progress: &Progress,
) -> Result<Fitted, FitError> {
    made(settings, samples, None, None, progress)
}

/// As [`fit`], the drift over the round taken out together with it. Where that is not possible, fewer than two visits at
/// different times, it is left in.
///
/// # Errors
/// As [`fit`].
pub fn fit_round(
    settings: &FitSettings,
    samples: &[Sample],
    round: Option<&Round>,
    progress: &Progress,
) -> Result<Fitted, FitError> {
    made(settings, samples, round, None, progress)
}

/// Makes a field from nearly the same samples as another one with the same settings, to be held against it: of its families
/// those that share in that one, from its parameters on, in a third of the time.
///
/// # Errors
/// As [`fit`].
pub fn fit_near(
    near: &Fitted,
    settings: &FitSettings,
    samples: &[Sample],
    round: Option<&Round>,
    progress: &Progress,
) -> Result<Fitted, FitError> {
    made(settings, samples, round, Some(near), progress)
}

fn made(
    settings: &FitSettings,
    samples: &[Sample],
    round: Option<&Round>,
    near: Option<&Fitted>,
    progress: &Progress,
) -> Result<Fitted, FitError> {
    check(samples)?;
    let near = near.and_then(|near| match &near.inner.model {
        Model::Blend(blend) => Some(blend),
        _ => None,
    });
    let reach = Reach::of(samples);
    let resolution = resolution(settings);
    let drift = round.and_then(|round| Drifting::of(samples, round, resolution));
    let samples = match &drift {
        Some(drift) => &drift.without(samples)[..],
        None => samples,
    };
    let mut shortcomings = reach.shortcomings(samples.len());
    progress.set(0.05);
    let (ground, families, pooled) = if samples.len() > MOST_READINGS {
        let (ground, families, pooled) =
            together(settings, samples, &reach, drift.as_ref(), progress)?;
        shortcomings.push(Shortcoming::TakenTogether {
            cells: pooled.samples.len(),
            side: pooled.side,
        });
        (ground, families, Some(pooled))
    } else {
        let ground = Ground::of(samples.to_vec(), resolution).drifting(drift.clone());
        let families = Families::make(settings, &ground, near, progress)?;
        (ground, families, None)
    };
    let family = families.choice(settings.family)?;
    let scores = families.scores(family, &ground.samples);
    let mut used = families.used(family, &ground, &mut shortcomings, progress)?;
    let face = settings.face.clone().filter(|face| lights(face, samples));
    let unseen = used.unseen(settings, &ground, face.as_ref());
    if let Some(pooled) = pooled {
        let model = &used.model;
        let told = model.noise().is_some();
        let medians = |places: &[Place], out: &mut [f64]| model.medians(places, out);
        let against = pooled.against(medians, told, samples, progress);
        used.leave_one_out = against.map_err(|Cancelled| FitError::Cancelled)?;
    }
    if let Some(drift) = &drift {
        // what would have been read then
        let each = used.leave_one_out.iter_mut().zip(&drift.taken);
        each.for_each(|(out, by)| out.predicted *= by.exp());
    }
    let amounts = used.model.drift();
    progress.set(1.0);
    Ok(Fitted {
        inner: Arc::new(Inner {
            family,
            drift: drift.map(|drift| (drift.drift(amounts.as_ref()), drift.taken)),
            model: used.model,
            unseen,
            foretold: used.foretold,
            scores,
            leave_one_out: used.leave_one_out,
            shortcomings,
            face,
            mirrors: settings.mirrors,
            alone: used.alone,
            reach,
        }),
    })
}

/// Finite, not below zero.
fn resolution(settings: &FitSettings) -> f64 {
    Some(settings.resolution)
        .filter(|r| r.is_finite())
        .map_or(0.0, |r| r.max(0.0))
}

/// Families of more readings than are taken one by one: first of coarse cells and, where those are not small beside
/// the length over which the field changes, of as many as are taken.
fn together(
    settings: &FitSettings,
    samples: &[Sample],
    reach: &Reach,
    drift: Option<&Drifting>,
    progress: &Progress,
) -> Result<(Ground, Families, Pooled), FitError> {
    const FEW_CELLS: usize = 400;
    /// A cell beside that length.
    const SMALL: f64 = 0.12;
    let mut most = FEW_CELLS;
    loop {
        let pooled = Pooled::of(samples, reach, most);
        let ground = Ground::of_pooled(&pooled, resolution(settings))
            .drifting(drift.map(|drift| drift.together(pooled.members())));
        let families = Families::make(settings, &ground, None, progress)?;
        let smooth = families.better_kriging().field.smooth_over();
        if most >= MOST_READINGS || pooled.side <= SMALL * smooth {
            return Ok((ground, families, pooled));
        }
        most = MOST_READINGS;
    }
}

/// All families that these readings allow.
struct Families {
    ordinary: Made,
    universal: Option<Made>,
    plain: Vec<MadePlain>,
    aware: Option<MadeBlend>,
}

/// The family that makes the field.
struct Used {
    model: Model,
    leave_one_out: Vec<LeaveOneOut>,
    alone: Option<Box<LogKriging>>,
    /// What it said of readings left out; `None` for a family without joint draws.
    foretold: Option<Foretold>,
}

impl Used {
    /// What the family misses between and beyond the positions.
    fn unseen(
        &self,
        settings: &FitSettings,
        ground: &Ground,
        face: Option<&Face>,
    ) -> Option<Unseen> {
        let foretold = self.foretold.as_ref().filter(|_| !settings.bare)?;
        let noise = self.model.noise()?;
        let places: Vec<Place> = ground.samples.iter().map(|s| s.at).collect();
        let mut fitted = vec![0.0; places.len()];
        self.model.medians(&places, &mut fitted);
        Unseen::of(
            ground,
            &fitted,
            noise,
            foretold,
            face.map(|f| f.height),
            settings.mirrors,
        )
    }
}

impl Families {
    fn make(
        settings: &FitSettings,
        ground: &Ground,
        near: Option<&Blend>,
        progress: &Progress,
    ) -> Result<Self, FitError> {
        let (samples, groups, reach) = (&ground.samples[..], &ground.groups, &ground.reach);
        let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
        let trend = Trend::supported_by(&places, reach.positions.len());
        let with_trend = settings.family == Some(Family::UniversalKriging)
            || (groups.positions.len() >= POSITIONS_FOR_TREND && trend.is_more_than_constant());
        // None of these depends on the others.
        let kriged =
            |family, trend| kriging::make(family, trend, ground, settings.scatter, progress);
        let (ordinary, universal, plain) = std::thread::scope(|scope| {
            let plain = match near {
                None => Some(scope.spawn(|| plain::make_all(ground, progress))),
                Some(_) => None,
            };
            let universal =
                with_trend.then(|| scope.spawn(|| kriged(Family::UniversalKriging, trend)));
            let ordinary = kriged(Family::OrdinaryKriging, Trend::constant())?;
            progress.set(0.25);
            let universal = universal.map(joined).transpose()?;
            progress.set(0.4);
            let plain = plain.map(joined).transpose()?.unwrap_or_default();
            Ok((ordinary, universal, plain))
        })?;
        progress.set(0.45);
        let of_lamp = ground.scatter.is_none() || settings.family.is_some_and(Family::is_of_lamp);
        let face = settings
            .face
            .as_ref()
            .filter(|face| of_lamp && lights(face, samples));
        let aware = match face {
            Some(face) => {
                let given = Given {
                    face,
                    samples,
                    groups,
                    reach,
                    detector: Detector {
                        resolution: ground.resolution,
                        aperture: settings.aperture,
                        directional: settings.directional,
                    },
                    drift: ground.drift.as_ref(),
                    scatter: settings.scatter,
                };
                let kriged = [Some(&ordinary), universal.as_ref()];
                Blend::make(
                    settings.family,
                    &given,
                    near,
                    kriged.into_iter().flatten(),
                    progress,
                )?
            }
            None => None,
        };
        Ok(Self {
            ordinary,
            universal,
            plain,
            aware,
        })
    }

    /// The family asked for or, without, the source-aware one, else the better kriging.
    fn choice(&self, asked: Option<Family>) -> Result<Family, FitError> {
        match asked {
            Some(family @ (Family::OrdinaryKriging | Family::UniversalKriging)) => Ok(family),
            Some(family) if !family.has_draws() => {
                let made = self.plain.iter().any(|made| made.family == family);
                made.then_some(family).ok_or(FitError::NotPossible(family))
            }
            of_lamp if self.aware.is_some() => Ok(of_lamp.unwrap_or(Family::SourceAware)),
            _ => Ok(self.better_kriging().family),
        }
    }

    fn better_kriging(&self) -> &Made {
        let score = |made: &Made| {
            let judged = &made.judged;
            let sum: f64 = judged.densities.iter().flatten().sum();
            sum / judged.predicted.len() as f64
        };
        let ordinary = score(&self.ordinary);
        match &self.universal {
            Some(universal) if score(universal) > ordinary => universal,
            _ => &self.ordinary,
        }
    }

    /// All scores, best first, those without a density last; with the shares in the field of `family`.
    fn scores(&self, family: Family, samples: &[Sample]) -> Vec<HoldOutScore> {
        let blended = self.blend_of(family);
        let krigings = [Some(&self.ordinary), self.universal.as_ref()];
        let krigings = krigings.into_iter().flatten();
        let krigings = krigings.filter_map(|made| made.judged.score(made.family, samples));
        let plain = self.plain.iter().filter_map(|made| made.score);
        let mut scores: Vec<HoldOutScore> = krigings.chain(plain).collect();
        for score in &mut scores {
            score.weight = match blended {
                Some(blend) => {
                    let shared = blend.shared.iter().find(|s| s.0 == score.family);
                    shared.map_or(0.0, |s| s.1)
                }
                None => f64::from(u8::from(score.family == family)),
            };
        }
        if let Some(aware) = &self.aware {
            scores.extend(aware.scores.iter().map(|s| HoldOutScore {
                weight: if blended.is_some() { s.weight } else { 0.0 },
                ..*s
            }));
        }
        let density = |s: &HoldOutScore| s.log_density.unwrap_or(f64::NEG_INFINITY);
        scores.sort_by(|a, b| {
            let by_density = density(b).total_cmp(&density(a));
            by_density.then(a.rms_percent.total_cmp(&b.rms_percent))
        });
        scores
    }

    /// The blend, where the field of `family` is one.
    fn blend_of(&self, family: Family) -> Option<&MadeBlend> {
        self.aware.as_ref().filter(|_| family.is_of_lamp())
    }

    fn used(
        self,
        family: Family,
        ground: &Ground,
        shortcomings: &mut Vec<Shortcoming>,
        progress: &Progress,
    ) -> Result<Used, FitError> {
        if self.blend_of(family).is_some() {
            let alone = Box::new(self.better_kriging().field.clone());
            if let Some(made) = self.aware {
                return Ok(Used {
                    model: Model::Blend(made.blend),
                    leave_one_out: made.leave_one_out,
                    alone: Some(alone),
                    foretold: Some(made.foretold),
                });
            }
        }
        if let Some(made) = self.plain.into_iter().find(|made| made.family == family) {
            let leave_one_out = made.field.leave_one_out(ground, progress);
            return Ok(Used {
                leave_one_out: leave_one_out.map_err(|Cancelled| FitError::Cancelled)?,
                model: Model::Plain(made.field),
                alone: None,
                foretold: None,
            });
        }
        let made = match (family, self.universal) {
            (Family::UniversalKriging, Some(made)) => made,
            _ => self.ordinary,
        };
        if made.typical {
            shortcomings.push(Shortcoming::TypicalParameters);
        }
        Ok(Used {
            model: Model::Kriging(Box::new(made.field)),
            foretold: Some(Foretold {
                positions: made.judged.predicted,
                ring: made.judged.ring_predicted,
            }),
            leave_one_out: made.judged.leave_one_out,
            alone: None,
        })
    }
}

/// What a thread made; its panic is this one's.
fn joined<T>(thread: ScopedJoinHandle<'_, Result<T, FitError>>) -> Result<T, FitError> {
    thread
        .join()
        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

fn check(samples: &[Sample]) -> Result<(), FitError> {
    if samples.is_empty() {
        return Err(FitError::NoReadings);
    }
    let sound = |s: &Sample| s.at.is_finite() && s.irradiance.is_finite() && s.irradiance > 0.0;
    if let Some(bad) = samples.iter().position(|s| !sound(s)) {
        return Err(FitError::BadSample(bad));
    }
    Ok(())
}

/// Whether a face can be what light the readings: it is over them all, with an outline that has a size. A few
/// readings are needed beside what is known of lamps in general.
fn lights(face: &Face, samples: &[Sample]) -> bool {
    const FEWEST: usize = 3;
    const NEAREST: f64 = 1.0;
    samples.len() >= FEWEST
        && face.height.is_finite()
        && samples.iter().all(|s| face.height - s.at.height >= NEAREST)
        && face.outline.as_ref().is_none_or(|outline| {
            let Point { x, y } = outline.centre;
            outline.shape.is_sound() && [x, y, outline.turn].iter().all(|v| v.is_finite())
        })
}
