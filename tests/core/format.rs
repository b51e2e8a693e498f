//! Formats of station files. Version 1 is frozen: `tests/golden/format-1.ron` holds every field and, where several can stand
//! in one file, every variant. It is read and written again to the byte: a file is written in the lowest version that holds
//! what it has. Nothing rewrites it: a change of the document that would is a new version. `tests/golden/format-2.ron` holds
//! the parts of version 2 beside them. It grows with that version's parts until it is frozen too; version 2 is in no
//! program that was handed out.

use evenfield::files::{self, Digest, Opened, Saver, Trail};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::station::limits::{
    Allowances, Change, Figure, Frozen, Kept, Least, Limits, Monitor, Origin, Transmission, Upper,
};
use evenfield::station::trials::{
    Better, Confirmation, ExposureModel, Margin, Property, Trial, Varied,
};
use evenfield::station::{
    AssessedArea, Bars, Beside, Bond, Bores, Calibration, Cycle, Event, Exposure, Family, Fixture,
    GoverningRule, Happened, KeepOut, LedArray, LocatedBy, LogEntry, Lying, Pallet, Papers, Plan,
    PlanLayout, Plate, Position, Radiometer, Reading, Reference, RepeatStudy, Rim, Round, Scatter,
    Settings, Signature, SiteGroup, SiteLayout, Source, SourceKind, SourceState, Station,
    Substrate, Survey, Trials, Upkeep,
};
use jiff::civil::date;
use serde::Serialize;

const FROZEN: &str = include_str!("../golden/format-1.ron");
const VERSION_2: &str = include_str!("../golden/format-2.ron");

fn polygon() -> Shape {
    let corners = [(0.0, 0.0), (180.0, 0.0), (180.0, 90.5), (0.0, 120.0)];
    let corners: Vec<Point> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
    Shape::Polygon {
        corners: corners.into(),
    }
}

fn rectangle() -> Shape {
    Shape::Rectangle {
        width: 14.0,
        depth: 9.5,
    }
}

fn footprint() -> Footprint {
    Footprint {
        shape: rectangle(),
        centre: Point::new(90.0, 60.25),
        turn: 12.5,
    }
}

fn radiometer() -> Radiometer {
    Radiometer {
        name: "R1".into(),
        meter_serial: "M-104".into(),
        detector_serial: "D-17".into(),
        band: "320 nm to 400 nm".into(),
        calibrated_against: "LED 365 nm".into(),
        body: Shape::Circle { diameter: 22.5 },
        aperture_diameter: Some(6.5),
        sensing_plane: 8.25,
        angular_error_percent: Some(4.5),
        angular_response: vec![(30.0, 0.985), (60.0, 0.9)],
        resolution: Some(0.25),
        range: Some(1500.0),
        calibrated_on: Some(date(2026, 1, 12)),
        due: Some(date(2027, 1, 11)),
        expanded_uncertainty_percent: Some(5.5),
        coverage_factor: 2.25,
    }
}

fn reading() -> Reading {
    Reading {
        position: "A1".into(),
        x: 12.25,
        y: 14.5,
        height: 20.0,
        irradiance: Some(81.25),
        repeat: 2,
        minute: Some(3.5),
        excluded: Some("slipped".into()),
        saturated: true,
        note: "read twice".into(),
    }
}

fn figure(origin: Origin) -> Figure {
    Figure {
        irradiance: Some(45.5),
        origin,
        pair: "R2 with D-9".into(),
        calibrated_on: Some(date(2025, 11, 3)),
        note: "sheet 4".into(),
    }
}

fn limits() -> Limits {
    Limits {
        least: Least::Typed(figure(Origin::OtherPair)),
        safety_factor_percent: 50.0,
        upper: Some(Upper {
            figure: figure(Origin::SamePair),
            source: Some(SourceKind::LinearArc),
            distances: Some((60.0, 90.5)),
            drive: "80 %".into(),
        }),
        exposure_s: Some(8.5),
        allowances: Allowances {
            until_check_percent: 5.0,
            reload_percent: 1.5,
        },
        transmission: vec![Transmission {
            sites: "Cup".into(),
            percent: 88.5,
        }],
        monitor: Some(Monitor {
            name: "M".into(),
            at: Place::new(90.0, 60.0, 21.5),
        }),
        kept: Kept::Adjusted,
        fading_percent_per_100_h: Some(0.75),
        frozen: Some(Frozen {
            on: Some(date(2026, 3, 9)),
            readings: 1,
        }),
        record: vec![Change {
            on: Some(date(2026, 3, 10)),
            what: "safety factor from 40 % to 50 %".into(),
        }],
    }
}

