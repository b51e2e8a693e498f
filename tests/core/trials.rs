//! Cure trials: every case that has a sentence, and the levels that are found.

use evenfield::station::trials::{
    Better, Confirmation, Exposure, ExposureModel, Margin, Property, Trial, Trials, Varied,
};
use evenfield::station::{Edit, Station};
use evenfield::trials::dose::Verdict;
use evenfield::trials::exposure::effective;
use evenfield::trials::{Found, Least, analyse, dose, least};

use evenfield::geometry::Shape;

/// Scatter without chance: these sum to zero.
const SCATTER: [f64; 5] = [-1.2, 0.6, -0.2, 1.1, -0.3];

/// Five parts a level, at 10 s.
fn ladder(levels: &[f64], response: impl Fn(f64) -> f64) -> Trials {
    let parts = levels
        .iter()
        .flat_map(|&e| {
            let mean = response(e);
            SCATTER.map(|s| Trial::new(e, 10.0, mean + s * mean / 50.0))
        })
        .collect();
    Trials {
        parts,
        cooled: true,
        ..Trials::default()
    }
}

fn rising(tau: f64) -> impl Fn(f64) -> f64 {
    move |e| 20.0 * (1.0 - (-e / tau).exp())
}

const LEVELS: [f64; 7] = [10.0, 20.0, 40.0, 60.0, 80.0, 120.0, 160.0];

fn station(trials: Trials) -> Station {
    let shape = Shape::Rectangle {
        width: 100.0,
        depth: 100.0,
    };
    let mut station = Station::new("x", shape, 100.0);
    station
        .apply(Edit::SetTrials {
            trials: Some(Box::new(trials)),
            name: String::new(),
        })
        .expect("sound");
    station
}

fn of(trials: &Trials) -> Result<Least, String> {
    analyse(trials, Default::default())?.least
}

fn why(trials: &Trials) -> String {
    of(trials).expect_err("no level")
}

fn says(least: &Least, what: &str) -> bool {
    least.warnings.iter().any(|w| w.contains(what))
}

#[test]
fn the_least_level_of_a_plain_ladder() {
    // 90 % of the plateau is reached at 20 ln 10 = 46.05
    let found =
        least(&station(ladder(&LEVELS, rising(20.0))), Default::default()).expect("a level");
    assert!(
        found.irradiance > 46.05 && found.irradiance < 60.0,
        "{found:?}"
    );
    assert_eq!(found.exposure_s, 10.0);
    let estimate = found.at_least_estimate.expect("an estimate");
    assert!((estimate - 46.05).abs() < 4.0, "{estimate}");
    assert_eq!(found.confidence, 0.95);
    assert!(
        found.method.contains("curves of every likely shape"),
        "{}",
        found.method
    );
    assert!(!says(&found, "starts on its plateau"));
    // the radiometer was not said; nothing else is wrong
    assert_eq!(found.warnings.len(), 1, "{:?}", found.warnings);
}

#[test]
fn time_varied_at_a_chosen_irradiance() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    for part in &mut trials.parts {
        (part.exposure, part.irradiance) = (part.irradiance / 10.0, 100.0);
    }
    trials.varied = Varied::Time;
    trials.slowest_step = Some(4.0);
    let found = of(&trials).expect("a level");
    assert_eq!(found.irradiance, 100.0);
    // what holds of irradiance holds of time
    let same = of(&ladder(&LEVELS, rising(20.0))).expect("a level");
    assert!((found.exposure_s - same.irradiance / 10.0).abs() < 1e-6);
    assert!(says(&found, "becomes the bottleneck"));
    trials.slowest_step = Some(8.0);
    assert!(!says(&of(&trials).expect("a level"), "bottleneck"));
}

