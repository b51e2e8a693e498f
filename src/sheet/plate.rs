//! The plate that locates the detector on paper: how it is made and where its bores are, then each plate at true scale over
//! as many sheets as it needs, to be put together to a template.

mod tiles;

use super::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use super::figure;
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::table::{Column, Stand, Table};
use super::title::{Title, radiometer_fields};
use super::words::recorded;
use crate::geometry::{Bounds, Footprint, Point, Shape};
use crate::probing::plate::Plates;
use crate::record::{PlatesRecord, too_near_in_words, troubles_in_words};
use crate::station::{LocatedBy, Station};
use crate::units::LengthUnit;

/// What the pages are made of.
#[derive(Debug, Clone, Copy)]
pub struct PlateSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// Its plates.
    pub plates: &'a Plates,
    /// For lengths.
    pub length: LengthUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// The pages: for each plate its drawing and its bores, the cautions, then each plate at true scale.
pub fn plate_pages(sheet: &PlateSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    let cut: Vec<_> = (0..sheet.plates.count())
        .map(|plate| tiles::cut(&drawing(sheet, plate), sheet.paper))
        .collect();
    for (plate, tiles) in cut.iter().enumerate() {
        if plate > 0 {
            flow.next_page();
        }
        overview(sheet, plate, tiles, &mut flow);
    }
    flow::cautions(&mut flow);
    let pages = cut.iter().enumerate().flat_map(|(plate, tiles)| {
        let said = heading(sheet, plate);
        tiles.iter().map(move |tile| tile.page(&said, sheet.paper))
    });
    let pages = pages.collect();
    flow.finish_before(pages)
}

fn heading(sheet: &PlateSheet<'_>, plate: usize) -> String {
    format!(
        "Template: {}, plate {} of {}",
        sheet.station.name,
        plate + 1,
        sheet.plates.count()
    )
}

fn title(sheet: &PlateSheet<'_>) -> Title {
    let (station, plates) = (sheet.station, sheet.plates);
    let mm = sheet.length;
    let (width, depth) = plates.outline.shape.size();
    let mut about = vec![
        ("Fixture", recorded(&station.fixture.name)),
        ("Plates", plates.count().to_string()),
        (
            "Size",
            format!("{} x {}", mm.show(width), mm.show_with_unit(depth)),
        ),
        ("Bores", bore(sheet)),
        ("Least between two", mm.show_with_unit(plates.bores.web)),
    ];
    let radiometer = station.plan_radiometer();
    let mut with = radiometer_fields(radiometer);
    with.truncate(3);
    about.truncate(5);
    Title {
        document: "Locating plate",
        subject: station.name.clone(),
        columns: vec![
            about,
            with,
            vec![
                ("Material", String::new()),
                ("Thickness", String::new()),
                ("Made by, date", String::new()),
            ],
        ],
        later: vec![
            ("Fixture", recorded(&station.fixture.name)),
            (
                "Radiometer",
                radiometer.map_or_else(|| recorded(""), |r| recorded(&r.name)),
            ),
        ],
    }
}

/// `Ø 25.5 mm, 0.5 mm wider than the detector`.
fn bore(sheet: &PlateSheet<'_>) -> String {
    let (mm, plates) = (sheet.length, sheet.plates);
    let size = match plates.openings.first().map(|opening| &opening.shape) {
        Some(Shape::Circle { diameter }) => format!("Ø {}", mm.show_with_unit(*diameter)),
        Some(shape) => {
            let (width, depth) = shape.size();
            format!("{} x {}", mm.show(width), mm.show_with_unit(depth))
        }
        None => String::new(),
    };
    format!(
        "{size}, {} wider than the detector",
        mm.show_with_unit(plates.bores.clearance)
    )
}

/// The drawing at a round scale with the sheets of the template, what is to be known, and the bores.
fn overview(sheet: &PlateSheet<'_>, plate: usize, tiles: &[tiles::Tile], flow: &mut Flow<'_>) {
    let (left, right) = (flow.left(), flow.right());
    flow.heading(
        &format!("Plate {} of {}", plate + 1, sheet.plates.count()),
        80.0,
    );
    let mut drawing = drawing(sheet, plate);
    if tiles.len() > 1 {
        drawing.items.extend(tiles.iter().map(|tile| Item::Path {
            points: around(tile.trimmed),
            closed: true,
            role: Role::Face,
        }));
    }
    let said = said(sheet, plate, tiles.len());
    let text: f64 = said.iter().map(|s| flow.paragraph_height(s)).sum();
    let room = (flow.room() - text - 30.0).clamp(60.0, 120.0);
    let top = flow.y;
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
    flow.titled_table("Bores, from the datum", &table(sheet, plate));
}

