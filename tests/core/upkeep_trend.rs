//! The trend of a log: what it says of simple logs, at the edges, and of nonsense.

use evenfield::numeric::random::Normals;
use evenfield::progress::Progress;
use evenfield::upkeep::life::{Curve, life};
use evenfield::upkeep::trend::{
    AHEAD, Asked, Cause, Clock, Mark, Marked, Oddity, Outlook, Reading, Trend, trend,
};

pub fn reading(day: f64, irradiance: f64) -> Reading {
    Reading {
        day,
        hours: None,
        irradiance,
        conversion: None,
    }
}

pub fn asked<'a>(readings: &'a [Reading], marks: &'a [Marked]) -> Asked<'a> {
    Asked {
        readings,
        marks,
        conversions: &[],
        limit: Some(40.0),
        resolution: 0.1,
        seed: 7,
    }
}

pub fn told(asked: &Asked<'_>) -> Trend {
    let told = trend(asked, &Progress::new()).expect("not cancelled");
    told.expect("sound")
}

/// Daily readings of a lamp that begins at 50 mW/cm² and loses so much a day on the logarithm, 0.5 % noise.
pub fn fading(days: usize, loss: f64, seed: u64) -> Vec<Reading> {
    let mut normals = Normals::new(seed, 0);
    (0..days)
        .map(|d| {
            reading(
                d as f64,
                50.0 * (0.005 * normals.draw() - loss * d as f64).exp(),
            )
        })
        .collect()
}

#[test]
fn an_even_fading_is_told_with_its_day() {
    let log = fading(60, 0.002, 1);
    let told = told(&asked(&log, &[]));
    let lamp = &told.lamps[0];
    assert_eq!(
        (lamp.readings, lamp.levels.len(), lamp.clock),
        (60, 60, Clock::Days)
    );
    assert!(lamp.offsets.is_empty() && lamp.outliers.is_empty());
    let slope = lamp.slope.expect("enough").per_month;
    assert!(slope.holds((-0.002_f64 * 30.4375).exp_m1()), "{slope:?}");
    assert!(
        lamp.now.holds(50.0 * (-0.002 * 59.0_f64).exp()),
        "{:?}",
        lamp.now
    );
    // ln 1.25 / 0.002 = 111.6 days after the first reading
    let Some(Outlook::Reaches(passage)) = told.outlook else {
        panic!("{:?}", told.outlook)
    };
    assert!(
        passage.earliest < 111.6 && 111.6 < passage.latest.expect("an end"),
        "{passage:?}"
    );
    assert!((passage.day - 111.6).abs() < 15.0, "{passage:?}");
    assert_eq!(passage.until, 59.0 + AHEAD * 59.0);
    // the level ahead holds the true one, is wider the further it is, and ends where nothing more is said
    let ahead = &told.ahead;
    assert_eq!(ahead.last().expect("a level ahead").day, passage.until);
    for pair in ahead.windows(2) {
        let wide = |a: &evenfield::upkeep::trend::Ahead| a.level.high / a.level.low;
        assert!(pair[0].day < pair[1].day && wide(&pair[0]) < wide(&pair[1]));
        assert!(
            pair[0].level.holds(50.0 * (-0.002 * pair[0].day).exp()),
            "{:?}",
            pair[0]
        );
    }
    let fit = lamp.exponential.as_ref().expect("a fit");
    assert!((fit.alpha - 0.002).abs() < 3.0 * fit.alpha_error, "{fit:?}");
    // the same question, the same answer
    assert_eq!(told, self::told(&asked(&log, &[])));
}

