//! A simulated year of daily readings whose truth is known.

use evenfield::upkeep::trend::{Mark, Marked, Reading};

use crate::chance::Chance;

/// How a lamp fades.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fading {
    /// Exponentially.
    Even,
    /// Fast at first: the 0.6th power of its age.
    Slowing,
    /// Slow at first: the 1.5th power.
    Speeding,
    /// The same loss of irradiance every day.
    Constant,
    /// A tenth within days, then exponentially.
    Settling,
    /// The slope changes evenly, by up to as much as it is (for tuning only).
    Bent,
}

/// How readings scatter. Standard deviations beside the white part (0.4 %): 0.8 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scatter {
    /// White alone, 0.9 %.
    White,
    /// Each day has so much of the day before.
    Lasting(f64),
    /// Three people in turn by the day of the week, each with a habit of 0.8 %; half of it lasting from day to day.
    Weekly,
    /// Student's t with three degrees of freedom, half of it lasting from day to day with 0.5.
    Heavy,
    /// Lasting with 0.5, shown in whole steps of 0.5 mW/cm².
    Rounded,
    /// An Ornstein-Uhlenbeck process of three to twelve days (for tuning only).
    Process,
}

/// A kind of year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    pub name: &'static str,
    pub fading: Fading,
    pub scatter: Scatter,
}

const fn kind(name: &'static str, fading: Fading, scatter: Scatter) -> Kind {
    Kind {
        name,
        fading,
        scatter,
    }
}

/// Reported; none of them was tuned on.
pub const KINDS: &[Kind] = &[
    kind("even-white", Fading::Even, Scatter::White),
    kind("even-0.3", Fading::Even, Scatter::Lasting(0.3)),
    kind("even-0.6", Fading::Even, Scatter::Lasting(0.6)),
    kind("even-0.9", Fading::Even, Scatter::Lasting(0.9)),
    kind("even-weekly", Fading::Even, Scatter::Weekly),
    kind("even-heavy", Fading::Even, Scatter::Heavy),
    kind("even-rounded", Fading::Even, Scatter::Rounded),
    kind("slowing-0.6", Fading::Slowing, Scatter::Lasting(0.6)),
    kind("speeding-0.6", Fading::Speeding, Scatter::Lasting(0.6)),
    kind("constant-0.6", Fading::Constant, Scatter::Lasting(0.6)),
    kind("settling-0.6", Fading::Settling, Scatter::Lasting(0.6)),
];

/// Tuned on.
pub const TUNING: &[Kind] = &[
    kind("tune-even", Fading::Even, Scatter::Process),
    kind("tune-bent", Fading::Bent, Scatter::Process),
];

/// A step in the year.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    pub day: f64,
    /// On the logarithm.
    pub size: f64,
}

/// A year cut at a day.
pub struct Year {
    pub readings: Vec<Reading>,
    pub marks: Vec<Marked>,
    pub limit: f64,
    pub resolution: f64,
    /// When the level reaches the limit, as it truly would; `None`: not within forty years.
    pub reached: Option<f64>,
    pub cut: f64,
    /// The step, where it lies before the cut, and how many readings it has on either side up to the next change.
    pub step: Option<(Step, usize, usize)>,
    /// The true slope at the cut, on the logarithm, a day of mean use, what still settles left out.
    pub slope: f64,
}

struct Lamp {
    since: f64,
    /// Natural logarithm lost at an age of `life` days.
    life: f64,
    bent: f64,
    first: f64,
}

/// Share of light that is lost at the end of a life, on the logarithm.
const LOST: f64 = 0.357;

impl Lamp {
    /// The level's logarithm at an age in days of mean use.
    fn log(&self, fading: Fading, days: f64) -> f64 {
        let age = days / self.life;
        let lost = match fading {
            Fading::Even => LOST * age,
            Fading::Slowing => LOST * age.powf(0.6),
            Fading::Speeding => LOST * age.powf(1.5),
            Fading::Constant => -(-0.3 * age).max(-0.999).ln_1p(),
            Fading::Settling => {
                let settled = 1.0 - (-days / 6.0).exp();
                0.105 * settled + (LOST - 0.105) * age
            }
            Fading::Bent => LOST * age * (1.0 + self.bent * age.min(2.0)),
        };
        self.first - lost
    }
}

