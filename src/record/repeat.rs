//! What `repeat --json` prints, and the words of a repeat study.

use serde::Serialize;

use super::figures::{PlaceRecord, both, percent, rounded};
use crate::assess::limits::terms;
use crate::repeat::{Between, Found, NoStudy, Split, Study, Unknown};
use crate::station::{Scatter, Station};
use crate::units::fixed;

/// A repeat study.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepeatRecord {
    /// Name of the station.
    pub station: String,
    /// `people`, `days`; `null`: the rounds are told apart by neither.
    pub between: Option<&'static str>,
    /// How many people or days.
    pub groups: usize,
    /// How many settings of the pallet.
    pub settings: usize,
    /// Positions at heights that all rounds have.
    pub positions: usize,
    /// Those that only some rounds have.
    pub positions_left_out: usize,
    /// Geometric mean of all readings.
    pub mean_mw_cm2: f64,
    /// The rounds, with what all positions have in common.
    pub rounds: Vec<RepeatRoundRecord>,
    /// Repeatability first.
    pub components: Vec<RepeatComponentRecord>,
    /// Lower and upper limit; `null`: not both are set.
    pub limits_mw_cm2: Option<[f64; 2]>,
    /// Noise and error of placement told apart; `null`: not possible, or no field was made.
    pub noise_and_placement: Option<NoiseRecord>,
    /// What would be taken over.
    pub proposed: ProposedScatterRecord,
    /// Those that scatter most, the worst first.
    pub largest_scatter: Vec<ScatterRecord>,
    /// Plain sentences.
    pub notes: Vec<String>,
}

/// A round.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepeatRoundRecord {
    /// Name of the survey.
    pub survey: String,
    /// Initials.
    pub operator: String,
    /// Day.
    pub date: String,
    /// Which setting of the pallet, from 1.
    pub setting: usize,
    /// What all positions have in common against the mean of the rounds.
    pub common_change_percent: f64,
    /// With 95 % confidence.
    pub interval_percent: Option<[f64; 2]>,
}

/// A component of what readings scatter by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepeatComponentRecord {
    /// `repeatability`, `reload`, `between_by_position`, `between_alike`, `reproducibility`, `whole`, `round_to_round`,
    /// `within_round`.
    pub what: &'static str,
    /// The same in words.
    pub name: String,
    /// Standard deviation, percent of the reading; `null`: not told.
    pub percent: Option<f64>,
    /// With 95 % confidence.
    pub interval_percent: Option<[f64; 2]>,
    /// Degrees of freedom of the mean square that leads.
    pub freedom: Option<f64>,
    /// Six standard deviations over the width of the limits, both as logarithms, percent.
    pub of_limits_width_percent: Option<f64>,
    /// Why it is not told.
    pub why_not: Option<&'static str>,
}

/// Noise and error of placement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NoiseRecord {
    /// Standard deviation of a reading at one place.
    pub noise_percent: f64,
    /// With 95 % confidence.
    pub noise_interval_percent: [f64; 2],
    /// Standard deviation along x and along y.
    pub placement_mm: f64,
    /// With 95 % confidence.
    pub placement_interval_mm: [f64; 2],
}

/// What a click would take over.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ProposedScatterRecord {
    /// Noise of a reading for the field.
    pub noise_percent: f64,
    /// Error of placement for the field; `null`: it is left as it is.
    pub placement_mm: Option<f64>,
    /// Allowance for reloading: 1.645 times the upper end of the interval; `null`: not told.
    pub reload_percent: Option<f64>,
}

/// A position with its scatter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScatterRecord {
    /// Its name.
    pub position: String,
    /// Where.
    pub at: PlaceRecord,
    /// Standard deviation over the rounds, what they have in common taken out.
    pub percent: f64,
    /// That over the one of all positions.
    pub over_typical: f64,
}

/// So many positions are named.
const NAMED: usize = 6;
/// One-sided 95 %: what a reload stays within.
const STAYS_WITHIN: f64 = 1.645;

