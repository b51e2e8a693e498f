//! The trend of a log at its edges: few readings, odd ones, nonsense.

use evenfield::progress::Progress;
use evenfield::upkeep::beside::{Beside, NoComparison, Pair};
use evenfield::upkeep::trend::{
    Asked, Mark, Marked, Outlook, Reading, Refused, TooLittle, Trend, trend,
};
use proptest::prelude::*;

use super::upkeep_trend::{asked, fading, reading, told};

#[test]
fn few_readings_say_what_they_can() {
    for n in 0..5 {
        let log = fading(n, 0.002, 13);
        let told = told(&asked(&log, &[]));
        if n == 0 {
            assert!(told.lamps.is_empty() && told.outlook.is_none());
            continue;
        }
        let need = TooLittle::Readings { have: n, need: 5 };
        assert_eq!(told.outlook, Some(Outlook::TooLittle(need)));
        assert_eq!(told.lamps[0].slope, Err(need));
        assert!((told.lamps[0].now.value / 50.0 - 1.0).abs() < 0.05);
    }
    let hour: Vec<Reading> = (0..8).map(|i| reading(f64::from(i) / 24.0, 50.0)).collect();
    let told = told(&asked(&hour, &[]));
    assert_eq!(told.outlook, Some(Outlook::TooLittle(TooLittle::Short)));
}

#[test]
fn equal_readings_and_readings_at_one_time() {
    let equal: Vec<Reading> = (0..40).map(|d| reading(f64::from(d), 50.0)).collect();
    let of_equal = told(&asked(&equal, &[]));
    let lamp = &of_equal.lamps[0];
    assert!((lamp.now.value - 50.0).abs() < 1e-6 && lamp.now.low < 50.0 && lamp.now.high > 50.0);
    assert!(lamp.slope.expect("enough").per_month.holds(0.0));
    let once: Vec<Reading> = (0..9)
        .map(|i| reading(3.0, 50.0 + f64::from(i % 3)))
        .collect();
    let of_once = told(&asked(&once, &[]));
    assert_eq!(of_once.outlook, Some(Outlook::TooLittle(TooLittle::Short)));
    finite(&of_once);
    // two marks between the same readings, marks before and after all
    let marks = [
        Marked {
            day: 20.5,
            mark: Mark::Readjusted,
        },
        Marked {
            day: 20.6,
            mark: Mark::Recalibrated(Some((0.01, 0.002))),
        },
        Marked {
            day: 20.7,
            mark: Mark::Readjusted,
        },
        Marked {
            day: -5.0,
            mark: Mark::Readjusted,
        },
        Marked {
            day: 500.0,
            mark: Mark::NewLamp,
        },
    ];
    let of_marks = told(&asked(&equal, &marks));
    assert_eq!(
        (of_marks.lamps.len(), of_marks.lamps[0].offsets.len()),
        (1, 1)
    );
    finite(&of_marks);
}