#[test]
fn tack_falls_to_its_plateau() {
    let mut trials = ladder(&LEVELS, |e| 2.0 + 30.0 * (-e / 15.0).exp());
    trials.property = Property {
        name: "Tack".into(),
        unit: "N".into(),
        better: Better::Smaller,
    };
    // 30 exp(-e/15) = 0.2 at 75.2; 0.5 at 61.4
    let found = of(&trials).expect("a level");
    assert!(
        found.irradiance >= 75.2 && found.irradiance <= 120.0,
        "{found:?}"
    );
    trials.margin = Margin::Absolute(0.5);
    let found = of(&trials).expect("a level");
    assert!(
        found.irradiance >= 61.4 && found.irradiance <= 80.0,
        "{found:?}"
    );

    for part in &mut trials.parts {
        part.result = Some(2.0 + part.result.unwrap_or(0.0) % 0.1);
    }
    assert!(why(&trials).contains("does not change over the ladder"));
}

#[test]
fn no_trials_no_results_one_level() {
    let empty = Station::new("x", Shape::Circle { diameter: 50.0 }, 100.0);
    assert!(
        least(&empty, Default::default())
            .expect_err("none")
            .contains("no cure trials yet")
    );
    assert!(why(&Trials::default()).contains("no cure trials yet"));

    let mut unread = ladder(&LEVELS, rising(20.0));
    unread.parts.iter_mut().for_each(|p| p.result = None);
    assert!(why(&unread).contains("type the results"));

    assert!(why(&ladder(&[80.0], rising(20.0))).contains("cured at one level, 80 mW/cm²"));
    // readings of one setting are one level
    assert!(why(&ladder(&[80.0, 80.4], rising(20.0))).contains("one level"));

    let mut single = ladder(&LEVELS, rising(20.0));
    single.parts = single.parts.into_iter().step_by(5).collect();
    assert!(why(&single).contains("one part only"));
}

#[test]
fn several_times_need_a_choice() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    let mut longer = ladder(&LEVELS, rising(10.0)).parts;
    longer.iter_mut().for_each(|p| p.exposure = 20.0);
    trials.parts.extend(longer);
    assert!(why(&trials).contains("exposure times from 10 s to 20 s; say which one"));
    trials.held = Some(5.0);
    assert!(why(&trials).contains("No part was cured at 5 s"));
    trials.held = Some(20.0);
    let found = of(&trials).expect("a level");
    // 10 ln 10
    assert!(
        found.irradiance > 23.03 && found.irradiance < 40.0,
        "{found:?}"
    );
    assert_eq!(found.exposure_s, 20.0);
    assert!(says(&found, "35 parts cured at another exposure than 20 s"));
}

#[test]
fn negative_values_are_refused_and_said() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    trials.parts[3].result = Some(-1.0);
    let mut station = Station::new("x", Shape::Circle { diameter: 50.0 }, 100.0);
    let edit = Edit::SetTrials {
        trials: Some(Box::new(trials.clone())),
        name: String::new(),
    };
    let refused = station.apply(edit).expect_err("negative").to_string();
    assert!(refused.contains("row 4: the result is -1"), "{refused}");
    assert_eq!(station.trials, None);
    assert!(why(&trials).contains("Row 4 of the trials: the result is -1"));
    trials.parts[3].result = Some(1.0);
    trials.parts[3].irradiance = -5.0;
    assert!(why(&trials).contains("the irradiance is -5"));
}

#[test]
fn a_falling_response_is_no_plateau() {
    let said = why(&ladder(&LEVELS, |e| 20.0 * (-e / 100.0).exp()));
    assert!(
        said.contains("gets worse as the irradiance rises"),
        "{said}"
    );
}

#[test]
fn a_fall_at_the_top_is_said_and_earns_nothing() {
    let hump = |e: f64| rising(20.0)(e) * if e > 130.0 { 0.8 } else { 1.0 };
    let found = of(&ladder(&LEVELS, hump)).expect("a level");
    assert!(
        says(&found, "The highest level, 160 mW/cm², is worse than"),
        "{found:?}"
    );
    // 40 is 86 % of the plateau: better than the damaged top, and still not full cure
    assert!(found.irradiance > 46.05, "{found:?}");
}

#[test]
fn a_ladder_that_never_reaches_its_plateau() {
    let said = why(&ladder(&LEVELS, rising(150.0)));
    assert!(said.contains("does not reach its plateau"), "{said}");
    // the last two levels are nearly equal because they are near to each other
    let said = why(&ladder(&[10.0, 20.0, 40.0, 80.0, 84.0], rising(60.0)));
    assert!(
        said.contains("does not reach its plateau for sure"),
        "{said}"
    );
}