impl RepeatRecord {
    /// The record of a study; `split` where noise and placement were told apart.
    pub fn new(station: &Station, study: &Study, split: Option<&Split>) -> Self {
        let newest = study.rounds.iter().map(|r| r.survey).max();
        let survey = newest.and_then(|i| station.survey_at(i));
        let limits = terms(station, survey).ok();
        let limits = limits.and_then(|t| Some([t.lower.value, t.upper?.value]));
        let limits = limits.filter(|[low, high]| *low > 0.0 && high > low);
        let width = limits.map(|[low, high]| (high / low).ln());
        let split = split.map(|s| NoiseRecord {
            noise_percent: percent(s.noise),
            noise_interval_percent: both(s.noise_interval),
            placement_mm: rounded(s.placement),
            placement_interval_mm: [s.placement_interval.0, s.placement_interval.1].map(rounded),
        });
        let reload = study.reload.ok();
        Self {
            station: station.name.clone(),
            between: study.between.map(|b| match b {
                Between::People => "people",
                Between::Days => "days",
            }),
            groups: study.groups,
            settings: study.settings,
            positions: study.places,
            positions_left_out: study.left_out,
            mean_mw_cm2: rounded(study.mean),
            rounds: rounds(study),
            components: components(study, width),
            limits_mw_cm2: limits.map(|both| both.map(rounded)),
            noise_and_placement: split,
            proposed: ProposedScatterRecord {
                noise_percent: split
                    .map_or(percent(study.repeatability.deviation), |s| s.noise_percent),
                placement_mm: split.map(|s| s.placement_mm),
                reload_percent: reload.map(|r| percent(STAYS_WITHIN * r.interval.1)),
            },
            largest_scatter: largest(study),
            notes: notes(study),
        }
    }

    /// What the field would be told of how readings scatter.
    pub fn scatter(&self) -> Scatter {
        Scatter {
            // of nothing that scatters the least that can be said
            noise_percent: self.proposed.noise_percent.max(0.01),
            placement: self.proposed.placement_mm,
        }
    }
}

fn rounds(study: &Study) -> Vec<RepeatRoundRecord> {
    let share = |log: f64| percent(log.exp_m1());
    let each = study.rounds.iter().map(|round| RepeatRoundRecord {
        survey: round.name.clone(),
        operator: round.operator.clone(),
        date: round.date.to_string(),
        setting: round.setting + 1,
        common_change_percent: share(round.common),
        interval_percent: round
            .within
            .map(|w| [round.common - w, round.common + w].map(share)),
    });
    each.collect()
}

fn components(study: &Study, width: Option<f64>) -> Vec<RepeatComponentRecord> {
    let apart = match study.between {
        Some(Between::Days) => "days",
        _ => "people",
    };
    let record = |what, name: String, found: Result<Found, Unknown>| {
        let told = found.ok();
        RepeatComponentRecord {
            what,
            name,
            percent: told.map(|f| percent(f.deviation)),
            interval_percent: told.map(|f| both(f.interval)),
            freedom: told.map(|f| rounded(f.freedom)),
            of_limits_width_percent: told
                .zip(width)
                .map(|(f, width)| percent(6.0 * f.deviation / width)),
            why_not: found.err().map(why_not),
        }
    };
    let mut all = vec![
        record(
            "repeatability",
            "Repeatability: the same person again, the pallet not touched".into(),
            Ok(study.repeatability),
        ),
        record(
            "reload",
            "Pallet taken out and put back, position by position".into(),
            study.reload,
        ),
        record(
            "between_by_position",
            format!("Between {apart}, position by position"),
            study.by_place,
        ),
        record(
            "between_alike",
            format!("Between {apart}, all positions alike"),
            study.alike,
        ),
        record(
            "reproducibility",
            format!("Reproducibility: between {apart}, both together"),
            study.reproducibility,
        ),
        record(
            "whole",
            "Everything that is told above together".into(),
            Ok(study.whole),
        ),
    ];
    all.extend(study.from_round_to_round.map(|found| {
        let name = "Lamp and radiometer from round to round, all positions alike";
        record("round_to_round", name.into(), Ok(found))
    }));
    all.extend(study.within_round.map(|found| {
        let name = "Readings of one round at one position";
        record("within_round", name.into(), Ok(found))
    }));
    all
}

fn why_not(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::OneGroup => {
            "one person on one day, or a round a day: have a second person read, or read twice on each of two days"
        }
        Unknown::NeverReset => {
            "the pallet was never taken out and put back between rounds: do so, and say before which round"
        }
        Unknown::EachReset => {
            "the pallet was put back before every round, so this is in the repeatability: read two rounds without touching it"
        }
        Unknown::EachOnce => {
            "everybody read one round, so this is in the repeatability: have each read two"
        }
        Unknown::Together => {
            "people and pallet always changed together: have two people read on one setting of the pallet"
        }
    }
}

fn largest(study: &Study) -> Vec<ScatterRecord> {
    let n = study.scattered.len().max(1) as f64;
    let mean: f64 = study.scattered.iter().map(|s| s.deviation.powi(2)).sum();
    let typical = (mean / n).sqrt();
    let mut order: Vec<_> = study.scattered.iter().collect();
    order.sort_by(|a, b| b.deviation.total_cmp(&a.deviation));
    let named = order.into_iter().take(NAMED).filter(|s| s.deviation > 0.0);
    named
        .map(|s| ScatterRecord {
            position: s.position.clone(),
            at: s.at.into(),
            percent: percent(s.deviation),
            over_typical: rounded(s.deviation / typical),
        })
        .collect()
}

