//! What the source-aware field believes and proposes: brightness of the face, what the coldest spot leans on, where to
//! measure next, and bounds beyond the positions.

use evenfield::assess::{NoAnswer, Request, answer, fit_survey};
use evenfield::field::{Face, Family, FitSettings, Fitted, Sample, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{Emitter, Emitters, Lamp, Lobe};
use evenfield::probing::{LEAST_GAIN, propose};
use evenfield::progress::Progress;
use evenfield::session::sample;
use evenfield::station::{self, AssessedArea, Edit, PlanLayout, SiteLayout};

fn outline(width: f64, depth: f64) -> Footprint {
    Footprint::new(Shape::Rectangle { width, depth }, Point::new(90.0, 60.0))
}

/// A panel of 8 x 5 emitters over 180 x 120 mm, 90 mm above the base; the four in the front right corner are dead.
fn panel_with_dead_corner() -> Emitters {
    let emitters = (0..40)
        .map(|i| {
            let (column, row) = (f64::from(i % 8), f64::from(i / 8));
            Emitter {
                at: Point::new(6.0 + 24.0 * column, 8.0 + 26.0 * row),
                power: 1000.0,
            }
        })
        .collect();
    let panel = Emitters {
        face_height: 90.0,
        lobe: Lobe::lambertian(),
        emitters,
    };
    panel.with_dead(&[6, 7, 14, 15])
}

fn read(lamp: &impl Lamp, margin: f64) -> Vec<Sample> {
    (0..35)
        .flat_map(|i| [8.0, 22.0, 38.0].map(|h| (i, h)))
        .map(|(position, h)| {
            let (column, row) = (
                f64::from(position as u32 % 7),
                f64::from(position as u32 / 7),
            );
            let x = margin + (180.0 - 2.0 * margin) * column / 6.0;
            let y = margin + (120.0 - 2.0 * margin) * row / 4.0;
            let at = Place::new(x, y, h);
            let ripple = 1.0 + 0.008 * (f64::from(position as u32) * 2.399 + h).sin();
            Sample {
                at,
                irradiance: lamp.irradiance(at) * ripple,
                position,
                minute: None,
            }
        })
        .collect()
}

fn fitted(samples: &[Sample], bare: bool, family: Option<Family>) -> Fitted {
    let settings = FitSettings {
        family,
        face: Some(Face {
            height: 90.0,
            outline: Some(outline(192.0, 124.0)),
        }),
        bare,
        ..FitSettings::default()
    };
    fit(&settings, samples, &Progress::new()).expect("a field")
}

#[test]
fn a_dead_corner_of_the_lamp_is_seen_in_its_brightness() {
    let field = fitted(&read(&panel_with_dead_corner(), 8.0), false, None);
    let brightness = field.brightness().expect("it starts from the lamp");
    let mean_near = |x: f64, y: f64| {
        let near = (0..brightness.rows).flat_map(|r| (0..brightness.columns).map(move |c| (c, r)));
        let values: Vec<f64> = near
            .filter(|&(c, r)| brightness.node(c, r).distance(Point::new(x, y)) < 20.0)
            .map(|(c, r)| brightness.irradiance[r * brightness.columns + c])
            .filter(|v| v.is_finite())
            .collect();
        values.iter().sum::<f64>() / values.len() as f64
    };
    let (dead, opposite, middle) = (
        mean_near(162.0, 20.0),
        mean_near(18.0, 100.0),
        mean_near(90.0, 60.0),
    );
    println!("dead {dead:.2}, opposite corner {opposite:.2}, middle {middle:.2} of the mean");
    assert!(dead < 0.5 * opposite && dead < 0.5 * middle);
    let none = fitted(
        &read(&panel_with_dead_corner(), 8.0),
        false,
        Some(Family::OrdinaryKriging),
    );
    assert!(none.brightness().is_none());
}

#[test]
fn every_field_is_less_sure_between_the_positions_and_least_sure_beyond_them() {
    let samples = read(&panel_with_dead_corner(), 12.0);
    let (bare, whole) = (fitted(&samples, true, None), fitted(&samples, false, None));
    let read_at = samples[samples.len() / 2].at;
    let places = [
        read_at,
        Place::new(read_at.x + 10.0, read_at.y + 7.0, read_at.height),
        Place::new(2.0, 60.0, 20.0),
        Place::new(0.0, 0.0, 20.0),
    ];
    let relative = |field: &Fitted| -> Vec<f64> {
        let there = field.at(&places, &Progress::new()).expect("estimates");
        let each = there
            .iter()
            .map(|e| e.uncertainty.expect("has one") / e.irradiance);
        each.collect()
    };
    let added: Vec<f64> = (relative(&whole).iter().zip(relative(&bare)))
        .map(|(a, b)| (a * a - b * b).max(0.0).sqrt())
        .collect();
    // the corner lies further out than the middle of the side
    assert!(
        added.is_sorted() && added[0] > 0.0 && added[3] > 0.02,
        "{added:?}"
    );
    assert_eq!(whole.beyond(places[1]), 0.0);
    assert!(whole.beyond(places[3]) > whole.beyond(places[2]));
    assert_eq!(bare.beyond(places[3]), 0.0);
    let lower = |field: &Fitted| {
        let draws = field.joint(&places[3..], 5, 2000, &Progress::new());
        let draws = draws.expect("not cancelled").expect("has draws");
        evenfield::numeric::quantile::quantile(&draws.values, 0.05).expect("values")
    };
    assert!(lower(&whole) < lower(&bare));
}

/// The sample with the whole fixture assessed, so that corners count.
fn whole_sample() -> station::Station {
    let mut station = sample();
    station.settings.area = AssessedArea::Fixture;
    station.settings.family = None;
    station
}

#[test]
fn the_coldest_spot_beyond_the_positions_leans_on_the_law_of_light() {
    let station = whole_sample();
    let said = answer(&station, &Request::default(), &Progress::new()).expect("an answer");
    let leaning = said.leaning.expect("the lamp is known");
    assert!(leaning.beyond > 0.0 && leaning.law > 0.0);
    assert!(leaning.readings_alone > 0.0 && leaning.readings_alone_uncertainty > 0.0);
    let words = leaning.words("a", "b", "c");
    assert!(words.contains("beyond the outermost positions"), "{words}");
    let mut plain = whole_sample();
    plain.settings.family = Some(station::Family::OrdinaryKriging);
    let said = answer(&plain, &Request::default(), &Progress::new()).expect("an answer");
    assert_eq!(said.leaning, None);
}

#[test]
fn proposed_positions_can_be_taken_and_raise_the_bound() {
    let mut station = three_columns();
    let (request, progress) = (Request::default(), Progress::new());
    let fit = fit_survey(&station, &request, &progress).expect("a field");
    let first = propose(&fit, &station, &request, 3, &progress).expect("a proposal");
    assert!(!first.positions.is_empty() && first.positions.len() <= 3);
    let body = station.plan_radiometer().map(|r| r.body.clone());
    let known: Vec<String> = station.positions().into_iter().map(|p| p.name).collect();
    let mut expected = first.assured;
    for proposed in &first.positions {
        assert!(station.seats_detector(proposed.position.at, body.as_ref()));
        assert!(!known.contains(&proposed.position.name));
        let gain = 100.0 * (proposed.expected - expected) / first.assured;
        assert!((proposed.gain_percent - gain).abs() < 1e-9);
        assert!(
            gain >= 100.0 * LEAST_GAIN,
            "{gain} can't be told from noise"
        );
        expected = proposed.expected;
    }
    assert_eq!(
        first,
        propose(&fit, &station, &request, 3, &progress).expect("the same again")
    );

    // taken, it stands in the plan and has a row to fill in at each planned height
    let rows = station.surveys[fit.survey].readings.len();
    let position = first.positions[0].position.clone();
    let edit = Edit::AddPosition {
        position: position.clone(),
        survey: Some(fit.survey),
    };
    station.apply(edit.clone()).expect("it can be taken");
    assert!(matches!(station.plan.layout, PlanLayout::ByHand(_)));
    assert_eq!(station.positions().last(), Some(&position));
    let readings = &station.surveys[fit.survey].readings;
    assert_eq!(readings.len(), rows + station.plan.heights.len());
    assert!(
        readings[rows..]
            .iter()
            .all(|r| r.position == position.name && r.irradiance.is_none())
    );
    assert!(station.clone().apply(edit).is_err(), "not twice");

    // what is planned already is not proposed again, and counts as read
    let then = propose(&fit, &station, &request, 3, &progress).expect("a proposal");
    assert_eq!(then.assured, first.assured);
    assert!(
        then.positions
            .iter()
            .all(|p| p.position.at.distance(position.at) >= 4.0)
    );
    assert!(
        then.positions
            .iter()
            .all(|p| p.expected > first.positions[0].expected * 0.98)
    );
}

/// No part reaches into a corner.
fn three_columns() -> station::Station {
    let mut station = sample();
    for group in &mut station.sites {
        if let SiteLayout::Grid { first, columns, .. } = &mut group.layout {
            first.x = 45.5;
            *columns = 3;
        }
    }
    station
}

#[test]
fn little_is_to_be_gained_where_no_seat_reaches() {
    // the corners of the pallet, with it in place: what lies beyond all seats of the detector no reading on them shows
    let station = whole_sample();
    let (request, progress) = (Request::default(), Progress::new());
    let fit = fit_survey(&station, &request, &progress).expect("a field");
    let none = propose(&fit, &station, &request, 3, &progress).expect("a proposal");
    assert!(
        none.positions.iter().all(|p| p.gain_percent < 0.5),
        "{none:?}"
    );
    assert!(none.assured > 0.0);
}

#[test]
fn nothing_is_proposed_without_an_assured_minimum() {
    let mut station = whole_sample();
    station.settings.family = Some(station::Family::InverseDistance);
    let (request, progress) = (Request::default(), Progress::new());
    let fit = fit_survey(&station, &request, &progress).expect("a field");
    let none = propose(&fit, &station, &request, 3, &progress);
    assert!(matches!(none, Err(NoAnswer::Missing(why)) if why.contains("no assured minimum")));
}
