//! Arbitrary stations and edits.

use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::station::limits::{
    Allowances, Change, Figure, Frozen, Kept, Least, Limits, Monitor, Origin, Transmission, Upper,
};
use evenfield::station::{
    AssessedArea, Bars, Beside, Bond, Bores, Calibration, Cycle, Edit, Event, Family, Fixture,
    GoverningRule, Happened, KeepOut, LedArray, LocatedBy, LogEntry, Lying, Pallet, Papers, Plan,
    PlanLayout, Plate, Position, Radiometer, Reading, Reference, RepeatStudy, Rim, Round, Scatter,
    Settings, Signature, SiteGroup, SiteLayout, Source, SourceKind, SourceState, Station,
    Substrate, Survey, Upkeep,
};
use jiff::civil::{Date, DateTime, date};
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

/// Names with everything that a file format could trip over.
fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        "[A-Z][0-9]{1,2}",
        "[a-zA-Z0-9 \"'\\\\;,äß²()\\[\\]:\t\n#/{}-]{0,12}",
        Just(String::new()),
    ]
}

fn length() -> impl Strategy<Value = f64> {
    prop_oneof![
        -300.0..900.0,
        Just(0.0),
        Just(-0.0),
        Just(1e-7),
        Just(0.1 + 0.2)
    ]
}

fn size() -> impl Strategy<Value = f64> {
    prop_oneof![0.001..500.0, Just(1.0 / 3.0), Just(1e5)]
}

fn day() -> impl Strategy<Value = Date> {
    (1990i16..2090, 1i8..13, 1i8..29).prop_map(|(y, m, d)| date(y, m, d))
}

fn point() -> impl Strategy<Value = Point> {
    (length(), length()).prop_map(|(x, y)| Point::new(x, y))
}

fn shape() -> impl Strategy<Value = Shape> {
    prop_oneof![
        (size(), size()).prop_map(|(width, depth)| Shape::Rectangle { width, depth }),
        size().prop_map(|diameter| Shape::Circle { diameter }),
        star().prop_map(|corners| Shape::Polygon {
            corners: corners.into()
        }),
    ]
}

/// Corners around the origin, each in its own sector, so that sides never cross.
pub fn star() -> impl Strategy<Value = Vec<Point>> {
    proptest::collection::vec((0.1..0.9, 4.0..60.0), 3..12).prop_map(|corners| {
        let sector = std::f64::consts::TAU / corners.len() as f64;
        corners
            .into_iter()
            .enumerate()
            .map(|(i, (within, radius))| {
                // within a third of the sector, so that even three corners go around the origin
                let angle: f64 = sector * (i as f64 + 0.33 * within);
                Point::new(radius * angle.cos(), radius * angle.sin())
            })
            .collect()
    })
}

fn footprint() -> impl Strategy<Value = Footprint> {
    (shape(), point(), -360.0..360.0).prop_map(|(shape, centre, turn)| Footprint {
        shape,
        centre,
        turn,
    })
}

fn source() -> impl Strategy<Value = Source> {
    let kind = select(vec![
        SourceKind::ReflectorArc,
        SourceKind::LinearArc,
        SourceKind::LedPanel,
        SourceKind::Other,
    ]);
    let array =
        (1u32..40, 1u32..40, size(), size()).prop_map(|(columns, rows, pitch_x, pitch_y)| {
            LedArray {
                columns,
                rows,
                pitch_x,
                pitch_y,
            }
        });
    (
        name(),
        kind,
        option::of(footprint()),
        size(),
        option::of(array),
    )
        .prop_map(|(name, kind, face, face_height, array)| Source {
            name,
            kind,
            face,
            face_height,
            array,
        })
}

fn fixture() -> impl Strategy<Value = Fixture> {
    let rim = (size(), size()).prop_map(|(height, thickness)| Rim { height, thickness });
    (name(), shape(), option::of(rim), option::of(0.0..100.0)).prop_map(
        |(name, shape, rim, reflectance_percent)| Fixture {
            name,
            shape,
            rim,
            reflectance_percent,
        },
    )
}

fn sites() -> impl Strategy<Value = SiteGroup> {
    let layout = prop_oneof![
        point().prop_map(|centre| SiteLayout::Single { centre }),
        (point(), 1u32..9, 1u32..9, size(), size()).prop_map(
            |(first, columns, rows, pitch_x, pitch_y)| SiteLayout::Grid {
                first,
                columns,
                rows,
                pitch_x,
                pitch_y,
            }
        ),
    ];
    let own = (option::of(size()), option::of(bond()));
    (name(), shape(), -360.0..360.0, length(), layout, own).prop_map(
        |(name, shape, turn, height, layout, own)| SiteGroup {
            name,
            shape,
            turn,
            height,
            top: own.0,
            bond: own.1,
            layout,
        },
    )
}

