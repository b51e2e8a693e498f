use super::*;
use crate::geometry::Footprint;
use crate::station::{Bars, KeepOut, Radiometer, SiteGroup, SiteLayout, Source};

fn radiometer(diameter: f64) -> Radiometer {
    Radiometer::new("R", Shape::Circle { diameter })
}

fn station(shape: Shape, body: f64) -> Station {
    let mut station = Station::new("s", shape, 100.0);
    station.radiometers.push(radiometer(body));
    station.plan.radiometer = Some("R".into());
    station
}

fn rectangle(width: f64, depth: f64) -> Shape {
    Shape::Rectangle { width, depth }
}

/// 100 by 60 without the part right of 40 and behind 20.
fn an_l() -> Shape {
    let corners = [
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 20.0),
        (40.0, 20.0),
        (40.0, 60.0),
        (0.0, 60.0),
    ];
    let corners: Vec<Point> = corners.map(|(x, y)| Point::new(x, y)).to_vec();
    Shape::Polygon {
        corners: corners.into(),
    }
}

fn post(x: f64, y: f64, diameter: f64) -> KeepOut {
    let footprint = Footprint::new(Shape::Circle { diameter }, Point::new(x, y));
    KeepOut::new("Post", footprint, Bars::Both)
}

fn site(x: f64, y: f64) -> SiteGroup {
    SiteGroup {
        name: "D1".into(),
        shape: rectangle(20.0, 10.0),
        turn: 0.0,
        height: 5.0,
        top: None,
        bond: None,
        layout: SiteLayout::Single {
            centre: Point::new(x, y),
        },
    }
}

fn all_seated(station: &Station, made: &Made) {
    let mut names: Vec<&str> = made.positions.iter().map(|p| p.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), made.positions.len(), "names are unique");
    for p in &made.positions {
        assert!(station.can_sit(p.at), "{p:?}");
    }
}

#[test]
fn every_second_row_stands_in_the_gaps() {
    let station = station(rectangle(180.0, 120.0), 16.0);
    let pattern = Pattern::Staggered {
        columns: 4,
        rows: 3,
        margin: 10.0,
    };
    let made = pattern
        .make(&station, None, &Progress::new())
        .expect("positions");
    all_seated(&station, &made);
    let at: Vec<(f64, f64)> = made.positions.iter().map(|p| (p.at.x, p.at.y)).collect();
    assert_eq!(at.len(), 4 + 3 + 4);
    assert_eq!((at[0], at[3]), ((10.0, 10.0), (170.0, 10.0)));
    assert!((at[4].0 - (10.0 + 160.0 / 6.0)).abs() < 1e-9 && at[4].1 == 60.0);
    assert_eq!(made.positions[4].name, "P-B1");
    // on a raster of 5 mm
    let made = pattern
        .make(&station, Some(5.0), &Progress::new())
        .expect("positions");
    let on = |v: f64| (v / 5.0).fract().abs() < 1e-9;
    assert!(made.positions.iter().all(|p| on(p.at.x) && on(p.at.y)));
    assert_eq!(made.positions.len(), 11);
}

#[test]
fn rings_count_up_with_their_radius() {
    let mut station = station(Shape::Circle { diameter: 120.0 }, 16.0);
    let pattern = Pattern::rings_for(&station);
    let Pattern::Rings { centre, radius, .. } = pattern else {
        panic!("no rings");
    };
    assert_eq!((centre, radius), (Point::new(60.0, 60.0), 52.0));
    let made = pattern
        .make(&station, None, &Progress::new())
        .expect("positions");
    all_seated(&station, &made);
    assert_eq!((made.positions.len(), made.left_out), (1 + 6 + 12 + 18, 0));
    let radii: Vec<f64> = made
        .positions
        .iter()
        .map(|p| p.at.distance(centre))
        .collect();
    for (ring, count) in [(1, 6), (2, 12), (3, 18)] {
        let r = 52.0 * f64::from(ring) / 3.0;
        let here = radii.iter().filter(|d| (**d - r).abs() < 1e-9).count();
        assert_eq!(here, count);
    }
    // a source that stands off the middle, and a post in the way
    station.source = Source {
        face: Some(Footprint::new(
            Shape::Circle { diameter: 40.0 },
            Point::new(70.0, 60.0),
        )),
        ..station.source
    };
    station.keep_outs.push(post(70.0, 60.0, 4.0));
    let made = Pattern::rings_for(&station)
        .make(&station, Some(0.5), &Progress::new())
        .expect("positions");
    all_seated(&station, &made);
    assert!(made.left_out >= 1);
    // the middle one is left out, and no name is missing for that
    let names = |letter: char| {
        let start = format!("P-{letter}");
        made.positions
            .iter()
            .filter(|p| p.name.starts_with(&start))
            .count()
    };
    let (first, second) = (names('A'), names('B'));
    assert_eq!(made.positions[0].name, "P-A1");
    assert_eq!(made.positions[first - 1].name, format!("P-A{first}"));
    assert_eq!(made.positions[first].name, "P-B1");
    assert!(first > 1 && second > first, "{first} {second}");
}