#[test]
fn a_ladder_that_starts_on_its_plateau() {
    let found = of(&ladder(&[100.0, 150.0, 200.0], rising(10.0))).expect("a level");
    assert_eq!(found.irradiance, 100.0);
    assert_eq!(found.at_least_estimate, None);
    assert!(says(&found, "starts on its plateau"));
}

#[test]
fn a_coarse_ladder_is_said() {
    let found = of(&ladder(&[5.0, 20.0, 100.0, 200.0], rising(20.0))).expect("a level");
    assert!(
        found.irradiance > 46.05 && found.irradiance <= 100.0,
        "{found:?}"
    );
    assert!(says(
        &found,
        "The ladder is coarse: between 20 mW/cm² and 100 mW/cm² the bound hangs on curves alone"
    ));
}

#[test]
fn too_much_scatter_earns_no_level() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    for (i, part) in trials.parts.iter_mut().enumerate() {
        part.result = part.result.map(|r| r * (1.0 + 0.35 * SCATTER[i % 5]));
    }
    let said = why(&trials);
    assert!(said.contains("scatter too much for so few"), "{said}");
}

#[test]
fn warm_and_excluded_parts_are_said() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    trials.cooled = false;
    trials.parts[0].excluded = Some("dropped".into());
    trials.parts[1].part_temperature = Some(25.0);
    trials.parts[30].part_temperature = Some(70.0);
    let found = of(&trials).expect("a level");
    assert!(says(
        &found,
        "That the parts had cooled to room temperature before they were judged is not confirmed"
    ));
    assert!(says(&found, "1 part is excluded"));
    assert!(says(&found, "from 25 to 70 °C"));
}

fn judged(passed: &[(f64, u32, u32)]) -> Trials {
    let parts = (passed.iter())
        .flat_map(|&(e, passed, of)| {
            (0..of).map(move |i| Trial::new(e, 10.0, if i < passed { 1.0 } else { 0.0 }))
        })
        .collect();
    Trials {
        property: Property {
            name: "Peel".into(),
            unit: String::new(),
            better: Better::Pass,
        },
        cooled: true,
        parts,
        ..Trials::default()
    }
}

#[test]
fn pass_and_fail() {
    let mut trials = judged(&[
        (20.0, 0, 10),
        (30.0, 2, 10),
        (40.0, 6, 10),
        (60.0, 10, 10),
        (90.0, 10, 10),
        (120.0, 10, 10),
    ]);
    let Found::Judged(Some(curve)) = analyse(&trials, Default::default())
        .expect("a ladder")
        .found
    else {
        panic!("no curve");
    };
    let upper = curve.upper.expect("a bound");
    assert!(
        curve.level > 40.0 && curve.level < upper && upper < 120.0,
        "{curve:?}"
    );
    // the search alone earns nothing
    assert!(why(&trials).contains("confirm it with 59 parts"));

    let run = |passed, failed| {
        Some(Confirmation {
            irradiance: 75.0,
            exposure: 10.0,
            passed,
            failed,
        })
    };
    trials.confirmation = run(59, 0);
    let found = of(&trials).expect("a level");
    assert_eq!(found.irradiance, 75.0);
    assert!(found.at_least_estimate.is_some_and(|e| e < 75.0));
    assert_eq!(found.method, "confirmation run: 59 of 59 parts passed");
    trials.confirmation = run(58, 0);
    assert!(why(&trials).contains("let 59 parts pass without a failure"));
    trials.confirmation = run(58, 1);
    assert!(why(&trials).contains("confirm a higher level"));
    trials.confirmation = run(59, 0).map(|r| Confirmation {
        exposure: 20.0,
        ..r
    });
    assert!(why(&trials).contains("confirm at the same"));
}

