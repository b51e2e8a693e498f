//! The station sheet: one page that hangs where parts are cured. It says with what, where and what has to be read, how the
//! station is set up, what to do when a reading lies outside, and has lines for daily readings. What has no data yet is a
//! blank to fill in.
//!
//! What belongs on it, and what to do when a reading lies outside, is common practice, no source.

use super::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use super::figure;
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::picture::{Layers, Picture};
use super::table::{Column, Stand, Table};
use super::title::{Title, radiometer_fields, source};
use super::words::{NOT_RECORDED, coordinates, position, recorded};
use crate::assess::Answer;
use crate::assess::limits::{Judged, MonitorAnswer, Outlook, Verdict, Window};
use crate::geometry::Place;
use crate::station::limits::Kept;
use crate::station::{Radiometer, Station, Survey};
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// What the page is made of.
#[derive(Debug, Clone, Copy)]
pub struct StationSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// What is said of its survey and what hangs on it; `None` before there are readings.
    pub answered: Option<(&'a Answer, Option<&'a Outlook>)>,
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// Height of the drawing, mm.
const FIGURE: f64 = 66.0;
/// Share of the width for the text beside it.
const TEXT: f64 = 0.48;
/// Height of a row to write in, and of a line, mm.
const ROW: f64 = 7.2;
/// Fewer rows than this on the first page are not worth a table there.
const FEW: usize = 2;
/// Rows of a table on a page of its own, in each of two blocks.
const ON_ANOTHER_PAGE: usize = 30;

/// The page; a further one with lines for daily readings where the first has no room for them.
pub fn station_pages(sheet: &StationSheet<'_>) -> Vec<Page> {
    let title = sheet.title();
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    sheet.must_read(&mut flow);
    sheet.otherwise(&mut flow);
    flow::cautions(&mut flow);
    sheet.daily(&mut flow);
    flow.finish()
}

