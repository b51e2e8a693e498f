//! Pages and tables of an invented station, held against files under `tests/golden`. After a change
//! that is meant: `UPDATE_GOLDEN=1 cargo test --test core golden_pages`, then read the difference.

use std::path::Path;

use evenfield::assess::Answer;
use evenfield::assess::limits::{Class, Verdict};
use evenfield::export::{PdfOptions, field_csv, pdf, pixels, plan_csv, plate_dxf, svg};
use evenfield::geometry::{Point, Shape};
use evenfield::probing::plate::Plates;
use evenfield::record::PlanRecord;
use evenfield::sheet::against::Against;
use evenfield::sheet::colour::ColourMap;
use evenfield::sheet::drawing::Item;
use evenfield::sheet::map::{MapSheet, map_pages};
use evenfield::sheet::page::{Page, PageItem, PaperSize};
use evenfield::sheet::plan::{PlanSheet, plan_pages};
use evenfield::sheet::plate::{PlateSheet, plate_pages};
use evenfield::sheet::posted::{StationSheet, station_pages};
use evenfield::station::{Bores, LocatedBy, PlanLayout, Plate, Reference, Station};
use evenfield::units::{IrradianceUnit, LengthUnit};

mod made_up;

use made_up::{answer, circles, judged, raster, station, terms};

const LEVELS: [f64; 6] = [80.0, 90.0, 100.0, 110.0, 120.0, 130.0];

fn map_of(station: &Station, answer: &Answer, change: impl Fn(&mut MapSheet<'_>)) -> Vec<Page> {
    map_against(station, answer, None, change)
}

fn map_against(
    station: &Station,
    answer: &Answer,
    against: Option<&Against>,
    change: impl Fn(&mut MapSheet<'_>),
) -> Vec<Page> {
    let outline = station.fixture.footprint();
    let raster = raster(&outline, 4.0);
    let contours = circles(&outline, &LEVELS);
    let mut sheet = MapSheet {
        against,
        outlook: None,
        uncertainty: None,
        station,
        answer,
        raster: &raster,
        contours: &contours,
        length: LengthUnit::Mm,
        irradiance: IrradianceUnit::MilliwattPerCm2,
        paper: PaperSize::A4,
        version: "0.0.0",
        colours: ColourMap::Cividis,
        range: None,
    };
    change(&mut sheet);
    map_pages(&sheet)
}

fn plan_of(station: &Station, length: LengthUnit, paper: PaperSize) -> Vec<Page> {
    plan_pages(&PlanSheet {
        station,
        record: &PlanRecord::new(station),
        length,
        irradiance: IrradianceUnit::MilliwattPerCm2,
        paper,
        version: "0.0.0",
    })
}

fn station_sheet_of(
    station: &Station,
    answer: &Answer,
    length: LengthUnit,
    paper: PaperSize,
) -> Vec<Page> {
    station_pages(&StationSheet {
        station,
        answered: Some((answer, None)),
        length,
        irradiance: IrradianceUnit::MilliwattPerCm2,
        paper,
        version: "0.0.0",
    })
}

/// What a page says, in the order in which it is written.
fn said(pages: &[Page]) -> String {
    let mut lines = String::new();
    for item in pages.iter().flat_map(|p| &p.items) {
        if let PageItem::Text { text, .. } = item {
            lines.push_str(text);
            lines.push('\n');
        }
    }
    lines
}

/// Embedded fonts and pictures are not for reading.
fn readable(svg: &str) -> String {
    let mut parts = svg.split("base64,");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let end = part.find([')', '"']).unwrap_or(part.len());
        text.push_str("base64,...");
        text.push_str(&part[end..]);
    }
    text
}

fn hold(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/golden")
        .join(name);
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, text).expect("the golden file can be written");
        return;
    }
    let golden = std::fs::read_to_string(&path).expect("the golden file is there");
    let differs = golden.lines().zip(text.lines()).position(|(a, b)| a != b);
    if let Some(line) = differs {
        panic!(
            "{name}:{}: was\n  {}\nis now\n  {}",
            line + 1,
            golden.lines().nth(line).unwrap_or_default(),
            text.lines().nth(line).unwrap_or_default()
        );
    }
    assert_eq!(golden.lines().count(), text.lines().count(), "{name}");
}

#[test]
fn the_map_and_the_plan_look_as_they_did() {
    let station = station();
    let map = map_of(&station, &answer(&station), |_| {});
    hold("map.txt", &said(&map));
    hold("map-1.svg", &readable(&svg(&map[0])));
    let plan = plan_of(&station, LengthUnit::Mm, PaperSize::A4);
    hold("plan.txt", &said(&plan));
    hold("plan-1.svg", &readable(&svg(&plan[0])));
}

