//! What a repeat study finds.

use jiff::civil::Date;

use super::interval::{Square, Terms, Variance, combined, together};
use super::strata::{Strata, Stratum};
use super::table::Table;
use crate::geometry::Place;
use crate::numeric::distributions::student_quantile;
use crate::station::{Station, Survey};

/// What rounds are told apart by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// Several people read.
    People,
    /// One person read on several days, more than once on one of them.
    Days,
}

/// Why there is no study.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoStudy {
    /// No surveys were chosen.
    NotChosen,
    /// One round repeats nothing.
    OneRound,
    /// Fewer than two positions were read in all rounds: how many.
    FewPlaces(usize),
    /// The study names a survey that is not there.
    Missing(String),
}

/// Why a component is not told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// One person on one day, or a round a day.
    OneGroup,
    /// The pallet was never put back between rounds.
    NeverReset,
    /// Every round has a setting of its own: what the pallet does is in the repeatability.
    EachReset,
    /// Every person read one round: what people differ in is in the repeatability.
    EachOnce,
    /// Two things always changed together, people and the pallet.
    Together,
}

/// A component: relative standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Estimate; 0 where the mean squares give none above.
    pub deviation: f64,
    /// With 95 % confidence.
    pub interval: (f64, f64),
    /// Degrees of freedom of the mean square that leads.
    pub freedom: f64,
}

impl From<Variance> for Found {
    fn from(v: Variance) -> Self {
        Self {
            deviation: v.value.sqrt(),
            interval: (v.interval.0.sqrt(), v.interval.1.sqrt()),
            freedom: v.freedom,
        }
    }
}

/// A round as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundRead {
    /// Index of the survey.
    pub survey: usize,
    /// Its name.
    pub name: String,
    /// Initials; may be empty.
    pub operator: String,
    /// The day.
    pub date: Date,
    /// Which setting of the pallet, from 0.
    pub setting: usize,
    /// What all positions have in common against the mean of the rounds, natural logarithm.
    pub common: f64,
    /// Half the width of its 95 % interval; `None`: not known.
    pub within: Option<f64>,
}

/// A position with its scatter over the rounds, what they have in common taken out.
#[derive(Debug, Clone, PartialEq)]
pub struct Scattered {
    /// Its name; may be empty.
    pub position: String,
    /// Where.
    pub at: Place,
    /// Relative standard deviation.
    pub deviation: f64,
}

/// What is found.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// In their order.
    pub rounds: Vec<RoundRead>,
    /// By what they are told apart; `None`: by nothing.
    pub between: Option<Between>,
    /// How many people or days.
    pub groups: usize,
    /// How many settings of the pallet.
    pub settings: usize,
    /// Positions at heights that all rounds have.
    pub places: usize,
    /// Those that only some have.
    pub left_out: usize,
    /// Geometric mean of all readings, mW/cm².
    pub mean: f64,
    /// The same person again, the pallet not touched: one reading about what the position has.
    pub repeatability: Found,
    /// Readings of one round at one position: `None` where none was read twice.
    pub within_round: Option<Found>,
    /// The pallet taken out and put back: position by position.
    pub reload: Result<Found, Unknown>,
    /// From one person (or day) to the other, position by position.
    pub by_place: Result<Found, Unknown>,
    /// From one person (or day) to the other, all positions alike.
    pub alike: Result<Found, Unknown>,
    /// Both of these.
    pub reproducibility: Result<Found, Unknown>,
    /// Repeatability, reload and reproducibility together.
    pub whole: Found,
    /// From round to round, all positions alike: lamp and radiometer from one time to the other.
    pub from_round_to_round: Option<Found>,
    /// All positions, in the order of the first round.
    pub scattered: Vec<Scattered>,
    /// For each of them its variance in the lowest part, and how many contrasts that has: what noise and placement make.
    pub at_rest: (Vec<f64>, usize),
}

