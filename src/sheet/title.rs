//! The title block: at the same place on each page of a document, so that a copied page still says
//! what it belongs to.

use super::page::{Align, Page};
use super::text;
use super::words::{self, NOT_RECORDED, recorded};
use crate::station::{Radiometer, Station};

/// What a title block says.
pub(super) struct Title {
    /// What the document is.
    pub(super) document: &'static str,
    /// What it is about.
    pub(super) subject: String,
    /// Columns of label and value; an empty value is a line to write on.
    pub(super) columns: Vec<Vec<(&'static str, String)>>,
    /// What of it stands on the further pages, too, so that a page on its own still says what it belongs to.
    pub(super) later: Vec<(&'static str, String)>,
}

const LABEL: f64 = 2.4;
const VALUE: f64 = 2.9;
const LINE: f64 = 3.7;
/// From one column's end to the next one's begin.
const GAP: f64 = 4.0;
/// A longer value would push the page's own matter off the page.
const MOST_LINES: usize = 3;

impl Title {
    /// Puts the block on a page between two edges from `top` down; returns its lower edge.
    pub(super) fn put(&self, page: &mut Page, left: f64, right: f64, top: f64) -> f64 {
        let y = self.name(page, left, right, top);
        let n = self.columns.len().max(1) as f64;
        let width = (right - left - GAP * (n - 1.0)) / n;
        let bottom = self
            .columns
            .iter()
            .enumerate()
            .map(|(i, column)| {
                let x = left + i as f64 * (width + GAP);
                column_of(page, column, x, width, y)
            })
            .fold(y, f64::max)
            + 2.6;
        page.line([left, bottom], [right, bottom], 0.4);
        bottom
    }

    /// Puts the short block of a further page; returns its lower edge.
    pub(super) fn put_later(&self, page: &mut Page, left: f64, right: f64, top: f64) -> f64 {
        let y = self.name(page, left, right, top);
        let n = self.later.len().max(1) as f64;
        let width = (right - left - GAP * (n - 1.0)) / n;
        let mut bottom = y;
        for (i, pair) in self.later.iter().enumerate() {
            let x = left + i as f64 * (width + GAP);
            let end = column_of(page, std::slice::from_ref(pair), x, width, y);
            bottom = bottom.max(end);
        }
        bottom += 2.6;
        page.line([left, bottom], [right, bottom], 0.4);
        bottom
    }

    /// What the document is and what it is about, with a line below; returns where that is.
    fn name(&self, page: &mut Page, left: f64, right: f64, top: f64) -> f64 {
        let mut y = top + 5.0;
        page.heavy(left, y, self.document, 4.6);
        let taken = text::width(self.document, 4.6) + 8.0;
        for (i, line) in capped(&self.subject, 4.0, right - left - taken)
            .into_iter()
            .enumerate()
        {
            if i > 0 {
                y += 4.8;
            }
            page.text(right, y, line, 4.0, Align::Right);
        }
        y += 2.2;
        page.line([left, y], [right, y], 0.4);
        y
    }
}

/// Writes a column from `top` down; returns its last baseline.
fn column_of(
    page: &mut Page,
    column: &[(&'static str, String)],
    x: f64,
    width: f64,
    top: f64,
) -> f64 {
    let labels = column
        .iter()
        .map(|(label, _)| text::width(label, LABEL))
        .fold(0.0, f64::max)
        + 2.0;
    let mut y = top;
    for (label, value) in column {
        if value.is_empty() {
            // room for handwriting
            y += 6.5;
            page.text(x, y, *label, LABEL, Align::Left);
            page.line([x + labels, y + 0.6], [x + width, y + 0.6], 0.15);
            continue;
        }
        y += LINE + 0.3;
        page.text(x, y, *label, LABEL, Align::Left);
        for (i, line) in capped(value, VALUE, width - labels).into_iter().enumerate() {
            if i > 0 {
                y += LINE;
            }
            page.text(x + labels, y, line, VALUE, Align::Left);
        }
    }
    y
}

/// Wrapped text of at most [`MOST_LINES`] lines; the last one says by `…` that there is more.
fn capped(value: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines = text::wrap(value, size, width);
    if lines.len() > MOST_LINES {
        lines.truncate(MOST_LINES);
        if let Some(last) = lines.last_mut() {
            while !last.is_empty() && text::width(&format!("{last}…"), size) > width {
                last.pop();
            }
            last.push('…');
        }
    }
    lines
}

/// Name and kind of the source.
pub(super) fn source(station: &Station) -> String {
    match (
        station.source.name.trim(),
        words::source_kind(station.source.kind),
    ) {
        ("", None) => recorded(""),
        ("", Some(kind)) => kind.to_owned(),
        (name, None) => name.to_owned(),
        (name, Some(kind)) => format!("{name}, {kind}"),
    }
}

/// What a title block says of a radiometer.
pub(super) fn radiometer_fields(radiometer: Option<&Radiometer>) -> Vec<(&'static str, String)> {
    let Some(r) = radiometer else {
        return vec![("Radiometer", NOT_RECORDED.to_owned())];
    };
    let day = |d: Option<jiff::civil::Date>| d.map_or_else(|| recorded(""), |d| d.to_string());
    vec![
        ("Radiometer", recorded(&r.name)),
        ("Meter serial", recorded(&r.meter_serial)),
        ("Detector serial", recorded(&r.detector_serial)),
        ("Band", recorded(&r.band)),
        ("Calibrated on", day(r.calibrated_on)),
        ("Calibration due", day(r.due)),
        ("Against", recorded(&r.calibrated_against)),
        (
            "Uncertainty",
            r.expanded_uncertainty_percent.map_or_else(
                || recorded(""),
                |u| format!("± {u} % (k = {})", r.coverage_factor),
            ),
        ),
    ]
}