#[test]
fn the_map_against_its_limits_looks_as_it_did() {
    let station = station();
    let mut answer = answer(&station);
    let judged = judged(&answer);
    assert_eq!(judged.verdict, Verdict::Fails);
    answer.judged = Some(Ok(judged));
    let outline = station.fixture.footprint();
    let fine = raster(&outline, 2.0);
    let against = Against::new(&fine, &outline, &terms(), answer.calibration);
    assert!(Class::ALL.into_iter().all(|class| against.has(class)));
    let pages = map_against(&station, &answer, Some(&against), |_| {});
    hold("limits.txt", &said(&pages));
    let is_drawn_on =
        |page: &&Page| said(std::slice::from_ref(*page)).contains("where one of these ends");
    let page = pages.iter().find(is_drawn_on).expect("the map is drawn");
    hold("limits.svg", &readable(&svg(page)));
    let posted = station_sheet_of(&station, &answer, LengthUnit::Mm, PaperSize::A4);
    hold("sheet.txt", &said(&posted));
}

#[test]
fn tables_for_other_programs_read_as_they_did() {
    let station = station();
    hold("plan.csv", &plan_csv(&PlanRecord::new(&station)));
    hold(
        "field.csv",
        &field_csv(&raster(&station.fixture.footprint(), 20.0)),
    );
}

/// The invented station read with the pallet out on plates, its detector as wide as the positions are near.
fn on_plates() -> Station {
    let mut station = station();
    station.radiometers[0].body = Shape::Circle { diameter: 34.0 };
    station.plan.layout = PlanLayout::Grid {
        columns: 5,
        rows: 4,
        margin: 6.0,
    };
    station.plan.plate = Some(Plate {
        corner: Point::new(-30.0, -30.0),
        width: 240.0,
        depth: 180.0,
    });
    station.plan.bores = Some(Bores {
        located: LocatedBy::Pins {
            diameter: 6.0,
            at: (Point::new(-20.0, -20.0), Point::new(200.0, -20.0)),
        },
        ..Bores::default()
    });
    station.plan.reference = Some(Reference {
        position: "B3".to_owned(),
        height: 20.0,
        every: Some(12),
    });
    station.plan.heights = vec![20.0, 30.0, 45.0];
    station
}

/// `tests/reference/plates.py` reads these with other programs. The PDF is written anew with the others, and not compared:
/// its bytes hang on the machine's arithmetic.
#[test]
fn a_plan_on_plates_reads_and_is_drawn_as_it_was() {
    let station = on_plates();
    let record = PlanRecord::new(&station);
    assert_eq!(record.warnings, Vec::<String>::new());
    let plates = Plates::of(&station).expect("plates");
    assert!(
        plates.count() == 2 && plates.troubles.is_empty(),
        "{:?}",
        plates.troubles
    );
    let json = serde_json::to_string_pretty(&record).expect("text");
    hold("plan-plates.json", &format!("{json}\n"));
    let fixture = station.fixture.footprint();
    for (plate, name) in [(0, "plate.dxf"), (1, "plate-2.dxf")] {
        hold(name, &plate_dxf(&plates, plate, Some(&fixture)));
    }
    let pages = plate_pages(&PlateSheet {
        station: &station,
        plates: &plates,
        length: LengthUnit::Mm,
        paper: PaperSize::A4,
        version: "0.0.0",
    });
    hold("plates.txt", &said(&pages));
    let options = PdfOptions {
        title: "Locating plate".to_owned(),
        creator: "Evenfield 0.0.0".to_owned(),
        date: None,
    };
    let bytes = pdf(&pages, &options).expect("written");
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/plate.pdf");
        std::fs::write(path, &bytes).expect("written");
    }
    let plan = plan_of(&station, LengthUnit::Mm, PaperSize::A4);
    hold("plan-plates.txt", &said(&plan));
    hold("plan-plates.csv", &plan_csv(&record));
}

/// The bar that a person measures before a template is used, in the page as it is painted: 10 pixels a millimetre.
#[test]
fn the_bar_of_a_template_is_100_mm_on_paper() {
    let station = on_plates();
    let plates = Plates::of(&station).expect("plates");
    for paper in [PaperSize::A4, PaperSize::Letter] {
        let pages = plate_pages(&PlateSheet {
            station: &station,
            plates: &plates,
            length: LengthUnit::Mm,
            paper,
            version: "0.0.0",
        });
        let template = pages.last().expect("a page");
        let painted = pixels(template, 254.0).expect("painted");
        let (width, height) = paper.size();
        assert_eq!(
            [painted.width, painted.height],
            [width, height].map(|mm| (10.0 * mm).round() as u32)
        );
        let from = 4 * (162 * painted.width) as usize;
        let row = &painted.rgba[from..from + 4 * painted.width as usize];
        let black: Vec<bool> = row.chunks_exact(4).map(|pixel| pixel[0] < 128).collect();
        let first = black.iter().position(|black| *black).expect("the bar");
        let long = black[first..].iter().take_while(|black| **black).count();
        assert!(first.abs_diff(120) <= 1, "{first}");
        assert!(long.abs_diff(1000) <= 1, "{long}");
    }
}

