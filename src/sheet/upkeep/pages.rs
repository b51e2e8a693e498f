//! The pages of the irradiance log.

use jiff::civil::Date;

use super::graph;
use super::picture::LogPicture;
use crate::record::upkeep_words as words;
use crate::record::{log_headings, log_row};
use crate::sheet::flow::{Flow, cautions};
use crate::sheet::page::{Page, PaperSize};
use crate::sheet::table::Table;
use crate::sheet::title::{Title, source};
use crate::sheet::words::recorded;
use crate::station::{Happened, Station, Upkeep};
use crate::units::Units;
use crate::upkeep::{Due, Review, day_of, moment_of};

/// Height of the picture, mm.
const HEIGHT: f64 = 88.0;

/// What the pages are made of.
#[derive(Debug, Clone, Copy)]
pub struct LogSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// What the log tells.
    pub review: &'a Review,
    /// The first and the last day that is shown.
    pub period: (Option<Date>, Option<Date>),
    /// Units.
    pub units: Units,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

impl LogSheet<'_> {
    fn days(&self) -> (f64, f64) {
        let begin = self.period.0.map(|day| day_of(day.at(0, 0, 0, 0)));
        let end = self.period.1.map(|day| day_of(day.at(23, 59, 59, 0)));
        (
            begin.unwrap_or(f64::NEG_INFINITY),
            end.unwrap_or(f64::INFINITY),
        )
    }
}

/// The pages of a log over a period.
pub fn log_pages(sheet: &LogSheet<'_>) -> Vec<Page> {
    let upkeep = sheet.station.upkeep();
    let title = title(sheet, &upkeep);
    let (from, to) = sheet.days();
    let picture = LogPicture::of(
        &upkeep,
        &sheet.review.daily,
        Some(sheet.review),
        sheet.units,
    )
    .within(from, to);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    flow.heading("Readings at the monitor position", HEIGHT);
    let edges = (flow.left(), flow.right());
    let top = flow.y;
    graph::put(
        flow.page(),
        &picture,
        edges,
        (top, HEIGHT),
        sheet.units.irradiance,
    );
    flow.y += HEIGHT;
    flow.paragraph(&format!(
        "Dots are readings on the scale of the limits, in a ring where they lie outside; crosses are kept as notes. Lines: least, most and what to set at the monitor position; the lamp's level with its 95 % interval. {}; ! a sudden change that no event tells of.",
        words::EVENT_LETTERS
    ));
    today(&mut flow, sheet, &upkeep);
    trend(&mut flow, sheet, &upkeep);
    radiometers(&mut flow, sheet, &upkeep);
    events(&mut flow, sheet, &upkeep);
    rows(&mut flow, sheet, &upkeep);
    cautions(&mut flow);
    flow.finish()
}

fn today(flow: &mut Flow<'_>, sheet: &LogSheet<'_>, upkeep: &Upkeep) {
    let review = sheet.review;
    flow.heading(&format!("On {}", review.today), 8.0);
    for sentence in words::latest_words(review, upkeep, sheet.units) {
        flow.paragraph(&sentence);
    }
    if let Some(next) = words::next_words(review) {
        flow.paragraph(&next);
    }
    let (survey, now): (Vec<&Due>, Vec<&Due>) = review.due.iter().partition(|due| due.survey);
    for (heading, due) in [
        ("What is due", now),
        (
            "A whole survey is due, for since the one that judges",
            survey,
        ),
    ] {
        if due.is_empty() {
            continue;
        }
        flow.heading(heading, 5.0);
        for due in due {
            flow.point(&words::due_words(due, sheet.units));
        }
    }
}

fn trend(flow: &mut Flow<'_>, sheet: &LogSheet<'_>, upkeep: &Upkeep) {
    let review = sheet.review;
    flow.heading("Trend", 8.0);
    let trend = match &review.fading.trend {
        Ok(trend) => trend,
        Err(why) => {
            return flow.paragraph(&format!(
                "There is no trend: {}",
                words::refused_words(*why)
            ));
        }
    };
    if let Some(outlook) = words::outlook_words(trend) {
        flow.paragraph(&outlook);
    }
    for lamp in &trend.lamps {
        let since = moment_of(lamp.since).map_or_else(String::new, |at| at.date().to_string());
        flow.point(&format!(
            "Lamp since {since}, {} readings: {}",
            lamp.readings,
            words::slope_words(lamp)
        ));
        if let Some(fit) = words::exponential_words(lamp) {
            flow.point(&fit);
        }
        for offset in words::offset_words(lamp, review, upkeep, sheet.units) {
            flow.point(&offset);
        }
    }
    if let (Some(life), Some(share)) = (&review.fading.life, review.fading.share) {
        flow.point(&words::life_words(life, share, review.fading.by_hours));
    }
    flow.paragraph("The level comes from a state-space model of level and slope with noise that lasts; intervals hold what is not known of noise and curvature. Beside it the exponential by least squares on the logarithm (as IES TM-21-11 projects).");
}

