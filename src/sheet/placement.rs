//! An arrangement on paper: the drawing with every part, its coordinates from the datum, and with what confidence all of
//! them lie inside the limits.

use super::against::Against;
use super::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use super::figure;
use super::flow::Flow;
use super::page::{Page, PaperSize};
use super::picture::{Layers, Picture};
use super::table::{Column, Stand, Table};
use super::title::{Title, source};
use super::words::recorded;
use crate::geometry::{Footprint, Point, Shape};
use crate::placement::{Asked, Bound, Placed, Usable, Wish};
use crate::record::{
    PlacementRecord, best_words, confidence_words, decimals_by_bound, method_words,
    parts_per_hour_words,
};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// What the pages are made of.
#[derive(Debug, Clone, Copy)]
pub struct PlacementSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// What was asked.
    pub asked: &'a Asked,
    /// The arrangement.
    pub placed: &'a Placed,
    /// What is said of it.
    pub record: &'a PlacementRecord,
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// The pages.
pub fn placement_pages(sheet: &PlacementSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    let said = said(sheet);
    let text: f64 = said.iter().map(|s| flow.paragraph_height(s)).sum();
    let room = (flow.room() - text - 6.0).max(60.0);
    let drawing = drawing(sheet.station, sheet.asked, sheet.placed);
    flow.y = figure::put(
        flow.page(),
        drawing,
        (left, right),
        (top, room),
        sheet.length,
        None,
    );
    for sentence in &said {
        flow.paragraph(sentence);
    }
    flow.heading("Parts", 40.0);
    flow.table(&table(sheet));
    for warning in &sheet.record.warnings {
        flow.paragraph(&format!("{warning}."));
    }
    flow.finish()
}

/// What is said below the drawing.
fn said(sheet: &PlacementSheet<'_>) -> Vec<String> {
    let (mm, record) = (sheet.length, sheet.record);
    let mut said = vec![
        "Coordinates are of the middle of each part, from the datum: the fixture's front left corner, x to the right, y to \
         the back. The number is the rank: a pallet that is not full is filled from 1 on."
            .to_owned(),
    ];
    if let Some(l) = &sheet.placed.lattice {
        let shifted = match record.lattice.as_ref().map(|l| l.shifted) {
            Some("rows") => "; every other row is shifted by half a pitch",
            Some("columns") => "; every other column is shifted by half a pitch",
            _ => "",
        };
        said.push(format!(
            "Pitch {} along x and {} along y{shifted}.",
            mm.show_with_unit(l.pitch_x),
            mm.show_with_unit(l.pitch_y)
        ));
    }
    if let Some(verdict) = record.verdict {
        let share = (sheet.placed.confidence).map_or_else(String::new, |share| {
            format!(", by {} of possible fields", confidence_words(share))
        });
        said.push(format!(
            "All parts inside the limits at once: {verdict}{share}."
        ));
    }
    if let Wish::Count(_, best) = sheet.asked.ask.wish {
        said.push(format!(
            "So many were asked for, and are placed for the {}.",
            best_words(best)
        ));
    }
    if !sheet.asked.stay.is_empty() {
        let names: Vec<&str> = sheet.asked.stay.iter().map(|s| s.name.as_str()).collect();
        said.push(format!(
            "Sites that stay where they are: {}. They are not among the parts below.",
            names.join(", ")
        ));
    }
    if let Some(words) = parts_per_hour_words(sheet.asked, record.count) {
        said.push(format!("Of these parts in an hour {words}."));
    }
    if let Some(Bound {
        count: bound,
        method,
    }) = sheet.placed.bound
    {
        let method = method_words(method, mm);
        said.push(if record.optimal {
            format!("No arrangement of this kind holds more than these {bound} parts ({method}).")
        } else {
            format!("No arrangement of this kind holds more than {bound} parts ({method}).")
        });
    }
    said
}

