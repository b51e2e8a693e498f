//! A station read twice, and what was said of it.

use evenfield::assess::{Request, fit_survey};
use evenfield::change::{Bars, Change, Harm, Mode, ShortCheck, ToCompare, ToShorten, Zone};
use evenfield::geometry::{Footprint, Place, Point};
use evenfield::lamps::{AnyLamp, Errors, Lamp, Reader};
use evenfield::progress::Progress;
use evenfield::station::{Reading, Station, Survey};
use jiff::civil::date;

use crate::chance::Chance;
use crate::kinds::{Group, Kind};
use crate::station::{Condition, Drawn, Plan, Wrong};

/// What the second survey is read under.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Case {
    Aged,
    Zone,
    Narrow,
    Patch,
    Pair,
    Height,
    Tilt,
    Shift,
    Short,
}

impl Case {
    pub const ALL: [Self; 9] = [
        Self::Aged,
        Self::Zone,
        Self::Narrow,
        Self::Patch,
        Self::Pair,
        Self::Height,
        Self::Tilt,
        Self::Shift,
        Self::Short,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Aged => "aged",
            Self::Zone => "zone",
            Self::Narrow => "narrow",
            Self::Patch => "patch",
            Self::Pair => "pair",
            Self::Height => "height",
            Self::Tilt => "tilt",
            Self::Shift => "shift",
            Self::Short => "short",
        }
    }

    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|case| case.name() == name)
    }
}

/// What was said of one pair.
#[derive(Debug, Clone)]
pub struct Outcome {
    pub case: Case,
    pub group: Group,
    /// Cold zones, hot zones.
    pub zones: (usize, usize),
    /// A cold zone within one pitch of the true one.
    pub found: bool,
    /// Its depth interval holds the true depth.
    pub covers: bool,
    /// It holds what is truly missing where the zone is told to be deepest, beside the common change that is told.
    pub there: bool,
    /// The stated common change's interval holds the true one.
    pub common: bool,
    /// Stated less true common change over a quarter of its interval: about a standard normal deviate where it is honest.
    pub off: f64,
    /// A quarter of its interval, a share.
    pub unsure: f64,
    /// The same of the depth of a zone that was found.
    pub depth_off: f64,
    /// The common change is said to be beyond doubt.
    pub blamed: bool,
    /// What was really set up otherwise is named.
    pub named: bool,
    /// Something that was not is named.
    pub misnamed: bool,
    /// Of what a short check promises: which was drawn.
    pub harm: &'static str,
    /// Readings of the second survey over those of the first.
    pub share: f64,
    /// The smallest loss that is said to be seen, a share.
    pub smallest: f64,
}

/// A lamp whose light is changed place by place.
struct Changed<'a> {
    lamp: &'a AnyLamp,
    by: &'a (dyn Fn(Place) -> f64 + Sync),
}

impl Lamp for Changed<'_> {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        self.lamp.seen(at, slant) * (self.by)(at)
    }
    fn face_height(&self) -> f64 {
        self.lamp.face_height()
    }
}

/// What is true of the second survey.
struct Second<'a> {
    by: Box<dyn Fn(Place) -> f64 + Sync + 'a>,
    really: Box<dyn Fn(Place) -> Place>,
    scale: f64,
    /// The common change, a share.
    common: f64,
    /// Middle of a zone, and how much is missing there beside the common change.
    zone: Option<(Point, f64)>,
    modes: Vec<Mode>,
}

