use super::*;
use crate::geometry::Shape;
use crate::station::{PlanLayout, Radiometer};

fn grid(columns: u32, rows: u32, heights: &[f64]) -> Vec<Place> {
    let along = |n: u32| 20.0 * f64::from(n);
    let at = |h: f64| move |(row, c): (u32, u32)| Place::new(along(c), along(row), h);
    let cells = || (0..rows).flat_map(|row| (0..columns).map(move |c| (row, c)));
    heights.iter().flat_map(|&h| cells().map(at(h))).collect()
}

fn points(places: &[Place]) -> Vec<Point> {
    places.iter().map(|p| p.point()).collect()
}

#[test]
fn rows_are_walked_there_and_back_at_each_height() {
    let places = grid(3, 2, &[30.0, 10.0]);
    // the second height given is the lower one
    assert_eq!(route(&places), [6, 7, 8, 11, 10, 9, 0, 1, 2, 5, 4, 3]);
}

#[test]
fn positions_a_little_off_stay_in_their_row() {
    let at = [
        (10.0, 10.0),
        (50.0, 12.0),
        (90.0, 9.0),
        (20.0, 31.0),
        (80.0, 30.0),
    ];
    let at = at.map(|(x, y)| Point::new(x, y));
    assert_eq!(walk(&at, None), [0, 1, 2, 4, 3]);
}

#[test]
fn one_moved_off_a_keep_out_stays_in_its_row() {
    let mut at = points(&grid(4, 3, &[0.0]));
    at[7].y -= 6.5;
    assert_eq!(walk(&at, None), [0, 1, 2, 3, 7, 6, 5, 4, 8, 9, 10, 11]);
}

#[test]
fn rows_begin_at_the_corner_that_is_chosen() {
    let at = points(&grid(3, 2, &[0.0]));
    assert_eq!(walk(&at, Some(2)), [2, 1, 0, 3, 4, 5]);
    assert_eq!(walk(&at, Some(3)), [3, 4, 5, 2, 1, 0]);
    assert_eq!(walk(&at, Some(5)), [5, 4, 3, 0, 1, 2]);
    // a start inside is no corner: the shortest way from there
    let from_inside = walk(&at, Some(1));
    assert_eq!((from_inside[0], from_inside.len()), (1, 6));
}

#[test]
fn each_place_is_visited_once_whatever_the_numbers() {
    let odd = [f64::NAN, f64::INFINITY, -1.0, 0.0, f64::NEG_INFINITY];
    let places: Vec<Place> = odd
        .iter()
        .flat_map(|&a| odd.iter().map(move |&b| Place::new(a, b, a)))
        .collect();
    let mut visited = route(&places);
    visited.sort_unstable();
    assert!(visited.into_iter().eq(0..places.len()));
    assert_eq!(route(&[Place::new(1.0, 1.0, 1.0); 3]).len(), 3);
    assert!(route(&[]).is_empty());
    // more than are walked by hand
    let many = grid(20, 20, &[0.0]);
    assert_eq!(route(&many)[19..22], [19, 39, 38]);
}

fn station() -> Station {
    let fixture = Shape::Rectangle {
        width: 100.0,
        depth: 80.0,
    };
    let mut station = Station::new("s", fixture, 90.0);
    station.plan.layout = PlanLayout::Grid {
        columns: 3,
        rows: 2,
        margin: 20.0,
    };
    station.plan.heights = vec![30.0, 10.0];
    station
}

/// `A1@10`, with `*` behind it for a visit of the reference.
fn said(route: &Route) -> Vec<String> {
    (route.stops.iter())
        .map(|stop| {
            let visit = if stop.visit.is_some() { "*" } else { "" };
            let name = &route.positions[stop.position].name;
            format!("{name}@{}{visit}", stop.place.height)
        })
        .collect()
}

fn refer(station: &mut Station, position: &str, height: f64, every: Option<u32>) {
    station.plan.reference = Some(Reference {
        position: position.into(),
        height,
        every,
    });
}

#[test]
fn the_reference_is_visited_at_start_and_end_at_changes_of_height_and_every_few_readings() {
    let mut station = station();
    assert_eq!(
        said(&Route::of(&station)).join(" "),
        "A1@10 A2@10 A3@10 B3@10 B2@10 B1@10 A1@30 A2@30 A3@30 B3@30 B2@30 B1@30"
    );
    // its place is read by its visits and not once more
    refer(&mut station, "A2", 10.0, None);
    let route = Route::of(&station);
    assert_eq!(
        said(&route).join(" "),
        "A2@10* A1@10 A3@10 B3@10 B2@10 B1@10 A2@10* A1@30 A2@30 A3@30 B3@30 B2@30 B1@30 A2@10*"
    );
    assert_eq!((route.height_changes, route.plate_changes), (2, 0));
    let (rows, reference) = route.rows();
    assert_eq!(reference.as_deref(), Some("A2"));
    let visits = rows
        .iter()
        .filter(|r| r.position == "A2" && r.height == 10.0);
    assert!(visits.map(|r| r.repeat).eq([1, 2, 3]));
    refer(&mut station, "B1", 20.0, Some(4));
    assert_eq!(
        said(&Route::of(&station)).join(" "),
        "B1@20* A1@10 A2@10 A3@10 B3@10 B1@20* B2@10 B1@10 B1@20* A1@30 A2@30 A3@30 B3@30 B1@20* B2@30 B1@30 B1@20*"
    );
    // one that the plan does not have is not visited
    refer(&mut station, "C9", 20.0, Some(4));
    assert_eq!(Route::of(&station).stops.len(), 12);
}

