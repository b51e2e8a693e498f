//! Readings in a shadow, down to nearly dark ones: no family describes them, and whatever is said stays a number.

use evenfield::assess::{Assessment, Request};
use evenfield::progress::Progress;
use evenfield::session::sample;
use evenfield::station::{Reading, Station};

/// The sample with some of its readings darker by a factor.
fn shaded(factor: f64, in_shadow: fn(&Reading) -> bool) -> Station {
    let mut station = sample();
    for reading in &mut station.surveys[0].readings {
        if in_shadow(reading) {
            reading.irradiance = reading.irradiance.map(|e| factor * e);
        }
    }
    station
}

#[test]
fn readings_in_a_shadow_leave_every_figure_a_number() {
    let places: [fn(&Reading) -> bool; 2] = [
        |r| r.position == "A1",
        |r| ["A1", "A2", "B1"].contains(&&*r.position),
    ];
    for in_shadow in places {
        for factor in [0.5, 0.1, 0.01, 0.001] {
            let station = shaded(factor, in_shadow);
            let (request, progress) = (Request::default(), Progress::new());
            let told = Assessment::of(&station, &request, &progress).expect("an answer");
            let answer = &told.answer;
            for spot in [&answer.coldest, &answer.hottest] {
                assert!(spot.irradiance.is_finite() && spot.irradiance > 0.0);
                let bounds = [spot.at_least, spot.at_most, spot.uncertainty];
                let sound = |bound: &f64| bound.is_finite() && *bound > 0.0;
                assert!(bounds.iter().flatten().all(sound), "{factor} {spot:?}");
                let (least, most) = (spot.at_least, spot.at_most);
                let around = least
                    .zip(most)
                    .is_none_or(|(l, m)| l <= spot.irradiance && spot.irradiance <= m);
                assert!(around, "{factor} {spot:?}");
            }
            let advice = answer
                .warnings
                .iter()
                .chain(&reasons(&told))
                .any(|w| w.contains("choose source-aware"));
            assert!(!advice, "{factor}: source-aware is in use");
        }
    }
}

fn reasons(told: &Assessment) -> Vec<String> {
    let show = |e: f64| format!("{e:.1}");
    told.answer
        .judged()
        .map_or_else(Vec::new, |j| j.reasons(&show))
}