/// All cases of one drawn station.
///
/// # Errors
/// In words: what failed.
pub fn outcomes(kind: Kind, seed: u64, cases: &[Case]) -> Result<Vec<Outcome>, String> {
    let drawn = Drawn::new(kind, Condition::Main, seed)?;
    let read = drawn.station(Plan::Inside, Wrong::Nothing);
    let (lamp, errors) = drawn.read_by();
    let mut document = read.document();
    if let Some(pair) = &mut document.surveys[0].radiometer {
        pair.expanded_uncertainty_percent = Some(5.0);
    }
    let progress = Progress::new();
    let request = Request {
        survey: Some(0),
        ..Request::default()
    };
    let fit = fit_survey(&document, &request, &progress).map_err(|e| e.to_string())?;
    let (width, depth) = read.fixture.shape.size();
    let inset = Plan::Inside.inset();
    let along = (width - 2.0 * inset) / (read.columns - 1) as f64;
    let across = (depth - 2.0 * inset) / (read.rows - 1) as f64;
    let pitches = (along, across);
    let mut out = Vec::new();
    for &case in cases {
        let mut chance = Chance::new(seed, 0x0c4a_0000 + 64 * kind as u64 + case as u64);
        let scene = Scene {
            lamp,
            fixture: &read.fixture,
            assessed: read.assessed,
            pitches,
            inset,
        };
        let mut short = None;
        let mut second = if case == Case::Short {
            let asked = ToShorten::of(&document, 0, Harm::default(), Bars::default());
            let check = asked.and_then(|asked| asked.shorten(&fit, &progress));
            let check = check.map_err(|e| e.to_string())?;
            let Some(second) = scene.harm(&check, &mut chance) else {
                continue;
            };
            short = Some(check);
            second
        } else {
            scene.second(case, &mut chance)
        };
        // what is common is the mean over what is read, with all that a misplaced round does to it, without a zone
        let uneven = case == Case::Aged;
        let is_read = |r: &&Reading| match &short {
            Some(check) => check.positions.iter().any(|(_, at)| *at == r.place()),
            None => true,
        };
        let places = document.surveys[0]
            .readings
            .iter()
            .filter(is_read)
            .map(|r| {
                let (at, really) = (r.place(), (second.really)(r.place()));
                let misplaced = (lamp.irradiance(really) / lamp.irradiance(at)).ln();
                let by = if uneven {
                    (second.by)(at)
                } else {
                    1.0 + second.common
                };
                misplaced + by.ln()
            });
        let n = document.surveys[0].readings.iter().filter(is_read).count() as f64;
        second.common = (places.sum::<f64>() / n).exp_m1();
        let readings = document.surveys[0].readings.iter().filter(is_read);
        let of_all = readings.map(|r| (second.by)(r.place()).ln()).sum::<f64>() / n;
        let mut survey = again(&document, lamp, errors, &second, chance.seed(), case);
        if let Some(check) = &short {
            let of = |r: &Reading| check.positions.iter().any(|(_, at)| *at == r.place());
            survey.readings.retain(of);
        }
        document.surveys.truncate(1);
        document.surveys.push(survey.into());
        let bars = Bars::default();
        let change = ToCompare::of(&document, 0, 1, bars)
            .and_then(|asked| asked.compare(&fit, &progress))
            .map_err(|e| format!("{}: {e}", case.name()))?;
        if second.zone.is_some() && change.cold.is_empty() && change.hot.is_empty() {
            // common is what is not told as a zone
            second.common = of_all.exp_m1();
        }
        let mut row = outcome(case, kind.group(), &change, &second, pitches);
        if let (Some(check), Some((at, _))) = (&short, second.zone) {
            let near = |z: &Zone| z.centre.distance(at) <= check.diameter;
            row.named = change.cold.iter().any(near);
        }
        row.share = short.map_or(1.0, |c| c.positions.len() as f64 / c.of as f64);
        out.push(row);
    }
    Ok(out)
}

fn again(
    document: &Station,
    lamp: &AnyLamp,
    errors: Errors,
    second: &Second<'_>,
    seed: u64,
    case: Case,
) -> Survey {
    let first = &document.surveys[0];
    let mut survey: Survey = document.new_survey("Again", date(2026, 8, 9));
    survey.radiometer = first.radiometer.clone().map(|mut pair| {
        // two calibrations of 5 % (k = 2), as certificates have it
        pair.expanded_uncertainty_percent = Some(5.0);
        if case == Case::Pair {
            pair.name = "Other pair".into();
        }
        pair
    });
    let errors = Errors {
        scale: second.scale,
        ..errors
    };
    let changed = Changed {
        lamp,
        by: &*second.by,
    };
    let mut reader = Reader::new(errors, seed);
    let each = first.readings.iter().map(|r| {
        let placed = reader.set_down((second.really)(r.place()));
        Reading {
            irradiance: Some(reader.read(&changed, placed, 0.0)),
            ..r.clone()
        }
    });
    survey.readings = each.collect();
    survey
}

