//! The technician's station after a year of daily readings: three lamps, two recalibrations with a stand-in in between, a
//! mirror that was knocked, and noise that lasts from day to day. All of it is simulated; what really happened is known.

use evenfield::files::{log_csv, parse_log};
use evenfield::geometry::Place;
use evenfield::lamps::Lamp;
use evenfield::numeric::random::Normals;
use evenfield::progress::Progress;
use evenfield::station::limits::{Figure, Kept, Least, Limits, Origin, Upper};
use evenfield::station::{
    Beside, Calibration, Edit, Event, Happened, LogEntry, Radiometer, SourceKind, Station, Survey,
    Upkeep,
};
use evenfield::upkeep::trend::{Cause, Outlook};
use evenfield::upkeep::{MonitorTerms, Review, Standing, Why};
use jiff::civil::{Date, DateTime, Time, date};

use super::worn::{FACE_HEIGHT, SCALE, after_hours, described, new_lamp, survey};
use super::{golden, radiometer};

/// Days of the log.
pub const DAYS: usize = 365;
/// The face brought nearer, mm.
const NEARER: f64 = 100.0;
/// What is left of the light once the mirror was knocked.
pub const KNOCKED: f64 = 0.945;
/// When that was, and when it was set right, days of the log.
pub const KNOCK: (usize, usize) = (195, 216);
/// The lamps: first day, hours on it then, light against the first one, fading per hour.
pub const LAMPS: [(usize, f64, f64, f64); 3] = [
    (0, 12.0, 1.0, 1.5e-4),
    (140, 3.0, 1.02, 1.35e-4),
    (275, 2.0, 0.99, 1.45e-4),
];
/// Days on which the face was set: first day, height.
const SET: [(usize, f64); 5] = [
    (0, FACE_HEIGHT),
    (96, NEARER),
    (140, FACE_HEIGHT),
    (238, NEARER),
    (275, FACE_HEIGHT),
];
/// The main radiometer is away: from, until, and its scale since against the one before.
const AWAY: [(usize, usize, f64); 2] = [(88, 94, 1.0 / 1.012), (286, 293, 1.0 / 0.982)];
/// What the stand-in shows over what the main one showed in the beginning.
const STAND_IN: f64 = 0.968;
const STANDING_IN: &str = "R2 with detector D5";

fn first_day() -> Date {
    date(2025, 11, 17)
}

fn day(n: usize) -> Date {
    let span = jiff::Span::new().days(n as i64);
    first_day().checked_add(span).expect("a day")
}

fn at(n: usize, hour: i8, minute: i8) -> DateTime {
    day(n).to_datetime(Time::constant(hour, minute, 0, 0))
}

/// The monitor position that the program proposes: P-D3.
fn monitor() -> Place {
    Place::new(70.0, 70.0, 25.0)
}

/// What the light at the monitor position really is, mW/cm², and the hours on the lamp.
pub fn truth(n: usize) -> (f64, f64) {
    let lamp = LAMPS.iter().rev().find(|l| l.0 <= n).expect("a lamp");
    let face = SET.iter().rev().find(|s| s.0 <= n).expect("a height").1;
    // six hours a day but on Sundays
    let worked = (lamp.0..n).filter(|d| d % 7 != 6).count() as f64;
    let hours = lamp.1 + 6.0 * worked;
    let mut place = monitor();
    // the lamp nearer is the same as the place higher
    place.height += FACE_HEIGHT - face;
    let knocked = if (KNOCK.0..KNOCK.1).contains(&n) {
        KNOCKED
    } else {
        1.0
    };
    let faded = lamp.2 * (-lamp.3 * (hours - lamp.1)).exp();
    (new_lamp().irradiance(place) * faded * knocked, hours)
}

fn stand_in() -> Radiometer {
    Radiometer {
        name: STANDING_IN.into(),
        meter_serial: "0562".into(),
        detector_serial: "2210".into(),
        calibrated_on: Some(date(2025, 10, 6)),
        due: Some(date(2026, 10, 5)),
        ..radiometer()
    }
}

fn main_radiometer() -> Radiometer {
    Radiometer {
        calibrated_on: Some(date(2025, 2, 20)),
        due: Some(date(2026, 2, 19)),
        ..radiometer()
    }
}

