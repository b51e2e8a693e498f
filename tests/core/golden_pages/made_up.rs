//! An invented station, its field in closed form, and an answer about it: nothing is fitted, so that
//! the pages change only when what draws them does.

use std::sync::Arc;

use evenfield::assess::limits::{
    Bounded, Dose, Fading, Judged, Line, Scale, Side, Terms, rounded_up, verdict,
};
use evenfield::assess::{Answer, ColdestReading, Governing, Lies, SiteAnswer, Spot, Uniformity};
use evenfield::field::{self, Contour, HoldOutScore, Raster};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::station::*;

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
        angular_response: Vec::new(),
        resolution: Some(0.1),
        range: Some(500.0),
        calibrated_on: Some(jiff::civil::date(2026, 2, 2)),
        due: Some(jiff::civil::date(2027, 2, 1)),
        expanded_uncertainty_percent: Some(6.0),
        coverage_factor: 2.0,
    }
}

pub fn station() -> Station {
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
        top: None,
        bond: None,
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
        height: None,
        stays: false,
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
        ..Plan::begin()
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
    station.surveys.push(
        Survey {
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
            began: None,
            reference: None,
            readings,
        }
        .into(),
    );
    station
}

pub fn raster(outline: &Footprint, step: f64) -> Arc<Raster> {
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
pub fn circles(outline: &Footprint, levels: &[f64]) -> Vec<Contour> {
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

pub fn answer(station: &Station) -> Answer {
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
                through: 1.0,
                open: None,
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
        detector: Default::default(),
        judged: None,
        survey: 0,
        height: None,
        family: Family::OrdinaryKriging,
        scores: vec![
            HoldOutScore {
                family: field::Family::OrdinaryKriging,
                rms_percent: 0.9,
                outer_ring_rms_percent: Some(2.1),
                log_density: Some(3.12),
                weight: 1.0,
            },
            HoldOutScore {
                family: field::Family::InverseDistance,
                rms_percent: 4.25,
                outer_ring_rms_percent: None,
                log_density: None,
                weight: 0.0,
            },
        ],
        governing: Governing {
            rule: GoverningRule::AssuredMinimum,
            irradiance: coldest.at_least,
            scale: Some(Scale::Relative),
            can_prove: true,
        },
        coldest_reading: ColdestReading {
            lies: Lies::Within,
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
        bond: None,
        leaning: None,
        coldest,
        hottest,
        sites,
        counted: 23,
        noise: Some(0.008),
        drift: None,
        calibration: Some(0.03),
        warnings: vec!["One reading is left out: the detector had tilted".to_owned()],
    }
}

/// Limits that the made-up field crosses on both sides.
pub fn terms() -> Terms {
    let lower = 59.1 * 1.5;
    let line = |value: f64, written: f64, scale: Scale| Line {
        value,
        written,
        scale,
    };
    Terms {
        least: 59.1,
        least_from: "typed, found with the same radiometer pair (bench pair)".to_owned(),
        exposure_s: Some(8.0),
        effective_s: Some(7.9),
        safety_factor_percent: 50.0,
        lower: line(lower, rounded_up(lower), Scale::Relative),
        upper: Some(line(132.0, 132.0, Scale::Absolute)),
        warnings: Vec::new(),
    }
}

/// The made-up answer held against them, by the program's own rule.
pub fn judged(answer: &Answer) -> Judged {
    let terms = terms();
    let upper = terms.upper.clone().expect("an upper limit");
    let (lower, most) = (terms.lower.value, upper.value);
    let cold = |s: &Spot| Bounded {
        at_least: s.at_least,
        at_most: s.at_most,
    };
    let hot = |s: &Spot| Bounded {
        at_least: s.at_least_absolute,
        at_most: s.at_most_absolute,
    };
    let rule = GoverningRule::AssuredMinimum;
    let allowances = Default::default();
    let of = |c: &Spot, h: &Spot| verdict(rule, cold(c), hot(h), lower, Some(most), allowances);
    let percent = |e: Option<f64>, limit: f64| e.map(|e| 100.0 * (e / limit - 1.0));
    let (c, h) = (&answer.coldest, &answer.hottest);
    let s = terms.effective_s.expect("an exposure");
    Judged {
        family: answer.family,
        rule,
        governing: c.at_least,
        verdict: of(c, h),
        coldest: Side {
            at: c.at,
            estimate: c.irradiance,
            bounds: cold(c),
            limit: terms.lower.clone(),
            headroom_percent: percent(c.at_least, lower),
            headroom_of_estimate_percent: 100.0 * (c.irradiance / lower - 1.0),
        },
        hottest: Some(Side {
            at: h.at,
            estimate: h.irradiance,
            bounds: hot(h),
            limit: upper,
            headroom_percent: percent(h.at_most_absolute, most).map(|p| -p),
            headroom_of_estimate_percent: 100.0 * (1.0 - h.irradiance / most),
        }),
        sites: (answer.sites.iter())
            .map(|site| of(&site.coldest, &site.hottest))
            .collect(),
        dose: Some(Dose {
            coldest: s * c.irradiance,
            mean: s * answer.uniformity.mean,
            hottest: s * h.irradiance,
        }),
        fading: Fading {
            assured_percent: Some(0.0),
            estimate_percent: 0.0,
            hours: None,
        },
        kept: Default::default(),
        allowances,
        reading_flatters: answer.coldest_reading.irradiance >= lower && c.irradiance < lower,
        reading: (
            answer.coldest_reading.irradiance,
            answer.coldest_reading.position.clone(),
        ),
        through_substrate: false,
        calibrated: true,
        less_sure: None,
        unproven_at_bond: false,
        misses: None,
        added: 0,
        terms,
    }
}