fn trials() -> Trials {
    Trials {
        adhesive: "Acrylate A".into(),
        adhesive_lot: "L1".into(),
        substrate: "Glass on steel".into(),
        substrate_lot: "S1".into(),
        measured_at: "at the bond line".into(),
        radiometer: Some(radiometer()),
        property: Property {
            name: "Bond strength".into(),
            unit: "N".into(),
            better: Better::Smaller,
        },
        cooled: true,
        varied: Varied::Time,
        held: Some(60.5),
        slowest_step: Some(12.5),
        margin: Margin::Absolute(2.5),
        confidence_percent: 90.0,
        reliability_percent: 99.0,
        parts: vec![Trial {
            irradiance: 30.5,
            exposure: 8.5,
            result: Some(212.5),
            part_temperature: Some(41.5),
            excluded: Some("dropped".into()),
            note: "first of the tray".into(),
        }],
        confirmation: Some(Confirmation {
            irradiance: 55.5,
            exposure: 8.5,
            passed: 59,
            failed: 1,
        }),
        notes: "read the day after".into(),
    }
}

/// No field of version 1 is left out, and none takes its usual value: a field that comes later does not compile here.
fn everything() -> Station {
    let site = |name: &str, shape, layout| SiteGroup {
        name: name.into(),
        shape,
        turn: 30.0,
        height: 21.5,
        top: None,
        bond: None,
        layout,
    };
    let keep_out = |name: &str, bars| KeepOut {
        name: name.into(),
        footprint: footprint(),
        bars,
        height: None,
        stays: false,
    };
    Station {
        name: "Bench 4".into(),
        notes: "Two lines\nof \"notes\"".into(),
        source: Source {
            name: "Panel".into(),
            kind: SourceKind::LedPanel,
            face: Some(footprint()),
            face_height: 95.5,
            array: None,
        },
        fixture: Fixture {
            name: "Tray".into(),
            shape: polygon(),
            rim: None,
            reflectance_percent: None,
        },
        sites: vec![
            site(
                "Cup",
                rectangle(),
                SiteLayout::Single {
                    centre: Point::new(40.0, 50.0),
                },
            ),
            site(
                "",
                Shape::Circle { diameter: 9.5 },
                SiteLayout::Grid {
                    first: Point::new(60.0, 30.0),
                    columns: 3,
                    rows: 2,
                    pitch_x: 25.5,
                    pitch_y: 30.0,
                },
            ),
        ],
        keep_outs: vec![
            keep_out("Post", Bars::Both),
            keep_out("Clamp", Bars::Detector),
            keep_out("Hole", Bars::Parts),
        ],
        radiometers: vec![radiometer()],
        plan: Plan {
            heights: vec![20.0, 35.5],
            layout: PlanLayout::ByHand(vec![Position {
                name: "A1".into(),
                at: Point::new(12.25, 14.5),
            }]),
            radiometer: Some("R1".into()),
            plate: None,
            start: None,
            positions_first: false,
            reference: None,
            cycle: None,
            bores: None,
        },
        surveys: vec![
            Survey {
                name: "Baseline".into(),
                date: date(2026, 3, 9),
                operator: "AB".into(),
                radiometer: Some(radiometer()),
                state: SourceState {
                    face_height: Some(96.0),
                    drive: "80 %".into(),
                    lamp_serial: "P-3".into(),
                    lamp_hours: Some(1200.5),
                    minutes_on: Some(15.0),
                    in_the_way: "glass plate".into(),
                    pallet: Pallet::Loaded,
                },
                notes: "after cleaning".into(),
                began: None,
                reference: None,
                readings: vec![reading()],
            }
            .into(),
        ],
        repeat: None,
        upkeep: None,
        papers: None,
        trials: Some(trials()),
        exposure: Some(Exposure::Model(ExposureModel {
            time: 8.5,
            time_uncertainty: 0.05,
            opening: 0.25,
            closing: 0.3,
            travel_uncertainty: 0.02,
            switch_on: 0.4,
            droop_percent: 3.5,
            ripple_percent: 2.5,
            ripple_hz: 100.5,
        })),
        settings: Settings {
            rule: GoverningRule::LowerOfReadingAndSpot,
            area: AssessedArea::Fixture,
            family: Some(Family::OrdinaryKriging),
            drift: None,
            scatter: None,
        },
        limits: Some(Box::new(limits())),
    }
}