fn notes(study: &Study) -> Vec<String> {
    let mut notes = Vec::new();
    let (who, one) = match study.between {
        Some(Between::Days) => ("days", "day"),
        _ => ("people", "person"),
    };
    if study.alike.is_ok() {
        let freedom = study.groups.saturating_sub(1);
        let plural = if freedom == 1 { "degree" } else { "degrees" };
        let said = match freedom {
            1 | 2 => {
                format!("; so few say next to nothing of the next {one}, as the interval shows")
            }
            _ => String::new(),
        };
        notes.push(format!(
            "{} {who} give {freedom} {plural} of freedom for what all positions have in common between {who}{said}",
            study.groups
        ));
    }
    if study.between == Some(Between::Days) {
        notes.push("All rounds are by one person, or nobody's initials were entered; days are held against each other instead".into());
    }
    if study.reload.is_ok() {
        notes.push("What putting the pallet back does to all positions alike can't be told from the lamp's own change; it is in what the rounds have in common".into());
    }
    if study.left_out > 0 {
        let (places, are) = match study.left_out {
            1 => ("position", "is"),
            _ => ("positions", "are"),
        };
        notes.push(format!(
            "{} {places} that not all rounds have {are} left out",
            study.left_out
        ));
    }
    notes
}

/// Why there is no study, and what to do.
pub fn no_study_words(why: &NoStudy) -> String {
    match why {
        NoStudy::NotChosen => {
            "No surveys are chosen for the repeat study; choose two or more that read the same plan in the step Readings".into()
        }
        NoStudy::OneRound => {
            "One survey repeats nothing; choose a second one that read the same plan".into()
        }
        NoStudy::FewPlaces(n) => format!(
            "{n} positions were read in all surveys of the repeat study; choose surveys that read the same plan"
        ),
        NoStudy::Missing(name) => {
            format!("The repeat study names survey '{name}', which is not there; choose its surveys again")
        }
    }
}

/// Headings of [`round_rows`].
pub const ROUND_HEADINGS: [&str; 5] =
    ["Survey", "Read by", "Day", "Pallet set", "Common change, %"];

/// The rounds as rows of a table.
pub fn round_rows(record: &RepeatRecord) -> Vec<[String; 5]> {
    let rows = record.rounds.iter().map(|r| {
        let interval = r.interval_percent.map_or(String::new(), |[low, high]| {
            format!(" ({} to {})", fixed(low, 2), fixed(high, 2))
        });
        [
            r.survey.clone(),
            match r.operator.trim() {
                "" => "not recorded".into(),
                operator => operator.to_owned(),
            },
            r.date.clone(),
            r.setting.to_string(),
            format!("{}{interval}", fixed(r.common_change_percent, 2)),
        ]
    });
    rows.collect()
}

/// Headings of [`component_rows`].
pub const COMPONENT_HEADINGS: [&str; 5] = [
    "What",
    "Standard deviation, % of the reading",
    "95 % interval",
    "Degrees of freedom",
    "6 s, % of the limits' width",
];

/// The components as rows of a table; what is not told says why.
pub fn component_rows(record: &RepeatRecord) -> Vec<[String; 5]> {
    let rows = record.components.iter().map(|c| {
        let told = |value: Option<f64>, digits| value.map_or(String::new(), |v| fixed(v, digits));
        let interval = c
            .interval_percent
            .map(|[low, high]| format!("{} to {}", fixed(low, 2), upper(high)));
        [
            match c.why_not {
                Some(why) => format!("{}: not told; {why}", c.name),
                None => c.name.clone(),
            },
            told(c.percent, 2),
            interval.unwrap_or_default(),
            told(c.freedom, 0),
            told(c.of_limits_width_percent, 0),
        ]
    });
    rows.collect()
}

/// An upper end that is beyond what any reading scatters by says only that.
fn upper(percent: f64) -> String {
    if percent > 100.0 {
        "more than 100".into()
    } else {
        fixed(percent, 2)
    }
}

/// What a click would take over, as sentences; the field first, then the allowance.
pub fn proposed_words(record: &RepeatRecord) -> (String, Option<String>) {
    let of_field = match &record.noise_and_placement {
        Some(s) => format!(
            "Noise {} % ({} to {}), error of placement {} mm ({} to {})",
            fixed(s.noise_percent, 2),
            fixed(s.noise_interval_percent[0], 2),
            fixed(s.noise_interval_percent[1], 2),
            fixed(s.placement_mm, 2),
            fixed(s.placement_interval_mm[0], 2),
            fixed(s.placement_interval_mm[1], 2)
        ),
        None => format!(
            "Noise {} %; what of it is error of placement is not told apart",
            fixed(record.proposed.noise_percent, 2)
        ),
    };
    let reload = record.proposed.reload_percent.map(|percent| {
        format!(
            "Allowance for reloading {} %: 1.645 times the upper end of what putting the pallet back does",
            fixed(percent, 2)
        )
    });
    (of_field, reload)
}
