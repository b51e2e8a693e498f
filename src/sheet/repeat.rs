//! A repeat study on paper: what the rounds have in common, what readings scatter by and how sure that is, the positions that
//! scatter most.

use super::flow::Flow;
use super::page::{Page, PaperSize};
use super::table::Table;
use super::title::{Title, source};
use super::words::recorded;
use crate::record::{
    COMPONENT_HEADINGS, ROUND_HEADINGS, RepeatRecord, component_rows, proposed_words, round_rows,
};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// What the pages are made of.
#[derive(Debug, Clone, Copy)]
pub struct RepeatSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// What was found.
    pub record: &'a RepeatRecord,
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// The pages of a study.
pub fn repeat_pages(sheet: &RepeatSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let record = sheet.record;
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    flow.titled_table(
        "What each round has in common, against the mean of all",
        &table(
            &ROUND_HEADINGS,
            &[1.6, 0.9, 1.0, 0.8, 1.7],
            &[3],
            round_rows(record).into_iter().map(Vec::from).collect(),
        ),
    );
    flow.paragraph(
        "Lamp and radiometer that day, all positions alike, with 95 % confidence. It is taken out of what follows.",
    );
    flow.titled_table(
        "What readings scatter by",
        &table(
            &COMPONENT_HEADINGS,
            &[3.4, 1.2, 1.2, 0.9, 1.1],
            &[1, 3, 4],
            component_rows(record).into_iter().map(Vec::from).collect(),
        ),
    );
    for note in &record.notes {
        flow.point(note);
    }
    flow.point(
        "Analysis of variance over all positions; intervals of one mean square by chi-square, of differences by modified large samples, of several components together from the ends of theirs",
    );
    flow.heading("What may be taken over from it", 8.0);
    let (of_field, reload) = proposed_words(record);
    flow.point(&of_field);
    if let Some(reload) = reload {
        flow.point(&reload);
    }
    let mm = sheet.length;
    let rows = record.largest_scatter.iter().map(|s| {
        vec![
            s.position.clone(),
            format!("{}, {}", mm.show(s.at.x_mm), mm.show(s.at.y_mm)),
            mm.show(s.at.height_mm),
            fixed(s.percent, 2),
            fixed(s.over_typical, 1),
        ]
    });
    let headings = [
        "Position".to_owned(),
        format!("x, y, {}", mm.symbol()),
        format!("Height, {}", mm.symbol()),
        "Standard deviation over the rounds, %".to_owned(),
        "Times that of all positions".to_owned(),
    ];
    let headings = headings.each_ref().map(String::as_str);
    flow.titled_table(
        "Positions that scatter most",
        &table(
            &headings,
            &[1.0, 1.3, 1.0, 1.4, 1.2],
            &[2, 3, 4],
            rows.collect(),
        ),
    );
    flow.finish()
}

fn table(headings: &[&str], shares: &[f64], by_point: &[usize], rows: Vec<Vec<String>>) -> Table {
    Table::to_read(headings, shares, by_point, 4.4, rows)
}

fn title(sheet: &RepeatSheet<'_>) -> Title {
    let (station, record) = (sheet.station, sheet.record);
    let count =
        |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let apart = match record.between {
        Some("days") => count(record.groups, "day", "days"),
        Some(_) => count(record.groups, "person", "people"),
        None => "one person".into(),
    };
    let rounds = count(record.rounds.len(), "round", "rounds");
    Title {
        document: "Repeat study",
        subject: station.name.clone(),
        columns: vec![
            vec![
                ("Source", source(station)),
                ("Fixture", recorded(&station.fixture.name)),
                ("Rounds", format!("{rounds}, {apart}")),
            ],
            vec![
                ("Settings of the pallet", record.settings.to_string()),
                ("Positions in all rounds", record.positions.to_string()),
                (
                    "Mean irradiance",
                    sheet.irradiance.show_with_unit(record.mean_mw_cm2, None),
                ),
            ],
        ],
        later: vec![("Rounds", rounds)],
    }
}