#[test]
fn a_file_of_version_1_is_read_and_written_as_ever() {
    let station = everything();
    assert_eq!(files::parse(FROZEN.as_bytes()).as_ref(), Ok(&station));
    assert_eq!(files::write(&station).expect("sound"), FROZEN);
}

/// The parts of version 2, each alone in a station of version 1, in the order of the steps.
#[allow(clippy::type_complexity)] // a table
fn parts_of_version_2() -> Vec<(&'static str, fn(&mut Station))> {
    vec![
        ("rows and columns of LEDs", |s| {
            s.source.array = Some(LedArray {
                columns: 12,
                rows: 8,
                pitch_x: 9.5,
                pitch_y: 10.25,
            });
        }),
        ("a rim", |s| {
            s.fixture.rim = Some(Rim {
                height: 28.0,
                thickness: 4.5,
            });
        }),
        ("what walls throw back", |s| {
            s.fixture.reflectance_percent = Some(12.5);
        }),
        ("the top of a part", |s| {
            s.sites[0].top = Some(26.5);
        }),
        ("how a bond lies", |s| {
            s.sites[1].bond = Some(Bond {
                lies: Lying::Pocket {
                    shape: Shape::Circle { diameter: 7.5 },
                    depth: 3.25,
                },
                behind: Some(Substrate {
                    percent: 91.5,
                    uncertainty_percent: 1.5,
                    index: 1.52,
                    thickness: 2.75,
                }),
            });
        }),
        ("the height of a keep-out", |s| {
            s.keep_outs[0].height = Some(35.5);
        }),
        ("a keep-out that stays with the pallet out", |s| {
            s.keep_outs[1].stays = true;
        }),
        ("a plate", |s| {
            s.plan.plate = Some(Plate {
                corner: Point::new(-20.5, -15.0),
                width: 221.0,
                depth: 150.0,
            });
        }),
        ("where the route begins", |s| {
            s.plan.start = Some("A1".into());
        }),
        ("all heights at a position", |s| {
            s.plan.positions_first = true;
        }),
        ("a reference position", |s| {
            s.plan.reference = Some(Reference {
                position: "A1".into(),
                height: 20.5,
                every: Some(12),
            });
        }),
        ("what a reading takes", |s| {
            s.plan.cycle = Some(Cycle {
                open: 2.5,
                place: 7.0,
                close: 2.0,
                settle: 4.5,
                expose: 6.0,
                read: 5.5,
                change: 45.0,
            });
        }),
        ("the bores of a plate", |s| {
            s.plan.bores = Some(Bores {
                clearance: 0.25,
                web: 2.5,
                located: LocatedBy::Pins {
                    diameter: 6.0,
                    at: (Point::new(10.5, 5.0), Point::new(170.0, 5.25)),
                },
            });
        }),
        ("a survey with the pallet out", |s| {
            s.surveys[0].state.pallet = Pallet::Out;
        }),
        ("when a round began", |s| {
            s.surveys[0].began = Some(date(2026, 8, 9).at(7, 40, 0, 0));
        }),
        ("the reference position of a survey", |s| {
            s.surveys[0].reference = Some("A1".into());
        }),
        ("a repeat study", |s| {
            s.repeat = Some(RepeatStudy {
                rounds: vec![Round {
                    survey: "Baseline".into(),
                    reset: true,
                }],
            });
        }),
        ("whether drift is taken out", |s| {
            s.settings.drift = Some(false);
        }),
        ("how readings scatter", |s| {
            s.settings.scatter = Some(Scatter {
                noise_percent: 0.85,
                placement: Some(0.4),
            });
        }),
        ("an irradiance log", |s| s.upkeep = Some(upkeep().into())),
        ("people who answer for the record", |s| {
            s.papers = Some(Papers {
                author: signature("A. Author"),
                reviewer: signature("R. Reviewer"),
                approver: signature("C. Approver"),
            });
        }),
    ]
}