impl Study {
    /// Of the surveys that a station's study names.
    ///
    /// # Errors
    /// [`NoStudy`] with what is missing.
    pub fn of(station: &Station) -> Result<Self, NoStudy> {
        let rounds = match &station.repeat {
            Some(study) if !study.rounds.is_empty() => &study.rounds,
            _ => return Err(NoStudy::NotChosen),
        };
        let (mut surveys, mut settings, mut setting) = (Vec::new(), Vec::new(), 0);
        for round in rounds {
            let missing = || NoStudy::Missing(round.survey.clone());
            let survey = station.survey(&round.survey).ok_or_else(missing)?;
            if surveys.contains(&survey) {
                continue;
            }
            // before the first round nothing is put back
            setting += usize::from(round.reset && !surveys.is_empty());
            surveys.push(survey);
            settings.push(setting);
        }
        if surveys.len() < 2 {
            return Err(NoStudy::OneRound);
        }
        let table = Table::of(station, &surveys);
        if table.rows.len() < 2 {
            return Err(NoStudy::FewPlaces(table.rows.len()));
        }
        let read: Vec<&Survey> = surveys.iter().map(|&i| &*station.surveys[i]).collect();
        let (between, groups) = groups(&read);
        let logs: Vec<Vec<f64>> = table.rows.iter().map(|row| row.logs.clone()).collect();
        let strata = Strata::of(&logs, &groups, &settings);
        Ok(found(Asked {
            read,
            surveys: &surveys,
            settings: &settings,
            between,
            groups: &groups,
            table: &table,
            strata: &strata,
        }))
    }
}

/// By what rounds are told apart, and which group each is in.
fn groups(read: &[&Survey]) -> (Option<Between>, Vec<usize>) {
    fn numbered<K: PartialEq>(keys: impl Iterator<Item = K>) -> (usize, Vec<usize>) {
        let mut known: Vec<K> = Vec::new();
        let numbers = keys.map(|key| {
            known.iter().position(|k| *k == key).unwrap_or_else(|| {
                known.push(key);
                known.len() - 1
            })
        });
        let numbers: Vec<usize> = numbers.collect();
        (known.len(), numbers)
    }
    let (people, by_person) = numbered(read.iter().map(|s| s.operator.trim().to_lowercase()));
    if people > 1 {
        return (Some(Between::People), by_person);
    }
    let (days, by_day) = numbered(read.iter().map(|s| s.date));
    if days > 1 && days < read.len() {
        return (Some(Between::Days), by_day);
    }
    (None, vec![0; read.len()])
}

struct Asked<'a> {
    read: Vec<&'a Survey>,
    surveys: &'a [usize],
    settings: &'a [usize],
    between: Option<Between>,
    groups: &'a [usize],
    table: &'a Table,
    strata: &'a Strata,
}

/// The lowest part of the rounds that has contrasts: what is left in it is the repeatability.
fn lowest(strata: &Strata) -> &Stratum {
    let parts = [&strata.rest, &strata.settings, &strata.people];
    let has = |s: &&&Stratum| s.contrasts > 0;
    parts.iter().find(has).copied().unwrap_or(&strata.rest)
}