fn bond() -> impl Strategy<Value = Bond> {
    let degrees = || -360.0..360.0;
    let lies = prop_oneof![
        Just(Lying::Level),
        (shape(), size()).prop_map(|(shape, depth)| Lying::Pocket { shape, depth }),
        (degrees(), size(), size()).prop_map(|(from, reach, gap)| Lying::Overhang {
            from,
            reach,
            gap
        }),
        (-89.0..89.0, degrees()).prop_map(|(angle, towards)| Lying::Tilted { angle, towards }),
    ];
    let behind = (0.5..100.0, 0.0..20.0, 1.0..2.5, 0.0..9.0);
    let behind = behind.prop_map(
        |(percent, uncertainty_percent, index, thickness)| Substrate {
            percent,
            uncertainty_percent,
            index,
            thickness,
        },
    );
    (lies, option::of(behind)).prop_map(|(lies, behind)| Bond { lies, behind })
}

fn keep_out() -> impl Strategy<Value = KeepOut> {
    let bars = select(vec![Bars::Both, Bars::Detector, Bars::Parts]);
    (name(), footprint(), bars, option::of(size()), any::<bool>()).prop_map(
        |(name, footprint, bars, height, stays)| KeepOut {
            name,
            footprint,
            bars,
            height,
            stays,
        },
    )
}

fn radiometer() -> impl Strategy<Value = Radiometer> {
    let words = (name(), name(), name(), name(), name());
    let sizes = (
        shape(),
        option::of(size()),
        length(),
        option::of(0.0..9.0),
        option::of(0.0..9.0),
        option::of(size()),
        select(vec![vec![], vec![(30.0, 0.99), (72.5, 0.9)]]),
    );
    let calibration = (
        option::of(day()),
        option::of(day()),
        option::of(0.0..30.0),
        1.0..3.0,
    );
    (words, sizes, calibration).prop_map(|(words, sizes, calibration)| Radiometer {
        name: words.0,
        meter_serial: words.1,
        detector_serial: words.2,
        band: words.3,
        calibrated_against: words.4,
        body: sizes.0,
        aperture_diameter: sizes.1,
        sensing_plane: sizes.2,
        angular_error_percent: sizes.3,
        angular_response: sizes.6,
        resolution: sizes.4,
        range: sizes.5,
        calibrated_on: calibration.0,
        due: calibration.1,
        expanded_uncertainty_percent: calibration.2,
        coverage_factor: calibration.3,
    })
}

fn plate() -> impl Strategy<Value = Plate> {
    (point(), size(), size()).prop_map(|(corner, width, depth)| Plate {
        corner,
        width,
        depth,
    })
}

fn reference() -> impl Strategy<Value = Reference> {
    (name(), length(), option::of(1u32..30)).prop_map(|(position, height, every)| Reference {
        position,
        height,
        every,
    })
}

fn cycle() -> impl Strategy<Value = Cycle> {
    prop::array::uniform7(0.0..90.0).prop_map(
        |[open, place, close, settle, expose, read, change]| Cycle {
            open,
            place,
            close,
            settle,
            expose,
            read,
            change,
        },
    )
}

fn bores() -> impl Strategy<Value = Bores> {
    let located = prop_oneof![
        Just(LocatedBy::Edges),
        (size(), point(), point()).prop_map(|(diameter, a, b)| LocatedBy::Pins {
            diameter,
            at: (a, b),
        }),
    ];
    (0.0..3.0, 0.0..9.0, located).prop_map(|(clearance, web, located)| Bores {
        clearance,
        web,
        located,
    })
}

fn plan() -> impl Strategy<Value = Plan> {
    let position = (name(), point()).prop_map(|(name, at)| Position { name, at });
    let layout = prop_oneof![
        (1u32..12, 1u32..12, 0.0..60.0).prop_map(|(columns, rows, margin)| PlanLayout::Grid {
            columns,
            rows,
            margin,
        }),
        prop::collection::vec(position, 0..8).prop_map(PlanLayout::ByHand),
    ];
    (
        prop::collection::vec(length(), 0..5),
        layout,
        option::of(name()),
        option::of(plate()),
        (option::of(name()), any::<bool>()),
        option::of(reference()),
        option::of(cycle()),
        option::of(bores()),
    )
        .prop_map(
            |(heights, layout, radiometer, plate, order, reference, cycle, bores)| Plan {
                heights,
                layout,
                radiometer,
                plate,
                start: order.0,
                positions_first: order.1,
                reference,
                cycle,
                bores,
            },
        )
}

