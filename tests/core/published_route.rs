//! The way through points against TSPLIB (G. Reinelt, "TSPLIB - a traveling salesman problem library", ORSA Journal on
//! Computing 3, 1991): the instances eil51, berlin52 and st70 with their best-known tours. Coordinates are in
//! `tests/reference/data`. Lengths that are not rounded to whole numbers, and those of open ways, were proved beside it by
//! an integer program with subtour cuts and HiGHS, gap 0: from our own checks, not from TSPLIB.

use evenfield::geometry::Point;
use evenfield::probing::route::{Ends, length, shortest, walk};

struct Instance {
    name: &'static str,
    csv: &'static str,
    /// The tour 1, 2, ... n and back in TSPLIB's whole numbers: the coordinates are those that are meant.
    as_given: u64,
    /// The shortest closed tour and the shortest way with free ends, real lengths.
    closed: f64,
    open: f64,
}

const INSTANCES: [Instance; 3] = [
    Instance {
        name: "eil51",
        csv: include_str!("../reference/data/tsplib_eil51.csv"),
        as_given: 1308,
        closed: 428.871_756_392,
        open: 405.421_494_792,
    },
    Instance {
        name: "berlin52",
        csv: include_str!("../reference/data/tsplib_berlin52.csv"),
        as_given: 22205,
        closed: 7_544.365_901_904,
        open: 6_968.767_405_220,
    },
    Instance {
        name: "st70",
        csv: include_str!("../reference/data/tsplib_st70.csv"),
        as_given: 3410,
        closed: 677.109_609_275,
        open: 634.275_885_788,
    },
];

/// berlin52's best-known tour, from TSPLIB.
const BERLIN: [usize; 52] = [
    1, 22, 31, 18, 3, 17, 21, 42, 7, 2, 30, 23, 20, 50, 29, 16, 46, 44, 34, 35, 36, 39, 40, 37, 38,
    48, 24, 5, 15, 6, 4, 25, 12, 28, 27, 26, 47, 13, 14, 52, 11, 51, 33, 43, 10, 9, 8, 41, 19, 45,
    32, 49,
];

impl Instance {
    fn points(&self) -> Vec<Point> {
        let lines = self.csv.lines().skip(1);
        let read = |line: &str| {
            let cells: Vec<f64> = line
                .split(',')
                .map(|c| c.parse().expect("a number"))
                .collect();
            Point::new(cells[1], cells[2])
        };
        lines.map(read).collect()
    }
}

fn visits_all(order: &[usize], n: usize) -> bool {
    let mut all = order.to_vec();
    all.sort_unstable();
    all.into_iter().eq(0..n)
}

#[test]
fn the_instances_are_those_of_tsplib() {
    for instance in &INSTANCES {
        let at = instance.points();
        let n = at.len();
        let whole = |i: usize| (at[i].distance(at[(i + 1) % n]) + 0.5).floor() as u64;
        let tour: u64 = (0..n).map(whole).sum();
        assert_eq!(tour, instance.as_given, "{}", instance.name);
    }
    let berlin = &INSTANCES[1];
    let tour = BERLIN.map(|node| node - 1);
    let best = length(&berlin.points(), &tour, true);
    assert!((best - berlin.closed).abs() < 1e-6, "{best}");
}

#[test]
fn ways_are_within_5_percent_of_the_shortest() {
    for instance in &INSTANCES {
        let (at, name) = (instance.points(), instance.name);
        for (ends, closed, best) in [
            (Ends::Closed, true, instance.closed),
            (Ends::Free, false, instance.open),
        ] {
            let order = shortest(&at, ends);
            assert!(visits_all(&order, at.len()), "{name}");
            let over = length(&at, &order, closed) / best - 1.0;
            println!("{name} {ends:?}: {:.1} % over the shortest", 100.0 * over);
            assert!((-1e-9..0.05).contains(&over), "{name} {ends:?}: {over}");
        }
        // what a plan walks: from a given point
        let order = walk(&at, Some(3));
        assert!(order[0] == 3 && visits_all(&order, at.len()), "{name}");
        let over = length(&at, &order, false) / instance.open - 1.0;
        println!("{name} from the fourth point: {:.1} % over", 100.0 * over);
        assert!((0.0..0.15).contains(&over), "{name}: {over}");
    }
}
