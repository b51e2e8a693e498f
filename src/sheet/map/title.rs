//! What the title block of a map says.

use super::sheet::MapSheet;
use crate::sheet::title::{Title, radiometer_fields, source};
use crate::sheet::words::{self, NOT_RECORDED, recorded};
use crate::station::Survey;

pub(super) fn title(sheet: &MapSheet<'_>, survey: Option<&Survey>) -> Title {
    let (station, mm) = (sheet.station, sheet.length);
    let radiometer = survey.and_then(|s| s.radiometer.as_ref());
    let state = survey.map(|s| &s.state);
    let face = survey.map_or(station.source.face_height, |s| s.face_height(station));
    let number = |value: Option<f64>, unit: &str| {
        value.map_or_else(|| NOT_RECORDED.to_owned(), |v| format!("{v} {unit}"))
    };
    let text =
        |pick: fn(&Survey) -> &str| survey.map_or_else(|| recorded(""), |s| recorded(pick(s)));
    let date = survey.map_or_else(|| recorded(""), |s| s.date.to_string());
    Title {
        document: "Map of irradiance",
        subject: station.name.clone(),
        later: vec![
            ("Survey", text(|s| &s.name)),
            ("Date", date.clone()),
            ("Map at height", mm.show_with_unit(sheet.raster.height)),
            (
                "Radiometer",
                radiometer.map_or_else(|| recorded(""), |r| recorded(&r.name)),
            ),
        ],
        columns: vec![
            vec![
                ("Survey", text(|s| &s.name)),
                ("Date", date),
                ("Operator", text(|s| &s.operator)),
                ("Fixture", recorded(&station.fixture.name)),
                ("Source", source(station)),
                ("Map at height", mm.show_with_unit(sheet.raster.height)),
            ],
            radiometer_fields(radiometer),
            vec![
                ("Face height", mm.show_with_unit(face)),
                (
                    "Working distance",
                    format!(
                        "{} at this height",
                        mm.show_with_unit(face - sheet.raster.height)
                    ),
                ),
                ("Drive", text(|s| &s.state.drive)),
                ("Lamp serial", text(|s| &s.state.lamp_serial)),
                ("Lamp hours", number(state.and_then(|s| s.lamp_hours), "h")),
                ("On for", number(state.and_then(|s| s.minutes_on), "min")),
                ("Shutter, filter, window", text(|s| &s.state.in_the_way)),
                (
                    "Pallet",
                    state
                        .map_or(NOT_RECORDED, |s| words::pallet(s.pallet))
                        .to_owned(),
                ),
            ],
        ],
    }
}