#[test]
fn a_readjustment_is_no_fading() {
    let mut log = fading(80, 0.002, 2);
    for r in &mut log[40..] {
        r.irradiance *= 1.15;
    }
    let mark = Marked {
        day: 39.5,
        mark: Mark::Readjusted,
    };
    let told = told(&asked(&log, &[mark]));
    let lamp = &told.lamps[0];
    let offset = lamp.offsets[0];
    assert_eq!(
        (offset.cause, offset.day, offset.window),
        (Cause::Mark(0), 39.5, (39.0, 40.0))
    );
    assert!(offset.size.holds(0.15), "{offset:?}");
    let slope = lamp.slope.expect("enough").per_month;
    assert!(
        slope.holds((-0.002_f64 * 30.4375).exp_m1()) && slope.high < 0.0,
        "{slope:?}"
    );
    // the station's level jumps, the lamp's does not
    let (before, after) = (lamp.levels[39], lamp.levels[40]);
    assert!(after.station / before.station > 1.1);
    assert!((after.lamp / before.lamp - 1.0).abs() < 0.01);
}

#[test]
fn a_step_is_found_and_an_outlier_is_none() {
    let mut log = fading(90, 0.001, 3);
    for r in &mut log[50..] {
        r.irradiance *= 0.94;
    }
    log[20].irradiance *= 0.8;
    let told = told(&asked(&log, &[]));
    let lamp = &told.lamps[0];
    assert_eq!(lamp.outliers.len(), 1, "{:?}", lamp.outliers);
    assert_eq!(
        (lamp.outliers[0].reading, lamp.outliers[0].last),
        (20, false)
    );
    assert!((lamp.outliers[0].off + 0.2).abs() < 0.02);
    assert_eq!(lamp.offsets.len(), 1, "{:?}", lamp.offsets);
    let step = lamp.offsets[0];
    assert_eq!(step.cause, Cause::Found);
    assert!(step.window.0 < 50.0 && 50.0 <= step.window.1 && (step.day - 50.0).abs() < 2.0);
    assert!(step.size.holds(-0.06), "{step:?}");
    // the outlier drags nothing
    let apart =
        lamp.levels[20].station / (lamp.levels[19].station * lamp.levels[21].station).sqrt();
    assert!((apart - 1.0).abs() < 1e-3);
}

#[test]
fn a_last_reading_that_stands_out_may_be_a_step_that_begins() {
    let mut log = fading(60, 0.001, 4);
    log[59].irradiance *= 0.9;
    let lamp = &told(&asked(&log, &[])).lamps[0];
    assert_eq!(lamp.outliers.len(), 1);
    assert!(lamp.outliers[0].last);
}

#[test]
fn a_new_lamp_has_a_trend_of_its_own_and_borrows() {
    let mut log = fading(100, 0.002, 5);
    let second = fading(100, 0.0022, 6);
    let third = fading(12, 0.002, 7);
    log.extend(second.iter().map(|r| reading(r.day + 100.0, r.irradiance)));
    log.extend(third.iter().map(|r| reading(r.day + 200.0, r.irradiance)));
    let marks = [100.0, 200.0].map(|day| Marked {
        day,
        mark: Mark::NewLamp,
    });
    let with = told(&asked(&log, &marks));
    assert_eq!(with.lamps.len(), 3);
    assert_eq!((with.lamps[2].since, with.lamps[2].readings), (200.0, 12));
    let borrowed = with.borrowed.expect("of two lamps");
    assert_eq!(borrowed.lamps, 2);
    assert!(borrowed.per_month.holds((-0.0021_f64 * 30.4375).exp_m1()));
    // the third alone knows less
    let alone = told(&asked(&log[200..], &[]));
    let width = |t: &Trend| {
        let slope = t
            .lamps
            .last()
            .expect("a lamp")
            .slope
            .expect("enough")
            .per_month;
        slope.high - slope.low
    };
    assert!(alone.borrowed.is_none());
    assert!(
        width(&with) < 0.8 * width(&alone),
        "{} {}",
        width(&with),
        width(&alone)
    );
    // and the former lamps' lives
    let curves: Vec<Curve> = (with.lamps[..2].iter())
        .map(|l| Curve::of(l, Clock::Days, 0.0, true).expect("a curve"))
        .collect();
    let lives = life(&curves, 0.85);
    let next = lives.next.expect("two lives");
    // -ln 0.85 / 0.0021
    assert!(next.median.holds(77.4), "{next:?}");
    assert!(next.next.low <= next.median.low && next.median.high <= next.next.high);
}

