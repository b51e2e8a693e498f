//! What `log --json` prints, and the words of upkeep.

pub mod words;

use serde::Serialize;

use super::figures::{both, maybe, percent, rounded};
use crate::station::{Station, Upkeep};
use crate::units::Units;
use crate::upkeep::trend::{Cause, LampTrend, Outlook, Trend};
use crate::upkeep::{Figure, Review, Side, Standing, moment_of};

/// The irradiance log, what it tells and what is due.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UpkeepRecord {
    /// Name of the station.
    pub station: String,
    /// The day on which it is told.
    pub on: String,
    /// The radiometer that the station keeps to; `null`: not known.
    pub radiometer: Option<String>,
    /// What is to be read at the monitor position; `null`: no limits.
    pub monitor: Option<MonitorWindowRecord>,
    /// How many entries the log has, and how many of them are held against the limits.
    pub entries: usize,
    /// Those that are.
    pub counted: usize,
    /// The newest entry that counts; `null`: there is none.
    pub latest: Option<LatestRecord>,
    /// The day of the next check; `null`: nobody said how often.
    pub next_check: Option<String>,
    /// Oldest first; the last is the present one.
    pub lamps: Vec<LampRecord>,
    /// When the least is reached; `null`: no limits, or nothing was read.
    pub outlook: Option<OutlookRecord>,
    /// Radiometers side by side.
    pub side_by_side: Vec<SideBySideRecord>,
    /// What is due, the most urgent first: plain sentences.
    pub due: Vec<String>,
    /// Why a whole survey is due: what has happened since the one that judges, plain sentences.
    pub survey_due: Vec<String>,
    /// What was read and does not count, with the reasons: plain sentences.
    pub notes: Vec<String>,
}

/// What is to be read at the monitor position.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MonitorWindowRecord {
    /// At the least.
    pub least_mw_cm2: f64,
    /// At the most; `null` without an upper limit.
    pub most_mw_cm2: Option<f64>,
    /// What to set it to.
    pub set_mw_cm2: Option<f64>,
}

/// The newest entry that counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LatestRecord {
    /// Day and time.
    pub at: String,
    /// On the scale of the limits.
    pub irradiance_mw_cm2: f64,
    /// `inside`, `too low`, `too high`, `no limits`.
    pub lies: &'static str,
    /// What the coldest part has by the map.
    pub coldest_mw_cm2: Option<f64>,
    /// Plain sentences: what it means and what to do.
    pub says: Vec<String>,
}

/// A lamp's trend.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LampRecord {
    /// The day of its first reading or of its change.
    pub since: String,
    /// How many readings it has.
    pub readings: usize,
    /// The station's level at its last reading.
    pub level_mw_cm2: f64,
    /// With 95 % confidence.
    pub level_interval_mw_cm2: [f64; 2],
    /// `null`: too little is known.
    pub per_month_percent: Option<f64>,
    /// With 95 % confidence.
    pub per_month_interval_percent: Option<[f64; 2]>,
    /// `null`: lamp hours are not known.
    pub per_1000_h_percent: Option<f64>,
    /// Standard deviation of one reading about the level.
    pub noise_percent: f64,
    /// What was taken out of the fading.
    pub steps: Vec<StepRecord>,
    /// Plain sentences.
    pub says: Vec<String>,
}

/// A sudden change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepRecord {
    /// The first day that has it.
    pub on: String,
    /// Found by the program; otherwise an event of the list.
    pub found: bool,
    /// Its size.
    pub percent: f64,
    /// With 95 % confidence.
    pub interval_percent: [f64; 2],
}

/// When the least is reached.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutlookRecord {
    /// `reached`, `reaches`, `not in sight`, `too little is known`.
    pub kind: &'static str,
    /// The day: median, or since when.
    pub on: Option<String>,
    /// Not before this day with 97.5 % confidence.
    pub earliest: Option<String>,
    /// Not after this day with 97.5 % confidence.
    pub latest: Option<String>,
    /// Further ahead nothing is said.
    pub until: Option<String>,
    /// Lamp hours: median.
    pub lamp_hours: Option<f64>,
    /// A plain sentence.
    pub says: String,
}