#[test]
fn all_pass_all_fail_and_the_wrong_way_round() {
    assert!(
        why(&judged(&[(20.0, 0, 10), (40.0, 0, 10)]))
            .contains("Every part failed, up to 40 mW/cm²")
    );
    assert!(
        why(&judged(&[(20.0, 10, 10), (40.0, 10, 10)]))
            .contains("Every part passed, down to 20 mW/cm²")
    );
    let said = why(&judged(&[(20.0, 10, 10), (40.0, 5, 10), (60.0, 0, 10)]));
    assert!(said.contains("fail more often the higher"), "{said}");
    let said = why(&judged(&[(20.0, 2, 10), (40.0, 5, 10), (60.0, 8, 10)]));
    assert!(
        said.contains("is not shown up to the highest level"),
        "{said}"
    );
    // no run on the wrong side of the curve: all parts of the trials failed
    let mut trials = judged(&[(20.0, 0, 10), (40.0, 0, 10)]);
    trials.confirmation = Some(Confirmation {
        irradiance: 75.0,
        exposure: 10.0,
        passed: 59,
        failed: 0,
    });
    assert!(why(&trials).contains("Every part failed"));
}

#[test]
fn a_run_that_contradicts_its_trials_makes_no_level() {
    let mut trials = judged(&[(20.0, 0, 10), (40.0, 2, 10), (60.0, 10, 10), (90.0, 10, 10)]);
    let run = |irradiance, passed, failed| {
        Some(Confirmation {
            irradiance,
            exposure: 10.0,
            passed,
            failed,
        })
    };
    // 2 of 10 passed there, and now all
    trials.confirmation = run(40.0, 59, 0);
    let said = why(&trials);
    assert!(
        said.contains("does not fit the trials: 59 of 59 parts of the run passed at 40 mW/cm²")
            && said.contains("only 2 of 10 of the trials"),
        "{said}"
    );
    // all of ten passed there, and now a third: not chance; of 59 all but nine: it may be
    trials.confirmation = run(60.0, 20, 39);
    let said = why(&trials);
    assert!(said.contains("10 of 10 of the trials"), "{said}");
    trials.confirmation = run(60.0, 50, 9);
    assert!(why(&trials).contains("confirm a higher level"));
    // between levels it fits
    trials.confirmation = run(55.0, 59, 0);
    assert_eq!(of(&trials).expect("a level").irradiance, 55.0);
}

#[test]
fn a_run_at_full_cure_must_not_fail() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    let run = |irradiance, exposure, passed, failed| {
        Some(Confirmation {
            irradiance,
            exposure,
            passed,
            failed,
        })
    };
    trials.confirmation = run(80.0, 10.0, 50, 9);
    let said = why(&trials);
    assert!(
        said.contains("the trials call 80 mW/cm² full cure, but 50 of 59 parts of the run passed"),
        "{said}"
    );
    // below the bound, or at another exposure, it says nothing against it
    for other in [run(30.0, 10.0, 50, 9), run(80.0, 5.0, 50, 9)] {
        trials.confirmation = other;
        assert!(says(&of(&trials).expect("a level"), "9 of 59 parts"));
    }
    // one of many may fail by chance
    trials.confirmation = run(80.0, 10.0, 58, 1);
    assert!(says(&of(&trials).expect("a level"), "1 of 59 parts"));
}

#[test]
fn further_parts_are_proposed_where_they_tell_most() {
    let mut trials = ladder(&LEVELS, rising(20.0));
    for (i, part) in trials.parts.iter_mut().enumerate() {
        part.result = part.result.map(|r| r * (1.0 + 0.08 * SCATTER[i % 5]));
    }
    let Found::Measured(measured) = analyse(&trials, Default::default())
        .expect("a ladder")
        .found
    else {
        panic!("measured");
    };
    let upper = measured.upper.expect("a bound");
    let first = measured.further.first().expect("a proposal");
    assert!(first.bound < upper && first.bound > 46.05, "{measured:?}");
    let said =
        evenfield::trials::further::sentence(&measured.further, |level| format!("{level} x"))
            .expect("a sentence");
    assert!(said.contains(" further parts at "), "{said}");
    assert!(
        said.contains("expected to bring the bound to about"),
        "{said}"
    );
    assert_eq!(
        evenfield::trials::further::sentence(&[], |level| level.to_string()),
        None
    );
}

