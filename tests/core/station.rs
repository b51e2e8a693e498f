//! The document: what is odd is said, and an edit changes what it says or nothing.

use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::station::{
    Bars, Checked, Edit, Finding, KeepOut, Plan, PlanLayout, Position, Radiometer, Reading,
    Severity, SiteGroup, SiteLayout, Station, Survey, Where,
};
use evenfield::units::{IrradianceUnit, LengthUnit, Units};
use jiff::civil::date;
use proptest::prelude::*;

use crate::strategies;

const FIXTURE: Shape = Shape::Rectangle {
    width: 180.0,
    depth: 120.0,
};

fn disk(diameter: f64) -> Shape {
    Shape::Circle { diameter }
}

fn corners(points: &[(f64, f64)]) -> Shape {
    let corners: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
    Shape::Polygon {
        corners: corners.into(),
    }
}

/// The fixture without its front right corner.
fn cut_corner() -> Shape {
    corners(&[
        (0.0, 0.0),
        (120.0, 0.0),
        (180.0, 60.0),
        (180.0, 120.0),
        (0.0, 120.0),
    ])
}

fn radiometer(name: &str) -> Radiometer {
    Radiometer {
        aperture_diameter: Some(5.0),
        sensing_plane: 8.0,
        resolution: Some(0.1),
        range: Some(500.0),
        calibrated_on: Some(date(2025, 1, 10)),
        due: Some(date(2026, 1, 10)),
        expanded_uncertainty_percent: Some(6.0),
        ..Radiometer::new(name, disk(30.0))
    }
}

fn survey(name: &str, readings: Vec<Reading>) -> Survey {
    Survey {
        name: name.into(),
        date: date(2025, 6, 1),
        operator: String::new(),
        radiometer: Some(radiometer("R1")),
        state: Default::default(),
        notes: String::new(),
        began: None,
        reference: None,
        readings,
    }
}

fn reading(position: &str, x: f64, y: f64, irradiance: f64) -> Reading {
    Reading {
        position: position.into(),
        ..Reading::new(Place::new(x, y, 20.0), Some(irradiance))
    }
}

fn single(name: &str, x: f64, y: f64, height: f64) -> SiteGroup {
    SiteGroup {
        name: name.into(),
        shape: disk(20.0),
        turn: 0.0,
        height,
        top: None,
        bond: None,
        layout: SiteLayout::Single {
            centre: Point::new(x, y),
        },
    }
}

fn by_hand(positions: &[(&str, f64, f64)]) -> PlanLayout {
    PlanLayout::ByHand(
        positions
            .iter()
            .map(|&(name, x, y)| Position {
                name: name.into(),
                at: Point::new(x, y),
            })
            .collect(),
    )
}

/// A station about which nothing is odd.
fn fine() -> Station {
    let mut station = Station::new("bench", FIXTURE, 75.0);
    station.sites = vec![
        single("D1", 40.0, 40.0, 10.0),
        single("D2", 80.0, 40.0, 10.0),
    ];
    station.keep_outs = vec![KeepOut {
        name: "post".into(),
        footprint: Footprint::new(disk(10.0), Point::new(150.0, 100.0)),
        bars: Bars::Both,
        height: None,
        stays: false,
    }];
    station.radiometers = vec![radiometer("R1")];
    station.plan = Plan {
        heights: vec![20.0, 40.0],
        layout: by_hand(&[("A1", 30.0, 30.0), ("A2", 100.0, 30.0)]),
        radiometer: Some("R1".into()),
        ..Plan::begin()
    };
    let readings = vec![
        reading("A1", 30.0, 30.0, 90.0),
        reading("A2", 100.0, 30.0, 110.0),
    ];
    station.surveys = vec![survey("baseline", readings).into()];
    station
}

fn said(findings: &[Finding]) -> Vec<String> {
    findings.iter().map(|f| f.what.clone()).collect()
}

/// What is odd about the fine station after a change, as (where, how much, what).
fn odd(change: impl FnOnce(&mut Station)) -> Vec<(Where, Severity, String)> {
    let mut station = fine();
    assert_eq!(said(&station.check()), Vec::<String>::new());
    change(&mut station);
    let findings = station.check();
    for finding in &findings {
        for text in [&finding.what, &finding.mend] {
            assert!(!text.is_empty() && !text.ends_with('.'), "{text}");
        }
    }
    findings
        .into_iter()
        .map(|f| (f.place, f.severity, f.what))
        .collect()
}