struct Scene<'a> {
    lamp: &'a AnyLamp,
    fixture: &'a Footprint,
    assessed: f64,
    /// Of the positions, along x and along y, mm.
    pitches: (f64, f64),
    inset: f64,
}

impl<'a> Scene<'a> {
    /// Anywhere within the outermost positions.
    fn within(&self, chance: &mut Chance) -> Point {
        let (width, depth) = self.fixture.shape.size();
        let i = self.inset;
        Point::new(chance.between(i, width - i), chance.between(i, depth - i))
    }

    /// One of what a short check promises to find; `None` where it promises nothing.
    fn harm(&self, check: &ShortCheck, chance: &mut Chance) -> Option<Second<'a>> {
        let mut promised: Vec<Case> = Vec::new();
        if check.catches_loss() {
            promised.push(Case::Zone);
        }
        let tells = |modes: [Mode; 2]| modes.iter().all(|m| check.tells.contains(m));
        if check.tells.contains(&Mode::Height) {
            promised.push(Case::Height);
        }
        if tells([Mode::TiltX, Mode::TiltY]) {
            promised.push(Case::Tilt);
        }
        if tells([Mode::ShiftX, Mode::ShiftY]) {
            promised.push(Case::Shift);
        }
        let last = promised.len().checked_sub(1)?;
        let case = promised[chance.whole(0, last as u32) as usize];
        let mut second = self.second(case, chance);
        if case == Case::Zone {
            let which = chance.whole(0, check.places.len() as u32 - 1) as usize;
            let (at, half) = (check.places[which].point(), 0.5 * check.diameter);
            let loss = check.loss.max(check.harm.loss);
            let lost = move |p: Place| {
                let r = p.point().distance(at) / half;
                loss * (-std::f64::consts::LN_2 * r * r).exp()
            };
            second.by = Box::new(move |p| 0.95 * (1.0 - lost(p)));
            second.zone = Some((at, -loss));
            second.common = -0.05;
        }
        Some(second)
    }

    fn second(&self, case: Case, chance: &mut Chance) -> Second<'a> {
        let plain = |common: f64| Second {
            by: Box::new(move |_| 1.0 + common),
            really: Box::new(|p| p),
            scale: 1.0,
            common,
            zone: None,
            modes: Vec::new(),
        };
        let middle = self.fixture.centre;
        let sign = if chance.happens(0.5) { 1.0 } else { -1.0 };
        let (cos, sin) = {
            let angle = chance.between(0.0, std::f64::consts::TAU);
            (angle.cos(), angle.sin())
        };
        match case {
            Case::Aged => {
                let (width, depth) = self.fixture.shape.size();
                let over = width.max(depth);
                let phase = chance.between(0.0, std::f64::consts::TAU);
                // 1 % root mean square, one wave over the longer side
                let uneven = move |p: Place| {
                    let along = (p.x * cos + p.y * sin) / over;
                    1.0 + 0.01 * 2f64.sqrt() * (std::f64::consts::TAU * along + phase).sin()
                };
                Second {
                    by: Box::new(move |p| 0.85 * uneven(p)),
                    ..plain(-0.15)
                }
            }
            Case::Zone | Case::Narrow => {
                let at = self.within(chance);
                // a Gauss bell, half as deep at three quarters of a pitch from its middle: the wider of both pitches, or their mean
                let (along, across) = self.pitches;
                let half = 0.75
                    * match case {
                        Case::Zone => along.max(across),
                        _ => (along * across).sqrt(),
                    };
                let lost = move |p: Place| {
                    let r = p.point().distance(at) / half;
                    0.1 * (-std::f64::consts::LN_2 * r * r).exp()
                };
                Second {
                    by: Box::new(move |p| 0.85 * (1.0 - lost(p))),
                    zone: Some((at, -0.1)),
                    ..plain(-0.15)
                }
            }
            Case::Patch => {
                let at = self.within(chance);
                let face = self.lamp.face_height();
                let lamp = self.lamp;
                // a dark part with some width, its light more or less forward than Lambert's
                let lobe = chance.between(0.7, 2.5);
                let side = chance.between(0.1, 0.5) * (face - self.assessed);
                let reaches = move |p: Place| {
                    let h = face - p.height;
                    let each = (0..9).map(|i| {
                        let dx = at.x + side * (f64::from(i % 3) - 1.0) / 3.0 - p.x;
                        let dy = at.y + side * (f64::from(i / 3) - 1.0) / 3.0 - p.y;
                        let r2 = dx * dx + dy * dy + h * h;
                        (h / r2.sqrt()).powf(lobe + 1.0) / r2
                    });
                    each.sum::<f64>()
                };
                let below = at.at_height(self.assessed);
                let power = 0.1 * lamp.irradiance(below) / reaches(below);
                let lost = move |p: Place| {
                    let e = lamp.irradiance(p);
                    if e > 0.0 {
                        (power * reaches(p) / e).min(0.9)
                    } else {
                        0.0
                    }
                };
                // towards a dim rim more can be missing than below the part
                let all = self.fixture.lattice(4.0).into_iter();
                let most = all.map(|p| lost(p.at_height(self.assessed)));
                Second {
                    by: Box::new(move |p| 0.85 * (1.0 - lost(p))),
                    zone: Some((at, -most.fold(0.0, f64::max))),
                    ..plain(-0.15)
                }
            }
            Case::Pair => Second {
                scale: 1.0 + 0.02 * sign,
                ..plain(0.0)
            },
            Case::Height => Second {
                really: Box::new(move |p| Place::new(p.x, p.y, p.height + 5.0 * sign)),
                modes: vec![Mode::Height],
                ..plain(-0.05)
            },
            Case::Tilt => {
                let slope = 1f64.to_radians().tan();
                Second {
                    really: Box::new(move |p| {
                        let along = (p.x - middle.x) * cos + (p.y - middle.y) * sin;
                        Place::new(p.x, p.y, p.height + slope * along)
                    }),
                    modes: vec![Mode::TiltX, Mode::TiltY],
                    ..plain(-0.05)
                }
            }
            Case::Shift | Case::Short => Second {
                really: Box::new(move |p| Place::new(p.x + 3.0 * cos, p.y + 3.0 * sin, p.height)),
                modes: vec![Mode::ShiftX, Mode::ShiftY],
                ..plain(-0.05)
            },
        }
    }
}