#[test]
fn heights_may_come_first_at_each_position() {
    let mut station = station();
    station.plan.positions_first = true;
    refer(&mut station, "B1", 10.0, Some(6));
    assert_eq!(
        said(&Route::of(&station)).join(" "),
        "B1@10* A1@10 A1@30 A2@30 A2@10 A3@10 A3@30 B1@10* B3@30 B3@10 B2@10 B2@30 B1@30 B1@10*"
    );
}

#[test]
fn time_and_length_are_those_of_the_steps() {
    let mut station = station();
    station.plan.layout = PlanLayout::Grid {
        columns: 2,
        rows: 1,
        margin: 20.0,
    };
    let cycle = crate::station::Cycle {
        open: 1.0,
        place: 2.0,
        close: 3.0,
        settle: 4.0,
        expose: 5.0,
        read: 6.0,
        change: 39.0,
    };
    station.plan.cycle = Some(cycle);
    assert_eq!(cycle.reading(), 21.0);
    let route = Route::of(&station);
    // there, back for the other height, there again; four readings and a change of spacer
    assert_eq!((route.length, route.height_changes), (180.0, 1));
    assert!((route.minutes - (4.0 * 21.0 + 39.0) / 60.0).abs() < 1e-12);
    assert!((route.stops[1].minute - 0.7).abs() < 1e-12);
}

#[test]
fn plates_are_changed_as_seldom_as_their_order_allows() {
    let mut station = station();
    // neighbours are 30 mm and 40 mm apart
    let body = Shape::Circle { diameter: 32.0 };
    station.radiometers.push(Radiometer::new("R", body));
    station.plan.radiometer = Some("R".into());
    station.plan.heights = vec![10.0];
    assert_eq!(Route::of(&station).plate_changes, 0);
    station.plan.bores = Some(crate::station::Bores::default());
    let route = Route::of(&station);
    assert_eq!(
        said(&route).join(" "),
        "A1@10 A3@10 B3@10 B1@10 A2@10 B2@10"
    );
    assert_eq!(route.plate_changes, 1);
    // a visit goes back to the plate that has the reference's bore
    refer(&mut station, "A1", 10.0, None);
    let route = Route::of(&station);
    let on: Vec<_> = route.stops.iter().filter_map(|stop| stop.plate).collect();
    assert_eq!(on, [0, 0, 0, 0, 1, 1, 0]);
}

/// How many of the old positions are followed by the one that followed them before.
fn kept(before: &[usize], after: &[usize]) -> f64 {
    let old: Vec<usize> = (after.iter().copied())
        .filter(|i| before.contains(i))
        .collect();
    let same = before
        .windows(2)
        .filter(|pair| old.windows(2).any(|now| now == *pair));
    same.count() as f64 / (before.len() - 1) as f64
}

/// The measure: of all steps from a position to the next one, the share that is the same when the position added is left
/// out. Free layouts of 12 to 60 positions, one added anywhere: half of them keep all of it, nine of ten keep four fifths.
#[test]
fn a_position_added_leaves_the_order_of_the_others() {
    let mut shares: Vec<f64> = Vec::new();
    for seed in 0..60u64 {
        let mut normals = crate::numeric::random::Normals::new(7, seed);
        let mut even = || (1e3 * normals.draw()).rem_euclid(1.0);
        let mut any = || Point::new(180.0 * even(), 120.0 * even());
        let mut at: Vec<Point> = (0..12 + 8 * (seed % 7)).map(|_| any()).collect();
        let before = walk(&at, Some(0));
        at.push(any());
        shares.push(kept(&before, &walk(&at, Some(0))));
    }
    shares.sort_by(f64::total_cmp);
    assert_eq!(shares[30], 1.0, "{shares:?}");
    assert!(shares[6] >= 0.8, "{shares:?}");
    // one put between rows changes nothing of them
    let mut rows = points(&grid(7, 7, &[0.0]));
    let before = walk(&rows, None);
    rows.push(Point::new(47.0, 70.0));
    let after = walk(&rows, None);
    assert_eq!(kept(&before, &after), 1.0);
    assert!(after.contains(&49));
}
