//! One survey against another on paper: both maps on one scale, the local change, what is said of it, position by position.

mod pictures;

pub use pictures::{Pictures, local_ticks, pictures, scale};

use super::drawing::Drawing;
use super::figure::{self, ColourBar};
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::table::{Column, Stand, Table};
use super::title::{Title, source};
use super::words::recorded;
use crate::change::Change;
use crate::field::Map;
use crate::record::ChangeRecord;
use crate::record::change_words::Said;
use crate::record::{history_headings, history_rows};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// What the pages are made of.
#[derive(Debug, Clone, Copy)]
pub struct ChangeSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// The change.
    pub change: &'a Change,
    /// What is said of it.
    pub record: &'a ChangeRecord,
    /// The earlier and the later field at the change's height.
    pub maps: [&'a Map; 2],
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// The pages of a change.
pub fn change_pages(sheet: &ChangeSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    let said = Said {
        station: sheet.station,
        change: sheet.change,
        length: sheet.length,
    };
    flow.heading("Judgement", 10.0);
    flow.paragraph(&format!("{}.", sheet.record.judgement));
    let zones = sheet.change.cold.iter().filter_map(|z| said.face(z));
    for sentence in zones.chain(said.may_be()).chain(said.typical()) {
        flow.point(&sentence);
    }
    if let (Some(before), Some(after)) = (sheet.record.verdict_from, sheet.record.verdict_to) {
        flow.point(&format!("Verdict: {after}, before: {before}"));
    }
    if let Some(fading) = &sheet.record.fading {
        let [low, high] = fading.interval_percent_per_100_h;
        flow.point(&format!(
            "Fading: {} % per 100 h ({} to {} with 95 % confidence) over {} h",
            fixed(fading.percent_per_100_h, 2),
            fixed(low, 2),
            fixed(high, 2),
            fixed(fading.hours, 0)
        ));
    }
    let pictures = pictures(sheet.station, sheet.change, sheet.maps, sheet.irradiance);
    maps(sheet, &pictures, &mut flow);
    local(sheet, &pictures, &mut flow);
    history(sheet, &mut flow);
    flow.heading("What to do next", 6.0);
    for step in &sheet.record.next_steps {
        flow.point(step);
    }
    if !sheet.record.warnings.is_empty() {
        flow.heading("Be careful", 6.0);
        for warning in &sheet.record.warnings {
            flow.point(warning);
        }
    }
    flow::cautions(&mut flow);
    flow.titled_table("Position by position", &positions(sheet));
    flow.finish()
}

fn title(sheet: &ChangeSheet<'_>) -> Title {
    let station = sheet.station;
    let survey = |i: usize| station.survey_at(i);
    let about = |i: usize| {
        let survey = survey(i);
        let name = survey.map_or_else(String::new, |s| format!("{}, {}", s.name, s.date));
        let radiometer = survey.and_then(|s| s.radiometer.as_ref());
        let hours = survey.and_then(|s| s.state.lamp_hours);
        (
            name,
            radiometer.map_or_else(|| recorded(""), |r| recorded(&r.name)),
            hours.map_or_else(|| recorded(""), |h| format!("{} h", fixed(h, 0))),
        )
    };
    let (from, to) = (about(sheet.change.surveys.0), about(sheet.change.surveys.1));
    let short = vec![
        ("Earlier survey", from.0.clone()),
        ("Later survey", to.0.clone()),
    ];
    Title {
        document: "Change",
        subject: station.name.clone(),
        columns: vec![
            vec![
                ("Source", source(station)),
                ("Earlier survey", from.0),
                ("Radiometer", from.1),
                ("Lamp hours", from.2),
            ],
            vec![
                ("Fixture", recorded(&station.fixture.name)),
                ("Later survey", to.0),
                ("Radiometer", to.1),
                ("Lamp hours", to.2),
            ],
        ],
        later: short,
    }
}

/// Both maps side by side on one scale.
fn maps(sheet: &ChangeSheet<'_>, pictures: &Pictures, flow: &mut Flow<'_>) {
    const HEIGHT: f64 = 82.0;
    flow.heading("Earlier and later, on one scale", HEIGHT);
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    // the second has the colour bar of both
    let middle = left + 0.455 * (right - left);
    let bar = ColourBar {
        scale: pictures.scale,
        ticks: (pictures.levels.iter())
            .map(|&l| (l, sheet.irradiance.show(l, None)))
            .collect(),
        unit: sheet.irradiance.symbol(),
    };
    let mut bottom = top;
    for (drawing, ends, bar) in [
        (&pictures.fields[0], (left, middle), None),
        (&pictures.fields[1], (middle, right), Some(&bar)),
    ] {
        let drawing = Drawing::clone(drawing);
        let end = figure::put(flow.page(), drawing, ends, (top, HEIGHT), sheet.length, bar);
        bottom = bottom.max(end);
    }
    flow.y = bottom;
    flow.paragraph(&format!(
        "Irradiance at height {}: left {}, right {}.",
        sheet.length.show_with_unit(sheet.change.height),
        sheet.record.from,
        sheet.record.to
    ));
}

/// The local change.
fn local(sheet: &ChangeSheet<'_>, pictures: &Pictures, flow: &mut Flow<'_>) {
    const HEIGHT: f64 = 92.0;
    let change = sheet.change;
    let Some((drawing, scale)) = &pictures.local else {
        return;
    };
    flow.heading("Local change, beside what is common", HEIGHT);
    let bar = ColourBar {
        scale: *scale,
        ticks: (local_ticks(*scale).iter())
            .map(|&l| (l, fixed(l, 0)))
            .collect(),
        unit: "%",
    };
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    flow.y = figure::put(
        flow.page(),
        Drawing::clone(drawing),
        (left, right),
        (top, HEIGHT),
        sheet.length,
        Some(&bar),
    );
    flow.paragraph(&format!(
        "Percent at height {}, 0 in the middle of the colours; pale where it is not significant (false discovery rate {} %). Lines \
         run where a zone's change reaches {} %.",
        sheet.length.show_with_unit(change.height),
        fixed(100.0 * change.bars.false_share, 0),
        fixed(100.0 * change.bars.worth, 0)
    ));
}

/// All surveys against the earlier one.
fn history(sheet: &ChangeSheet<'_>, flow: &mut Flow<'_>) {
    let Some(history) = &sheet.record.history else {
        return;
    };
    let shares = [1.7, 0.8, 1.5, 1.4, 1.2];
    let headings = history_headings(sheet.irradiance);
    let columns = headings.into_iter().zip(shares).enumerate();
    let table = Table {
        columns: columns
            .map(|(i, (heading, share))| Column {
                heading,
                share,
                stand: if i == 1 { Stand::Point } else { Stand::Left },
            })
            .collect(),
        rows: (history_rows(history, sheet.irradiance).into_iter())
            .map(Vec::from)
            .collect(),
        row_height: 4.4,
        ruled: false,
    };
    flow.titled_table("All surveys against the earlier one", &table);
    flow.point(&history.trend_words());
    flow.point("Common change with 95 % confidence; each bound of coldest spot and nonuniformity with 95 % confidence");
    for why in &history.left_out {
        flow.point(why);
    }
}

fn positions(sheet: &ChangeSheet<'_>) -> Table {
    let column = |heading: &str, share: f64, stand: Stand| Column {
        heading: heading.to_owned(),
        share,
        stand,
    };
    let (mm, unit) = (sheet.length, sheet.irradiance);
    let rows = sheet.change.positions.iter().map(|p| {
        vec![
            p.position.clone(),
            format!("{}, {}", mm.show(p.at.x), mm.show(p.at.y)),
            mm.show(p.at.height),
            unit.show(p.before, None),
            unit.show(p.after, None),
            fixed(100.0 * p.change, 1),
            fixed(100.0 * p.local, 1),
            if p.significant {
                "yes".into()
            } else {
                String::new()
            },
        ]
    });
    Table {
        columns: vec![
            column("Position", 1.0, Stand::Left),
            column(&format!("x, y, {}", mm.symbol()), 1.3, Stand::Left),
            column(&format!("Height, {}", mm.symbol()), 0.9, Stand::Point),
            column(&format!("Before, {}", unit.symbol()), 1.1, Stand::Point),
            column(&format!("After, {}", unit.symbol()), 1.1, Stand::Point),
            column("Change, %", 1.0, Stand::Point),
            column("Local, %", 1.0, Stand::Point),
            column("Significant", 1.0, Stand::Left),
        ],
        rows: rows.collect(),
        row_height: 4.4,
        ruled: false,
    }
}