fn outcome(
    case: Case,
    group: Group,
    change: &Change,
    second: &Second<'_>,
    pitches: (f64, f64),
) -> Outcome {
    let pitch = pitches.0.max(pitches.1);
    let near = second.zone.and_then(|(at, depth)| {
        let each = change.cold.iter();
        let nearest =
            each.min_by(|a, b| a.centre.distance(at).total_cmp(&b.centre.distance(at)))?;
        let (low, high) = nearest.interval;
        Some((
            nearest.centre.distance(at) / pitch,
            low <= depth && depth <= high,
            {
                let left = (second.by)(nearest.deepest) / (1.0 + change.common.change) - 1.0;
                low <= left && left <= high
            },
            4.0 * (nearest.depth - depth) / (high - low),
        ))
    });
    let common = &change.common.interval;
    let unsure = 0.25 * (common.1 - common.0);
    Outcome {
        case,
        group,
        zones: (change.cold.len(), change.hot.len()),
        found: near.is_some_and(|n| n.0 <= 1.0),
        covers: near.is_some_and(|n| n.1),
        there: near.is_some_and(|n| n.2),
        common: common.0 <= second.common && second.common <= common.1,
        off: (change.common.change - second.common) / unsure,
        unsure,
        depth_off: near.map_or(f64::NAN, |n| n.3),
        blamed: change.is_common_proven(),
        named: change.named().any(|s| {
            second.modes.contains(&s.mode) || s.or.is_some_and(|m| second.modes.contains(&m))
        }),
        misnamed: change.named().any(|s| {
            !second.modes.contains(&s.mode) && s.or.is_none_or(|m| !second.modes.contains(&m))
        }),
        harm: match (second.zone, second.modes.first()) {
            (Some(_), _) => "zone",
            (None, Some(Mode::Height)) => "height",
            (None, Some(Mode::TiltX)) => "tilt",
            (None, Some(_)) => "shift",
            (None, None) => "",
        },
        share: 1.0,
        smallest: change.smallest.map_or(f64::NAN, |s| s.loss),
    }
}