#[test]
fn findings_are_said_in_the_readers_units() {
    let mut station = fine();
    station.plan.heights = vec![20.0, 101.6];
    let inches = Units {
        length: LengthUnit::Inch,
        irradiance: IrradianceUnit::WattPerM2,
    };
    let mut checked = Checked::default();
    let in_inches = said(&checked.again(&station, inches));
    assert!(
        in_inches.iter().any(|what| what.contains("height 4 in")),
        "{in_inches:?}"
    );
    assert!(in_inches.iter().all(|what| !what.contains(" mm")));
    // what was looked at in one unit is not said again in another
    let in_mm = said(&checked.again(&station, Units::default()));
    assert!(in_mm.iter().any(|what| what.contains("height 101.6 mm")));
}

type Case = (fn(&mut Station), Where, Severity, &'static str);

#[test]
fn each_oddity_is_said_with_its_place() {
    use Severity::{Note, Warning};
    let cases: &[Case] = &[
        (
            |s| s.source.face_height = 0.0,
            Where::Source("Face height"),
            Warning,
            "the face height is 0",
        ),
        (
            |s| s.source.face_height = f64::NAN,
            Where::Source("Face height"),
            Warning,
            "the face height is not a number",
        ),
        (
            |s| s.fixture.shape = disk(-1.0),
            Where::Fixture("Outline"),
            Warning,
            "the diameter of the fixture is -1",
        ),
        (
            |s| s.fixture.shape = corners(&[(0.0, 0.0), (9.0, 0.0)]),
            Where::Fixture("Outline"),
            Warning,
            "an outline needs three corners, that of the fixture has 2",
        ),
        (
            |s| s.fixture.shape = corners(&[(0.0, 0.0), (9.0, 0.0), (5.0, 0.0)]),
            Where::Fixture("Outline"),
            Warning,
            "the corners of the fixture lie on one line",
        ),
        (
            |s| s.fixture.shape = corners(&[(0.0, 0.0), (9.0, 5.0), (9.0, 0.0), (0.0, 9.0)]),
            Where::Fixture("Outline"),
            Warning,
            "the outline of the fixture crosses itself: its sides 1 to 2 and 3 to 4 meet",
        ),
        (
            |s| s.fixture.shape = corners(&[(0.0, 0.0), (9.0, 0.0), (9.0, f64::NAN)]),
            Where::Fixture("Outline"),
            Warning,
            "the y of corner 3 of the fixture is not a number",
        ),
        (
            |s| {
                s.fixture.shape = cut_corner();
                s.sites[1] = single("D2", 150.0, 20.0, 10.0);
            },
            Where::Sites(1),
            Warning,
            "site D2 reaches over the fixture's rim",
        ),
        (
            |s| {
                s.fixture.shape = cut_corner();
                s.plan.layout = by_hand(&[("A1", 150.0, 20.0)]);
            },
            Where::Position(0),
            Warning,
            "position A1 at 150, 20 mm is outside the fixture's outline",
        ),
        (
            // 14.1 mm from the slanting side, the body's radius is 15 mm
            |s| {
                s.fixture.shape = cut_corner();
                s.plan.layout = by_hand(&[("A1", 130.0, 30.0)]);
            },
            Where::Position(0),
            Warning,
            "position A1 at 130, 30 mm puts the detector's body over the fixture's rim",
        ),
        (
            |s| s.sites[1].height = 75.0,
            Where::Sites(1),
            Warning,
            "the bond line of site D2 at 75 mm is not below the face at 75 mm",
        ),
        (
            |s| s.sites[1].height = -1.0,
            Where::Sites(1),
            Note,
            "the bond line of site D2 at -1 mm is below the fixture's base",
        ),
        (
            |s| s.sites[1].name = "D1".into(),
            Where::Sites(1),
            Warning,
            "the name of site D1 stands twice in two groups",
        ),
        (
            |s| s.sites[1] = single("D2", 59.0, 40.0, 10.0),
            Where::Sites(1),
            Warning,
            "site D1 overlaps site D2",
        ),
        (
            |s| s.sites[1] = single("D2", 175.0, 40.0, 10.0),
            Where::Sites(1),
            Warning,
            "site D2 reaches over the fixture's rim",
        ),
        (
            |s| s.sites[1] = single("D2", 150.0, 90.0, 10.0),
            Where::Sites(1),
            Warning,
            "site D2 overlaps keep-out post",
        ),
        (
            |s| s.radiometers.push(radiometer("R1")),
            Where::Radiometer(1, "Name"),
            Warning,
            "radiometer R1 stands twice",
        ),
        (
            |s| s.radiometers[0].due = Some(date(2024, 1, 1)),
            Where::Radiometer(0, "Due"),
            Warning,
            "the calibration of radiometer R1 is due on 2024-01-01, before it was made on 2025-01-10",
        ),
        (
            |s| s.plan.radiometer = Some("R9".into()),
            Where::Plan("Radiometer"),
            Warning,
            "the plan is made for radiometer R9, which the station does not have",
        ),
        (
            |s| s.plan.heights = vec![],
            Where::Plan("Heights"),
            Warning,
            "the plan has no height",
        ),
        (
            |s| s.plan.heights = vec![20.0, 20.0],
            Where::Plan("Heights"),
            Warning,
            "the height 20 mm stands twice in the plan",
        ),
        (
            |s| s.plan.heights = vec![80.0],
            Where::Plan("Heights"),
            Warning,
            "the plan's height 80 mm is not below the face at 75 mm",
        ),
        (
            |s| {
                s.plan.layout = PlanLayout::Grid {
                    columns: 3,
                    rows: 3,
                    margin: 70.0,
                }
            },
            Where::Plan("Margin"),
            Warning,
            "the margin of 70 mm is more than half of the fixture's 120 mm",
        ),
        (
            |s| s.plan.layout = by_hand(&[]),
            Where::Plan("Positions"),
            Warning,
            "the plan has no position",
        ),
        (
            |s| s.plan.layout = by_hand(&[("A1", 30.0, 30.0), ("A1", 60.0, 30.0)]),
            Where::Position(1),
            Warning,
            "the name of position A1 stands twice in the plan",
        ),
        (
            |s| s.plan.layout = by_hand(&[("A1", 181.0, 30.0)]),
            Where::Position(0),
            Warning,
            "position A1 at 181, 30 mm is outside the fixture's outline",
        ),
        (
            |s| s.plan.layout = by_hand(&[("A1", 152.0, 98.0)]),
            Where::Position(0),
            Warning,
            "position A1 at 152, 98 mm is in keep-out post",
        ),
        (
            |s| s.plan.layout = by_hand(&[("A1", 14.0, 30.0)]),
            Where::Position(0),
            Warning,
            "position A1 at 14, 30 mm puts the detector's body over the fixture's rim",
        ),
        (
            |s| s.plan.layout = by_hand(&[("A1", 135.0, 100.0)]),
            Where::Position(0),
            Warning,
            "position A1 at 135, 100 mm puts the detector's body over keep-out post",
        ),
        (
            |s| s.surveys.push(survey("baseline", vec![]).into()),
            Where::Survey(1, "Name"),
            Warning,
            "survey baseline stands twice",
        ),
        (
            |s| s.surveys[0].radiometer = None,
            Where::Survey(0, "Radiometer"),
            Note,
            "survey baseline does not say which radiometer was used",
        ),
        (
            |s| s.surveys[0].date = date(2026, 1, 11),
            Where::Survey(0, "Radiometer"),
            Warning,
            "survey baseline was read on 2026-01-11, the calibration of radiometer R1 ended on 2026-01-10",
        ),
        (
            |s| s.surveys[0].date = date(2025, 1, 9),
            Where::Survey(0, "Radiometer"),
            Warning,
            "survey baseline was read on 2025-01-09, before radiometer R1 was calibrated on 2025-01-10",
        ),
        (
            |s| s.surveys[0].readings[1].x = 190.0,
            Where::Reading(0, 1),
            Warning,
            "reading 2 (A2) of survey baseline at 190, 30 mm is outside the fixture's outline",
        ),
        (
            |s| s.surveys[0].readings[1].x = 179.0,
            Where::Reading(0, 1),
            Note,
            "reading 2 (A2) of survey baseline at 179, 30 mm puts the detector's body over the fixture's rim",
        ),
        (
            |s| s.surveys[0].readings[1].height = 75.0,
            Where::Reading(0, 1),
            Warning,
            "reading 2 (A2) of survey baseline at height 75 mm is not below the face at 75 mm",
        ),
        (
            |s| s.surveys[0].state.face_height = Some(15.0),
            Where::Reading(0, 0),
            Warning,
            "reading 1 (A1) of survey baseline at height 20 mm is not below the face at 15 mm",
        ),
        (
            |s| s.surveys[0].readings[1].irradiance = Some(500.5),
            Where::Reading(0, 1),
            Warning,
            "reading 2 (A2) of survey baseline of 500.5 mW/cm² is above the radiometer's range of 500.0 mW/cm²",
        ),
        (
            |s| s.surveys[0].readings[1].irradiance = Some(-2.0),
            Where::Reading(0, 1),
            Warning,
            "reading 2 (A2) of survey baseline is negative: -2.000 mW/cm²",
        ),
        (
            |s| s.surveys[0].readings[1].irradiance = Some(0.0),
            Where::Reading(0, 1),
            Warning,
            "reading 2 (A2) of survey baseline is zero and does not count",
        ),
        (
            |s| s.surveys[0].readings[1].saturated = true,
            Where::Reading(0, 1),
            Note,
            "reading 2 (A2) of survey baseline is saturated and does not count",
        ),
        (
            |s| s.surveys[0].readings[1].excluded = Some(" ".into()),
            Where::Reading(0, 1),
            Note,
            "reading 2 (A2) of survey baseline is excluded without a reason",
        ),
        (
            |s| {
                s.surveys[0]
                    .readings
                    .push(reading("A2", 100.0, 30.0, 111.0))
            },
            Where::Reading(0, 2),
            Warning,
            "reading 3 (A2) of survey baseline has the same position, height and repeat as reading 2",
        ),
        (
            |s| {
                s.surveys[0].readings.push(Reading {
                    repeat: 2,
                    ..reading("A2", 100.0, 40.0, 111.0)
                })
            },
            Where::Reading(0, 2),
            Warning,
            "reading 3 (A2) of survey baseline lies at 100, 40 mm, reading 2 of that position at 100, 30 mm",
        ),
        (
            |s| s.surveys[0].readings[1].y = f64::INFINITY,
            Where::Reading(0, 1),
            Warning,
            "the y of the reading is not a number",
        ),
    ];
    for (change, place, severity, what) in cases {
        let findings = odd(*change);
        assert!(
            findings.contains(&(place.clone(), *severity, (*what).to_owned())),
            "expected: {place:?} {what}\nsaid: {findings:#?}"
        );
    }
}

#[test]
fn what_is_allowed_is_not_said() {
    let quiet: [fn(&mut Station); 5] = [
        // the last day counts
        |s| s.surveys[0].date = date(2026, 1, 10),
        // a detector may sit where only parts may not lie
        |s| {
            s.keep_outs[0].bars = Bars::Parts;
            s.plan.layout = by_hand(&[("A1", 150.0, 100.0)]);
        },
        // a part may lie where only detectors can't
        |s| {
            s.keep_outs[0].bars = Bars::Detector;
            s.sites[1] = single("D2", 150.0, 100.0, 10.0);
        },
        // repeats
        |s| {
            s.surveys[0].readings.push(Reading {
                repeat: 2,
                ..reading("A2", 100.0, 30.0, 111.0)
            });
        },
        // excluded with a reason, whatever it read
        |s| {
            s.surveys[0].readings[1].irradiance = Some(-3.0);
            s.surveys[0].readings[1].excluded = Some("hand in the light".into());
        },
    ];
    for change in quiet {
        assert_eq!(odd(change), []);
    }
}

#[test]
fn a_large_station_is_checked_between_two_key_strokes() {
    let mut station = fine();
    station.fixture.shape = Shape::Rectangle {
        width: 1000.0,
        depth: 1000.0,
    };
    station.keep_outs.clear();
    station.sites = vec![SiteGroup {
        layout: SiteLayout::Grid {
            first: Point::new(30.0, 30.0),
            columns: 20,
            rows: 20,
            pitch_x: 24.0,
            pitch_y: 19.0,
        },
        ..single("P", 0.0, 0.0, 10.0)
    }];
    station.surveys[0].readings = (0..2000)
        .map(|i| {
            let (x, y) = (
                f64::from(i % 50) * 18.0 + 40.0,
                f64::from(i / 50) * 20.0 + 40.0,
            );
            reading(&format!("Q{i}"), x, y, 100.0)
        })
        .collect();
    let begin = std::time::Instant::now();
    let findings = station.check();
    let took = begin.elapsed();
    // disks of 20 mm, 19 mm apart along y: each overlaps the one behind it
    assert_eq!(findings.len(), 20 * 19, "{:?}", said(&findings).first());
    println!("check of 2000 readings and 400 sites: {took:?}");
    assert!(took.as_millis() < 500, "{took:?}");
}

#[test]
fn edits_are_called_by_what_they_do() {
    let station = fine();
    let names = |edit: Edit| edit.name(&station);
    let mut source = station.source.clone();
    source.face_height = 80.0;
    assert_eq!(names(Edit::SetSource(source.clone())), "change face height");
    source.name = "north lamp".into();
    assert_eq!(names(Edit::SetSource(source)), "change source");
    assert_eq!(names(Edit::Rename("b".into())), "rename station");
    assert_eq!(
        names(Edit::MovePosition(1, Point::new(1.0, 1.0))),
        "move position A2"
    );
    assert_eq!(
        names(Edit::MoveSites(0, Point::new(1.0, 1.0))),
        "move site D1"
    );
    assert_eq!(
        names(Edit::SetSites(0, single("D1", 40.0, 40.0, 12.0))),
        "change height of site D1"
    );
    assert_eq!(
        names(Edit::SetSites(0, single("D1", 41.0, 40.0, 10.0))),
        "move site D1"
    );
    assert_eq!(
        names(Edit::AddSurvey(survey("week 2", vec![]))),
        "add survey week 2"
    );
    assert_eq!(
        names(Edit::RemoveReadings {
            survey: 0,
            rows: vec![0, 1]
        }),
        "delete 2 readings"
    );
    assert_eq!(
        names(Edit::InsertReadings {
            survey: 0,
            row: 0,
            readings: vec![reading("", 1.0, 1.0, 1.0)]
        }),
        "insert 1 reading"
    );
    let plan = |layout| {
        Edit::SetPlan(Plan {
            layout,
            ..station.plan.clone()
        })
    };
    assert_eq!(
        names(plan(by_hand(&[("A1", 30.0, 30.0)]))),
        "delete position A2"
    );
    assert_eq!(
        names(plan(by_hand(&[
            ("A1", 30.0, 30.0),
            ("A2", 100.0, 30.0),
            ("A3", 9.0, 9.0)
        ]))),
        "add position A3"
    );
    assert_eq!(
        names(plan(by_hand(&[("A1", 30.0, 30.0), ("B2", 100.0, 30.0)]))),
        "rename position A2"
    );
    let mut heights = station.plan.clone();
    heights.heights.push(60.0);
    assert_eq!(names(Edit::SetPlan(heights)), "change heights of the plan");
    let mut settings = station.settings.clone();
    settings.family = Some(evenfield::station::Family::InverseDistance);
    assert_eq!(names(Edit::SetSettings(settings)), "change model");
}

#[test]
fn refusals_say_what_and_what_to_do() {
    let cases = [
        (
            Edit::AddSurvey(survey("baseline", vec![])),
            "there is a survey called baseline already; choose another name",
        ),
        (
            Edit::AddRadiometer(radiometer(" ")),
            "the radiometer has no name; give it one",
        ),
        (
            Edit::RemoveSites(7),
            "there is no group of sites 8; choose another one",
        ),
        (
            Edit::MovePosition(0, Point::new(f64::NAN, 0.0)),
            "the x of the position is not a number; type a number such as 12.5",
        ),
        (
            Edit::SetPlan(Plan {
                heights: vec![1.0; 21],
                ..fine().plan
            }),
            "the plan has 21 heights; have at most 20",
        ),
        (
            Edit::SetPlan(Plan {
                layout: PlanLayout::Grid {
                    columns: 401,
                    rows: 2,
                    margin: 1.0,
                },
                ..fine().plan
            }),
            "the plan has 401 columns; type a whole number between 1 and 400",
        ),
        (
            Edit::SetPlan(Plan {
                layout: PlanLayout::Grid {
                    columns: 400,
                    rows: 26,
                    margin: 1.0,
                },
                ..fine().plan
            }),
            "that makes 10400 positions; have at most 10000",
        ),
        (
            Edit::RemoveReadings {
                survey: 0,
                rows: vec![0, 2],
            },
            "there is no row 3; choose another one",
        ),
    ];
    for (edit, expected) in cases {
        let mut station = fine();
        let refused = station.apply(edit).expect_err(expected);
        assert_eq!(refused.to_string(), expected);
        assert_eq!(station, fine());
    }
}

#[test]
fn edits_do_what_they_say() {
    let mut station = fine();
    let mut renamed = station.radiometers[0].clone();
    renamed.name = "R2".into();
    station
        .apply(Edit::SetRadiometer(0, renamed))
        .expect("sound");
    assert_eq!(station.plan.radiometer.as_deref(), Some("R2"));
    station.apply(Edit::RemoveRadiometer(0)).expect("there");
    assert_eq!(station.plan.radiometer, None);
    assert!(station.surveys[0].radiometer.is_some());

    let values = |s: &Station| -> Vec<f64> {
        s.surveys[0]
            .readings
            .iter()
            .filter_map(|r| r.irradiance)
            .collect()
    };
    let set = |row, irradiances: &[f64]| Edit::SetReadings {
        survey: 0,
        row,
        readings: irradiances.iter().map(|&e| reading("", e, e, e)).collect(),
        name: "paste 2 cells".into(),
    };
    station.apply(set(1, &[1.0, 2.0])).expect("sound");
    assert_eq!(values(&station), [90.0, 1.0, 2.0]);
    station
        .apply(Edit::InsertReadings {
            survey: 0,
            row: 99,
            readings: vec![reading("", 3.0, 3.0, 3.0)],
        })
        .expect("sound");
    station
        .apply(Edit::RemoveReadings {
            survey: 0,
            rows: vec![2, 0, 2],
        })
        .expect("there");
    assert_eq!(values(&station), [1.0, 3.0]);
    station
        .apply(Edit::SetSurveyDetails(
            0,
            survey("renamed", vec![reading("", 9.0, 9.0, 9.0)]),
        ))
        .expect("sound");
    assert_eq!(
        (station.surveys[0].name.as_str(), values(&station)),
        ("renamed", vec![1.0, 3.0])
    );

    station.plan.layout = PlanLayout::Grid {
        columns: 3,
        rows: 2,
        margin: 10.0,
    };
    station
        .apply(Edit::MovePosition(4, Point::new(77.0, 88.0)))
        .expect("sound");
    let positions = station.positions();
    assert_eq!((positions.len(), positions[4].name.as_str()), (6, "B2"));
    assert_eq!(positions[4].at, Point::new(77.0, 88.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn an_edit_is_made_or_changes_nothing(
        before in strategies::station(),
        edits in prop::collection::vec(strategies::edit(), 1..6),
    ) {
        let mut station = before.clone();
        let mut history = vec![];
        for edit in edits {
            let snapshot = station.clone();
            prop_assert!(!edit.name(&station).is_empty());
            match station.apply(edit) {
                Ok(()) => {
                    prop_assert_eq!(station.unsound(), vec![]);
                    history.push(snapshot);
                }
                Err(refused) => {
                    prop_assert!(refused.to_string().contains("; "));
                    prop_assert_eq!(&station, &snapshot);
                }
            }
        }
        // undoing is going back to what was before
        while let Some(snapshot) = history.pop() {
            station = snapshot;
        }
        prop_assert_eq!(station, before);
    }

    #[test]
    fn checking_never_fails(station in strategies::station(), edits in prop::collection::vec(strategies::edit(), 0..6)) {
        let mut station = station;
        let mut checked = Checked::default();
        for edit in edits {
            // a refused one leaves the station as it was, which is checked elsewhere
            let _ = station.apply(edit);
            // what is looked at again is all that could have changed
            prop_assert_eq!(checked.again(&station, Units::default()), station.check());
        }
        for finding in station.check() {
            prop_assert!(!finding.what.contains("NaN") && !finding.what.ends_with('.'), "{}", finding.what);
        }
    }
}