fn reading() -> impl Strategy<Value = Reading> {
    let place = (length(), length(), length());
    let value = (
        option::of(prop_oneof![-5.0..2000.0, Just(0.0)]),
        1u32..5,
        option::of(0.0..90.0),
    );
    (
        name(),
        place,
        value,
        option::of(name()),
        any::<bool>(),
        name(),
    )
        .prop_map(
            |(position, place, value, excluded, saturated, note)| Reading {
                position,
                x: place.0,
                y: place.1,
                height: place.2,
                irradiance: value.0,
                repeat: value.1,
                minute: value.2,
                excluded,
                saturated,
                note,
            },
        )
}

fn state() -> impl Strategy<Value = SourceState> {
    let pallet = select(vec![
        Pallet::NotSaid,
        Pallet::Empty,
        Pallet::Loaded,
        Pallet::Out,
    ]);
    (
        option::of(size()),
        name(),
        name(),
        option::of(0.0..9000.0),
        option::of(0.0..90.0),
        name(),
        pallet,
    )
        .prop_map(|s| SourceState {
            face_height: s.0,
            drive: s.1,
            lamp_serial: s.2,
            lamp_hours: s.3,
            minutes_on: s.4,
            in_the_way: s.5,
            pallet: s.6,
        })
}

fn survey() -> impl Strategy<Value = Survey> {
    (
        name(),
        day(),
        name(),
        option::of(radiometer()),
        state(),
        name(),
        option::of((day(), 0i8..24, 0i8..60)),
        option::of(name()),
        prop::collection::vec(reading(), 0..6),
    )
        .prop_map(|s| Survey {
            name: s.0,
            date: s.1,
            operator: s.2,
            radiometer: s.3,
            state: s.4,
            notes: s.5,
            began: s.6.map(|(day, hour, minute)| day.at(hour, minute, 0, 0)),
            reference: s.7,
            readings: s.8,
        })
}

fn repeat() -> impl Strategy<Value = RepeatStudy> {
    let round = (name(), any::<bool>()).prop_map(|(survey, reset)| Round { survey, reset });
    prop::collection::vec(round, 0..4).prop_map(|rounds| RepeatStudy { rounds })
}

fn settings() -> impl Strategy<Value = Settings> {
    (
        select(vec![
            GoverningRule::AssuredMinimum,
            GoverningRule::LowerOfReadingAndSpot,
            GoverningRule::ColdestReading,
        ]),
        select(vec![AssessedArea::Sites, AssessedArea::Fixture]),
        option::of(select(Family::ALL.to_vec())),
        option::of(any::<bool>()),
        option::of((size(), option::of(size()))),
    )
        .prop_map(|(rule, area, family, drift, scatter)| Settings {
            rule,
            area,
            family,
            drift,
            scatter: scatter.map(|(noise, placement)| Scatter {
                noise_percent: noise.clamp(0.001, 99.0),
                placement,
            }),
        })
}

fn figure() -> impl Strategy<Value = Figure> {
    let origin = select(vec![Origin::SamePair, Origin::OtherPair, Origin::DataSheet]);
    (
        option::of(size()),
        origin,
        name(),
        option::of(day()),
        name(),
    )
        .prop_map(|(irradiance, origin, pair, calibrated_on, note)| Figure {
            irradiance,
            origin,
            pair,
            calibrated_on,
            note,
        })
}

fn limits() -> impl Strategy<Value = Limits> {
    let least = prop_oneof![Just(Least::FromTrials), figure().prop_map(Least::Typed)];
    let upper =
        (figure(), option::of((size(), size())), name()).prop_map(|(figure, distances, drive)| {
            Upper {
                figure,
                source: Some(SourceKind::LedPanel),
                distances,
                drive,
            }
        });
    let transmission =
        (name(), 0.5..100.0).prop_map(|(sites, percent)| Transmission { sites, percent });
    let monitor = (name(), point(), length()).prop_map(|(name, at, height)| Monitor {
        name,
        at: at.at_height(height),
    });
    let change = (option::of(day()), name()).prop_map(|(on, what)| Change { on, what });
    let frozen = (option::of(day()), 0usize..9).prop_map(|(on, readings)| Frozen { on, readings });
    let shares = (0.0..200.0, 0.0..99.0, 0.0..99.0, option::of(0.0..50.0));
    (
        (least, option::of(upper), shares, option::of(size())),
        prop::collection::vec(transmission, 0..3),
        option::of(monitor),
        select(vec![Kept::OnlyFades, Kept::Adjusted]),
        (option::of(frozen), prop::collection::vec(change, 0..3)),
    )
        .prop_map(|(first, transmission, monitor, kept, (frozen, record))| {
            let (least, upper, shares, exposure_s) = first;
            Limits {
                least,
                safety_factor_percent: shares.0,
                upper,
                exposure_s,
                allowances: Allowances {
                    until_check_percent: shares.1,
                    reload_percent: shares.2,
                },
                transmission,
                monitor,
                kept,
                fading_percent_per_100_h: shares.3,
                frozen,
                record,
            }
        })
}