/// The outermost ring leaves the body no room to spare, so that half of its places are rounded over the rim: they move
/// inward by a mesh or two, and no place is lost.
#[test]
fn a_ring_as_large_as_the_body_allows_is_whole_on_a_raster() {
    let station = station(Shape::Circle { diameter: 180.0 }, 30.0);
    let pattern = Pattern::rings_for(&station);
    let Pattern::Rings { centre, radius, .. } = pattern else {
        panic!("no rings");
    };
    assert_eq!((centre, radius), (Point::new(90.0, 90.0), 75.0));
    for mesh in [0.1, 0.5, 1.0, 5.0] {
        let made = pattern
            .make(&station, Some(mesh), &Progress::new())
            .expect("positions");
        all_seated(&station, &made);
        assert_eq!((made.positions.len(), made.left_out), (37, 0), "{mesh}");
        let wanted = pattern
            .make(&station, None, &Progress::new())
            .expect("positions");
        for (p, q) in made.positions.iter().zip(&wanted.positions) {
            assert_eq!(p.name, q.name);
            let off = p.at.distance(q.at);
            assert!(off <= 2.0 * mesh, "{mesh}: {p:?} is {off} mm off");
            let on = |v: f64| (v / mesh - (v / mesh).round()).abs() < 1e-9;
            assert!(on(p.at.x) && on(p.at.y), "{mesh}: {p:?}");
        }
    }
    // rows whose corners are just as tight: 9.7 mm is not on the raster, and 9.5 mm is too near to the rim
    let station = self::station(rectangle(180.0, 120.0), 19.4);
    let rows = Pattern::Staggered {
        columns: 4,
        rows: 3,
        margin: 9.7,
    };
    let made = rows
        .make(&station, Some(0.5), &Progress::new())
        .expect("positions");
    all_seated(&station, &made);
    assert_eq!((made.positions.len(), made.left_out), (11, 0));
    assert_eq!(made.positions[0].at, Point::new(10.0, 10.0));
    // and along the rim of the round pallet
    let round = self::station(Shape::Circle { diameter: 180.0 }, 30.0);
    let made = Pattern::Rim { spacing: 25.0 }
        .make(&round, Some(0.5), &Progress::new())
        .expect("positions");
    all_seated(&round, &made);
    assert!(made.positions.len() >= 18, "{}", made.positions.len());
}

#[test]
fn a_site_under_a_post_gets_the_nearest_seat() {
    let mut station = station(rectangle(180.0, 120.0), 16.0);
    station.sites = vec![site(50.0, 60.0), site(120.0, 60.0), site(10.0, 5.0)];
    station.keep_outs.push(post(121.0, 60.0, 10.0));
    let made = Pattern::Sites
        .make(&station, Some(0.5), &Progress::new())
        .expect("positions");
    all_seated(&station, &made);
    assert_eq!(made.positions[0].at, Point::new(50.0, 60.0));
    assert_eq!(made.positions[0].name, "P-D1");
    // body and post need 13 mm from middle to middle; the site is left of the post
    assert_eq!(made.positions[1].at, Point::new(108.0, 60.0));
    // 8 mm from the rim is as near as the body comes
    assert_eq!(made.positions[2].at, Point::new(10.0, 8.0));
    assert_eq!((made.left_out, made.beside_site), (0, 1));
    let free = Pattern::Sites
        .make(&station, None, &Progress::new())
        .expect("positions");
    let distance = free.positions[1].at.distance(Point::new(121.0, 60.0));
    assert!((distance - 13.0).abs() < 0.02, "{distance}");
}

