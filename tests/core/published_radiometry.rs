//! Simulated lamps against closed forms of radiometry. Configuration factors F are irradiance over
//! exitance: Siegel & Howell, Thermal Radiation Heat Transfer; Howell, A Catalog of Radiation
//! Configuration Factors. The digits were computed from those forms and confirmed by numerical
//! integration (SciPy 1.16.3 dblquad and quad, to 2e-16); tests/reference recomputes them.

use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{
    Arc, Emitter, Emitters, Lamp, LineLamp, Lobe, Reflector, ReflectorLamp, UniformDisk,
    UniformPanel,
};

const ORIGIN: Point = Point::new(0.0, 0.0);

fn disk(radius: f64, face_height: f64) -> UniformDisk {
    UniformDisk {
        centre: ORIGIN,
        diameter: 2.0 * radius,
        face_height,
        exitance: 1.0,
    }
}

fn panel(width: f64, depth: f64, face_height: f64) -> UniformPanel {
    UniformPanel {
        centre: ORIGIN,
        width,
        depth,
        turn: 0.0,
        face_height,
        exitance: 1.0,
    }
}

fn line(x1: f64, x2: f64, height: f64) -> LineLamp {
    LineLamp {
        from: Point::new(x1, 0.0),
        to: Point::new(x2, 0.0),
        height,
        face_height: height,
        intensity_per_mm: 0.01, // makes 1 mW/cm² of 1/mm
        sides: None,
    }
}

fn close(got: f64, expected: f64, relative: f64, what: &str) {
    let error = (got / expected - 1.0).abs();
    assert!(error <= relative, "{what}: {got}, expected {expected}");
}