fn said(sheet: &PlateSheet<'_>, plate: usize, tiles: usize) -> Vec<String> {
    let (station, plates, mm) = (sheet.station, sheet.plates, sheet.length);
    let lies = match station.plan.plate {
        None => "The plate lies on the pallet, without parts.",
        Some(_) => "The plate takes the pallet's place, the pallet out.",
    };
    let located = match (plates.bores.located, station.plan.plate) {
        (LocatedBy::Edges, None) => {
            "Its front and left edges are flush with those of the pallet.".to_owned()
        }
        (LocatedBy::Edges, Some(at)) => format!(
            "Its front left corner is at x {}, y {} from the datum; the dashed line is where the pallet's rim lies.",
            mm.show_with_unit(at.corner.x),
            mm.show_with_unit(at.corner.y)
        ),
        (LocatedBy::Pins { diameter, at }, _) => format!(
            "Two pins of {} at x {}, y {} and at x {}, y {} hold it.",
            mm.show_with_unit(diameter),
            mm.show(at.0.x),
            mm.show_with_unit(at.0.y),
            mm.show(at.1.x),
            mm.show_with_unit(at.1.y)
        ),
    };
    let mut said = vec![format!(
        "{lies} {located} The detector stands in its bore on what lies below, with the plan's spacer under it; the plate must \
         not be thicker than leaves the aperture free."
    )];
    if plates.count() > 1 && plate == 0 {
        let fewest = if plates.fewest {
            "fewer plates won't do"
        } else {
            "fewer plates were not found"
        };
        said.push(format!(
            "The bores of {} would overlap or leave less than {} between them, so the positions are shared out over {} plates; \
             {fewest}.",
            too_near_in_words(plates),
            mm.show_with_unit(plates.bores.web),
            plates.count()
        ));
    }
    if plate == 0 {
        said.extend(
            troubles_in_words(station, plates, mm)
                .into_iter()
                .map(|trouble| format!("{trouble}.")),
        );
    }
    said.push(format!(
        "The template at true scale takes {} at the end of this document: print at 100 %, never fitted to the page, and measure \
         its bar of 100 mm first. It is for marking out and drilling, or to place the detector with the lamp off; paper does not \
         belong under the light.",
        match tiles {
            1 => "one sheet".to_owned(),
            n => format!("{n} sheets, put together as the dashed lines show,"),
        }
    ));
    said
}

fn table(sheet: &PlateSheet<'_>, plate: usize) -> Table {
    let mm = sheet.length;
    let record = PlatesRecord::new(sheet.station, sheet.plates);
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    let symbol = mm.symbol();
    let bores = record.bores.iter().filter(|bore| bore.plate == plate + 1);
    let bores: Vec<_> = bores.collect();
    // three to a line: there are many, and each says little
    const BESIDE: usize = 3;
    let each = bores.len().div_ceil(BESIDE);
    let mut columns = Vec::new();
    for _ in 0..BESIDE {
        columns.extend([
            column("Position".to_owned(), 14.0, Stand::Left),
            column(format!("x, {symbol}"), 11.0, Stand::Point),
            column(format!("y, {symbol}"), 11.0, Stand::Point),
            column(format!("Wide, {symbol}"), 12.0, Stand::Point),
        ]);
    }
    let rows = (0..each).map(|row| {
        let cells = (0..BESIDE).flat_map(|block| match bores.get(block * each + row) {
            Some(bore) => [
                bore.position.clone(),
                mm.show(bore.x_mm),
                mm.show(bore.y_mm),
                mm.show(bore.width_mm),
            ],
            None => [const { String::new() }; 4],
        });
        cells.collect()
    });
    Table {
        rows: rows.collect(),
        columns,
        row_height: 4.6,
        ruled: true,
    }
}

/// One plate in true millimetres from the datum.
fn drawing(sheet: &PlateSheet<'_>, plate: usize) -> Drawing {
    let plates = sheet.plates;
    let path = |footprint: &Footprint, role| Item::Path {
        points: footprint.outline(),
        closed: true,
        role,
    };
    let mut items = vec![path(&plates.outline, Role::Fixture)];
    if sheet.station.plan.plate.is_some() {
        items.push(path(&sheet.station.fixture.footprint(), Role::Plate));
    }
    items.extend(plates.cut_outs.iter().map(|c| path(c, Role::Cut)));
    items.extend(plates.pins.iter().map(|pin| path(pin, Role::Cut)));
    let bored = plates.bored(plate);
    items.extend(bored.iter().map(|i| path(&plates.openings[*i], Role::Cut)));
    let middles = bored.iter().map(|i| plates.openings[*i].centre);
    let pins = plates.pins.iter().map(|pin| pin.centre);
    items.extend(middles.chain(pins).map(|at| Item::Mark {
        at,
        form: MarkForm::Plus,
        role: Role::Cut,
    }));
    items.push(Item::Mark {
        at: Point::new(0.0, 0.0),
        form: MarkForm::Ring,
        role: Role::Datum,
    });
    items.extend(plates.engraved(plate).iter().map(|text| Item::Label {
        at: text.at,
        text: text.text.clone(),
        anchor: Anchor::Centre,
        role: Role::Engraved,
    }));
    Drawing {
        bounds: plates.outline.bounds().grown(3.0),
        items,
    }
}

fn around(bounds: Bounds) -> Vec<Point> {
    vec![
        bounds.min,
        Point::new(bounds.max.x, bounds.min.y),
        bounds.max,
        Point::new(bounds.min.x, bounds.max.y),
    ]
}