/// The readings of a year, as the technician typed them.
pub fn log() -> Vec<LogEntry> {
    let mut noise = Normals::new(20_251_117, 0);
    let mut lasting = 0.0;
    let entries = (0..DAYS).map(|n| {
        // 0.6 % that lasts for some days, and 0.4 % that does not
        lasting = 0.75 * lasting + 0.006 * (1.0f64 - 0.75 * 0.75).sqrt() * noise.draw();
        let (light, hours) = truth(n);
        let away = AWAY.iter().any(|a| (a.0..a.1).contains(&n));
        let scale: f64 = AWAY.iter().filter(|a| a.1 <= n).map(|a| a.2).product();
        let shown = if away { STAND_IN } else { scale };
        let read = SCALE * shown * light * (1.0 + lasting + 0.004 * noise.draw());
        let mut entry = LogEntry::new(at(n, 7, 40 + (n % 13) as i8), (10.0 * read).round() / 10.0);
        entry.radiometer = match away {
            true => STANDING_IN.into(),
            false => radiometer().name,
        };
        entry.lamp_hours = Some(hours.round());
        entry.by = if n % 5 < 3 { "T. R." } else { "M. K." }.into();
        if n == 57 {
            entry.irradiance = (8.6 * read).round() / 10.0;
            entry.set_aside = Some("read before the lamp was warm".into());
        }
        if n % 30 == 15 {
            // the coldest funnel has 0.541 of it by the map
            entry.at_coldest = Some((5.41 * read * (1.0 + 0.01 * noise.draw())).round() / 10.0);
        }
        entry
    });
    entries.collect()
}

fn events() -> Vec<Event> {
    let event = |n: usize, hour: i8, what, by: &str, note: &str| Event {
        at: at(n, hour, 0),
        what,
        by: by.into(),
        note: note.into(),
    };
    let lamp = |n: usize, serial: &str, hours| {
        event(
            n,
            6,
            Happened::LampChanged {
                serial: serial.into(),
                hours,
            },
            "M. K.",
            "Warmed up for half an hour before the first reading",
        )
    };
    let set = |n: usize, height: f64| {
        event(
            n,
            6,
            Happened::Adjusted {
                face_height: Some(height),
                drive: String::new(),
            },
            "T. R.",
            "",
        )
    };
    let calibrated = |n: usize, certificate: &str, found: f64, due: Date| {
        event(
            n,
            6,
            Happened::Calibrated(Calibration {
                certificate: certificate.into(),
                laboratory: "Works laboratory".into(),
                due: Some(due),
                found_percent: Some(found),
                expanded_uncertainty_percent: Some(5.0),
                ..Calibration::of(radiometer().name)
            }),
            "T. R.",
            "",
        )
    };
    vec![
        lamp(0, "L4-031", 12.0),
        calibrated(94, "C-0317", 1.2, date(2027, 2, 18)),
        set(96, NEARER),
        lamp(140, "L4-032", 3.0),
        set(140, FACE_HEIGHT),
        event(
            KNOCK.1,
            6,
            Happened::Cleaned {
                what: "front mirror set right".into(),
            },
            "M. K.",
            "It had been knocked; read again over the whole tray",
        ),
        set(238, NEARER),
        lamp(275, "L4-033", 2.0),
        set(275, FACE_HEIGHT),
        calibrated(293, "C-0398", -1.8, date(2027, 9, 6)),
    ]
}

/// Side by side at four levels before it stands in, by distance, two readings at each.
fn beside() -> Beside {
    let mut noise = Normals::new(20_251_117, 1);
    let levels = [54.2, 78.9, 103.5, 131.0];
    let pairs = levels.into_iter().flat_map(|level| [level, level]);
    let rounded = |e: f64| (10.0 * e).round() / 10.0;
    Beside {
        on: day(86),
        main: radiometer().name,
        stand_in: STANDING_IN.into(),
        common_percent: Some(3.0),
        by: "T. R.".into(),
        pairs: pairs
            .map(|level| {
                let read = |scale: f64, noise: f64| rounded(scale * level * (1.0 + 0.003 * noise));
                let main = read(1.0, noise.draw());
                (main, read(STAND_IN, noise.draw()))
            })
            .collect(),
        note: String::new(),
    }
}

/// The station without its log, which is imported.
pub fn without_log() -> Station {
    let mut station = described();
    station.name = "Rain gauge funnels under lamp 4, a year on".into();
    station.notes = "Example station, invented from end to end: its readings come from a simulated lamp. The monitor \
        position was read every day for a year: three lamps, two recalibrations with a stand-in meanwhile, and a \
        mirror that was knocked. See the step Upkeep."
        .into();
    station.radiometers = vec![main_radiometer(), stand_in()];
    let figure = |irradiance: f64, note: &str| Figure {
        irradiance: Some(irradiance),
        origin: Origin::SamePair,
        pair: radiometer().name,
        calibrated_on: main_radiometer().calibrated_on,
        note: note.into(),
    };
    station.limits = Some(Box::new(Limits {
        least: Least::Typed(figure(38.0, "Cure trials of October 2025")),
        safety_factor_percent: 20.0,
        upper: Some(Upper {
            figure: figure(128.0, "Browned above that, October 2025"),
            source: Some(SourceKind::ReflectorArc),
            distances: None,
            drive: String::new(),
        }),
        kept: Kept::Adjusted,
        ..Limits::default()
    }));
    let first = survey(&station, &new_lamp(), "New lamp", first_day(), 20_251_117);
    station.surveys.push(
        Survey {
            operator: "M. K.".into(),
            radiometer: Some(main_radiometer()),
            state: after_hours(12.0),
            notes: "Lamp changed, mirrors wiped. The baseline.".into(),
            ..first
        }
        .into(),
    );
    let upkeep = Upkeep {
        every: Some(1.0),
        events: events(),
        beside: vec![beside()],
        ..Upkeep::default()
    };
    let edit = Edit::SetUpkeep {
        upkeep: Box::new(upkeep),
        name: "events".into(),
    };
    station.apply(edit).expect("sound");
    station
}