impl Lamp {
    /// Fading at an age, on the logarithm, a day of mean use; what settles left out.
    fn slope(&self, fading: Fading, days: f64) -> f64 {
        match fading {
            Fading::Settling => -(LOST - 0.105) / self.life,
            _ => self.log(fading, days + 0.5) - self.log(fading, (days - 0.5).max(0.0)),
        }
    }
}

impl Year {
    /// The year of a seed. `size` is that of its step (0: none).
    pub fn of(kind: Kind, seed: u64, size: f64) -> Self {
        let mut chance = Chance::new(seed, 0);
        let mut even = |low: f64, high: f64| chance.between(low, high);
        let changes = [0.0, even(90.0, 150.0).floor(), even(210.0, 290.0).floor()];
        let life = (even(140f64.ln(), 500f64.ln())).exp();
        let lamps: Vec<Lamp> = changes
            .iter()
            .map(|&since| Lamp {
                since,
                life: life * (0.3 * (even(0.0, 1.0) - 0.5)).exp(),
                bent: even(-0.3, 0.6),
                first: 50f64.ln() + even(-0.06, 0.06),
            })
            .collect();
        let cut = even(30.0, 364.0).floor();
        let step = Step {
            day: even(5.0, 360.0).floor(),
            size: if even(0.0, 1.0) < 0.7 { -1.0 } else { 1.0 } * size,
        };
        let mut marks: Vec<Marked> = changes[1..]
            .iter()
            .map(|&day| Marked {
                day: day - 0.3,
                mark: Mark::NewLamp,
            })
            .collect();
        // offsets with their days, on the logarithm
        let mut offsets = vec![(step.day - 0.3, step.size)];
        for _ in 0..2 {
            let (day, size) = (even(10.0, 355.0).floor() - 0.3, even(0.05, 0.2));
            offsets.push((day, size));
            marks.push(Marked {
                day,
                mark: Mark::Readjusted,
            });
        }
        for i in 0..2 {
            let (day, shift) = (even(10.0, 355.0).floor() - 0.3, even(-0.03, 0.03));
            offsets.push((day, f64::ln_1p(shift)));
            let known = (i == 0).then(|| {
                // a sum of three even numbers of variance 1/12 has a standard deviation of one half
                let off = 2.0 * (0..3).map(|_| even(-0.5, 0.5)).sum::<f64>();
                (shift + 0.008 * off, 0.008)
            });
            marks.push(Marked {
                day,
                mark: Mark::Recalibrated(known),
            });
        }
        marks.retain(|m| m.day <= cut);
        let hours_known = even(0.0, 1.0) < 0.5;
        let burns = even(6.0, 12.0);
        let lamp_at = |day: f64| {
            let own = lamps.iter().rposition(|l| l.since <= day + 0.001);
            &lamps[own.unwrap_or(0)]
        };
        let sum = |day: f64| -> f64 {
            offsets
                .iter()
                .filter(|o| o.0 <= day.min(cut))
                .map(|o| o.1)
                .sum()
        };
        // use in days of mean use since the beginning of the year; days and weeks are uneven
        let mut used = vec![0.0];
        let mut week = 1.0;
        for day in 0..500 {
            if day % 7 == 0 {
                week = even(0.7, 1.3);
            }
            used.push(used[day] + week * even(0.6, 1.4));
        }
        let age = |lamp: &Lamp, day: f64| {
            let at = |day: f64| {
                let whole = (day.max(0.0) as usize).min(499);
                used[whole]
                    + (day.max(0.0) - whole as f64)
                        * if whole < 499 {
                            used[whole + 1] - used[whole]
                        } else {
                            1.0
                        }
            };
            (at(day) - at(lamp.since)).max(0.0)
        };
        let noise = noise(kind.scatter, &mut chance);
        let resolution = if kind.scatter == Scatter::Rounded {
            0.5
        } else {
            0.01
        };
        let mut readings = Vec::new();
        for (day, noise) in noise.iter().enumerate().take(cut as usize + 1) {
            let time = day as f64 + 0.02 * chance.between(-1.0, 1.0);
            let lamp = lamp_at(day as f64);
            // one day in twelve nobody reads
            if chance.between(0.0, 1.0) < 1.0 / 12.0 && day > 0 && (day as f64) < cut {
                continue;
            }
            let log = lamp.log(kind.fading, age(lamp, day as f64)) + sum(day as f64) + noise;
            readings.push(Reading {
                day: time,
                hours: hours_known.then(|| burns * age(lamp, day as f64)),
                irradiance: (log.exp() / resolution).round().max(1.0) * resolution,
                conversion: None,
            });
        }
        let lamp = lamp_at(cut);
        let level = |day: f64| lamp.log(kind.fading, age(lamp, day)) + sum(cut);
        let limit = level(cut) - chance.between(0.02, 0.25);
        let mut reached = None;
        let (mut low, mut high) = (cut, cut + 15_000.0);
        if level(high) <= limit {
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if level(middle) > limit {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            reached = Some(high);
        }
        let changed: Vec<f64> = marks.iter().map(|m| m.day).collect();
        let before = |day: f64| {
            changed
                .iter()
                .copied()
                .filter(|c| *c < day)
                .fold(-1.0, f64::max)
        };
        let after = changed
            .iter()
            .copied()
            .filter(|c| *c > step.day)
            .fold(cut + 0.5, f64::min);
        let from = before(step.day - 0.3);
        let of = |low: f64, high: f64| {
            readings
                .iter()
                .filter(|r| r.day > low && r.day < high)
                .count()
        };
        let at = step.day - 0.3;
        let step = (size != 0.0 && step.day <= cut).then(|| (step, of(from, at), of(at, after)));
        Self {
            limit: limit.exp(),
            resolution,
            reached,
            cut,
            step,
            slope: lamp.slope(kind.fading, age(lamp, cut)),
            readings,
            marks,
        }
    }
}

/// Noise of each day of the year, on the logarithm.
fn noise(scatter: Scatter, chance: &mut Chance) -> Vec<f64> {
    const LASTS: f64 = 0.008;
    const WHITE: f64 = 0.004;
    let lasting = |chance: &mut Chance, share: f64, heavy: bool| -> Vec<f64> {
        let draw = |chance: &mut Chance| {
            let normal = chance.normal();
            if !heavy {
                return normal;
            }
            let squares: f64 = (0..3).map(|_| chance.normal().powi(2)).sum();
            // variance 1
            normal / (squares / 3.0).sqrt() / 3f64.sqrt()
        };
        let mut now = draw(&mut *chance);
        let mut own = Vec::with_capacity(400);
        for _ in 0..400 {
            own.push(LASTS * now);
            now = share * now + (1.0 - share * share).sqrt() * draw(chance);
        }
        own
    };
    let mut all = match scatter {
        Scatter::White => lasting(chance, 0.0, false),
        Scatter::Lasting(share) => lasting(chance, share, false),
        Scatter::Heavy => {
            let (a, b) = (lasting(chance, 0.5, true), lasting(chance, 0.0, true));
            a.iter().zip(&b).map(|(a, b)| 0.7 * (a + b)).collect()
        }
        Scatter::Rounded => lasting(chance, 0.5, false),
        Scatter::Weekly => {
            let habits: Vec<f64> = (0..3).map(|_| LASTS * chance.normal()).collect();
            let mut now = 0.0;
            (0..400)
                .map(|day| {
                    now = 0.6 * now + 0.8 * chance.normal();
                    habits[[0, 0, 1, 1, 2, 2, 0][day % 7]] + 0.5 * LASTS * now
                })
                .collect()
        }
        Scatter::Process => {
            let days = chance.between(3.0, 12.0);
            lasting(chance, (-1.0 / days).exp(), false)
        }
    };
    for noise in &mut all {
        *noise += WHITE * chance.normal();
    }
    all
}