impl<'a> StationSheet<'a> {
    fn survey(&self) -> Option<&'a Survey> {
        let (answer, _) = self.answered?;
        self.station.survey_at(answer.survey)
    }

    fn judged(&self) -> Option<&'a Judged> {
        self.answered?.0.judged()
    }

    fn monitor(&self) -> Option<&'a MonitorAnswer> {
        self.answered?.1?.monitor.as_ref()
    }

    /// What must be read at the monitor position, as it is written; `None` where that can't be said.
    fn window(&self) -> Option<Window> {
        let window = self.monitor()?.window.as_ref().ok()?.written();
        window.is_open().then_some(window)
    }

    fn radiometer(&self) -> Option<&'a Radiometer> {
        match self.survey() {
            Some(survey) => survey.radiometer.as_ref(),
            None => self.station.plan_radiometer(),
        }
    }

    fn title(&self) -> Title {
        let (station, mm) = (self.station, self.length);
        let survey = self.survey();
        let state = survey.map(|s| &s.state);
        let face = survey.map_or(station.source.face_height, |s| s.face_height(station));
        let said = |pick: fn(&Survey) -> &str| {
            survey.map_or_else(String::new, |s| pick(s).trim().to_owned())
        };
        let number = |value: Option<f64>, unit: &str| {
            value.map_or_else(String::new, |v| format!("{v} {unit}"))
        };
        let exposure = self.judged().and_then(|j| j.terms.exposure_s);
        let pair = radiometer_fields(self.radiometer());
        let at_bond = self.answered.map(|(answer, _)| answer.coldest.at.height);
        let mut title = Title {
            document: "Station sheet",
            subject: station.name.clone(),
            later: vec![
                ("Fixture", recorded(&station.fixture.name)),
                ("Source", source(station)),
                (
                    "Radiometer",
                    self.radiometer()
                        .map_or_else(|| recorded(""), |r| recorded(&r.name)),
                ),
            ],
            columns: vec![
                vec![
                    ("Fixture", recorded(&station.fixture.name)),
                    ("Source", source(station)),
                    (
                        "Survey",
                        survey.map_or_else(String::new, |s| format!("{}, {}", s.name, s.date)),
                    ),
                    ("Lamp serial", said(|s| &s.state.lamp_serial)),
                    ("Lamp changed on", String::new()),
                    ("Valid from", String::new()),
                    ("Approved by", String::new()),
                ],
                pair,
                vec![
                    ("Face height", mm.show_with_unit(face)),
                    (
                        "Working distance",
                        at_bond.map_or_else(String::new, |h| {
                            format!("{} to the bond", mm.show_with_unit(face - h))
                        }),
                    ),
                    ("Exposure time", number(exposure, "s")),
                    ("Drive", said(|s| &s.state.drive)),
                    (
                        "Warm up",
                        number(state.and_then(|s| s.minutes_on), "min at least"),
                    ),
                    ("Shutter, filter, window", said(|s| &s.state.in_the_way)),
                ],
            ],
        };
        // what was not recorded is a line to write it on
        let values = title.columns.iter_mut().flatten().map(|(_, value)| value);
        values
            .filter(|v| *v == NOT_RECORDED)
            .for_each(String::clear);
        title
    }

    /// Where the radiometer is put and what it has to show.
    fn must_read(&self, flow: &mut Flow<'_>) {
        let heading = match self.window() {
            Some(window) => format!("The radiometer must read {}", self.range(&window)),
            None => "The radiometer must read".to_owned(),
        };
        flow.heading(&heading, FIGURE);
        match self.judged().map(|j| j.verdict) {
            Some(Verdict::Meets) => {}
            Some(verdict) => flow.paragraph(&format!(
                "Not for production: by the survey named above the station {} its limits.",
                match verdict {
                    Verdict::Fails => "fails",
                    _ => "is not proven to meet",
                }
            )),
            None => flow.paragraph(
                "Not for production before limits are set and the verdict on them is 'meets': what is missing is left to fill in.",
            ),
        }
        let (left, right, top) = (flow.left(), flow.right(), flow.y);
        let middle = left + TEXT * (right - left);
        flow.within((left, middle), |flow| self.where_and_what(flow));
        let below = figure::put(
            flow.page(),
            self.drawing(),
            (middle, right),
            (top, FIGURE),
            self.length,
            None,
        );
        flow.y = flow.y.max(below);
    }

    /// The monitor position with what has to be read there, in words.
    fn where_and_what(&self, flow: &mut Flow<'_>) {
        let unit = self.irradiance;
        let mut pairs = Vec::new();
        match self.monitor() {
            Some(monitor) => {
                pairs.push(("Where".to_owned(), self.place(&monitor.name, monitor.at)));
                match (&monitor.window, self.window()) {
                    (_, Some(window)) => {
                        if let Some(set) = window.set {
                            pairs.push(("When set anew, to".to_owned(), unit.exact_with_unit(set)));
                        }
                    }
                    (Err(why), None) => pairs.push(("Must read".to_owned(), why.clone())),
                    (Ok(_), None) => {
                        pairs.push(("Must read".to_owned(), monitor.closed.join(". ")));
                    }
                }
            }
            None => {
                for label in ["Position, height and spacer", "At least", "At most"] {
                    flow.line_to_write_on(label, ROW);
                }
            }
        }
        if let (Some((answer, _)), Some(judged)) = (self.answered, self.judged()) {
            let spot = &answer.coldest;
            let site = spot
                .site
                .as_deref()
                .map_or_else(String::new, |s| format!("site {s}, "));
            let needed = judged.terms.lower.written;
            let needs = match &answer.bond {
                None => format!("needs {} or more", unit.exact_with_unit(needed)),
                Some(bond) => format!(
                    "needs {} or more at the bond, which is {} or more on a radiometer in the open there",
                    unit.exact_with_unit(needed),
                    unit.show_with_unit(needed * bond.open[0] / spot.irradiance, None)
                ),
            };
            pairs.push((
                "Now and then, too".to_owned(),
                format!(
                    "the coldest spot ({site}{}): one position can't see a dull reflector or dead emitters elsewhere; the part \
                     there {needs}",
                    coordinates(spot.at, self.length),
                ),
            ));
        }
        flow.pairs(&pairs);
        flow.line_to_write_on("How often, and by whom", ROW);
    }

    /// `125 to 151 mW/cm²`.
    fn range(&self, window: &Window) -> String {
        let unit = self.irradiance;
        match window.most {
            Some(most) => format!(
                "{} to {}",
                unit.exact(window.least),
                unit.exact_with_unit(most)
            ),
            None => format!("{} or more", unit.exact_with_unit(window.least)),
        }
    }

    /// The monitor position, and the spacer that brings the sensing plane to it.
    fn place(&self, name: &str, at: Place) -> String {
        let mm = self.length;
        let spacer = self.radiometer().map(|r| at.height - r.sensing_plane);
        let spacer = spacer.filter(|s| *s > 1e-9).map_or_else(String::new, |s| {
            format!("; on a spacer of {}", mm.show_with_unit(s))
        });
        format!("{} of the sensing plane{spacer}", position(name, at, mm))
    }

    /// The fixture with its sites and where the radiometer is put.
    fn drawing(&self) -> Drawing {
        let mut drawing = Picture::bare(self.station, Layers::FIXTURE).drawing(&|_| String::new());
        let mut mark = |at: Place, form, text: &str, anchor| {
            let (at, role) = (at.point(), Role::Position);
            drawing.items.push(Item::Mark { at, form, role });
            drawing.items.push(Item::Label {
                at,
                text: text.to_owned(),
                anchor,
                role,
            });
        };
        if let Some(monitor) = self.monitor() {
            mark(monitor.at, MarkForm::Plus, "read here", Anchor::Above);
        }
        if let Some((answer, _)) = self.answered {
            mark(answer.coldest.at, MarkForm::Cross, "coldest", Anchor::Below);
        }
        drawing
    }

    /// What to do when a reading lies outside.
    fn otherwise(&self, flow: &mut Flow<'_>) {
        flow.heading("When it reads otherwise", 24.0);
        flow.point("Stop. Parts cured since the last good reading are held until somebody who may decides on them.");
        flow.point(
            "Is it the reading? The radiometer and detector named above, in calibration, clean, level, on its spacer, at the \
             position; the source warmed up, the shutter fully open. Set the detector anew and read again.",
        );
        let set = self.window().and_then(|w| w.set);
        let until = set.map_or_else(String::new, |set| {
            format!(" until it reads {}", self.irradiance.exact_with_unit(set))
        });
        let kept = self.station.limits.as_ref().map(|l| l.kept);
        flow.point(&match kept {
            Some(Kept::OnlyFades) => "Too low: the lamp is not set anew here; change it.".to_owned(),
            _ => format!(
                "Too low: set the source anew (drive or distance){until}, then read the coldest spot as well. Beyond reach: change \
                 the lamp."
            ),
        });
        if let Some(restored) = self.restored().filter(|_| kept != Some(Kept::OnlyFades)) {
            flow.point(&restored);
        }
        flow.point(&format!(
            "Too high: lower the drive, or move the source away{until}; look at parts that were cured too bright for damage."
        ));
        flow.point(
            "After another lamp, reflector, window, height, pallet or radiometer pair: map the field again before production, and \
             write the date of the change above.",
        );
    }

    /// Which face height restores the reading of a faded lamp.
    fn restored(&self) -> Option<String> {
        let outlook = self.answered?.1?;
        let mm = self.length;
        let each: Vec<String> = (outlook.distances.restored.iter())
            .filter_map(|r| {
                let face = mm.show_with_unit(r.face_height?);
                Some(format!("by {} % {face}", fixed(r.faded_percent, 0)))
            })
            .collect();
        (!each.is_empty()).then(|| {
            format!(
                "By distance: the reading of a lamp that has faded comes back with the face at these heights: {}.",
                each.join(", ")
            )
        })
    }

    /// Lines to write daily readings on.
    fn daily(&self, flow: &mut Flow<'_>) {
        let column = |heading: &str, share| Column {
            heading: heading.to_owned(),
            share,
            stand: Stand::Left,
        };
        let reading = format!("Reading, {}", self.irradiance.symbol());
        let columns = || {
            vec![
                column("Date, time", 22.0),
                column(&reading, 16.0),
                column("Lamp hours", 12.0),
                column("By", 9.0),
                column("Note", 22.0),
            ]
        };
        let table = |rows: usize| Table {
            columns: columns(),
            rows: vec![vec![String::new(); 5]; rows],
            row_height: ROW,
            ruled: true,
        };
        let heading = "Daily readings";
        let head = flow.beginning(&table(0), 2) + 12.0;
        let here = ((flow.room() - head) / ROW).max(0.0) as usize;
        let rows = if here >= FEW { here } else { ON_ANOTHER_PAGE };
        flow.heading(
            heading,
            flow.beginning(&table(2 * rows), 2)
                .min(flow.empty_page() - 20.0),
        );
        flow.table_in(&table(2 * rows), 2);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::page::PageItem;

    fn words(pages: &[Page]) -> String {
        let texts = pages.iter().flat_map(|p| &p.items).filter_map(|i| match i {
            PageItem::Text { text, .. } => Some(text.as_str()),
            _ => None,
        });
        texts.collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn before_any_reading_it_is_a_page_of_blanks_with_the_cautions() {
        let station = Station::new(
            "Bench",
            crate::geometry::Shape::Rectangle {
                width: 120.0,
                depth: 80.0,
            },
            60.0,
        );
        let pages = station_pages(&StationSheet {
            station: &station,
            answered: None,
            length: LengthUnit::Mm,
            irradiance: IrradianceUnit::MilliwattPerCm2,
            paper: PaperSize::A4,
            version: "test",
        });
        assert_eq!(pages.len(), 1);
        let said = words(&pages);
        for part in [
            "Station sheet",
            "Not for production",
            "At least",
            "When it reads otherwise",
            crate::sheet::cautions::CAUTIONS[8],
            "Daily readings",
        ] {
            assert!(said.contains(part), "{part}: {said}");
        }
        assert!(!said.contains(NOT_RECORDED), "{said}");
    }
}
