//! Light at bonds against closed forms: element to an infinite strip and to a coaxial disc (Howell, A Catalog of Radiation
//! Configuration Factors; Siegel & Howell, Thermal Radiation Heat Transfer), isotropic sky on a tilted plane (Liu & Jordan
//! 1963), a polygon seen from a plane (Lambert 1760), Fresnel's reflectance, Snell, Beer and Lambert. The digits were computed
//! from those forms.

use std::f64::consts::TAU;

use evenfield::field::{
    AtBond, Block, Bond, Face, FitSettings, Frame, Glass, Lies, Receiver, Sample, Scene, fit,
};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{Lamp, UniformPanel};
use evenfield::progress::Progress;

const HERE: Place = Place {
    x: 0.0,
    y: 0.0,
    height: 0.0,
};

fn rectangle(width: f64, depth: f64, x: f64, y: f64) -> Footprint {
    Footprint::new(Shape::Rectangle { width, depth }, Point::new(x, y))
}

fn disk(diameter: f64) -> Footprint {
    Footprint::new(Shape::Circle { diameter }, Point::default())
}

/// Share of an even sky's light, by midpoints in sin² of the angle from straight up and in the angle around.
fn under_even_sky(receiver: &Receiver) -> f64 {
    const RINGS: u32 = 400;
    const AROUND: u32 = 720;
    let mut sum = 0.0;
    for i in 0..RINGS {
        let sine2 = (f64::from(i) + 0.5) / f64::from(RINGS);
        let slope = (sine2 / (1.0 - sine2)).sqrt();
        for k in 0..AROUND {
            let (sin, cos) = (TAU * (f64::from(k) + 0.5) / f64::from(AROUND)).sin_cos();
            sum += receiver.passes((slope * cos, slope * sin), 1.0, (1e-4, 1e-4));
        }
    }
    sum / f64::from(RINGS * AROUND)
}

fn close(got: f64, expected: f64, relative: f64, what: &str) {
    let error = (got / expected - 1.0).abs();
    assert!(error <= relative, "{what}: {got}, expected {expected}");
}

#[test]
fn a_place_beside_an_endless_wall() {
    for (away, high, expected) in [
        (10.0, 5.0, 0.94721),
        (10.0, 10.0, 0.85355),
        (5.0, 20.0, 0.62127),
    ] {
        let scene = Scene {
            blocks: vec![Block {
                outline: rectangle(4.0, 1e5, away + 2.0, 0.0),
                top: high,
            }],
            ..Scene::default()
        };
        let receiver = Receiver::new(&scene, &Bond::default(), HERE);
        let form = 0.5 * (1.0 + away / f64::hypot(away, high));
        close(form, expected, 1e-5, "the form");
        close(under_even_sky(&receiver), expected, 0.004, "wall");
        // as a frame around a wide fixture, with the place beside its left side only
        let frame = Scene {
            frame: Some(Frame {
                outline: rectangle(1e5, 1e5, 0.5e5 - away - 3.0, 0.0),
                thickness: 3.0,
                top: high,
            }),
            ..Scene::default()
        };
        let receiver = Receiver::new(&frame, &Bond::default(), HERE);
        close(under_even_sky(&receiver), expected, 0.004, "frame");
    }
}

#[test]
fn the_bottom_of_a_round_pocket() {
    for (radius, depth, expected) in [(5.0, 5.0, 0.5), (5.0, 2.0, 0.86207), (3.0, 10.0, 0.08257)] {
        let bond = Bond {
            lies: Lies::Pocket {
                outline: disk(2.0 * radius),
                depth,
            },
            ..Bond::default()
        };
        let receiver = Receiver::new(&Scene::default(), &bond, HERE);
        close(under_even_sky(&receiver), expected, 0.01, "pocket");
        // walls seen are what is not sky
        let (least, most) = receiver.walls();
        assert_eq!(least, 0.0);
        close(most, 0.5 * 0.5 * (1.0 - expected), 0.01, "walls");
    }
}

#[test]
fn half_a_strip_is_hidden_by_a_plate() {
    // a plate `gap` over the place that ends `open` before it, or reaches `-open` over it
    for open in [4.0_f64, 1.0, -2.0] {
        let gap = 3.0;
        let bond = Bond {
            lies: Lies::Overhang {
                edge: Point::new(open, 0.0),
                under: Point::new(1.0, 0.0),
                gap,
            },
            ..Bond::default()
        };
        let receiver = Receiver::new(&Scene::default(), &bond, HERE);
        // sky from the one horizon to the edge
        let expected = 0.5 * (1.0 + open / f64::hypot(open, gap));
        close(under_even_sky(&receiver), expected, 0.01, "overhang");
    }
}