/// The same plateau reached by `E^p t`.
fn at_several_times(power: f64) -> Trials {
    let mut trials = ladder(&[], rising(1.0));
    for time in [5.0, 10.0, 20.0, 40.0] {
        for e in [10.0, 20.0, 40.0, 80.0f64] {
            let mean = 20.0 * (1.0 - (-e.powf(power) * time / (20f64.powf(power) * 10.0)).exp());
            let parts = SCATTER.map(|s| Trial::new(e, time, mean + s * 0.25));
            trials.parts.extend(parts);
        }
    }
    trials.held = Some(20.0);
    trials
}

#[test]
fn whether_equal_dose_means_equal_cure() {
    for (power, verdict) in [
        (1.0, Verdict::Holds),
        (0.6, Verdict::LongerIsBetter),
        (1.6, Verdict::StrongerIsBetter),
    ] {
        let law = dose(&at_several_times(power)).expect("a law");
        assert!((law.power - power).abs() < 0.08, "{law:?}");
        assert!(law.lower.is_some_and(|l| l < power) && law.upper.is_some_and(|u| u > power));
        assert_eq!(law.verdict, verdict, "{law:?}");
    }
    // one time only: nothing to say
    let plain = analyse(&ladder(&LEVELS, rising(20.0)), Default::default()).expect("a ladder");
    assert_eq!(dose(&ladder(&LEVELS, rising(20.0))), None);
    assert!(matches!(plain.found, Found::Measured(_)));
}

/// Twelve parts a place of which as many pass as `E^p t` lets, by a logistic curve.
fn judged_at_several_times(power: f64) -> Trials {
    let mut trials = judged(&[]);
    for time in [4.0, 8.0, 16.0f64] {
        for e in [20.0, 40.0, 80.0, 160.0f64] {
            let dose = (e / 56.6).powf(power) * time / 8.0;
            let passed = (12.0 / (1.0 + dose.powi(-4))).round() as usize;
            let part = |i: usize| Trial::new(e, time, f64::from(u8::from(i < passed)));
            trials.parts.extend((0..12).map(part));
        }
    }
    trials.held = Some(8.0);
    trials
}

#[test]
fn whether_equal_dose_means_equal_cure_of_parts_that_pass_or_fail() {
    for (power, verdict) in [
        (0.6, Verdict::LongerIsBetter),
        (1.0, Verdict::Holds),
        (1.7, Verdict::StrongerIsBetter),
    ] {
        let law = dose(&judged_at_several_times(power)).expect("a law");
        assert!((law.power / power - 1.0).abs() < 0.1, "{law:?}");
        assert!(law.lower.is_some_and(|l| l < power) && law.upper.is_some_and(|u| u > power));
        assert_eq!(law.verdict, verdict, "{law:?}");
    }
    // one time only, all passed, all failed: nothing to say
    assert_eq!(dose(&judged(&[(20.0, 0, 10), (40.0, 5, 10)])), None);
    for result in [0.0, 1.0] {
        let mut trials = judged_at_several_times(1.0);
        trials
            .parts
            .iter_mut()
            .for_each(|p| p.result = Some(result));
        assert_eq!(dose(&trials), None);
    }
}

#[test]
fn a_shutter_that_opens_and_closes_evenly() {
    let model = ExposureModel {
        time: 10.0,
        time_uncertainty: 0.03,
        opening: 0.4,
        closing: 0.2,
        travel_uncertainty: 0.02,
        ..ExposureModel::default()
    };
    let found = effective(&Exposure::Model(model.clone())).expect("a time");
    // half of each travel: 10 - 0.2 + 0.1
    assert!((found.time_s - 9.9).abs() < 1e-9, "{found:?}");
    let u = (0.03f64.powi(2) + 2.0 * 0.01f64.powi(2)).sqrt();
    assert!((found.uncertainty_s - u).abs() < 1e-6, "{found:?}");
    assert_eq!(found.dose(100.0).0, 100.0 * found.time_s);

    // a lamp that comes up loses tau (1 - exp(-T/tau)); one that droops by 10 % loses 5 % of T
    let lamp = ExposureModel {
        time: 10.0,
        switch_on: 0.5,
        ..ExposureModel::default()
    };
    let found = effective(&Exposure::Model(lamp)).expect("a time");
    assert!((found.time_s - 9.5).abs() < 1e-6, "{found:?}");
    let droop = ExposureModel {
        time: 10.0,
        droop_percent: 10.0,
        ripple_percent: 20.0,
        ripple_hz: 100.0,
        ..ExposureModel::default()
    };
    let found = effective(&Exposure::Model(droop)).expect("a time");
    assert!((found.time_s - 9.5).abs() < 1e-9, "{found:?}");
    assert!(
        (found.uncertainty_s - 0.2 / (100.0 * std::f64::consts::PI * 2f64.sqrt())).abs() < 1e-9
    );
    assert!(found.warnings[0].contains("5.0 % less"), "{found:?}");
}