#[test]
fn a_calibration_carries_earlier_readings_along() {
    let mut log = fading(80, 0.001, 8);
    for r in &mut log[40..] {
        r.irradiance *= 1.05;
    }
    let mark = |shift| {
        [Marked {
            day: 39.5,
            mark: Mark::Recalibrated(shift),
        }]
    };
    let known = mark(Some((0.05, 0.001)));
    let of_known = told(&asked(&log, &known)).lamps[0].clone();
    let unknown = mark(None);
    let of_unknown = told(&asked(&log, &unknown)).lamps[0].clone();
    let width = |l: &evenfield::upkeep::trend::LampTrend| {
        let slope = l.slope.expect("enough").per_month;
        assert!(slope.holds((-0.001_f64 * 30.4375).exp_m1()), "{slope:?}");
        assert!(l.offsets[0].size.holds(0.05));
        slope.high - slope.low
    };
    assert!(width(&of_known) < width(&of_unknown));
}

#[test]
fn converted_readings_share_their_uncertainty() {
    let mut log = fading(60, 0.001, 9);
    for r in &mut log {
        r.conversion = Some(0);
        r.irradiance *= 1.03;
    }
    let of = |u: f64| {
        let conversions = [u];
        let asked = Asked {
            conversions: &conversions,
            ..asked(&log, &[])
        };
        let now = told(&asked).lamps[0].now;
        (now.high - now.low) / now.value
    };
    // readings do not average a shared 3 % away: twice 1.96 times it
    assert!((of(0.03) - 0.118).abs() < 0.01, "{}", of(0.03));
    assert!(of(0.001) < 0.02, "{}", of(0.001));
}

#[test]
fn hours_are_the_clock_where_they_are_known() {
    let mut log = fading(60, 0.002, 10);
    for (d, r) in log.iter_mut().enumerate() {
        r.hours = Some(1000.0 + 10.0 * d as f64);
    }
    log[30].hours = Some(4000.0);
    log[31].hours = Some(900.0);
    let told = told(&asked(&log, &[]));
    assert_eq!(
        told.oddities,
        [Oddity::HoursTooMany(30), Oddity::HoursBack(31)]
    );
    let lamp = &told.lamps[0];
    assert_eq!((lamp.clock, lamp.hours), (Clock::Hours, Some(1000.0)));
    assert!((lamp.hours_a_day.expect("hours") - 10.0).abs() < 1e-9);
    let slope = lamp.slope.expect("enough").per_1000_hours.expect("hours");
    assert!(slope.holds((-0.2_f64).exp_m1()), "{slope:?}");
    let Some(Outlook::Reaches(passage)) = told.outlook else {
        panic!("{:?}", told.outlook)
    };
    let (hours, earliest, latest) = passage.hours.expect("hours");
    assert!(
        earliest < 2116.0 && 2116.0 < latest.expect("an end"),
        "{passage:?}"
    );
    assert!(
        (hours - 1000.0 - 10.0 * passage.day).abs() < 40.0,
        "{passage:?}"
    );
}

#[test]
fn the_limit_reached_and_the_limit_out_of_sight() {
    let log = fading(60, 0.002, 11);
    let of = |limit: f64| {
        told(&Asked {
            limit: Some(limit),
            ..asked(&log, &[])
        })
        .outlook
    };
    let Some(Outlook::Reached { since, probability }) = of(47.0) else {
        panic!("{:?}", of(47.0))
    };
    // ln (50/47) / 0.002 = 30.9
    assert!(
        (since - 30.9).abs() < 5.0 && probability > 0.9,
        "{since} {probability}"
    );
    let steady = fading(60, 0.0, 12);
    let steady = told(&Asked {
        limit: Some(30.0),
        ..asked(&steady, &[])
    })
    .outlook;
    assert!(
        matches!(steady, Some(Outlook::NotInSight { .. })),
        "{steady:?}"
    );
}