#[test]
fn along_the_rim_the_body_touches_it() {
    for shape in [
        rectangle(180.0, 120.0),
        an_l(),
        Shape::Circle { diameter: 90.0 },
    ] {
        let station = station(shape.clone(), 16.0);
        let outline = station.fixture.footprint();
        let made = Pattern::Rim { spacing: 20.0 }
            .make(&station, None, &Progress::new())
            .expect("positions");
        all_seated(&station, &made);
        for p in &made.positions {
            let inset = -outline.signed_distance(p.at);
            assert!((inset - 8.0).abs() < 0.05, "{shape:?} {p:?} {inset}");
        }
        let places: Vec<Point> = made.positions.iter().map(|p| p.at).collect();
        // no place at the rim is farther from a seat than half a step and the body's way in
        for p in outline.lattice(1.0) {
            if outline.signed_distance(p) > -1e-6 {
                let d = places.iter().map(|q| q.distance(p)).fold(1e9, f64::min);
                assert!(d < 16.0, "{shape:?} {p:?} {d}");
            }
        }
    }
    // the corners of a rectangle have one each, at 8 mm from both sides
    let station = station(rectangle(180.0, 120.0), 16.0);
    let made = Pattern::Rim { spacing: 20.0 }.make(&station, Some(0.5), &Progress::new());
    let places: Vec<Point> = made
        .expect("positions")
        .positions
        .iter()
        .map(|p| p.at)
        .collect();
    for (x, y) in [(8.0, 8.0), (172.0, 8.0), (172.0, 112.0), (8.0, 112.0)] {
        assert!(places.contains(&Point::new(x, y)));
    }
    // 164 and 104 mm in steps of no more than 20
    assert_eq!(places.len(), 2 * (9 + 6));
}

#[test]
fn what_yields_nothing_says_why() {
    let small = station(rectangle(10.0, 10.0), 16.0);
    let why = |pattern: Pattern, station: &Station| {
        let made = pattern.make(station, None, &Progress::new());
        made.expect_err("why").to_string()
    };
    for pattern in [
        Pattern::Rim { spacing: 5.0 },
        Pattern::rings_for(&small),
        Pattern::Staggered {
            columns: 2,
            rows: 2,
            margin: 1.0,
        },
    ] {
        assert!(why(pattern, &small).contains("detector"), "{pattern:?}");
    }
    assert!(why(Pattern::Sites, &small).contains("no sites"));
    let mut bare = station(rectangle(180.0, 120.0), 16.0);
    assert!(why(Pattern::Rim { spacing: 0.0 }, &bare).contains("spacing"));
    assert!(why(Pattern::Rim { spacing: 0.01 }, &bare).contains("no more than 2000"));
    bare.plan.radiometer = None;
    assert!(why(Pattern::Rim { spacing: 20.0 }, &bare).contains("radiometer"));
    for margin in [70.0, f64::NAN] {
        let rows = Pattern::Staggered {
            columns: 3,
            rows: 3,
            margin,
        };
        assert!(why(rows, &bare).contains("margin"));
    }
    let huge = Pattern::Rings {
        centre: Point::new(90.0, 60.0),
        rings: u32::MAX,
        first: u32::MAX,
        radius: 50.0,
    };
    assert!(why(huge, &bare).contains("positions"));
}

/// A raster of a thousandth and posts all over the fixture: asked about one by one, its points would take hours.
#[test]
fn nothing_is_looked_for_without_end() {
    let mut station = station(rectangle(150.0, 150.0), 16.0);
    for i in 0..100 {
        let (x, y) = (f64::from(i % 10), f64::from(i / 10));
        station
            .keep_outs
            .push(post(15.0 * x + 5.0, 15.0 * y + 5.0, 8.0));
    }
    station.sites = (0..100)
        .map(|i| {
            site(
                15.0 * f64::from(i % 10) + 5.0,
                15.0 * f64::from(i / 10) + 5.0,
            )
        })
        .collect();
    assert!(
        Pattern::Sites
            .make(&station, Some(1e-3), &Progress::new())
            .is_err()
    );
    assert!(
        Pattern::Rim { spacing: 20.0 }
            .make(&station, Some(1e-3), &Progress::new())
            .is_err()
    );
}

#[test]
fn positions_are_added_beside_those_there_are() {
    let at = |name: &str, x: f64| Position {
        name: name.into(),
        at: Point::new(x, 5.0),
    };
    let all = beside(
        &[at("A1", 5.0), at("A2", 25.0)],
        &[at("A1", 5.4), at("A1", 45.0)],
    );
    let names: Vec<&str> = all.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["A1", "A2", "A1-2"]);
}

/// A plate with 60 teeth, its rim asked for in steps of 1 mm. Far fewer places are asked about than may be: those nearer to
/// the rim than the body comes are not.
#[test]
fn a_toothed_outline_is_done_and_too_many_are_refused() {
    let corners: Vec<Point> = (0..60)
        .map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 60.0;
            let r = if i % 2 == 0 { 150.0 } else { 140.0 };
            Point::new(150.0 + r * angle.cos(), 150.0 + r * angle.sin())
        })
        .collect();
    let station = station(
        Shape::Polygon {
            corners: corners.into(),
        },
        16.0,
    );
    let rim = |spacing| Pattern::Rim { spacing };
    let made = rim(1.0).make(&station, Some(0.5), &Progress::new());
    all_seated(&station, &made.expect("positions"));
    let many = rim(0.3).make(&station, Some(0.5), &Progress::new());
    let why = many.expect_err("too many").to_string();
    assert!(why.contains("no more than 2000"), "{why}");
    let stopped = Progress::new();
    stopped.cancel();
    let made = rim(1.0).make(&station, Some(0.5), &stopped);
    assert_eq!(made, Err(NoAnswer::Cancelled));
}