#[test]
fn a_course_that_was_read() {
    let model = ExposureModel {
        time: 5.0,
        opening: 0.5,
        closing: 0.5,
        ..ExposureModel::default()
    };
    let course = |step: f64| -> Vec<(f64, f64)> {
        (0..)
            .map(|i| f64::from(i) * step)
            .take_while(|t| *t < 5.5 + 2.0 * step)
            .map(|t| (t, 80.0 * evenfield::trials::exposure::course(&model, t)))
            .collect()
    };
    let read = |points| {
        effective(&Exposure::Measured {
            points,
            reference: None,
        })
    };
    let found = read(course(0.05)).expect("a time");
    assert!((found.time_s - 5.0).abs() < 1e-3, "{found:?}");
    assert!((found.reference - 80.0).abs() < 1e-9);
    assert!(found.warnings.is_empty(), "{found:?}");
    assert!(read(course(2.1)).expect("a time").warnings[0].contains("too far apart"));
    let cut = course(0.05).split_off(40);
    assert!(
        read(cut)
            .expect("a time")
            .warnings
            .iter()
            .any(|w| w.contains("in the dark"))
    );
    assert!(
        read(vec![(0.0, 1.0), (1.0, 1.0)])
            .expect_err("few")
            .contains("four points")
    );
    assert!(
        read(vec![(0.0, 0.0); 5])
            .expect_err("twice")
            .contains("does not come after")
    );
    let dark: Vec<(f64, f64)> = (0..5).map(|i| (f64::from(i), 0.0)).collect();
    assert!(
        read(dark)
            .expect_err("dark")
            .contains("no irradiance above zero")
    );
    let mut negative = course(0.5);
    negative[4].1 = -30.0;
    assert!(
        read(negative)
            .expect_err("negative")
            .contains("take the dark reading off")
    );
}

/// Noise of the points becomes an uncertainty of the right size.
#[test]
fn noise_of_a_course_is_told() {
    let n = 400;
    let mut normals = evenfield::numeric::random::Normals::new(11, 0);
    let mut times = Vec::new();
    let mut stated = 0.0;
    for _ in 0..200 {
        let points: Vec<(f64, f64)> = (0..n)
            .map(|i| {
                let t = f64::from(i) * 0.02;
                let on = if (0.5..7.0).contains(&t) {
                    100.0 + 4.0 * normals.draw()
                } else {
                    0.0
                };
                (t, on)
            })
            .collect();
        let found = effective(&Exposure::Measured {
            points,
            reference: Some(100.0),
        })
        .expect("a time");
        times.push(found.time_s);
        let noise = found.budget.iter().find(|b| b.0 == "noise of the points");
        stated += noise.expect("noise").1 / 200.0;
    }
    let mean = times.iter().sum::<f64>() / 200.0;
    let sd = (times.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / 199.0).sqrt();
    assert!(stated > 0.8 * sd && stated < 1.4 * sd, "{stated} {sd}");
}

#[test]
fn trials_are_kept_in_the_file_and_old_files_open() {
    let with = station(ladder(&LEVELS, rising(20.0)));
    let text = evenfield::files::write(&with).expect("written");
    let back = evenfield::files::parse(text.as_bytes()).expect("opens");
    assert_eq!(back, with);
}
