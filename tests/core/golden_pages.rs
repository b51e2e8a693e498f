//! Pages and tables of an invented station, held against files under `tests/golden`. After a change
//! that is meant: `UPDATE_GOLDEN=1 cargo test --test core golden_pages`, then read the difference.

use std::path::Path;
use std::sync::Arc;

use evenfield::assess::{Answer, ColdestReading, Governing, SiteAnswer, Spot, Uniformity};
use evenfield::export::{PdfOptions, field_csv, pdf, plan_csv, svg};
use evenfield::field::{self, Contour, HoldOutScore, LeaveOneOut, Raster};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::sheet::colour::ColourMap;
use evenfield::sheet::map::{MapSheet, map_pages};
use evenfield::sheet::page::{Page, PageItem, PaperSize};
use evenfield::sheet::plan::{PlanSheet, plan_pages};
use evenfield::station::*;
use evenfield::units::{IrradianceUnit, LengthUnit};

/// Where the made-up lamp is brightest, how bright, and how wide.
const MIDDLE: Point = Point::new(95.0, 62.0);
const PEAK: f64 = 140.0;
const WIDTH: f64 = 90.0;

fn irradiance(p: Point) -> f64 {
    PEAK * (-0.5 * (p.distance(MIDDLE) / WIDTH).powi(2)).exp()
}

fn radiometer() -> Radiometer {
    Radiometer {
        name: "bench pair".to_owned(),
        meter_serial: "M-1042".to_owned(),
        detector_serial: "D-77".to_owned(),
        band: "320 to 390 nm".to_owned(),
        calibrated_against: "arc lamp".to_owned(),
        body: Shape::Circle { diameter: 16.0 },
        aperture_diameter: Some(5.0),
        sensing_plane: 12.0,
        angular_error_percent: None,
        resolution: Some(0.1),
        range: Some(500.0),
        calibrated_on: Some(jiff::civil::date(2026, 2, 2)),
        due: Some(jiff::civil::date(2027, 2, 1)),
        expanded_uncertainty_percent: Some(6.0),
        coverage_factor: 2.0,
    }
}

fn station() -> Station {
    let shape = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    let mut station = Station::new("Hollow Creek lids, lamp 2", shape, 75.0);
    station.source.name = "lamp 2".to_owned();
    station.source.kind = SourceKind::ReflectorArc;
    station.source.face = Some(Footprint::new(
        Shape::Rectangle {
            width: 150.0,
            depth: 100.0,
        },
        Point::new(90.0, 60.0),
    ));
    station.sites.push(SiteGroup {
        name: String::new(),
        shape: Shape::Rectangle {
            width: 30.0,
            depth: 22.0,
        },
        turn: 0.0,
        height: 20.0,
        layout: SiteLayout::Grid {
            first: Point::new(25.0, 20.0),
            columns: 4,
            rows: 3,
            pitch_x: 43.0,
            pitch_y: 40.0,
        },
    });
    station.keep_outs.push(KeepOut {
        name: "clamp".to_owned(),
        footprint: Footprint::new(Shape::Circle { diameter: 12.0 }, Point::new(90.0, 114.0)),
        bars: Bars::Both,
    });
    station.radiometers.push(radiometer());
    station.plan = Plan {
        heights: vec![20.0, 30.0],
        layout: PlanLayout::Grid {
            columns: 4,
            rows: 3,
            margin: 12.0,
        },
        radiometer: Some("bench pair".to_owned()),
    };
    let readings = station
        .planned_places()
        .into_iter()
        .enumerate()
        .map(|(i, (name, at))| Reading {
            position: name,
            excluded: (i == 4).then(|| "the detector had tilted".to_owned()),
            ..Reading::new(at, Some(irradiance(at.point())))
        })
        .collect();
    station.surveys.push(Survey {
        name: "12 Nov".to_owned(),
        date: jiff::civil::date(2026, 11, 12),
        operator: "T. A.".to_owned(),
        radiometer: Some(radiometer()),
        state: SourceState {
            drive: "80 %".to_owned(),
            lamp_serial: "L-5".to_owned(),
            lamp_hours: Some(312.0),
            minutes_on: Some(20.0),
            pallet: Pallet::Empty,
            ..SourceState::default()
        },
        notes: String::new(),
        readings,
    });
    station
}

fn raster(outline: &Footprint, step: f64) -> Arc<Raster> {
    let bounds = outline.bounds();
    let nodes = |extent: f64| (extent / step).round() as usize + 1;
    let (columns, rows) = (nodes(bounds.width()), nodes(bounds.depth()));
    let mut raster = Raster {
        columns,
        rows,
        origin: bounds.min,
        step_x: bounds.width() / (columns - 1) as f64,
        step_y: bounds.depth() / (rows - 1) as f64,
        height: 20.0,
        irradiance: Vec::new(),
        uncertainty: Vec::new(),
        extrapolated: Vec::new(),
    };
    for row in 0..rows {
        for column in 0..columns {
            let at = raster.node(column, row);
            let e = if outline.contains(at) {
                irradiance(at)
            } else {
                f64::NAN
            };
            raster.irradiance.push(e);
            raster.uncertainty.push(0.01 * e);
            raster.extrapolated.push(at.x < 8.0);
        }
    }
    Arc::new(raster)
}