/// Two radiometers side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideBySideRecord {
    /// The day.
    pub on: String,
    /// The main radiometer.
    pub main: String,
    /// The stand-in.
    pub stand_in: String,
    /// Main over stand-in; `null`: too few pairs.
    pub ratio: Option<f64>,
    /// With 95 % confidence.
    pub ratio_interval: Option<[f64; 2]>,
    /// `null`: not all certificates are told.
    pub en: Option<f64>,
    /// Plain sentences.
    pub says: Vec<String>,
}

fn day(day: f64) -> Option<String> {
    Some(moment_of(day)?.date().to_string())
}

fn between(figure: Figure) -> [f64; 2] {
    both((figure.low, figure.high))
}

impl UpkeepRecord {
    /// The record of a review.
    pub fn new(station: &Station, upkeep: &Upkeep, review: &Review, units: Units) -> Self {
        let window = review.terms.window;
        let due = |survey: bool| {
            let all = review.due.iter().filter(|due| due.survey == survey);
            all.map(|due| words::due_words(due, units)).collect()
        };
        let trend = review.fading.trend.as_ref().ok();
        let latest = review.daily.latest.as_ref().and_then(|latest| {
            let entry = upkeep.log.get(review.daily.rows[latest.row].entry)?;
            Some(LatestRecord {
                at: entry.at.to_string(),
                irradiance_mw_cm2: rounded(latest.irradiance),
                lies: words::side_words(latest.side),
                coldest_mw_cm2: maybe(latest.coldest),
                says: words::latest_words(review, upkeep, units),
            })
        });
        Self {
            station: station.name.clone(),
            on: review.today.to_string(),
            radiometer: review.terms.main.clone(),
            monitor: window.map(|w| MonitorWindowRecord {
                least_mw_cm2: rounded(w.least),
                most_mw_cm2: maybe(w.most),
                set_mw_cm2: maybe(w.set),
            }),
            entries: review.daily.rows.len(),
            counted: review.daily.counted().count(),
            latest,
            next_check: review.daily.next.map(|next| next.on.to_string()),
            lamps: trend.map_or_else(Vec::new, |trend| {
                let lamps = trend.lamps.iter();
                lamps
                    .map(|lamp| LampRecord::new(lamp, review, upkeep, units))
                    .collect()
            }),
            outlook: trend.and_then(OutlookRecord::new),
            side_by_side: (upkeep.beside.iter().zip(&review.daily.comparisons))
                .map(|(beside, compared)| {
                    let found = compared.as_ref().ok();
                    SideBySideRecord {
                        on: beside.on.to_string(),
                        main: beside.main.clone(),
                        stand_in: beside.stand_in.clone(),
                        ratio: found.map(|c| rounded(c.ratio.value)),
                        ratio_interval: found
                            .map(|c| [rounded(c.ratio.low), rounded(c.ratio.high)]),
                        en: found.and_then(|c| Some(rounded(c.agreement?.en))),
                        says: words::comparison_words(compared, units),
                    }
                })
                .collect(),
            due: due(false),
            survey_due: due(true),
            notes: notes(review, upkeep),
        }
    }
}

/// How many entries do not count, by the reason.
fn notes(review: &Review, upkeep: &Upkeep) -> Vec<String> {
    let mut counts: Vec<(String, usize)> = Vec::new();
    for row in &review.daily.rows {
        let Standing::Note(why) = &row.standing else {
            continue;
        };
        let reason = upkeep
            .log
            .get(row.entry)
            .and_then(|e| e.set_aside.as_deref());
        let why = words::why_words(why, reason);
        match counts.iter_mut().find(|(known, _)| *known == why) {
            Some((_, n)) => *n += 1,
            None => counts.push((why, 1)),
        }
    }
    let counts = counts.into_iter();
    counts
        .map(|(why, n)| match n {
            1 => format!("One entry is kept as a note: {why}"),
            n => format!("{n} entries are kept as notes: {why}"),
        })
        .collect()
}

