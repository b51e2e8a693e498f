//! What a detector does to readings, against lamps made of emitters that follow Lambert's law: the truth is their sum.

use evenfield::field::{Directional, Face, FitSettings, Fitted, Sample, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::numeric::random::Normals;
use evenfield::progress::Progress;

/// Of the face, mm.
const FACE: f64 = 70.0;
/// The detector reads cosine to this power more.
const POWER: f64 = 0.3;

/// Irradiance of 7 x 5 emitters, each seen under a weight by the cosine of the angle of incidence.
fn light(at: Place, seen: impl Fn(f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for i in 0..7 {
        for j in 0..5 {
            let (dx, dy) = (
                at.x - (13.0 + 25.0 * f64::from(i)),
                at.y - (11.0 + 24.0 * f64::from(j)),
            );
            let h = FACE - at.height;
            let r2 = dx * dx + dy * dy + h * h;
            let cosine = h / r2.sqrt();
            sum += 4000.0 * cosine * cosine / r2 * seen(cosine);
        }
    }
    sum
}

fn samples(seen: impl Fn(f64) -> f64 + Copy, minutes: Option<f64>, drift: f64) -> Vec<Sample> {
    let mut normals = Normals::new(11, 0);
    let mut out = Vec::new();
    for height in [0.0, 15.0, 30.0] {
        for i in 0..25 {
            let (column, row) = (f64::from(i % 5), f64::from(i / 5));
            let at = Place::new(8.0 + 41.0 * column, 8.0 + 26.0 * row, height);
            let minute = minutes.unwrap_or(0.0) * out.len() as f64;
            out.push(Sample {
                at,
                irradiance: light(at, seen)
                    * (1.0 + drift * minute)
                    * (1.0 + 0.002 * normals.draw()),
                position: i as usize,
                minute: minutes.map(|_| minute),
            });
        }
    }
    out
}

fn fitted(samples: &[Sample], directional: Directional) -> Fitted {
    let outline = Footprint::new(
        Shape::Rectangle {
            width: 182.0,
            depth: 124.0,
        },
        Point::new(88.0, 59.0),
    );
    let settings = FitSettings {
        face: Some(Face {
            height: FACE,
            outline: Some(outline),
        }),
        directional,
        mirrors: false,
        bare: true, // what families say, on lamps that are of their kind
        scatter: None,
        ..FitSettings::default()
    };
    fit(&settings, samples, &Progress::new()).expect("a field")
}

/// Corner over middle at the base, and its relative uncertainty at the corner.
fn corner(field: &Fitted) -> (f64, f64) {
    let places = [Place::new(0.0, 0.0, 0.0), Place::new(88.0, 59.0, 0.0)];
    let estimates = field.at(&places, &Progress::new()).expect("not cancelled");
    let sure = estimates[0].uncertainty.expect("a distribution") / estimates[0].irradiance;
    (estimates[0].irradiance / estimates[1].irradiance, sure)
}

fn true_corner() -> f64 {
    light(Place::new(0.0, 0.0, 0.0), |_| 1.0) / light(Place::new(88.0, 59.0, 0.0), |_| 1.0)
}

#[test]
fn a_measured_response_is_taken_off_the_readings() {
    let read = samples(|cosine| cosine.powf(POWER), None, 0.0);
    let measured: Vec<(f64, f64)> = [20.0, 40.0, 60.0, 75.0]
        .map(|angle: f64| (angle, angle.to_radians().cos().powf(POWER)))
        .to_vec();
    let (ideal, _) = corner(&fitted(
        &samples(|_| 1.0, None, 0.0),
        Directional::default(),
    ));
    let (plain, _) = corner(&fitted(&read, Directional::default()));
    let (taken, _) = corner(&fitted(&read, Directional::of_response(&measured)));
    let off = |corner: f64| (corner / ideal - 1.0).abs();
    assert!((ideal / true_corner() - 1.0).abs() < 0.02, "{ideal}");
    assert!(off(plain) > 0.03, "the detector misleads: {plain} {ideal}");
    assert!(off(taken) < 0.25 * off(plain), "{taken} {plain} {ideal}");
}

#[test]
fn an_index_alone_makes_the_field_as_unsure_as_the_detector() {
    let read = samples(|cosine| cosine.powf(POWER), None, 0.0);
    // f2 of that detector: 0.13 (the integral in closed form stands beside `field::directional`)
    let truth = true_corner();
    let (_, before) = corner(&fitted(&read, Directional::default()));
    let (told, sure) = corner(&fitted(&read, Directional::of_index(0.13)));
    assert!(sure > 1.5 * before, "{sure} {before}");
    assert!(
        (told / truth - 1.0).abs() < 2.0 * sure,
        "{told} {truth} {sure}"
    );
}

/// A lamp that fades by 3 % over the round, read height after height, and the middle of the base again and again: where
/// minutes were noted, how light grows with height comes out right.
#[test]
fn noted_minutes_take_a_drift_off() {
    let mut noted = samples(|_| 1.0, Some(0.4), -0.001);
    let mut normals = Normals::new(12, 0);
    let middle = Place::new(90.0, 60.0, 0.0);
    for minute in [8.0, 16.0, 24.0, 32.0] {
        noted.push(Sample {
            at: middle,
            irradiance: light(middle, |_| 1.0)
                * (1.0 - 0.001 * minute)
                * (1.0 + 0.002 * normals.draw()),
            position: 12,
            minute: Some(minute),
        });
    }
    let unnoted: Vec<Sample> = noted
        .iter()
        .map(|s| Sample { minute: None, ..*s })
        .collect();
    let places = [Place::new(90.0, 60.0, 30.0), middle];
    let truth = light(places[0], |_| 1.0) / light(places[1], |_| 1.0);
    let off = |samples: &[Sample]| {
        let field = fitted(samples, Directional::default());
        let found = field.at(&places, &Progress::new()).expect("not cancelled");
        found[0].irradiance / found[1].irradiance / truth - 1.0
    };
    let (with, without) = (off(&noted), off(&unnoted));
    assert!(without.abs() > 0.008, "the drift misleads: {without}");
    assert!(with.abs() < 0.5 * without.abs(), "{with} {without}");
}