fn radiometers(flow: &mut Flow<'_>, sheet: &LogSheet<'_>, upkeep: &Upkeep) {
    let daily = &sheet.review.daily;
    let rows: Vec<Vec<String>> = (daily.scales.all.iter())
        .map(|scale| {
            vec![
                scale.radiometer.clone(),
                scale
                    .since
                    .map_or_else(|| "before".to_owned(), |at| at.date().to_string()),
                scale
                    .due
                    .map_or_else(|| "not known".to_owned(), |d| d.to_string()),
                words::carried_words(scale, upkeep),
            ]
        })
        .collect();
    if !rows.is_empty() {
        let headings = [
            "Radiometer",
            "Calibration from",
            "Counts until",
            "Its readings",
        ];
        let table = table(
            &headings.map(str::to_owned),
            &[1.4, 1.0, 1.0, 3.4],
            &[],
            rows,
        );
        flow.titled_table("Radiometers", &table);
    }
    for (beside, compared) in upkeep.beside.iter().zip(&daily.comparisons) {
        flow.heading(
            &format!(
                "{}: {} and {} side by side",
                beside.on, beside.main, beside.stand_in
            ),
            8.0,
        );
        for sentence in words::comparison_words(compared, sheet.units) {
            flow.point(&sentence);
        }
    }
}

fn events(flow: &mut Flow<'_>, sheet: &LogSheet<'_>, upkeep: &Upkeep) {
    let (from, to) = sheet.days();
    let rows: Vec<Vec<String>> = (upkeep.events.iter())
        .filter(|event| (from..=to).contains(&day_of(event.at)))
        .map(|event| {
            let note = match &event.what {
                Happened::Other => String::new(),
                Happened::Calibrated(of) => {
                    let found = of
                        .found_percent
                        .map(|f| format!("found {}", words::signed_percent(f / 100.0, 1)));
                    let parts = [
                        Some(of.certificate.clone()).filter(|c| !c.is_empty()),
                        found,
                        Some(event.note.clone()).filter(|n| !n.is_empty()),
                    ];
                    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
                }
                _ => event.note.clone(),
            };
            vec![
                event.at.date().to_string(),
                words::event_words(event, sheet.units),
                event.by.clone(),
                note,
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    let headings = ["Day", "What happened", "By", "Note"].map(str::to_owned);
    flow.titled_table(
        "What happened",
        &table(&headings, &[0.9, 2.6, 0.5, 2.6], &[], rows),
    );
}

fn rows(flow: &mut Flow<'_>, sheet: &LogSheet<'_>, upkeep: &Upkeep) {
    let (from, to) = sheet.days();
    let daily = &sheet.review.daily;
    let shown = (0..daily.rows.len()).filter(|row| (from..=to).contains(&daily.rows[*row].day));
    let rows: Vec<Vec<String>> = shown
        .filter_map(|row| log_row(sheet.review, upkeep, row, sheet.units).map(Vec::from))
        .collect();
    if rows.is_empty() {
        return flow.paragraph("No reading was logged in this period.");
    }
    flow.titled_table(
        "The log",
        &table(
            &log_headings(sheet.units),
            &[1.3, 0.7, 1.05, 1.7, 0.6, 0.5, 1.35],
            &[1, 4],
            rows,
        ),
    );
}

fn table(headings: &[String], shares: &[f64], by_point: &[usize], rows: Vec<Vec<String>>) -> Table {
    Table::to_read(headings, shares, by_point, 4.2, rows)
}

fn title(sheet: &LogSheet<'_>, upkeep: &Upkeep) -> Title {
    let (station, terms) = (sheet.station, &sheet.review.terms);
    let show = |e: f64| sheet.units.irradiance.exact_with_unit(e);
    let window = terms.window.map_or_else(
        || "no limits".to_owned(),
        |w| words::window_words(w, sheet.units),
    );
    let set = terms.window.and_then(|w| w.set);
    let period = words::period_words(sheet.period.0, sheet.period.1);
    let every = upkeep.every.map_or_else(
        || "not said".to_owned(),
        |days| match days {
            1.0 => "day".to_owned(),
            days => format!("{} days", crate::units::trim_zeros(format!("{days:.1}"))),
        },
    );
    Title {
        document: "Irradiance log",
        subject: station.name.clone(),
        columns: vec![
            vec![
                ("Source", source(station)),
                ("Fixture", recorded(&station.fixture.name)),
                ("Radiometer", recorded(terms.main.as_deref().unwrap_or(""))),
            ],
            vec![
                ("Must read", window),
                ("Set to", set.map_or_else(|| "not said".to_owned(), show)),
                ("Read every", every),
            ],
            vec![
                ("Period", period.clone()),
                ("Entries", upkeep.log.len().to_string()),
                ("On", sheet.review.today.to_string()),
            ],
        ],
        later: vec![("Period", period), ("On", sheet.review.today.to_string())],
    }
}
