//! How far off the map may be, drawn as it is seen in the window.

use super::sheet::{FIGURE_TEXT, MapSheet, ON_PAPER, bar_ticks};
use crate::field::{Map, round_levels};
use crate::sheet::colour::ColourScale;
use crate::sheet::figure::{self, ColourBar};
use crate::sheet::flow::Flow;
use crate::sheet::picture::{Picture, level_text};
use crate::units::{IrradianceUnit, fixed};

/// Values beside the bar of a fixed range, about.
const TICKS: usize = 8;
/// What the colours stand for is said as it is, in percent: a unit in which a value is itself.
const AS_IT_IS: IrradianceUnit = IrradianceUnit::MilliwattPerCm2;

/// The map of uncertainty with its colour bar.
pub(super) fn picture<'a>(sheet: &'a MapSheet<'_>, figure: f64, flow: &mut Flow<'a>) {
    let Some((map, range)) = sheet.uncertainty else {
        return;
    };
    let values = map.raster.range();
    let Some((scale, values)) = ColourScale::over(values, range, sheet.colours).zip(values) else {
        return;
    };
    flow.figure(FIGURE_TEXT + figure, move |flow| {
        put(sheet, (map, range), (scale, values), figure, flow);
    });
}

fn put(
    sheet: &MapSheet<'_>,
    (map, range): (&Map, Option<[f64; 2]>),
    (scale, values): (ColourScale, (f64, f64)),
    figure: f64,
    flow: &mut Flow<'_>,
) {
    let drawing = Picture {
        station: sheet.station,
        survey: Some(sheet.answer.survey),
        height: Some(map.raster.height),
        map: Some((&map.raster, scale)),
        unit: sheet.irradiance,
        contours: &map.contours,
        against: None,
        proposed: &[],
        answer: Some(sheet.answer),
        layers: ON_PAPER,
    }
    .drawing(&level_text(&map.levels, AS_IT_IS));
    let fixed_levels = range.map(|[low, high]| round_levels(low, high, TICKS));
    let bar = ColourBar {
        ticks: bar_ticks(
            fixed_levels.as_ref().unwrap_or(&map.levels),
            scale,
            AS_IT_IS,
        ),
        unit: "%",
        scale,
    };
    flow.heading("How far off the map may be", figure);
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    flow.y = figure::put(
        flow.page(),
        drawing,
        (left, right),
        (top, figure),
        sheet.length,
        Some(&bar),
    );
    let mut said = format!(
        "Expanded uncertainty of the map of irradiance at height {} in percent of it (k = 2), without the radiometer's \
         calibration uncertainty: from {} to {} %.",
        sheet.length.show_with_unit(map.raster.height),
        fixed(values.0, 1),
        fixed(values.1, 1)
    );
    if range.is_some() {
        said += &format!(
            " The colours go from {} to {} %, whatever the map.",
            fixed(scale.low, 1),
            fixed(scale.high, 1)
        );
        if let Some(beyond) = scale.left_out(values).words() {
            said += &format!(" {beyond}.");
        }
    }
    flow.paragraph(&said);
}