#[test]
fn the_legend_names_only_what_the_map_shows() {
    let mut station = station();
    let answer = answer(&station);
    let legend = |station: &Station| said(&map_of(station, &answer, |_| {}));
    assert!(
        legend(&station).contains("Dots: readings at this height; crosses: readings left out.")
    );
    for reading in &mut station.surveys[0].readings {
        reading.excluded = None;
    }
    assert!(legend(&station).contains("Dots: readings at this height. "));
    station.surveys[0].readings.retain(|r| r.height != 20.0);
    assert!(legend(&station).contains("No readings at this height; they are at 30 mm."));
    for (i, reading) in station.surveys[0].readings.iter_mut().enumerate() {
        reading.height = [10.0, 30.0, 40.0][i % 3];
    }
    assert!(legend(&station).contains("they are at 10, 30 and 40 mm."));
}

#[test]
fn fixed_colours_are_those_of_the_map_and_the_sheet_says_what_they_leave_out() {
    let station = station();
    let answer = answer(&station);
    let pages = map_of(&station, &answer, |sheet| sheet.range = Some([95.0, 105.0]));
    let drawings = pages[0].items.iter().filter_map(|item| match item {
        PageItem::Drawing(placed) => Some(&placed.drawing),
        _ => None,
    });
    let scales: Vec<(f64, f64)> = drawings
        .flat_map(|drawing| &drawing.items)
        .filter_map(|item| match item {
            Item::Field { scale, .. } => Some((scale.low, scale.high)),
            _ => None,
        })
        .collect();
    assert_eq!(scales, [(95.0, 105.0)]);
    let text = said(&pages).replace('\n', " ");
    assert!(text.contains("The colours go from 95.00 to 105.0 mW/cm², whatever the map. Parts of the map are below and above that"), "{text}");
    let own = said(&map_of(&station, &answer, |_| {}));
    assert!(!own.contains("The colours go from"));
}

#[test]
fn a_pdf_has_the_same_bytes_twice() {
    let station = station();
    let options = PdfOptions {
        title: "Map".to_owned(),
        creator: "Evenfield 0.0.0".to_owned(),
        date: Some(jiff::civil::date(2026, 11, 12).at(9, 30, 0, 0)),
    };
    let make = || pdf(&map_of(&station, &answer(&station), |_| {}), &options).expect("written");
    assert_eq!(make(), make());
}

#[test]
fn a_family_without_bounds_says_so_and_so_does_an_unknown_calibration() {
    let station = station();
    let mut answer = answer(&station);
    for spot in [&mut answer.coldest, &mut answer.hottest] {
        spot.at_least_absolute = None;
        spot.at_most_absolute = None;
    }
    let text = said(&map_of(&station, &answer, |_| {}));
    assert!(text.contains("not proven: the uncertainty of the radiometer's calibration"));
    for spot in [&mut answer.coldest, &mut answer.hottest] {
        spot.at_least = None;
        spot.at_most = None;
        spot.uncertainty = None;
    }
    answer.governing.irradiance = None;
    let text = said(&map_of(&station, &answer, |_| {}));
    assert!(text.contains("none: this model has no assured minimum"));
    assert!(text.contains("not proven: the rule asks for the assured minimum"));
}

#[test]
fn nothing_is_written_beyond_the_paper() {
    let mut station = station();
    station.name =
        "A station whose name somebody made very long so as to say all of it at once".into();
    station.surveys[0].name =
        "the-survey-after-the-lamp-and-the-window-were-changed-in-November".into();
    for (paper, length) in [
        (PaperSize::A4, LengthUnit::Mm),
        (PaperSize::Letter, LengthUnit::Inch),
    ] {
        let mut pages = map_of(&station, &answer(&station), |sheet| {
            sheet.paper = paper;
            sheet.length = length;
        });
        pages.extend(plan_of(&station, length, paper));
        pages.extend(station_sheet_of(&station, &answer(&station), length, paper));
        let on_plates = on_plates();
        pages.extend(plan_of(&on_plates, length, paper));
        pages.extend(plate_pages(&PlateSheet {
            station: &on_plates,
            plates: &Plates::of(&on_plates).expect("plates"),
            length,
            paper,
            version: "0.0.0",
        }));
        for page in &pages {
            for item in &page.items {
                let PageItem::Text {
                    x,
                    y,
                    text,
                    size,
                    align,
                    ..
                } = item
                else {
                    continue;
                };
                let width = evenfield::sheet::text::width(text, *size);
                let left = match align {
                    evenfield::sheet::page::Align::Left => *x,
                    evenfield::sheet::page::Align::Centre => x - 0.5 * width,
                    evenfield::sheet::page::Align::Right => x - width,
                };
                assert!(
                    left >= 5.0 && left + width <= page.width - 5.0,
                    "{text:?} from {left} to {}",
                    left + width
                );
                assert!(*y > 5.0 && *y < page.height - 5.0, "{text:?} at {y}");
            }
        }
    }
}