impl LampRecord {
    fn new(lamp: &LampTrend, review: &Review, upkeep: &Upkeep, units: Units) -> Self {
        let slope = lamp.slope.as_ref().ok();
        let mut says = vec![words::slope_words(lamp)];
        says.extend(words::exponential_words(lamp));
        says.extend(words::offset_words(lamp, review, upkeep, units));
        Self {
            since: day(lamp.since).unwrap_or_default(),
            readings: lamp.readings,
            level_mw_cm2: rounded(lamp.now.value),
            level_interval_mw_cm2: [rounded(lamp.now.low), rounded(lamp.now.high)],
            per_month_percent: slope.map(|s| percent(s.per_month.value)),
            per_month_interval_percent: slope.map(|s| between(s.per_month)),
            per_1000_h_percent: slope.and_then(|s| Some(percent(s.per_1000_hours?.value))),
            noise_percent: percent(lamp.noise.deviation),
            steps: (lamp.offsets.iter())
                .map(|offset| StepRecord {
                    on: day(offset.day).unwrap_or_default(),
                    found: offset.cause == Cause::Found,
                    percent: percent(offset.size.value),
                    interval_percent: between(offset.size),
                })
                .collect(),
            says,
        }
    }
}

impl OutlookRecord {
    fn new(trend: &Trend) -> Option<Self> {
        let empty = Self {
            kind: "",
            on: None,
            earliest: None,
            latest: None,
            until: None,
            lamp_hours: None,
            says: words::outlook_words(trend)?,
        };
        Some(match trend.outlook? {
            Outlook::Reached { since, .. } => Self {
                kind: "reached",
                on: day(since),
                ..empty
            },
            Outlook::Reaches(passage) => Self {
                kind: "reaches",
                on: day(passage.day),
                earliest: day(passage.earliest),
                latest: passage.latest.and_then(day),
                until: day(passage.until),
                lamp_hours: passage.hours.map(|(median, ..)| rounded(median)),
                ..empty
            },
            Outlook::NotInSight {
                until, earliest, ..
            } => Self {
                kind: "not in sight",
                earliest: earliest.and_then(day),
                until: day(until),
                ..empty
            },
            Outlook::TooLittle(_) => Self {
                kind: "too little is known",
                ..empty
            },
        })
    }
}

/// Headings of the log's table; irradiance in this unit.
pub fn log_headings(units: Units) -> [String; 7] {
    let unit = units.irradiance.symbol();
    [
        "Day and time".to_owned(),
        format!("Read, {unit}"),
        format!("On the limits' scale, {unit}"),
        "Radiometer".to_owned(),
        "Lamp hours".to_owned(),
        "By".to_owned(),
        "Stands".to_owned(),
    ]
}

/// A row of the log's table.
pub fn log_row(review: &Review, upkeep: &Upkeep, row: usize, units: Units) -> Option<[String; 7]> {
    let row = review.daily.rows.get(row)?;
    let entry = upkeep.log.get(row.entry)?;
    let show = |e: f64| units.irradiance.show(e, None);
    let carried = match row.standing {
        Standing::Counts {
            irradiance, added, ..
        } if added > 0.0 => {
            let decimals = units
                .irradiance
                .decimals(irradiance, Some(added * irradiance));
            let fixed = |e: f64| crate::units::fixed(units.irradiance.from_mw_cm2(e), decimals);
            format!(
                "{} \u{b1} {}",
                fixed(irradiance),
                fixed(2.0 * added * irradiance)
            )
        }
        Standing::Counts { irradiance, .. } => show(irradiance),
        Standing::Note(_) => "\u{2013}".to_owned(),
    };
    let mut stands = words::standing_words(&row.standing, entry.set_aside.as_deref());
    if !entry.note.trim().is_empty() {
        stands = format!("{stands}; {}", entry.note.trim());
    }
    Some([
        words::moment_words(entry.at),
        show(entry.irradiance),
        carried,
        entry.radiometer.clone(),
        entry
            .lamp_hours
            .map(|h| crate::units::fixed(h, 0))
            .unwrap_or_default(),
        entry.by.clone(),
        stands,
    ])
}

/// Whether a row is to be seen at once: it lies outside, or does not count.
pub fn stands_out(standing: &Standing) -> bool {
    !matches!(
        standing,
        Standing::Counts {
            side: Side::Inside | Side::NoWindow,
            outside: false,
            ..
        }
    )
}