fn moment() -> impl Strategy<Value = DateTime> {
    (2024i16..2027, 1i8..13, 1i8..29, 0i8..24, 0i8..60)
        .prop_map(|(year, month, day, hour, minute)| date(year, month, day).at(hour, minute, 0, 0))
}

fn log_entry() -> impl Strategy<Value = LogEntry> {
    let words = (name(), name(), name(), option::of(name()));
    let values = (
        0.0..400.0f64,
        option::of(0.0..9e3f64),
        option::of(0.0..400.0f64),
    );
    (moment(), words, values, any::<bool>()).prop_map(|(at, words, values, saturated)| LogEntry {
        lamp_hours: values.1,
        at_coldest: values.2,
        radiometer: words.0,
        by: words.1,
        note: words.2,
        set_aside: words.3,
        saturated,
        ..LogEntry::new(at, values.0)
    })
}

fn event() -> impl Strategy<Value = Event> {
    let what = prop_oneof![
        (name(), 0.0..900.0f64).prop_map(|(serial, hours)| Happened::LampChanged { serial, hours }),
        (option::of(20.0..90.0f64), name())
            .prop_map(|(face_height, drive)| Happened::Adjusted { face_height, drive }),
        (name(), option::of(-9.0..9.0f64)).prop_map(|(radiometer, found_percent)| {
            Happened::Calibrated(Calibration {
                found_percent,
                ..Calibration::of(radiometer)
            })
        }),
        name().prop_map(|what| Happened::Cleaned { what }),
        Just(Happened::Other),
    ];
    (moment(), what, name(), name()).prop_map(|(at, what, by, note)| Event { at, what, by, note })
}

/// In the order of time, as edits keep it.
fn upkeep() -> impl Strategy<Value = Upkeep> {
    let beside = (
        moment(),
        name(),
        name(),
        prop::collection::vec((1.0..400.0f64, 1.0..400.0f64), 0..4),
    )
        .prop_map(|(at, main, stand_in, pairs)| Beside {
            on: at.date(),
            main,
            stand_in,
            common_percent: None,
            by: String::new(),
            pairs,
            note: String::new(),
        });
    (
        option::of(0.5..40.0f64),
        prop::collection::vec(event(), 0..4),
        prop::collection::vec(beside, 0..3),
        prop::collection::vec(log_entry(), 0..7),
    )
        .prop_map(|(every, mut events, mut beside, log)| {
            events.sort_by_key(|event| event.at);
            beside.sort_by_key(|beside| beside.on);
            Upkeep {
                every,
                events,
                beside,
                log: log.into_iter().collect(),
            }
        })
}

fn papers() -> impl Strategy<Value = Papers> {
    let signature = || {
        (name(), option::of(moment())).prop_map(|(name, at)| Signature {
            name,
            on: at.map(|at| at.date()),
        })
    };
    (signature(), signature(), signature()).prop_map(|(author, reviewer, approver)| Papers {
        author,
        reviewer,
        approver,
    })
}

/// A station whose numbers can all be; much else about it may be odd.
pub fn station() -> impl Strategy<Value = Station> {
    let first = (name(), name(), source(), fixture());
    let lists = (
        prop::collection::vec(sites(), 0..4),
        prop::collection::vec(keep_out(), 0..3),
        prop::collection::vec(radiometer(), 0..3),
        prop::collection::vec(survey(), 0..3),
    );
    let rest = (
        option::of(limits().prop_map(Box::new)),
        option::of(repeat()),
        option::of(upkeep().prop_map(Into::into)),
        option::of(papers()),
    );
    (first, lists, plan(), settings(), rest).prop_map(|(first, lists, plan, settings, rest)| {
        Station {
            name: first.0,
            notes: first.1,
            source: first.2,
            fixture: first.3,
            sites: lists.0,
            keep_outs: lists.1,
            radiometers: lists.2,
            plan,
            surveys: lists.3.into_iter().map(Into::into).collect(),
            repeat: rest.1,
            settings,
            trials: None,
            exposure: None,
            limits: rest.0,
            upkeep: rest.2,
            papers: rest.3,
        }
    })
}