/// Circles of equal irradiance, where they lie inside the outline.
fn circles(outline: &Footprint, levels: &[f64]) -> Vec<Contour> {
    let mut all = Vec::new();
    for &level in levels {
        let r = WIDTH * (2.0 * (PEAK / level).ln()).sqrt();
        let points: Vec<Point> = (0..=180)
            .map(|i| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 180.0).sin_cos();
                Point::new(MIDDLE.x + r * cos, MIDDLE.y + r * sin)
            })
            .collect();
        let runs = points.split(|&p| !outline.contains(p));
        all.extend(runs.filter(|run| run.len() > 1).map(|run| Contour {
            level,
            points: run.to_vec(),
        }));
    }
    all
}

fn spot(at: Place, site: Option<&str>) -> Spot {
    let e = irradiance(at.point());
    Spot {
        at,
        irradiance: e,
        uncertainty: Some(0.01 * e),
        at_least: Some(0.98 * e),
        at_most: Some(1.02 * e),
        at_least_absolute: Some(0.94 * e),
        at_most_absolute: Some(1.06 * e),
        extrapolated: false,
        site: site.map(str::to_owned),
    }
}

fn answer(station: &Station) -> Answer {
    let mut sites: Vec<SiteAnswer> = station
        .all_sites()
        .iter()
        .map(|site| {
            let by_distance = |far: bool| {
                site.footprint
                    .lattice(2.0)
                    .into_iter()
                    .max_by(|a, b| {
                        let order = a.distance(MIDDLE).total_cmp(&b.distance(MIDDLE));
                        if far { order } else { order.reverse() }
                    })
                    .expect("a site has points")
                    .at_height(site.height)
            };
            SiteAnswer {
                site: site.name.clone(),
                coldest: spot(by_distance(true), Some(&site.name)),
                mean: irradiance(site.footprint.centre),
                hottest: spot(by_distance(false), Some(&site.name)),
            }
        })
        .collect();
    sites.sort_by(|a, b| a.coldest.irradiance.total_cmp(&b.coldest.irradiance));
    let whole = |p: Point| spot(p.at_height(20.0), None);
    let coldest = sites
        .first()
        .map_or_else(|| whole(Point::new(0.0, 0.0)), |s| s.coldest.clone());
    let hottest = sites
        .iter()
        .map(|s| s.hottest.clone())
        .max_by(|a, b| a.irradiance.total_cmp(&b.irradiance))
        .unwrap_or_else(|| whole(MIDDLE));
    let (low, high) = (coldest.irradiance, hottest.irradiance);
    Answer {
        survey: 0,
        height: None,
        family: Family::OrdinaryKriging,
        scores: vec![
            HoldOutScore {
                family: field::Family::OrdinaryKriging,
                rms_percent: 0.9,
                log_density: Some(3.12),
                used: true,
            },
            HoldOutScore {
                family: field::Family::InverseDistance,
                rms_percent: 4.25,
                log_density: None,
                used: false,
            },
        ],
        governing: Governing {
            rule: GoverningRule::AssuredMinimum,
            irradiance: coldest.at_least,
            can_prove: true,
        },
        coldest_reading: ColdestReading {
            row: 0,
            position: "A1".to_owned(),
            at: Place::new(12.0, 12.0, 20.0),
            irradiance: irradiance(Point::new(12.0, 12.0)),
        },
        uniformity: Uniformity {
            mean: 0.5 * (low + high),
            min_over_mean: low / (0.5 * (low + high)),
            min_over_max: low / high,
            nonuniformity_percent: 100.0 * (high - low) / (high + low),
        },
        coldest,
        hottest,
        sites,
        leave_one_out: (0..23)
            .map(|row| {
                (
                    row,
                    LeaveOneOut {
                        predicted: 100.0,
                        standardised: Some(0.0),
                    },
                )
            })
            .collect(),
        noise: Some(0.008),
        calibration: Some(0.03),
        warnings: vec!["One reading is left out: the detector had tilted".to_owned()],
    }
}

const LEVELS: [f64; 6] = [80.0, 90.0, 100.0, 110.0, 120.0, 130.0];

fn map_of(station: &Station, answer: &Answer, change: impl Fn(&mut MapSheet<'_>)) -> Vec<Page> {
    let outline = station.fixture.footprint();
    let raster = raster(&outline, 4.0);
    let contours = circles(&outline, &LEVELS);
    let mut sheet = MapSheet {
        station,
        answer,
        raster: &raster,
        contours: &contours,
        length: LengthUnit::Mm,
        irradiance: IrradianceUnit::MilliwattPerCm2,
        paper: PaperSize::A4,
        version: "0.0.0",
        colours: ColourMap::Cividis,
    };
    change(&mut sheet);
    map_pages(&sheet)
}

fn plan_of(station: &Station, length: LengthUnit, paper: PaperSize) -> Vec<Page> {
    let route: Vec<usize> = (0..station.positions().len()).rev().collect();
    plan_pages(&PlanSheet {
        station,
        route: &route,
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
fn tables_for_other_programs_read_as_they_did() {
    let station = station();
    hold("plan.csv", &plan_csv(&station, &[2, 1, 0]));
    hold(
        "field.csv",
        &field_csv(&raster(&station.fixture.footprint(), 20.0)),
    );
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
    assert!(text.contains("none: this family has no assured minimum"));
    assert!(text.contains("none: the rule asks for the assured minimum"));
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