fn tilted(degrees: f64) -> Bond {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Bond {
        lies: Lies::Tilted {
            about: Point::default(),
            normal: [sin, 0.0, cos],
        },
        ..Bond::default()
    }
}

#[test]
fn a_tilted_face_under_an_even_sky() {
    for (degrees, expected) in [(20.0, 0.96985), (45.0, 0.85355)] {
        let receiver = Receiver::new(&Scene::default(), &tilted(degrees), HERE);
        close(under_even_sky(&receiver), expected, 0.01, "tilt");
    }
}

#[test]
fn a_tilted_face_under_a_rectangle() {
    let (half, depth, up) = (40.0, 30.0, 50.0);
    let corners = [
        (-half, -depth),
        (half, -depth),
        (half, depth),
        (-half, depth),
    ]
    .map(|(x, y)| [x + 15.0, y, up]);
    // Lambert: the sum over sides of the angle that each is seen under, times the normal's part along the plane of sight
    let form = |normal: [f64; 3]| -> f64 {
        let each = (0..4).map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % 4]);
            let cross = [
                a[1] * b[2] - a[2] * b[1],
                a[2] * b[0] - a[0] * b[2],
                a[0] * b[1] - a[1] * b[0],
            ];
            let length = |v: [f64; 3]| v.iter().map(|c| c * c).sum::<f64>().sqrt();
            let dot = |u: [f64; 3], v: [f64; 3]| u.iter().zip(v).map(|(p, q)| p * q).sum::<f64>();
            let angle = (dot(a, b) / length(a) / length(b)).acos();
            angle * dot(normal, cross) / length(cross)
        });
        each.sum::<f64>() / TAU
    };
    let (sin, cos) = 20f64.to_radians().sin_cos();
    let expected = form([sin, 0.0, cos]) / form([0.0, 0.0, 1.0]);
    let receiver = Receiver::new(&Scene::default(), &tilted(20.0), HERE);
    let (mut there, mut open) = (0.0, 0.0);
    const N: u32 = 200;
    for i in 0..N {
        for k in 0..N {
            let part = |i: u32, half: f64| (2.0 * (f64::from(i) + 0.5) / f64::from(N) - 1.0) * half;
            let beside = (part(i, half) + 15.0, part(k, depth));
            let r2 = beside.0 * beside.0 + beside.1 * beside.1 + up * up;
            let gives = (up / r2).powi(2);
            open += gives;
            there += gives * receiver.passes(beside, up, (0.1, 0.1));
        }
    }
    close(there / open, expected, 1e-4, "rectangle");
}

#[test]
fn a_far_source_sees_a_tilted_face_by_its_cosine() {
    // cos(t - b) / cos t
    let receiver = Receiver::new(&Scene::default(), &tilted(20.0), HERE);
    for t in [0.0_f64, 25.0, 50.0] {
        let (t, b) = (t.to_radians(), 20f64.to_radians());
        let got = receiver.passes((1e6 * t.tan(), 0.0), 1e6, (1.0, 1.0));
        close(got, (t - b).cos() / t.cos(), 1e-9, "cosine");
    }
}

#[test]
fn glass_lets_through_what_fresnel_beer_and_snell_say() {
    let clear = Glass::new(0.92308, 0.0, 1.5, 0.0);
    for (degrees, expected) in [
        (0.0_f64, 0.92308),
        (30.0, 0.92073),
        (45.0, 0.90734),
        (60.0, 0.84813),
        (75.0, 0.61815),
    ] {
        let got = clear.through(degrees.to_radians().cos());
        close(got, expected, 2e-5, "clear glass");
        // half of it absorbed straight on
        let grey = Glass::new(0.92308 * 0.5, 0.0, 1.5, 0.0);
        let inside = (degrees.to_radians().sin() / 1.5).asin();
        let slanting = expected * 0.5f64.powf(1.0 / inside.cos());
        let got = grey.through(degrees.to_radians().cos());
        close(got, slanting, 2e-5, "grey glass");
    }
    assert_eq!(clear.through(0.0), 0.0);
}

