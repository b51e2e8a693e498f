//! The technician's station: a lamp with a square reflector over a tray with its back corners cut off,
//! read when it was new and five months later. The lamp has faded, which every reading shows alike; and
//! one mirror has gone dull, which makes a cold zone at the front right.

use evenfield::assess::limits::Verdict;
use evenfield::assess::{Request, answer_with, fit_survey};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{Arc, Errors, Housing, HousingLamp, Lamp, Reader, WornMirror};
use evenfield::probing::{self, Pattern};
use evenfield::progress::Progress;
use evenfield::station::limits::{Figure, Least, Limits, Origin};
use evenfield::station::{
    Bars, Fixture, KeepOut, Pallet, Plan, PlanLayout, Reading, SiteGroup, SiteLayout, Source,
    SourceKind, SourceState, Station, Survey,
};
use jiff::civil::{Date, date};

use super::{golden, radiometer};

pub(super) const FACE_HEIGHT: f64 = 105.0;
const FADED: f64 = 0.91;
/// What the radiometer shows over what is there.
pub(super) const SCALE: f64 = 0.99;

/// The lamp: new, or with what five months have done to it.
fn lamp(faded: f64, worn: Vec<WornMirror>) -> HousingLamp {
    HousingLamp::new(Housing {
        centre: Point::new(70.0, 70.0),
        face_height: FACE_HEIGHT,
        opening: (150.0, 150.0),
        roof: (90.0, 90.0),
        depth: 80.0,
        reflectance: 0.84,
        roof_reflectance: 0.84,
        seam: 6.0,
        arc: Arc {
            intensity: 5_000.0 * faded,
            size: 13.0,
            below_focus: 4.0,
        },
        arc_aside: (0.0, 0.0),
        worn,
    })
    .expect("a lamp")
}

pub(super) fn new_lamp() -> HousingLamp {
    lamp(1.0, Vec::new())
}

fn worn_lamp() -> HousingLamp {
    // on the roof, in front of its middle
    let patch = WornMirror {
        at: [20.0, -30.0, 80.0],
        size: 24.0,
        loss: 0.9,
    };
    lamp(FADED, vec![patch])
}

fn tray() -> Shape {
    let corners = [
        (0.0, 0.0),
        (140.0, 0.0),
        (140.0, 110.0),
        (110.0, 140.0),
        (30.0, 140.0),
        (0.0, 110.0),
    ];
    let corners: Vec<Point> = corners.map(|(x, y)| Point::new(x, y)).to_vec();
    Shape::Polygon {
        corners: corners.into(),
    }
}

pub(super) fn described() -> Station {
    let mut station = Station::new("Rain gauge funnels under lamp 4", tray(), FACE_HEIGHT);
    station.notes = "Example station, invented from end to end: its readings come from a simulated lamp. Nine \
        funnels are bonded in one exposure. The technician has read the tray again the same way, five months \
        after the lamp was new: compare the two surveys."
        .into();
    station.source = Source {
        name: "Lamp 4".into(),
        kind: SourceKind::ReflectorArc,
        face: Some(new_lamp().outline()),
        face_height: FACE_HEIGHT,
        array: None,
    };
    station.fixture = Fixture {
        name: "Funnel tray".into(),
        shape: tray(),
        rim: None,
        reflectance_percent: None,
    };
    station.sites = vec![SiteGroup {
        name: "F-".into(),
        shape: Shape::Circle { diameter: 32.0 },
        turn: 0.0,
        height: 18.0,
        top: None,
        bond: None,
        layout: SiteLayout::Grid {
            first: Point::new(30.0, 26.0),
            columns: 3,
            rows: 3,
            pitch_x: 40.0,
            pitch_y: 40.0,
        },
    }];
    station.keep_outs = vec![KeepOut {
        name: "Handle".into(),
        footprint: Footprint::new(
            Shape::Rectangle {
                width: 30.0,
                depth: 6.0,
            },
            Point::new(70.0, 137.0),
        ),
        bars: Bars::Both,
        height: None,
        stays: false,
    }];
    station.radiometers = vec![radiometer()];
    station.plan = Plan {
        heights: vec![10.0, 25.0],
        layout: PlanLayout::ByHand(Vec::new()),
        radiometer: Some(radiometer().name),
        ..Plan::begin()
    };
    let rows = Pattern::Staggered {
        columns: 6,
        rows: 7,
        margin: 9.0,
    };
    let made = rows
        .make(&station, Some(0.5), &Progress::new())
        .expect("positions");
    station.plan.layout = PlanLayout::ByHand(made.positions);
    station.limits = Some(Box::new(Limits {
        least: Least::Typed(Figure {
            irradiance: Some(40.0),
            origin: Origin::SamePair,
            pair: radiometer().name,
            calibrated_on: radiometer().calibrated_on,
            note: "Cure trials of June 2026".into(),
        }),
        safety_factor_percent: 20.0,
        ..Limits::default()
    }));
    station
}