/// An edit that may be sound or not: indices that point at nothing, sizes of zero, names that are
/// taken.
pub fn edit() -> impl Strategy<Value = Edit> {
    let index = 0usize..4;
    let bad = select(vec![f64::NAN, f64::INFINITY, 0.0, -4.0, 1e300]);
    let maybe = prop_oneof![3 => length(), 1 => bad];
    let anywhere = (maybe.clone(), maybe.clone()).prop_map(|(x, y)| Point::new(x, y));
    let odd_reading =
        (reading(), maybe.clone()).prop_map(|(reading, height)| Reading { height, ..reading });
    let rows = prop::collection::vec(odd_reading, 0..5).boxed();
    let odd = maybe.clone();
    prop_oneof![
        name().prop_map(Edit::Rename),
        name().prop_map(Edit::SetNotes),
        (limits(), maybe.clone()).prop_map(|(limits, percent)| {
            Edit::SetLimits(Box::new(Limits {
                safety_factor_percent: percent,
                ..limits
            }))
        }),
        select(vec![
            Edit::FreezeLimits,
            Edit::ThawLimits,
            Edit::RemoveLimits
        ]),
        (source(), maybe.clone()).prop_map(|(source, face_height)| {
            Edit::SetSource(Source {
                face_height,
                ..source
            })
        }),
        (fixture(), maybe.clone()).prop_map(|(fixture, diameter)| {
            Edit::SetFixture(Fixture {
                shape: Shape::Circle { diameter },
                ..fixture
            })
        }),
        sites().prop_map(Edit::AddSites),
        (index.clone(), sites(), maybe.clone())
            .prop_map(|(i, group, turn)| { Edit::SetSites(i, SiteGroup { turn, ..group }) }),
        prop::collection::vec(sites(), 0..3).prop_map(Edit::ArrangeSites),
        index.clone().prop_map(Edit::RemoveSites),
        (index.clone(), anywhere.clone()).prop_map(|(i, by)| Edit::MoveSites(i, by)),
        keep_out().prop_map(Edit::AddKeepOut),
        (index.clone(), keep_out()).prop_map(|(i, k)| Edit::SetKeepOut(i, k)),
        index.clone().prop_map(Edit::RemoveKeepOut),
        radiometer().prop_map(Edit::AddRadiometer),
        (index.clone(), radiometer(), maybe.clone()).prop_map(|(i, r, sensing_plane)| {
            Edit::SetRadiometer(i, Radiometer { sensing_plane, ..r })
        }),
        index.clone().prop_map(Edit::RemoveRadiometer),
        (plan(), prop::collection::vec(maybe.clone(), 0..23))
            .prop_map(|(plan, heights)| Edit::SetPlan(Plan { heights, ..plan })),
        (index.clone(), anywhere.clone()).prop_map(|(i, to)| Edit::MovePosition(i, to)),
        ("[A-Z][0-9]?", anywhere, option::of(index.clone())).prop_map(|(name, at, survey)| {
            let position = Position { name, at };
            Edit::AddPosition { position, survey }
        }),
        survey().prop_map(Edit::AddSurvey),
        (index.clone(), survey()).prop_map(|(i, s)| Edit::SetSurveyDetails(i, s)),
        index.clone().prop_map(Edit::RemoveSurvey),
        (index.clone(), 0usize..9, rows.clone()).prop_map(|(survey, row, readings)| {
            Edit::InsertReadings {
                survey,
                row,
                readings,
            }
        }),
        (index.clone(), 0usize..9, rows).prop_map(|(survey, row, readings)| Edit::SetReadings {
            survey,
            row,
            readings,
            name: "paste 3 cells".into(),
        }),
        (index, prop::collection::vec(0usize..7, 0..4))
            .prop_map(|(survey, rows)| Edit::RemoveReadings { survey, rows }),
        settings().prop_map(Edit::SetSettings),
        option::of(repeat()).prop_map(Edit::SetRepeat),
        prop::collection::vec(log_entry(), 0..4).prop_map(|entries| Edit::AddToLog {
            entries,
            name: String::new(),
        }),
        (0usize..9, log_entry(), odd).prop_map(|(i, entry, irradiance)| {
            Edit::SetInLog(
                i,
                LogEntry {
                    irradiance,
                    ..entry
                },
            )
        }),
        prop::collection::vec(0usize..9, 0..4).prop_map(Edit::RemoveFromLog),
        upkeep().prop_map(|upkeep| Edit::SetUpkeep {
            upkeep: Box::new(upkeep),
            name: "change events".into(),
        }),
        papers().prop_map(Edit::SetPapers),
    ]
}