fn signature(name: &str) -> Signature {
    Signature {
        name: name.into(),
        on: Some(date(2026, 3, 5)),
    }
}

/// Log, events of all kinds and a comparison.
fn upkeep() -> Upkeep {
    let at = |day, hour| date(2026, 3, day).at(hour, 30, 0, 0);
    let event = |day, what| Event {
        at: at(day, 7),
        what,
        by: "AN".into(),
        note: "as planned".into(),
    };
    let entry = |at, irradiance| LogEntry {
        radiometer: "R1".into(),
        lamp_hours: Some(412.5),
        at_coldest: Some(79.5),
        by: "AN".into(),
        set_aside: Some("read before warm-up".into()),
        saturated: true,
        note: "door open".into(),
        ..LogEntry::new(at, irradiance)
    };
    Upkeep {
        every: Some(1.5),
        events: vec![
            event(
                1,
                Happened::LampChanged {
                    serial: "L-7".into(),
                    hours: 2.5,
                },
            ),
            event(
                2,
                Happened::Adjusted {
                    face_height: Some(71.5),
                    drive: "80 %".into(),
                },
            ),
            event(
                3,
                Happened::Calibrated(Calibration {
                    radiometer: "R1".into(),
                    certificate: "C-2207".into(),
                    laboratory: "the works' laboratory".into(),
                    due: Some(date(2027, 3, 2)),
                    found_percent: Some(-1.25),
                    expanded_uncertainty_percent: Some(4.5),
                    coverage_factor: 2.25,
                }),
            ),
            event(
                4,
                Happened::Cleaned {
                    what: "window".into(),
                },
            ),
            event(5, Happened::Other),
        ],
        beside: vec![Beside {
            on: date(2026, 3, 6),
            main: "R1".into(),
            stand_in: "R2".into(),
            common_percent: Some(2.5),
            by: "AN".into(),
            pairs: vec![(81.5, 80.25), (120.0, 118.5)],
            note: "at three heights".into(),
        }],
        log: [
            entry(at(6, 8), 101.25),
            LogEntry::new(at(7, 8), 100.5),
            LogEntry::new(date(2026, 4, 1).at(8, 0, 0, 0), 99.75),
        ]
        .into_iter()
        .collect(),
    }
}

fn trail() -> Trail {
    let saver = Saver {
        at: "2026-03-05T09:30:00Z".parse().expect("a time"),
        by: "ana on bench-2".into(),
        program: "0.1.0".into(),
    };
    let mut station = everything();
    station.papers = Some(Papers::default());
    Trail::default().with(&station, None, Some(&saver))
}

#[test]
fn a_file_with_parts_of_version_2_is_read_and_written() {
    let mut station = everything();
    for (_, add) in parts_of_version_2() {
        add(&mut station);
    }
    let trail = trail();
    assert_eq!(
        files::write_whole(&station, &trail).expect("sound"),
        VERSION_2
    );
    let opened = files::parse_whole(VERSION_2.as_bytes());
    assert_eq!(opened, Ok(Opened { station, trail }));
}

#[test]
fn a_trail_is_of_version_2() {
    let text = files::write_whole(&everything(), &trail()).expect("sound");
    assert!(text.starts_with("(\n format_version: 2,"));
    let labelled = text.replace("format_version: 2", "format_version: 1");
    let error = files::parse(labelled.as_bytes()).expect_err("of version 2");
    assert!(
        error
            .to_string()
            .contains("holds a trail, which came with version 2")
    );
}

/// Papers that were made years ago carry digests of their documents: how they are made must stay.
#[test]
fn digests_are_made_as_ever() {
    let digest = |station: &Station| Digest::of(station).to_string();
    assert_eq!(
        digest(&everything()),
        "bba9d39ebe8e7f9eca4abfd8475e2d5ac03d5ee81fdfeb4c06302a57e414acd9"
    );
}

#[test]
fn a_file_is_of_the_lowest_version_that_holds_what_it_has() {
    for (part, add) in parts_of_version_2() {
        let mut station = everything();
        assert_eq!(station.format_version(), 1);
        add(&mut station);
        let text = files::write(&station).expect("sound");
        assert!(text.starts_with("(\n format_version: 2,"), "{part}");
        assert_eq!(files::parse(text.as_bytes()), Ok(station), "{part}");
    }
}