#[test]
fn what_makes_no_sense_is_refused() {
    let log = fading(10, 0.001, 14);
    let with = |change: &dyn Fn(&mut Vec<Reading>)| {
        let mut log = log.clone();
        change(&mut log);
        trend(&asked(&log, &[]), &Progress::new())
            .expect("not cancelled")
            .err()
    };
    assert_eq!(
        with(&|l| l[3].irradiance = 0.0),
        Some(Refused::NotPositive(3))
    );
    assert_eq!(
        with(&|l| l[4].irradiance = -1.0),
        Some(Refused::NotPositive(4))
    );
    assert_eq!(
        with(&|l| l[5].irradiance = f64::NAN),
        Some(Refused::NotPositive(5))
    );
    assert_eq!(
        with(&|l| l[6].day = f64::INFINITY),
        Some(Refused::NoTime(6))
    );
    assert_eq!(
        with(&|l| l[7].hours = Some(f64::NAN)),
        Some(Refused::NoTime(7))
    );
    assert_eq!(
        with(&|l| l[8].conversion = Some(0)),
        Some(Refused::NoConversion(8))
    );
    let refused = |asked: Asked<'_>| {
        trend(&asked, &Progress::new())
            .expect("not cancelled")
            .err()
    };
    let marks = [Marked {
        day: 1.0,
        mark: Mark::Recalibrated(Some((-1.0, 0.1))),
    }];
    assert_eq!(refused(asked(&log, &marks)), Some(Refused::BadMark(0)));
    let bad = Asked {
        limit: Some(0.0),
        ..asked(&log, &[])
    };
    assert_eq!(refused(bad), Some(Refused::BadLimit));
    let bad = Asked {
        resolution: -0.1,
        ..asked(&log, &[])
    };
    assert_eq!(refused(bad), Some(Refused::BadResolution));
    let bad = Asked {
        conversions: &[f64::NAN],
        ..asked(&log, &[])
    };
    assert_eq!(refused(bad), Some(Refused::BadConversion(0)));
    let stopped = Progress::new();
    stopped.cancel();
    assert!(trend(&asked(&log, &[]), &stopped).is_err());
    let pair = |main: f64| Pair {
        setting: 0,
        main,
        stand_in: 10.0,
    };
    assert_eq!(
        Beside::of(&[], None, 0.0).err(),
        Some(NoComparison::FewPairs(0))
    );
    assert_eq!(
        Beside::of(&[pair(1.0)], None, 0.0).err(),
        Some(NoComparison::FewPairs(1))
    );
    assert_eq!(
        Beside::of(&[pair(1.0), pair(0.0)], None, 0.0).err(),
        Some(NoComparison::NotPositive(1))
    );
}

/// Order of the readings, and the unit of irradiance, change nothing but the unit.
#[test]
fn order_and_unit_do_not_matter() {
    let log = fading(50, 0.002, 15);
    let one = told(&asked(&log, &[]));
    let mut turned: Vec<Reading> = log.iter().rev().copied().collect();
    for r in &mut turned {
        r.irradiance *= 10.0;
    }
    let other = told(&Asked {
        limit: Some(400.0),
        resolution: 1.0,
        ..asked(&turned, &[])
    });
    let (Some(Outlook::Reaches(a)), Some(Outlook::Reaches(b))) = (one.outlook, other.outlook)
    else {
        panic!("{:?} {:?}", one.outlook, other.outlook)
    };
    assert!((a.day - b.day).abs() < 1e-3 && (a.earliest - b.earliest).abs() < 1e-3);
    assert!((other.lamps[0].now.value / one.lamps[0].now.value - 10.0).abs() < 1e-6);
}

/// Nothing that is told is not a number.
fn finite(told: &Trend) {
    let text = format!("{told:?}");
    assert!(
        !text.contains("NaN") && !text.contains("inf"),
        "{}",
        &text[..text.len().min(4000)]
    );
}

fn anything() -> impl Strategy<Value = (Vec<Reading>, Vec<Marked>)> {
    let day = prop_oneof![
        (0u8..60).prop_map(f64::from),
        -1e4..1e4,
        Just(1e9),
        Just(12.0)
    ];
    let hours = prop::option::of(prop_oneof![0.0..2000.0, -1e7..1e7]);
    let irradiance = prop_oneof![45.0..55.0, 1e-6..1e6, Just(1e-300), Just(1e300), Just(50.0)];
    let reading = (day.clone(), hours, irradiance, prop::option::of(0usize..2)).prop_map(
        |(day, hours, irradiance, conversion)| Reading {
            day,
            hours,
            irradiance,
            conversion,
        },
    );
    let mark = prop_oneof![
        Just(Mark::NewLamp),
        Just(Mark::Readjusted),
        Just(Mark::Recalibrated(None)),
        (-0.99..3.0, 0.0..2.0).prop_map(|shift| Mark::Recalibrated(Some(shift))),
    ];
    let marked = (day, mark).prop_map(|(day, mark)| Marked { day, mark });
    (
        prop::collection::vec(reading, 0..50),
        prop::collection::vec(marked, 0..8),
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_log_makes_it_panic_or_lose_its_numbers((readings, marks) in anything(), limit in 1e-3..1e4) {
        let asked = Asked {
            conversions: &[0.0, 0.05],
            limit: Some(limit),
            ..asked(&readings, &marks)
        };
        finite(&told(&asked));
    }
}
