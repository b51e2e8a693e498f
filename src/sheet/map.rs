//! The map on paper: the drawing at a round scale, and everything that is said of the survey.

use super::colour::ColourScale;
use super::drawing::{Drawing, Item, Role};
use super::figure::{self, ColourBar};
use super::flow::{self, Flow};
use super::page::Page;
use super::picture::{Picture, level_text};
use crate::field::round_levels;
use crate::units::IrradianceUnit;

mod budget;
mod figures;
mod limits;
mod readings;
mod sheet;
mod title;
mod trials;
mod uncertainty;

pub use sheet::MapSheet;
use sheet::{ON_PAPER, bar_ticks};

/// The pages of a map. A survey that the station does not have leaves its fields `not recorded`.
pub fn map_pages(sheet: &MapSheet<'_>) -> Vec<Page> {
    let survey = sheet.station.survey_at(sheet.answer.survey);
    let title = title::title(sheet, survey);
    let trials = trials::of(sheet);
    let laid_out = |share: f64| {
        let mut flow = Flow::new(sheet.paper, &title, sheet.version);
        matter(sheet, trials.as_ref(), share * FIGURE, &mut flow);
        flow
    };
    // figures a little smaller where a page would be all but empty
    let mut best: Option<Flow<'_>> = None;
    for share in [1.0, 0.92, 0.84, 0.76, 0.68] {
        let flow = laid_out(share);
        if best
            .as_ref()
            .is_none_or(|best| flow.emptiest() > best.emptiest())
        {
            best = Some(flow);
        }
        if best.as_ref().is_some_and(|best| best.emptiest() >= FULL) {
            break;
        }
    }
    best.map_or_else(Vec::new, Flow::finish)
}

/// Height of a figure beside the first, with its axes, mm: two stand on a page with what is said of them.
const FIGURE: f64 = 96.0;
/// A page that is filled to less is looked on as all but empty.
const FULL: f64 = 0.35;

fn matter<'a>(
    sheet: &'a MapSheet<'_>,
    trials: Option<&'a trials::Ladder<'a>>,
    room: f64,
    flow: &mut Flow<'a>,
) {
    figure(sheet, flow);
    limits::verdict(sheet, flow);
    flow.heading("Irradiance", 20.0);
    flow.pairs(&figures::figures(sheet));
    if !sheet.answer.warnings.is_empty() {
        flow.heading("Be careful", 6.0);
        for warning in &sheet.answer.warnings {
            flow.point(warning);
        }
    }
    limits::picture(sheet, room, flow);
    uncertainty::picture(sheet, room, flow);
    if !sheet.answer.sites.is_empty() {
        flow.titled_table("Sites, coldest first", &figures::sites(sheet));
    }
    if let Some(ladder) = trials {
        ladder.picture(0.7 * room, flow);
    }
    budget::table(sheet, flow);
    figures::model(sheet, flow);
    flow::cautions(flow);
    readings::table(sheet, flow);
    flow.place_figures();
}

fn figure(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let levels: Vec<f64> = sheet.contours.iter().map(|c| c.level).collect();
    let said = level_text(&levels, sheet.irradiance);
    let values = sheet.raster.range();
    let scale = ColourScale::over(values, sheet.range, sheet.colours);
    let drawing = Picture {
        station: sheet.station,
        survey: Some(sheet.answer.survey),
        height: Some(sheet.raster.height),
        map: scale.map(|scale| (sheet.raster, scale)),
        unit: sheet.irradiance,
        contours: sheet.contours,
        against: None,
        proposed: &[],
        answer: Some(sheet.answer),
        layers: ON_PAPER,
    }
    .drawing(&said);
    let mut legend = legend(sheet, &drawing);
    if let Some((scale, beyond)) = scale.zip(values).filter(|_| sheet.range.is_some()) {
        legend += &fixed_colours(scale, beyond, sheet.irradiance);
    }
    let fixed_levels = sheet.range.map(|[low, high]| round_levels(low, high, 8));
    let bar = scale.map(|scale| ColourBar {
        ticks: bar_ticks(
            fixed_levels.as_ref().unwrap_or(&levels),
            scale,
            sheet.irradiance,
        ),
        unit: sheet.irradiance.symbol(),
        scale,
    });
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    // about half the page: figures and warnings stand with the map they belong to
    let room = (flow.room() * 0.62).max(60.0);
    flow.y = figure::put(
        flow.page(),
        drawing,
        (left, right),
        (top, room),
        sheet.length,
        bar.as_ref(),
    );
    flow.paragraph(&legend);
}

/// That the colours do not follow this map, and what they do not show of it.
fn fixed_colours(scale: ColourScale, values: (f64, f64), unit: IrradianceUnit) -> String {
    let mut said = format!(
        " The colours go from {} to {}, whatever the map.",
        unit.show(scale.low, None),
        unit.show_with_unit(scale.high, None)
    );
    if let Some(beyond) = scale.left_out(values).words() {
        said += &format!(" {beyond}.");
    }
    said
}

/// What the marks on the map are: only of those that are there.
fn legend(sheet: &MapSheet<'_>, drawing: &Drawing) -> String {
    let shown = |role| {
        let is = |item: &Item| matches!(item, Item::Mark { role: r, .. } if *r == role);
        drawing.items.iter().any(is)
    };
    let mut said = match (shown(Role::Reading), shown(Role::ReadingLeftOut)) {
        (true, true) => "Dots: readings at this height; crosses: readings left out.".to_owned(),
        (true, false) => "Dots: readings at this height.".to_owned(),
        (false, true) => "Crosses: readings at this height, left out.".to_owned(),
        (false, false) => format!(
            "No readings at this height; they are at {}.",
            heights(sheet)
        ),
    };
    if sheet.raster.extrapolated.contains(&true) {
        said += " Hatched: extrapolated, the readings say little there.";
    }
    said
}

/// The heights of the readings that count: `10, 20 and 30 mm`.
fn heights(sheet: &MapSheet<'_>) -> String {
    const MOST: usize = 6;
    let readings = sheet
        .station
        .surveys
        .get(sheet.answer.survey)
        .map_or(&[][..], |s| &s.readings);
    let counted = readings.iter().filter(|r| r.counted().is_some());
    let mut heights: Vec<f64> = counted.map(|r| r.height).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    match heights[..] {
        [] => "no other height".to_owned(),
        [low, .., high] if heights.len() > MOST => format!(
            "{} heights from {} to {}",
            heights.len(),
            sheet.length.show(low),
            sheet.length.show_with_unit(high)
        ),
        ref all => sheet.length.show_list(all),
    }
}