fn found(asked: Asked<'_>) -> Study {
    let (table, strata) = (asked.table, asked.strata);
    let rest = lowest(strata);
    let within = Square {
        mean: table.within.0 / table.within.1.max(1) as f64,
        freedom: table.within.1 as f64,
    };
    let each = table.readings_each();
    // one reading, where cells are means of several
    let repeatability = [(1.0, rest.by_place), (1.0 - 1.0 / each, within)];
    let shares = Shares::of(strata, rest);
    let of = |terms: &[(f64, Square)]| combined(terms).map(Found::from);
    let unknown = || unknowns(&asked, rest);
    let reload = shares.reload.as_ref().map(|terms| of(terms));
    let by_place = shares.people.as_ref().map(|terms| of(terms));
    let alike = alike(strata);
    let told = |found: Option<Option<Found>>, which: fn((Unknown, Unknown)) -> Unknown| {
        found.flatten().ok_or_else(|| which(unknown()))
    };
    let both = shares.people.as_ref().zip(alike.as_ref());
    let reproducibility = both.and_then(|(a, b)| together(&[a, b])).map(Found::from);
    let told_parts = [&shares.reload, &shares.people, &alike];
    let mut parts: Vec<&[(f64, Square)]> = vec![&repeatability];
    parts.extend(told_parts.into_iter().flatten().map(Vec::as_slice));
    let whole = together(&parts).map(Found::from);
    let rounds = asked.read.len() as f64;
    let half = (rest.by_place.freedom > 0.0).then(|| {
        let variance = rest.by_place.mean / strata.places as f64 * (1.0 - 1.0 / rounds);
        student_quantile(0.975, rest.by_place.freedom) * variance.sqrt()
    });
    let zero = Found {
        deviation: 0.0,
        interval: (0.0, f64::INFINITY),
        freedom: 0.0,
    };
    let logs = table.rows.iter().flat_map(|row| &row.logs);
    let mean = logs.sum::<f64>() / (table.rows.len() as f64 * rounds);
    let scattered = strata.of_all().unwrap_or_default();
    Study {
        rounds: (asked.read.iter().enumerate())
            .map(|(i, survey)| RoundRead {
                survey: asked.surveys[i],
                name: survey.name.clone(),
                operator: survey.operator.clone(),
                date: survey.date,
                setting: asked.settings[i],
                common: strata.columns[i],
                within: half,
            })
            .collect(),
        between: asked.between,
        groups: asked.groups.iter().max().map_or(0, |g| g + 1),
        settings: asked.settings.iter().max().map_or(0, |s| s + 1),
        places: strata.places,
        left_out: table.left_out,
        mean: mean.exp(),
        repeatability: of(&repeatability).unwrap_or(zero),
        within_round: (table.within.1 > 0).then(|| of(&[(1.0, within)])).flatten(),
        reload: told(reload, |u| u.0),
        by_place: told(by_place, |u| u.1),
        alike: told(alike.as_ref().map(|terms| of(terms)), |u| u.1),
        reproducibility: told(reproducibility.map(Some), |u| u.1),
        whole: whole.unwrap_or(zero),
        from_round_to_round: (strata.within_people.contrasts > 0)
            .then(|| {
                let per = 1.0 / strata.places as f64;
                of(&[(per, strata.within_people.common), (-per, rest.by_place)])
            })
            .flatten(),
        scattered: (table.rows.iter().zip(scattered))
            .map(|(row, variance)| Scattered {
                position: row.name.clone(),
                at: row.at,
                deviation: variance.sqrt(),
            })
            .collect(),
        at_rest: (strata.of_each(rest).unwrap_or_default(), rest.contrasts),
    }
}

/// Components position by position as sums of mean squares; `None`: not told.
struct Shares {
    reload: Option<Terms>,
    people: Option<Terms>,
}

impl Shares {
    fn of(strata: &Strata, rest: &Stratum) -> Self {
        let (people, settings) = (&strata.people, &strata.settings);
        let below = |s: &Stratum| s.contrasts > 0 && !std::ptr::eq(s, rest);
        let reload = below(settings).then(|| {
            let per = 1.0 / settings.holds[1];
            vec![(per, settings.by_place), (-per, rest.by_place)]
        });
        let people = below(people).then(|| {
            let per = 1.0 / people.holds[0];
            let of_settings = if settings.contrasts > 0 {
                people.holds[1] / settings.holds[1]
            } else {
                0.0
            };
            let mut terms = vec![(per, people.by_place)];
            if reload.is_some() {
                terms.push((-per * of_settings, settings.by_place));
                terms.push((-per * (1.0 - of_settings), rest.by_place));
            } else {
                terms.push((-per, rest.by_place));
            }
            terms
        });
        Self { reload, people }
    }
}

/// What people differ in at all positions alike: their rounds' common changes against those of each one's own rounds. A
/// part in so many as there are positions of what they differ in position by position is in it too.
fn alike(strata: &Strata) -> Option<Terms> {
    let (people, within) = (&strata.people, &strata.within_people);
    if people.contrasts == 0 || within.contrasts == 0 {
        return None;
    }
    let per = 1.0 / (people.holds[0] * strata.places as f64);
    Some(vec![(per, people.common), (-per, within.common)])
}

/// Why the reload, and why what people differ in, are not told.
fn unknowns(asked: &Asked<'_>, rest: &Stratum) -> (Unknown, Unknown) {
    let (strata, settings) = (asked.strata, asked.settings);
    let reload = if settings.iter().all(|s| *s == 0) {
        Unknown::NeverReset
    } else if strata.settings.contrasts == 0 {
        Unknown::Together
    } else {
        Unknown::EachReset
    };
    let people = if asked.between.is_none() {
        Unknown::OneGroup
    } else if std::ptr::eq(rest, &strata.people) || strata.within_people.contrasts == 0 {
        Unknown::EachOnce
    } else {
        Unknown::Together
    };
    (reload, people)
}