#[test]
fn one_more_position_lies_apart_from_those_there_are() {
    let mut station = station(rectangle(180.0, 120.0), 16.0);
    let at = |x: f64, y: f64| Position {
        name: String::new(),
        at: Point::new(x, y),
    };
    assert_eq!(free_place(&station, &[]), Point::new(90.0, 60.0));
    let mut there = vec![at(90.0, 60.0)];
    for _ in 0..6 {
        let next = free_place(&station, &there);
        assert!(station.can_sit(next), "{next:?}");
        let apart = there.iter().map(|p| p.at.distance(next));
        assert!(apart.fold(f64::INFINITY, f64::min) > 25.0, "{next:?}");
        there.push(at(next.x, next.y));
    }
    station.keep_outs.push(post(30.0, 30.0, 200.0));
    station.keep_outs.push(post(150.0, 90.0, 200.0));
    assert_eq!(
        free_place(&station, &there),
        Point::new(90.0, 60.0),
        "no seat at all"
    );
}

/// A plan on a plate.
fn on_plate(shape: Shape) -> Station {
    let mut station = Station::new("s", shape, 90.0);
    let body = Shape::Circle { diameter: 20.0 };
    let radiometer = crate::station::Radiometer::new("R", body);
    station.radiometers.push(radiometer);
    station.plan.radiometer = Some("R".into());
    station.read_around()
}

fn places_of(pattern: Pattern, station: &Station) -> Vec<Point> {
    let made = pattern.make(station, None, &Progress::new()).expect("made");
    made.positions.iter().map(|p| p.at).collect()
}

#[test]
fn around_has_the_corners_of_what_is_assessed_and_lies_on_its_outline() {
    let shape = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    let mut station = on_plate(shape);
    let of = |station: &Station, beyond: f64, staggered: bool| {
        let Pattern::Around { columns, rows, .. } = Pattern::around(station) else {
            panic!("a rectangle has rows");
        };
        let pattern = Pattern::Around {
            columns,
            rows,
            beyond,
            staggered,
        };
        places_of(pattern, station)
    };
    let corners = |places: &[Point], bounds: Bounds| {
        let at = |x, y| places.contains(&Point::new(x, y));
        let (a, b) = (bounds.min, bounds.max);
        at(a.x, a.y) && at(b.x, a.y) && at(a.x, b.y) && at(b.x, b.y)
    };
    let fixture = station.fixture.footprint().bounds();
    for staggered in [false, true] {
        let places = of(&station, 0.0, staggered);
        assert!(corners(&places, fixture), "{places:?}");
        assert!(places.len() >= 25);
        let beyond = of(&station, 8.0, staggered);
        assert!(corners(&beyond, fixture.grown(8.0)), "{beyond:?}");
    }
    // the sites are what counts where there are any
    station.sites.push(crate::station::SiteGroup {
        name: "S-".into(),
        shape: Shape::Circle { diameter: 10.0 },
        turn: 0.0,
        height: 5.0,
        top: None,
        bond: None,
        layout: crate::station::SiteLayout::Grid {
            first: Point::new(40.0, 40.0),
            columns: 3,
            rows: 2,
            pitch_x: 50.0,
            pitch_y: 40.0,
        },
    });
    let sites = Bounds {
        min: Point::new(35.0, 35.0),
        max: Point::new(145.0, 85.0),
    };
    assert_eq!(assessed_bounds(&station), sites);
    assert!(corners(&of(&station, 0.0, false), sites));
}

#[test]
fn around_a_round_fixture_the_outermost_ring_lies_on_its_rim() {
    let station = on_plate(Shape::Circle { diameter: 140.0 });
    let places = places_of(Pattern::around(&station), &station);
    let middle = Point::new(70.0, 70.0);
    let far = places
        .iter()
        .map(|p| p.distance(middle))
        .fold(0.0, f64::max);
    assert!((far - 70.0).abs() < 1e-9, "{far}");
    assert_eq!(places.len(), 1 + 6 + 12 + 18);
}

#[test]
fn with_the_pallet_in_place_no_detector_stands_on_the_rim() {
    let mut station = on_plate(Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    });
    let pattern = Pattern::around(&station);
    station.plan.plate = None;
    let made = pattern
        .make(&station, None, &Progress::new())
        .expect("some");
    assert!(made.left_out > 12 && !made.positions.is_empty(), "{made:?}");
}