#[test]
fn parts_of_version_2_in_a_file_of_version_1_are_refused() {
    for (part, add) in parts_of_version_2() {
        let mut station = everything();
        add(&mut station);
        let text = files::write(&station).expect("sound");
        let labelled = text.replace("format_version: 2", "format_version: 1");
        let error = files::parse(labelled.as_bytes()).expect_err(part);
        assert_eq!(
            error.to_string(),
            format!(
                "line 2, column 2: the file is of format version 1, and holds {part}, which came with version 2; \
                 open the file as Evenfield saved it; in one changed by hand, write format_version: 2"
            )
        );
    }
}

#[test]
fn a_file_labelled_2_may_hold_less() {
    let labelled = FROZEN.replace("format_version: 1", "format_version: 2");
    let station = files::parse(labelled.as_bytes()).expect("read");
    assert_eq!(files::write(&station).expect("sound"), FROZEN);
}

/// What stands in files for the variants that [`everything`] has no room for, in the order of the program's own lists.
#[test]
fn variants_are_called_as_ever() {
    fn called<T: Serialize>(variants: &[T]) -> String {
        let names: Vec<String> = variants
            .iter()
            .map(|v| ron::to_string(v).expect("text"))
            .collect();
        names.join(" ")
    }
    use {AssessedArea as Area, GoverningRule as Rule, SourceKind as Kind};
    let kinds = [
        Kind::ReflectorArc,
        Kind::LinearArc,
        Kind::LedPanel,
        Kind::Other,
    ];
    assert_eq!(called(&kinds), "ReflectorArc LinearArc LedPanel Other");
    let bars = [Bars::Both, Bars::Detector, Bars::Parts];
    assert_eq!(called(&bars), "Both Detector Parts");
    let pallets = [Pallet::NotSaid, Pallet::Empty, Pallet::Loaded, Pallet::Out];
    assert_eq!(called(&pallets), "NotSaid Empty Loaded Out");
    let rules = [
        Rule::AssuredMinimum,
        Rule::LowerOfReadingAndSpot,
        Rule::ColdestReading,
    ];
    assert_eq!(
        called(&rules),
        "AssuredMinimum LowerOfReadingAndSpot ColdestReading"
    );
    assert_eq!(called(&[Area::Sites, Area::Fixture]), "Sites Fixture");
    assert_eq!(
        called(&Family::ALL),
        "SourceAware OrdinaryKriging UniversalKriging ThinPlate NaturalNeighbour InverseDistance"
    );
    let origins = [Origin::SamePair, Origin::OtherPair, Origin::DataSheet];
    assert_eq!(called(&origins), "SamePair OtherPair DataSheet");
    assert_eq!(
        called(&[Kept::OnlyFades, Kept::Adjusted]),
        "OnlyFades Adjusted"
    );
    let better = [Better::Larger, Better::Smaller, Better::Pass];
    assert_eq!(called(&better), "Larger Smaller Pass");
    assert_eq!(
        called(&[Varied::Irradiance, Varied::Time]),
        "Irradiance Time"
    );
    assert_eq!(
        called(&[Margin::Percent(10.0), Margin::Absolute(2.5)]),
        "Percent(10.0) Absolute(2.5)"
    );
    assert_eq!(called(&[Least::FromTrials]), "FromTrials");
    let measured = Exposure::Measured {
        points: vec![(0.0, 1.5), (2.5, 80.0)],
        reference: Some(81.5),
    };
    assert_eq!(
        called(&[measured]),
        "Measured(points:[(0.0,1.5),(2.5,80.0)],reference:Some(81.5))"
    );
    let rows = PlanLayout::Grid {
        columns: 5,
        rows: 4,
        margin: 10.5,
    };
    assert_eq!(called(&[rows]), "Grid(columns:5,rows:4,margin:10.5)");
    let overhang = Lying::Overhang {
        from: 90.0,
        reach: 2.5,
        gap: 1.25,
    };
    let tilted = Lying::Tilted {
        angle: 20.0,
        towards: -45.0,
    };
    assert_eq!(
        called(&[Lying::Level, overhang, tilted]),
        "Level Overhang(from:90.0,reach:2.5,gap:1.25) Tilted(angle:20.0,towards:-45.0)"
    );
}
