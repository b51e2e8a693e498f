use super::*;
use crate::geometry::Shape;
use crate::station::limits::Upper;

fn station(limits: Limits) -> Station {
    let shape = Shape::Circle { diameter: 100.0 };
    let mut station = Station::new("Bench", shape, 80.0);
    station.limits = Some(Box::new(limits));
    station
}

fn typed(irradiance: f64, origin: Origin) -> Figure {
    Figure {
        irradiance: Some(irradiance),
        origin,
        ..Figure::default()
    }
}

/// 75 mW/cm² and 50 % give 112.5, written 113 (common practice, no source).
#[test]
fn a_lower_limit_is_written_rounded_up_and_an_upper_one_rounded_down() {
    let limits = Limits {
        least: Least::Typed(typed(75.0, Origin::SamePair)),
        safety_factor_percent: 50.0,
        upper: Some(Upper {
            figure: typed(250.7, Origin::DataSheet),
            ..Upper::default()
        }),
        ..Limits::default()
    };
    let terms = terms(&station(limits), None).expect("limits");
    assert_eq!((terms.lower.value, terms.lower.written), (112.5, 113.0));
    let upper = terms.upper.expect("an upper limit");
    assert_eq!((upper.value, upper.written), (250.7, 250.0));
    assert_eq!(terms.lower.scale, Scale::Relative);
    assert_eq!(upper.scale, Scale::Absolute);
}

#[test]
fn three_digits_are_written_and_whole_ones_stay() {
    for (value, up, down) in [
        (112.5, 113.0, 112.0),
        (80.0, 80.0, 80.0),
        (1.1 * 100.0, 110.0, 110.0),
        (8.231, 8.24, 8.23),
        (0.080_01, 0.0801, 0.08),
        (1234.0, 1240.0, 1230.0),
        (99.95, 100.0, 99.9),
    ] {
        assert!((rounded_up(value) - up).abs() < 1e-9, "{value} up");
        assert!((rounded_down(value) - down).abs() < 1e-9, "{value} down");
    }
    assert!(rounded_up(f64::NAN).is_nan());
}

#[test]
fn what_is_missing_is_said() {
    let none = Station::new("Bench", Shape::Circle { diameter: 9.0 }, 80.0);
    assert!(terms(&none, None).is_err_and(|why| why.starts_with("No limits")));
    let no_figure = station(Limits::default());
    assert!(terms(&no_figure, None).is_err_and(|why| why.contains("least irradiance")));
    let no_trials = station(Limits {
        least: Least::FromTrials,
        ..Limits::default()
    });
    assert!(terms(&no_trials, None).is_err_and(|why| why.contains("cure trials")));
}

#[test]
fn limits_that_leave_nothing_between_them_are_said() {
    let crossed = station(Limits {
        least: Least::Typed(typed(100.0, Origin::SamePair)),
        safety_factor_percent: 50.0,
        upper: Some(Upper {
            figure: typed(120.0, Origin::SamePair),
            ..Upper::default()
        }),
        ..Limits::default()
    });
    let terms = terms(&crossed, None).expect("limits");
    assert!(
        terms
            .warnings
            .iter()
            .any(|w| w.contains("nothing can lie between"))
    );
}

#[test]
fn another_pair_or_another_calibration_counts_the_scale_error_in_full() {
    use crate::geometry::Shape::Circle;
    use jiff::civil::date;
    let mut with_pair = typed(75.0, Origin::SamePair);
    with_pair.pair = "R1".into();
    with_pair.calibrated_on = Some(date(2026, 1, 5));
    let mut station = station(Limits {
        least: Least::Typed(with_pair),
        ..Limits::default()
    });
    let mut judge = crate::station::Radiometer {
        calibrated_on: Some(date(2026, 1, 5)),
        expanded_uncertainty_percent: Some(5.0),
        ..crate::station::Radiometer::new("R1", Circle { diameter: 16.0 })
    };
    let mut scale = |judge: &crate::station::Radiometer| {
        let mut survey = station.new_survey("Round", date(2026, 2, 1));
        survey.radiometer = Some(judge.clone());
        station.surveys = vec![survey.into()];
        terms(&station, station.survey_at(0))
            .expect("limits")
            .lower
            .scale
    };
    assert_eq!(scale(&judge), Scale::Relative);
    judge.calibrated_on = Some(date(2026, 1, 30));
    assert_eq!(scale(&judge), Scale::Absolute);
    judge.calibrated_on = Some(date(2026, 1, 5));
    judge.name = "R2".into();
    assert_eq!(scale(&judge), Scale::Absolute);
}

/// A name and a date alone do not make a pair: with another detector, of another band or calibrated against another source
/// the figures mean something else.
#[test]
fn another_serial_band_or_source_of_calibration_is_another_pair() {
    use crate::station::{Radiometer, Trials};
    use jiff::civil::date;
    let pair = Radiometer {
        meter_serial: "M 17".into(),
        detector_serial: "D-4".into(),
        band: "320 to 390 nm".into(),
        calibrated_against: "LED 365".into(),
        calibrated_on: Some(date(2026, 1, 5)),
        ..Radiometer::new("R1", Shape::Circle { diameter: 16.0 })
    };
    let mut typed = typed(75.0, Origin::SamePair);
    typed.pair = "R1".into();
    typed.calibrated_on = pair.calibrated_on;
    let mut by_hand = station(Limits {
        least: Least::Typed(typed),
        ..Limits::default()
    });
    by_hand.radiometers = vec![pair.clone()];
    let mut of_trials = station(Limits {
        least: Least::FromTrials,
        ..Limits::default()
    });
    of_trials.trials = Some(Trials {
        radiometer: Some(pair.clone()),
        ..Trials::default()
    });
    let least = || {
        Ok(trials::Least {
            irradiance: 75.0,
            exposure_s: 6.0,
            varied: crate::station::trials::Varied::Irradiance,
            at_least_estimate: None,
            confidence: 0.95,
            method: String::new(),
            further: None,
            warnings: Vec::new(),
        })
    };
    let told = |station: &Station, judge: &Radiometer| {
        let mut survey = station.new_survey("Round", date(2026, 2, 1));
        survey.radiometer = Some(judge.clone());
        let limits = ToLimit::of(station, least).expect("limits");
        let terms = limits
            .terms(Some(&survey), Units::default())
            .expect("terms");
        let counts = |w: &String| w.contains("counts in full");
        (terms.lower.scale, terms.warnings.into_iter().find(counts))
    };
    let same = Radiometer {
        band: "320 to 390  NM".into(),
        meter_serial: String::new(),
        ..pair.clone()
    };
    type Change = fn(&mut Radiometer);
    let others: [(&str, Change); 4] = [
        ("meter serial number", |r| r.meter_serial = "M 18".into()),
        ("detector serial number", |r| {
            r.detector_serial = "D-5".into()
        }),
        ("band", |r| r.band = "250 to 390 nm".into()),
        ("source of calibration", |r| {
            r.calibrated_against = "mercury arc".into()
        }),
    ];
    for station in [&by_hand, &of_trials] {
        assert_eq!(told(station, &pair), (Scale::Relative, None));
        assert_eq!(
            told(station, &same),
            (Scale::Relative, None),
            "as far as it is told"
        );
        for (what, change) in others {
            let mut other = pair.clone();
            change(&mut other);
            let (scale, said) = told(station, &other);
            assert_eq!(scale, Scale::Absolute, "{what}");
            assert!(said.is_some_and(|s| s.contains(what)), "{what}");
        }
    }
}
