//! What a reading is expected to be at the bench.

use evenfield::assess::{Expected, Request, SurveyFit, ToFit, expected};
use evenfield::progress::Progress;
use evenfield::session::sample;
use evenfield::station::Station;

fn fit(station: &Station, survey: usize) -> SurveyFit {
    let request = Request {
        survey: Some(survey),
        ..Request::default()
    };
    let asked = ToFit::of(station, &request).expect("a survey");
    asked.fit(&Progress::new()).expect("a field")
}

#[test]
fn a_slip_is_far_and_an_aged_lamp_is_not() {
    let mut station = sample();
    let earlier = fit(&station, 0);
    let mut later = station.survey_at(0).expect("a survey").clone();
    later.name = "later".into();
    let truth: Vec<f64> = (later.readings.iter())
        .map(|r| 0.85 * r.irradiance.unwrap_or(1.0))
        .collect();
    for (row, reading) in later.readings.iter_mut().enumerate() {
        reading.excluded = None;
        reading.irradiance = (row % 3 == 0).then_some(truth[row]);
    }
    station.surveys.push(later.clone().into());
    let around = fit(&station, station.surveys.len() - 1);
    let progress = Progress::new();
    for (around, earlier) in [
        (None, Some(&earlier)),
        (Some(&around), None),
        (Some(&around), Some(&earlier)),
    ] {
        let all = expected(&later, around, earlier, &progress).expect("not stopped");
        let asked: Vec<(f64, Expected)> = (all.iter().zip(&truth))
            .filter_map(|(e, truth)| Some((*truth, (*e)?)))
            .collect();
        assert!(asked.len() > 40, "{}", asked.len());
        let far = |by: f64| {
            asked
                .iter()
                .filter(|(t, e)| e.is_far(by * t).is_some())
                .count()
        };
        assert_eq!(far(1.0), 0);
        // a digit that was swapped, a decimal point
        assert!(far(0.6) > asked.len() * 9 / 10, "{}", far(0.6));
        assert_eq!(far(10.0), asked.len());
    }
    let nothing = expected(&later, None, None, &progress).expect("not stopped");
    assert!(nothing.iter().all(Option::is_none));
}

#[test]
fn before_anything_is_read_an_earlier_survey_tells_little() {
    let station = sample();
    let earlier = fit(&station, 0);
    let mut later = station.survey_at(0).expect("a survey").clone();
    for reading in &mut later.readings {
        (reading.irradiance, reading.excluded) = (None, None);
    }
    let all = expected(&later, None, Some(&earlier), &Progress::new()).expect("not stopped");
    let first = all[0].expect("an expectation");
    assert!(first.uncertainty > 0.25);
    assert!(first.is_far(0.7 * first.irradiance).is_none());
    assert!(first.is_far(0.1 * first.irradiance).is_some());
}

#[test]
fn a_slip_does_not_accuse_the_reading_that_mends_it() {
    let mut station = sample();
    let earlier = fit(&station, 0);
    let mut later = station.survey_at(0).expect("a survey").clone();
    later.name = "later".into();
    let truth = later.readings[4].irradiance.expect("read");
    for reading in &mut later.readings {
        reading.excluded = None;
    }
    later.readings[4].irradiance = Some(0.1 * truth);
    later.readings.truncate(40);
    let again = later.again(4).expect("a row");
    later.readings.insert(5, again);
    station.surveys.push(later.clone().into());
    let around = fit(&station, station.surveys.len() - 1);
    let progress = Progress::new();
    let said = |earlier| expected(&later, Some(&around), earlier, &progress).expect("not stopped");
    assert_eq!(said(None)[5], None);
    let of_earlier = said(Some(&earlier))[5].expect("an expectation");
    assert!(of_earlier.is_far(truth).is_none(), "{of_earlier:?}");
    assert!(of_earlier.is_far(0.1 * truth).is_some(), "{of_earlier:?}");
}