/// The station as it is shipped.
pub fn year() -> Station {
    let mut station = without_log();
    let edit = Edit::AddToLog {
        entries: log(),
        name: String::new(),
    };
    station.apply(edit).expect("sound");
    station
}

#[test]
fn the_fourth_station_file_is_what_it_is_built_to() {
    let station = year();
    let text = evenfield::files::write(&station).expect("the station can be written");
    golden("rain-gauge-funnels-a-year-on.ron", &text);
    let csv = log_csv(log().iter());
    golden("rain-gauge-funnels-log.csv", &csv);
    assert_eq!(parse_log(csv.as_bytes()), Ok(log()));
    let found = station.check();
    assert!(found.is_empty(), "{found:?}");
}

/// What the program says of the year against what really happened.
#[test]
fn a_year_is_told_as_it_was() {
    let station = year();
    let progress = Progress::new();
    let request = Default::default();
    let assessed = evenfield::assess::Assessment::of(&station, &request, &progress).expect("told");
    let outlook = assessed
        .outlook(&station, &|e| e.to_string(), &progress)
        .expect("told")
        .expect("limits");
    let terms = MonitorTerms::of(&station, &request, &assessed.answer, &outlook);
    let window = terms.window.expect("a window");
    let upkeep = station.upkeep();
    let today = day(DAYS - 1);
    let review = Review::of(&station, &upkeep, terms, today, &progress).expect("told");

    // every reading counts but the one that was set aside, on the scale of the beginning
    let notes: Vec<usize> = (review.daily.rows.iter())
        .filter(|row| matches!(row.standing, Standing::Note(_)))
        .map(|row| row.entry)
        .collect();
    assert_eq!(notes, [57]);
    assert_eq!(
        review.daily.rows[57].standing,
        Standing::Note(Why::SetAside)
    );
    let off: Vec<f64> = (review.daily.counted())
        .map(|(row, irradiance)| irradiance / (SCALE * truth(row.entry).0) - 1.0)
        .collect();
    let of = |rows: std::ops::Range<usize>| {
        let own: Vec<f64> = (review.daily.counted().zip(&off))
            .filter(|((row, _), _)| rows.contains(&row.entry))
            .map(|(_, off)| *off)
            .collect();
        own.iter().sum::<f64>() / own.len() as f64
    };
    for rows in [0..88, 88..94, 94..286, 286..293, 293..DAYS] {
        let mean = of(rows.clone());
        assert!(mean.abs() < 0.011, "{rows:?}: {mean}");
    }

    let trend = review.fading.trend.as_ref().expect("a trend");
    assert_eq!(trend.lamps.len(), 3);
    let mut found = Vec::new();
    for (lamp, of) in trend.lamps.iter().zip(LAMPS) {
        let slope = lamp.slope.expect("known");
        let per_1000 = slope.per_1000_hours.expect("hours are known");
        let really = (-1000.0 * of.3).exp_m1();
        assert!(
            per_1000.low <= really && really <= per_1000.high,
            "{really} {per_1000:?}"
        );
        let steps = lamp.offsets.iter().filter(|o| o.cause == Cause::Found);
        found.extend(steps.map(|step| (step.day, step.size)));
    }
    let begin = evenfield::upkeep::day_of(at(0, 0, 0));
    assert_eq!(found.len(), 1, "{found:?}");
    let (on, size) = found[0];
    assert!((on - begin - KNOCK.0 as f64).abs() < 2.5, "{}", on - begin);
    assert!(
        size.low <= KNOCKED - 1.0 && KNOCKED - 1.0 <= size.high,
        "{size:?}"
    );

    // when the last lamp really reaches the least, were it used on as before
    let reached = (0..400)
        .map(|n| DAYS + n)
        .find(|n| SCALE * truth(*n).0 < window.least)
        .expect("some day");
    let Some(Outlook::Reaches(passage)) = trend.outlook else {
        panic!("{:?}", trend.outlook);
    };
    let (earliest, latest) = (passage.earliest - begin, passage.latest.map(|l| l - begin));
    assert!(
        earliest <= reached as f64 && latest.is_none_or(|l| reached as f64 <= l),
        "{reached}: {earliest} to {latest:?}"
    );
    eprintln!(
        "{reached}: {} ({earliest} to {latest:?})",
        passage.day - begin
    );
}