/// E/M of a rectangle `a` by `b` at a distance, for a place opposite a corner (Siegel & Howell).
fn corner(a: f64, b: f64, away: f64) -> f64 {
    let (a, b) = (a / away, b / away);
    let part = |a: f64, b: f64| {
        let root = a.hypot(1.0);
        a / root * (b / root).atan()
    };
    (part(a, b) + part(b, a)) / TAU
}

/// A field fitted to readings under an even Lambertian panel of 160 by 120 mm, 70 mm above what is asked.
fn under_a_panel() -> evenfield::field::Fitted {
    let panel = UniformPanel {
        centre: Point::new(0.0, 0.0),
        width: 160.0,
        depth: 120.0,
        turn: 0.0,
        face_height: 80.0,
        exitance: 100.0,
    };
    let mut samples = Vec::new();
    for height in [5.0, 15.0, 30.0] {
        for i in 0..49 {
            let at = Place::new(
                -90.0 + 30.0 * f64::from(i % 7),
                -72.0 + 24.0 * f64::from(i / 7),
                height,
            );
            // alternately a little too much and too little, as readings are
            let slip = if i % 2 == 0 { 1.004 } else { 0.996 };
            samples.push(Sample {
                at,
                irradiance: slip * panel.irradiance(at),
                position: i as usize,
                minute: None,
            });
        }
    }
    let settings = FitSettings {
        face: Some(Face {
            height: 80.0,
            outline: Some(rectangle(160.0, 120.0, 0.0, 0.0)),
        }),
        ..FitSettings::default()
    };
    fit(&settings, &samples, &Progress::new()).expect("a field")
}

#[test]
fn a_fitted_lamp_half_hidden_is_what_corner_rectangles_say() {
    let field = under_a_panel();
    // a wall 8 mm to the right and 10 mm high, far longer than the panel: of the panel 70 mm up the part beyond 56 mm is hidden
    let wall = Scene {
        blocks: vec![Block {
            outline: rectangle(3.0, 2000.0, 9.5, 0.0),
            top: 20.0,
        }],
        ..Scene::default()
    };
    let at = Place::new(0.0, 0.0, 10.0);
    let open = 4.0 * corner(80.0, 60.0, 70.0);
    let seen = 2.0 * corner(80.0, 60.0, 70.0) + 2.0 * corner(56.0, 60.0, 70.0);
    let bonds = [Bond::default(), tilted(0.0)];
    let at_bond = AtBond::new(&field, &wall, &bonds);
    assert!(at_bond.is_known());
    let progress = Progress::new();
    let there = at_bond.at(&[(0, at)], &progress).expect("ran")[0];
    let bare = field.at(&[at], &progress).expect("ran")[0];
    close(
        there.irradiance / bare.irradiance,
        seen / open,
        0.01,
        "ratio",
    );
    // less is known of it than of the light in the open
    let relative = |e: &evenfield::field::Estimate| e.uncertainty.expect("some") / e.irradiance;
    assert!(relative(&there) > relative(&bare));
    // and joint draws scatter about it by about as much
    let draws = at_bond
        .joint(&[(0, at)], 3, 2000, &progress)
        .expect("ran")
        .expect("some");
    let mean = draws.low.values.iter().sum::<f64>() / 2000.0;
    close(mean, there.irradiance, 0.02, "draws");
    let variance = draws
        .low
        .values
        .iter()
        .map(|v| (v - mean).powi(2))
        .sum::<f64>()
        / 2000.0;
    assert!(variance.sqrt() < 1.2 * there.uncertainty.expect("some"));
    assert!(
        draws
            .high
            .values
            .iter()
            .zip(&draws.low.values)
            .all(|(h, l)| h >= l)
    );
}

#[test]
fn without_anything_in_the_way_nothing_changes() {
    let field = under_a_panel();
    let progress = Progress::new();
    let (scene, bonds) = (Scene::default(), [Bond::default()]);
    let at_bond = AtBond::new(&field, &scene, &bonds);
    let places = [Place::new(3.0, 4.0, 10.0), Place::new(-70.0, 40.0, 10.0)];
    let of = places.map(|p| (0, p));
    assert_eq!(at_bond.at(&of, &progress), field.at(&places, &progress));
    let draws = at_bond
        .joint(&of, 5, 50, &progress)
        .expect("ran")
        .expect("some");
    let bare = field.joint(&places, 5, 50, &progress).expect("ran");
    assert_eq!(Some(draws.low.clone()), bare);
    assert_eq!(draws.low, draws.high);
}