fn title(sheet: &PlacementSheet<'_>) -> Title {
    let (station, record) = (sheet.station, sheet.record);
    let (mm, unit) = (sheet.length, sheet.irradiance);
    let part = match sheet.asked.ask.part.shape {
        Shape::Circle { diameter } => format!("diameter {}", mm.show_with_unit(diameter)),
        _ => format!(
            "{} x {}",
            mm.show(record.part.width_mm),
            mm.show_with_unit(record.part.depth_mm)
        ),
    };
    let limit = |value: Option<f64>| {
        value.map_or_else(|| "none".to_owned(), |v| unit.show_with_unit(v, None))
    };
    Title {
        later: vec![
            ("Fixture", recorded(&station.fixture.name)),
            ("Part", part.clone()),
        ],
        document: "Placement",
        subject: station.name.clone(),
        columns: vec![
            vec![
                ("Fixture", recorded(&station.fixture.name)),
                ("Source", source(station)),
                ("Survey", recorded(&record.survey)),
                (
                    "Working distance",
                    mm.show_with_unit(record.working_distance_mm),
                ),
            ],
            vec![
                ("Part", part),
                ("Parts", record.count.to_string()),
                ("Clearance", mm.show_with_unit(record.part.clearance_mm)),
                (
                    "Tolerance of place",
                    mm.show_with_unit(record.part.tolerance_mm),
                ),
            ],
            vec![
                ("Bond line", mm.show_with_unit(record.height_mm)),
                ("Lower limit", limit(record.limits.lower_mw_cm2)),
                ("Upper limit", limit(record.limits.upper_mw_cm2)),
            ],
        ],
    }
}

/// The fixture with the parts of an arrangement, each with its rank.
pub fn drawing(station: &Station, asked: &Asked, placed: &Placed) -> Drawing {
    let layers = Layers {
        sites: false,
        ..Layers::FIXTURE
    };
    let mut drawing = Picture::bare(station, layers).drawing(&|_| String::new());
    drawing.items.extend(parts(asked, placed));
    drawing
}

/// The parts of an arrangement with their ranks, and the sites that stay with their names.
pub fn parts(asked: &Asked, placed: &Placed) -> Vec<Item> {
    let label = |at: Point, text: String| Item::Label {
        at,
        text,
        anchor: Anchor::Above,
        role: Role::Site,
    };
    let stay = asked.stay.iter().flat_map(|site| {
        let name = label(site.footprint.bounds().centre(), site.name.clone());
        [path(&site.footprint, Role::Site), name]
    });
    let each = placed.sites.iter().flat_map(|site| {
        let outline = path(&asked.ask.part.at(site.centre, site.turned), Role::Site);
        let mark = Item::Mark {
            at: site.centre,
            form: MarkForm::Plus,
            role: Role::Site,
        };
        [outline, mark, label(site.centre, site.rank.to_string())]
    });
    stay.chain(each).collect()
}

/// The usable part of the pallet as a map of classes: of a part whose centre is there.
pub fn usable(usable: &Usable, outline: &Footprint) -> Against {
    Against::of_margins(&usable.raster, outline, &usable.margins, Vec::new())
}

fn path(footprint: &Footprint, role: Role) -> Item {
    Item::Path {
        points: footprint.outline(),
        closed: true,
        role,
    }
}

fn table(sheet: &PlacementSheet<'_>) -> Table {
    let (mm, unit) = (sheet.length, sheet.irradiance);
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    // all with the digits that the coldest part's bound earns
    let coldest = (sheet.placed.sites.iter()).min_by(|a, b| a.coldest.total_cmp(&b.coldest));
    let decimals = coldest.map_or(1, |s| decimals_by_bound(unit, s.coldest, s.assured));
    let show = |e: f64| fixed(unit.from_mw_cm2(e), decimals);
    let maybe = |e: Option<f64>| e.map_or_else(|| "–".to_owned(), show);
    let mut sites: Vec<_> = sheet.placed.sites.iter().collect();
    sites.sort_by_key(|s| s.rank);
    let rows = sites.into_iter().map(|s| {
        vec![
            s.rank.to_string(),
            mm.show(s.centre.x),
            mm.show(s.centre.y),
            if s.turned {
                "90°".to_owned()
            } else {
                "0°".to_owned()
            },
            show(s.coldest),
            maybe(s.assured),
            show(s.hottest),
            maybe(s.at_most),
        ]
    });
    Table {
        rows: rows.collect(),
        columns: vec![
            column("Rank".to_owned(), 8.0, Stand::Point),
            column(format!("x, {}", mm.symbol()), 12.0, Stand::Point),
            column(format!("y, {}", mm.symbol()), 12.0, Stand::Point),
            column("Turned".to_owned(), 9.0, Stand::Left),
            column(format!("Coldest, {}", unit.symbol()), 14.0, Stand::Point),
            column("at least, 95 %".to_owned(), 14.0, Stand::Point),
            column(format!("Hottest, {}", unit.symbol()), 14.0, Stand::Point),
            column("at most, 95 %".to_owned(), 14.0, Stand::Point),
        ],
        row_height: 0.0,
        ruled: false,
    }
}