pub(super) fn survey(
    station: &Station,
    lamp: &dyn Lamp,
    name: &str,
    on: Date,
    seed: u64,
) -> Survey {
    let errors = Errors {
        noise: 0.008,
        placement: 0.5,
        block: 0.1,
        scale: SCALE,
        ..Errors::careful()
    };
    let mut reader = Reader::new(errors, seed);
    let planned = station.planned_places();
    let places: Vec<Place> = planned.iter().map(|(_, at)| *at).collect();
    let readings = probing::route(&places)
        .into_iter()
        .enumerate()
        .map(|(stop, i)| {
            let (name, at) = &planned[i];
            let minute = 0.5 * stop as f64;
            let placed = reader.set_down(*at);
            Reading {
                position: name.clone(),
                minute: Some(minute),
                ..Reading::new(*at, Some(reader.read(lamp, placed, minute)))
            }
        });
    Survey {
        name: name.into(),
        date: on,
        operator: String::new(),
        radiometer: Some(radiometer()),
        state: SourceState::default(),
        notes: String::new(),
        began: None,
        reference: None,
        readings: readings.collect(),
    }
}

/// The lamp warm, so many hours old.
pub(super) fn after_hours(hours: f64) -> SourceState {
    SourceState {
        drive: "400 W".into(),
        lamp_serial: "L4-031".into(),
        lamp_hours: Some(hours),
        minutes_on: Some(10.0),
        pallet: Pallet::Empty,
        ..SourceState::default()
    }
}

/// The station as it is shipped.
fn worn() -> Station {
    let mut station = described();
    let first = survey(
        &station,
        &new_lamp(),
        "New lamp",
        date(2026, 6, 15),
        20_260_615,
    );
    station.surveys.push(
        Survey {
            operator: "M. K.".into(),
            state: after_hours(12.0),
            notes: "Lamp changed, mirrors wiped. The baseline.".into(),
            ..first
        }
        .into(),
    );
    let again = survey(
        &station,
        &worn_lamp(),
        "Five months on",
        date(2026, 11, 16),
        20_261_116,
    );
    station.surveys.push(
        Survey {
            operator: "T. R.".into(),
            state: after_hours(810.0),
            notes: "Same positions, same spacers, same radiometer. Mirrors not touched yet.".into(),
            ..again
        }
        .into(),
    );
    station
}

#[test]
fn the_third_station_file_is_what_it_is_built_to() {
    let station = worn();
    let text = evenfield::files::write(&station).expect("the station can be written");
    golden("rain-gauge-funnels-worn-reflector.ron", &text);
    assert_eq!(station.all_sites().len(), 9);
    let found = station.check();
    assert!(found.is_empty(), "{found:?}");
}

/// The least and the mean irradiance over each site, as they really are.
fn truth(station: &Station, lamp: &dyn Lamp) -> Vec<(String, f64)> {
    let sites = station.all_sites().into_iter();
    sites
        .map(|site| {
            let lattice = site.footprint.lattice(4.0);
            let e = lattice
                .iter()
                .map(|p| lamp.irradiance(p.at_height(site.height)));
            (site.name, e.fold(f64::INFINITY, f64::min))
        })
        .collect()
}

#[test]
fn the_lamp_has_faded_and_one_side_has_gone_cold() {
    let station = worn();
    let (new, old) = (truth(&station, &new_lamp()), truth(&station, &worn_lamp()));
    // what is left of each site's light when the common fading is taken out
    let left: Vec<(&str, f64)> = (new.iter().zip(&old))
        .map(|((site, before), (_, after))| (site.as_str(), after / before / FADED))
        .collect();
    let coldest = left.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    assert_eq!(coldest.map(|c| c.0), Some("F-A3"), "{left:?} {new:?}");
    assert!(
        left.iter().all(|(site, share)| {
            (*site == "F-A3" && *share < 0.84) || (*site != "F-A3" && *share > 0.86)
        }),
        "{left:?}"
    );

    let progress = Progress::new();
    let judge = |survey: usize, truth: &[(String, f64)]| {
        let request = Request {
            survey: Some(survey),
            ..Request::default()
        };
        let fit = fit_survey(&station, &request, &progress).expect("a field");
        let answer = answer_with(&fit, &station, &request, &progress).expect("an answer");
        let judged = answer
            .judged
            .clone()
            .expect("limits")
            .expect("a lower limit");
        // no verdict is against the truth, which is known here at the radiometer's scale
        for (site, e) in truth {
            let meets = SCALE * e >= judged.terms.lower.value;
            let said = judged.of_site(&answer, site);
            let spot = answer
                .sites
                .iter()
                .find(|s| s.site == *site)
                .map(|s| &s.coldest);
            assert_ne!(
                said,
                Some(if meets {
                    Verdict::Fails
                } else {
                    Verdict::Meets
                }),
                "{site} {e} {spot:?}"
            );
            eprintln!(
                "{survey} {site} {:.1} {said:?} {:?}",
                e * SCALE,
                spot.map(|s| (s.irradiance, s.at_least, s.at_most))
            );
        }
        (judged.verdict, judged.of_site(&answer, "F-A3"))
    };
    assert_eq!(judge(0, &new).0, Verdict::Meets);
    assert_eq!(judge(1, &old), (Verdict::Fails, Some(Verdict::Fails)));
}