/// Mean of a function of the distance from the axis over a disk, by Simpson's rule.
fn mean_over_disk(radius: f64, f: impl Fn(f64) -> f64) -> f64 {
    const PANELS: u32 = 2000;
    let step = radius / f64::from(PANELS);
    let sum: f64 = (0..=PANELS)
        .map(|i| {
            let r = step * f64::from(i);
            let weight = match i {
                0 | PANELS => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * f(r) * r
        })
        .sum();
    2.0 * sum * step / 3.0 / (radius * radius)
}

#[test]
fn a_disk_on_and_off_its_axis() {
    // Foote's form; on the axis R²/(R² + h²). Columns: R, h, offset, F.
    let table = [
        (1.0, 1.0, 0.0, 0.5),
        (1.0, 2.0, 0.0, 0.2),
        (1.0, 10.0, 0.0, 0.0099009900990099),
        (50.0, 100.0, 0.0, 0.2),
        (1.0, 1.0, 0.5, 0.437982632705396),
        (1.0, 1.0, 1.0, 0.276393202250021),
        (1.0, 2.0, 1.0, 0.146446609406726),
        (1.0, 1.0, 2.0, 0.0527864045000421),
        (50.0, 100.0, 30.0, 0.178403956788363),
        (50.0, 100.0, 75.0, 0.102284139983751),
        (50.0, 100.0, 150.0, 0.0256583509747431),
    ];
    for (radius, h, offset, expected) in table {
        let got = disk(radius, h).irradiance(Place::new(offset, 0.0, 0.0));
        close(got, expected, 1e-13, &format!("disk {radius} {h} {offset}"));
    }
}

#[test]
fn a_rectangle_over_its_corner() {
    // Columns: sides a and b, distance c, F (Howell's catalogue; Siegel & Howell).
    let table = [
        (1.0, 1.0, 1.0, 0.138531605994893),
        (2.0, 1.0, 1.0, 0.167375009914384),
        (100.0, 60.0, 80.0, 0.129452780738447),
        (0.5, 3.0, 1.0, 0.110089682148954),
        (1000.0, 1000.0, 1.0, 0.249999795422702),
    ];
    for (a, b, c, expected) in table {
        let got = panel(a, b, c).irradiance(Place::new(0.5 * a, 0.5 * b, 0.0));
        close(got, expected, 1e-13, &format!("corner {a} {b} {c}"));
    }
}

#[test]
fn a_rectangle_anywhere() {
    // Columns: width, depth, x and y from the middle, distance, F by superposition of corners.
    let table = [
        (200.0, 120.0, 0.0, 0.0, 100.0, 0.412792914383412),
        (200.0, 120.0, 50.0, 30.0, 100.0, 0.341794965903909),
        (200.0, 120.0, 100.0, 60.0, 100.0, 0.181099514234045),
        (200.0, 120.0, 150.0, 0.0, 100.0, 0.114118604994939),
        (200.0, 120.0, 150.0, 100.0, 80.0, 0.0516502657792773),
        (300.0, 300.0, 0.0, 0.0, 150.0, 0.554126423979572),
    ];
    for (w, d, x, y, h, expected) in table {
        let got = panel(w, d, h).irradiance(Place::new(x, y, 0.0));
        close(
            got,
            expected,
            1e-13,
            &format!("rectangle {w} {d} {x} {y} {h}"),
        );
    }
}

#[test]
fn factors_printed_in_a_heat_transfer_library() {
    // EES heat-transfer library, printed to four decimals: hs203 (Siegel & Howell, 4th ed., p. 845):
    // disk to disk, F12 by reciprocity from the mean over the second disk.
    let mean = mean_over_disk(0.2, |r| disk(0.1, 0.5).irradiance(Place::new(r, 0.0, 0.0)));
    assert!((mean * 4.0 - 0.1339).abs() < 5e-5, "{mean}");
    // hs301 (p. 842): the mean factor along a strip under the edge of a rectangle 3 x 2 at 0.5.
    const PANELS: u32 = 400;
    let rectangle = panel(3.0, 2.0, 0.5);
    let along: f64 = (0..PANELS)
        .map(|i| {
            let y = 2.0 * (f64::from(i) + 0.5) / f64::from(PANELS) - 1.0;
            rectangle.irradiance(Place::new(1.5, y, 0.0))
        })
        .sum();
    let mean = along / f64::from(PANELS);
    assert!((mean - 0.3886).abs() < 5e-5, "{mean}");
}

#[test]
fn a_disk_floods_a_round_target() {
    // Columns: r of the lamp, r of the target, distance, mean F, F in the middle, F at the rim, and
    // least over mean (EN 12464-1, Uo).
    let table = [
        (
            0.1,
            0.2,
            0.5,
            0.0334828131704,
            0.0384615384615,
            0.0291290442026,
            0.869970036698,
        ),
        (
            50.0,
            50.0,
            100.0,
            0.171572875254,
            0.2,
            0.146446609407,
            0.853553390593,
        ),
        (
            50.0,
            30.0,
            100.0,
            0.188965458971,
            0.2,
            0.178403956788,
            0.944108821578,
        ),
        (
            75.0,
            150.0,
            200.0,
            0.0849523724889,
            0.123287671233,
            0.0577519104652,
            0.679815157283,
        ),
    ];
    for (r1, r2, a, mean, middle, rim, uo) in table {
        let at = |r: f64| disk(r1, a).irradiance(Place::new(r, 0.0, 0.0));
        let got = mean_over_disk(r2, at);
        close(got, mean, 1e-11, "mean");
        close(at(0.0), middle, 1e-11, "middle");
        close(at(r2), rim, 1e-11, "rim");
        close(at(r2) / got, uo, 1e-11, "Uo");
    }
}

#[test]
fn a_thin_line() {
    // Columns: ends, height, E over intensity per length for a Lambertian line.
    let table = [
        (0.0, 1.0, 1.0, 0.642699081698724),
        (-1.0, 1.0, 1.0, 1.28539816339745),
        (-250.0, 250.0, 100.0, 0.0153511753588943),
        (-150.0, 350.0, 100.0, 0.015004898979859),
        (100.0, 600.0, 100.0, 0.00141205824072492),
        (-1e9, 1e9, 1.0, std::f64::consts::FRAC_PI_2), // endless: π/(2h)
    ];
    for (x1, x2, h, expected) in table {
        let got = line(x1, x2, h).irradiance(Place::new(0.0, 0.0, 0.0));
        close(got, expected, 1e-11, &format!("line {x1} {x2} {h}"));
    }
}

#[test]
fn a_line_seen_from_the_side_is_a_row_of_small_emitters() {
    // The closed form beside the line against a sum over its length: intensity falls with the cosine
    // of the angle along the line and is the same all round it.
    let lamp = line(-130.0, 130.0, 60.0);
    for (x, y, height) in [(0.0, 45.0, 0.0), (-90.0, 60.0, 15.0), (150.0, -20.0, 30.0)] {
        const PIECES: u32 = 20_000;
        let above = 60.0 - height;
        let piece = 260.0 / f64::from(PIECES);
        let sum: f64 = (0..PIECES)
            .map(|i| {
                let dx = -130.0 + piece * (f64::from(i) + 0.5) - x;
                let across2 = y * y + above * above;
                let r2 = dx * dx + across2;
                (across2 / r2).sqrt() * (above / r2.sqrt()) / r2 * piece
            })
            .sum();
        close(
            lamp.irradiance(Place::new(x, y, height)),
            sum,
            1e-7,
            "line aside",
        );
    }
}

#[test]
fn the_five_times_rule() {
    // IES definition "inverse-square law" [9.1.1]: within 1 % from five times the largest dimension.
    // Columns: distance over dimension; error of the inverse-square value in percent for a disk's
    // diameter, a square's side, its diagonal, a Lambertian line's length.
    let table = [
        (1.0, 25.0, 32.930167, 16.549916, 15.787966),
        (2.0, 6.25, 8.301624, 4.158380, 4.107503),
        (3.0, 2.777778, 3.697123, 1.850173, 1.839992),
        (5.0, 1.0, 1.332458, 0.666446, 0.665118),
        (10.0, 0.25, 0.333278, 0.166653, 0.166570),
    ];
    let error = |lamp: &dyn Lamp, intensity: f64, h: f64| {
        100.0 * (intensity / (h * h) / lamp.irradiance(Place::default()) - 1.0)
    };
    let pi = std::f64::consts::PI;
    for (k, of_disk, of_side, of_diagonal, of_line) in table {
        let near = |got: f64, expected: f64| {
            assert!(
                (got - expected).abs() < 6e-7,
                "{k}: {got}, expected {expected}"
            );
        };
        near(error(&disk(0.5, k), 0.25, k), of_disk);
        near(error(&panel(1.0, 1.0, k), 1.0 / pi, k), of_side);
        let diagonal = k * 2.0_f64.sqrt();
        near(
            error(&panel(1.0, 1.0, diagonal), 1.0 / pi, diagonal),
            of_diagonal,
        );
        near(error(&line(-0.5, 0.5, k), 1.0, k), of_line);
    }
}

#[test]
fn emitters_that_fill_a_rectangle_become_it() {
    let closed = panel(200.0, 120.0, 60.0);
    let filled = |n: u32| {
        let (pitch_x, pitch_y) = (200.0 / f64::from(n), 120.0 / f64::from(n));
        let along = |i: u32, pitch: f64| (f64::from(i) + 0.5 - 0.5 * f64::from(n)) * pitch;
        Emitters {
            face_height: 60.0,
            lobe: Lobe::lambertian(),
            emitters: (0..n * n)
                .map(|i| Emitter {
                    at: Point::new(along(i % n, pitch_x), along(i / n, pitch_y)),
                    power: pitch_x * pitch_y / 100.0, // 1 mW/cm²
                })
                .collect(),
        }
    };
    let worst = |n: u32| {
        let lamp = filled(n);
        [(0.0, 0.0), (60.0, 20.0), (100.0, 60.0), (130.0, 80.0)]
            .into_iter()
            .map(|(x, y)| {
                let at = Place::new(x, y, 0.0);
                (lamp.irradiance(at) / closed.irradiance(at) - 1.0).abs()
            })
            .fold(0.0, f64::max)
    };
    let errors = [5, 10, 20, 80].map(worst);
    // a midpoint sum: halving the pitch quarters the error
    assert!(errors[1] < 0.3 * errors[0], "{errors:?}");
    assert!(errors[2] < 0.3 * errors[1], "{errors:?}");
    assert!(errors[3] < 1.5e-4, "{errors:?}");
}

#[test]
fn shaken_emitters_stay_near_the_rectangle() {
    let face = Footprint::new(
        Shape::Rectangle {
            width: 200.0,
            depth: 120.0,
        },
        ORIGIN,
    );
    let lobe = Lobe::lambertian();
    let power = 200.0 * 120.0 / 100.0;
    let lamp = Emitters::scattered(&face, 60.0, (20, 12), lobe, power, (0.2, 0.0), 11);
    let closed = panel(200.0, 120.0, 60.0);
    for at in [Place::default(), Place::new(80.0, 50.0, 10.0)] {
        close(lamp.irradiance(at), closed.irradiance(at), 0.02, "shaken");
    }
}

#[test]
fn a_paraboloid_makes_a_parallel_beam() {
    // A point arc in the focus sends I dΩ into the ring that the paraboloid throws straight down:
    // E(r) = ϱ I / (f + r²/(4f))², at any distance, beside the arc's direct light.
    let (focal_length, intensity, reflectance) = (40.0, 3000.0, 0.9);
    let lamp = ReflectorLamp::new(Reflector {
        centre: ORIGIN,
        face_height: 100.0,
        rim_diameter: 160.0,
        focal_length,
        eccentricity: 1.0,
        reflectance,
        arc: Arc {
            intensity,
            size: 1.0,
            below_focus: 0.0,
        },
        worn: vec![],
    })
    .expect("a bowl that can be made");
    let rim_depth = 80.0 * 80.0 / (4.0 * focal_length);
    for (r, height) in [(20.0, 90.0), (35.0, 60.0), (55.0, 90.0)] {
        let above = 100.0 + rim_depth - focal_length - height;
        let to_arc2 = r * r + above * above;
        let direct = 100.0 * intensity * above / (to_arc2 * f64::sqrt(to_arc2));
        let beam = 100.0 * reflectance * intensity
            / f64::powi(focal_length + r * r / (4.0 * focal_length), 2);
        let got = lamp.irradiance(Place::new(r, 0.0, height)) - direct;
        close(got, beam, 0.02, &format!("beam at {r}, {height}"));
    }
}
