//! One survey against another on paper: both maps on one scale, the local change, what is said of it, position by position.

use std::sync::Arc;

use super::colour::{ColourMap, ColourScale};
use super::drawing::{Drawing, Item, Role};
use super::figure::{self, ColourBar};
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::picture::{Layers, Picture, level_text};
use super::table::{Column, Stand, Table};
use super::title::{Title, source};
use super::words::recorded;
use crate::change::Change;
use crate::field::{Map, Raster, round_levels};
use crate::record::ChangeRecord;
use crate::record::change_words::Said;
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

const LAYERS: Layers = Layers {
    map: true,
    contours: true,
    face: false,
    sites: true,
    keep_outs: true,
    positions: false,
    bodies: false,
    readings: false,
    numbers: false,
    spots: false,
};

/// Colours of the local change: as far to one side as to the other, at least a whole practical threshold.
pub fn scale(change: &Change) -> Option<ColourScale> {
    let (low, high) = change.map.as_ref()?.range()?;
    let most = low
        .abs()
        .max(high.abs())
        .max(100.0 * change.bars.worth)
        .ceil();
    Some(ColourScale {
        low: -most,
        high: most,
        map: ColourMap::Change,
    })
}

/// The local change in percent over what lies on the fixture: strong colours where it is significant, pale ones elsewhere, lines
/// around zones. `None` where nothing can be said place by place.
pub fn difference(station: &Station, change: &Change) -> Option<Drawing> {
    let (raster, scale) = (change.map.as_ref()?, scale(change)?);
    let picture = Picture {
        station,
        survey: Some(change.surveys.1),
        height: Some(change.height),
        map: None,
        unit: IrradianceUnit::MilliwattPerCm2,
        contours: &[],
        against: None,
        proposed: &[],
        answer: None,
        layers: Layers {
            map: false,
            contours: false,
            ..LAYERS
        },
    };
    let mut drawing = picture.drawing(&|_| String::new());
    let strong: Vec<f64> = raster
        .irradiance
        .iter()
        .zip(&change.significant)
        .map(|(v, marked)| if *marked { *v } else { f64::NAN })
        .collect();
    let field = |irradiance: Vec<f64>, map: ColourMap| Item::Field {
        raster: Arc::new(Raster {
            irradiance,
            ..raster.clone()
        }),
        scale: ColourScale { map, ..scale },
    };
    let mut items = vec![field(raster.irradiance.clone(), ColourMap::ChangeMuted)];
    if change.significant.iter().any(|m| *m) {
        // beyond what was marked nothing is coloured strongly: each node stands for itself
        items.extend(
            cells(raster, &strong)
                .into_iter()
                .map(|values| field(values, ColourMap::Change)),
        );
    }
    let lines = change
        .cold
        .iter()
        .chain(&change.hot)
        .flat_map(|z| &z.outline);
    let lines = lines.map(|points| Item::Path {
        points: points.clone(),
        closed: false,
        role: Role::Border,
    });
    items.append(&mut drawing.items);
    items.extend(lines);
    drawing.items = items;
    Some(drawing)
}

/// The values that are drawn strongly; painters carry a rim's colour outwards, so what is pale keeps a value that has no colour.
fn cells(raster: &Raster, strong: &[f64]) -> Option<Vec<f64>> {
    (strong.len() == raster.irradiance.len()).then(|| {
        let each = strong.iter().zip(&raster.irradiance);
        each.map(|(s, all)| {
            if all.is_nan() {
                f64::NAN
            } else if s.is_nan() {
                f64::INFINITY
            } else {
                *s
            }
        })
        .collect()
    })
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
    for sentence in zones.chain(said.may_be()) {
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
    maps(sheet, &mut flow);
    local(sheet, &mut flow);
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
fn maps(sheet: &ChangeSheet<'_>, flow: &mut Flow<'_>) {
    const HEIGHT: f64 = 82.0;
    let ranges = sheet.maps.iter().filter_map(|m| m.raster.range());
    let range = ranges.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let Some(scale) = ColourScale::over(range, None, ColourMap::default()) else {
        return;
    };
    let levels = round_levels(scale.low, scale.high, 8);
    let text = level_text(&levels, sheet.irradiance);
    flow.heading("Earlier and later, on one scale", HEIGHT);
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    // the second has the colour bar of both
    let middle = left + 0.455 * (right - left);
    let mut bottom = top;
    for (i, map) in sheet.maps.iter().enumerate() {
        let index = if i == 0 {
            sheet.change.surveys.0
        } else {
            sheet.change.surveys.1
        };
        let drawing = Picture {
            station: sheet.station,
            survey: Some(index),
            height: Some(map.raster.height),
            map: Some((&map.raster, scale)),
            unit: sheet.irradiance,
            contours: &map.contours,
            against: None,
            proposed: &[],
            answer: None,
            layers: LAYERS,
        }
        .drawing(&text);
        let bar = ColourBar {
            scale,
            ticks: levels
                .iter()
                .map(|&l| (l, sheet.irradiance.show(l, None)))
                .collect(),
            unit: sheet.irradiance.symbol(),
        };
        let ends = if i == 0 {
            (left, middle)
        } else {
            (middle, right)
        };
        let bar = (i == 1).then_some(&bar);
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
fn local(sheet: &ChangeSheet<'_>, flow: &mut Flow<'_>) {
    const HEIGHT: f64 = 92.0;
    let change = sheet.change;
    let (Some(drawing), Some(scale)) = (difference(sheet.station, change), scale(change)) else {
        return;
    };
    flow.heading("Local change, beside what is common", HEIGHT);
    let levels = round_levels(scale.low, scale.high, 8);
    let bar = ColourBar {
        scale,
        ticks: levels.iter().map(|&l| (l, fixed(l, 0))).collect(),
        unit: "%",
    };
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    flow.y = figure::put(
        flow.page(),
        drawing,
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
