//! Counts that are known: published and closed forms, and those of a mixed-integer solver.
//!
//! The table of counts on rasters was computed with the general mixed-integer solver of SciPy 1.16 (HiGHS), gap 0, one
//! binary a place and each cell covered at most once; `tests/reference/placing.py` recomputes all of it. Known by
//! theory beside it: floor(W/w) floor(H/h) without turning; bars of 1 x n cover a x b only where n divides a or b (de Bruijn
//! 1969); 30 dominoes on a chessboard without two opposite corners; 21 straight trominoes on one without a cell only where
//! that cell is one of four (Golomb 1954). Citations from memory.

use super::bound::{Weights, of_circles, weights};
use super::exact::exact;
use super::free::{both_shelves, search};
use super::puzzle::Puzzle;
use super::ready::{JUDGE, Ready, SEED};
use super::{Bar, Bars, Bed, Kind, Part, Passes, Surely, ToPlace, Wish};
use crate::assess::limits::Scale;
use crate::field::{Family, FitSettings, Sample, fit};
use crate::geometry::{Footprint, Point, Shape};
use crate::numeric::random::Normals;
use crate::progress::Progress;

/// Whether a part covers only free cells, for every node.
fn fits(
    free: &dyn Fn(usize, usize) -> bool,
    (columns, rows): (usize, usize),
    (w, h): (usize, usize),
) -> Vec<bool> {
    let fits = |c: usize, r: usize| {
        c + w <= columns && r + h <= rows && (c..c + w).all(|x| (r..r + h).all(|y| free(x, y)))
    };
    (0..columns * rows)
        .map(|i| fits(i % columns, i / columns))
        .collect()
}

fn puzzle(
    (columns, rows): (usize, usize),
    parts: &[(usize, usize)],
    gap: usize,
    free: &dyn Fn(usize, usize) -> bool,
) -> Puzzle {
    let pose = |&(w, h): &(usize, usize)| ((w + gap, h + gap), fits(free, (columns, rows), (w, h)));
    Puzzle::of_rectangles(columns, rows, parts.iter().map(pose).collect())
}

/// What a search finds, and the weights that bound it.
fn solved(puzzle: &Puzzle, most: usize) -> (usize, Weights) {
    let progress = Progress::new();
    let start = both_shelves(puzzle);
    assert!(puzzle.holds(&start));
    let found = search(
        puzzle,
        &start,
        400_000,
        7,
        &mut |p| p.len() >= most,
        &progress,
    )
    .unwrap();
    assert!(puzzle.holds(&found));
    let weights = weights(puzzle, 4000, &|sum| sum < most as f64 + 0.999, &progress).unwrap();
    (found.len(), weights)
}

fn in_disk(n: usize, r: f64) -> impl Fn(usize, usize) -> bool {
    move |x, y| {
        let from = |i: usize| i as f64 - 0.5 * (n as f64 - 1.0);
        from(x).hypot(from(y)) <= r
    }
}

#[test]
fn closed_forms_and_theory_are_met_and_proven() {
    let all = |_: usize, _: usize| true;
    let turned = |a: usize, b: usize| vec![(a, b), (b, a)];
    let corners = |x: usize, y: usize| !((x, y) == (0, 0) || (x, y) == (7, 7));
    let beside = |x: usize, y: usize| !((x, y) == (0, 0) || (x, y) == (7, 0));
    let golomb = |x: usize, y: usize| (x, y) != (2, 2);
    let corner = |x: usize, y: usize| (x, y) != (0, 0);
    type Case<'a> = (
        (usize, usize),
        Vec<(usize, usize)>,
        usize,
        &'a dyn Fn(usize, usize) -> bool,
        usize,
    );
    let cases: Vec<Case<'_>> = vec![
        ((10, 14), vec![(3, 4)], 0, &all, 9),
        ((12, 12), vec![(3, 4)], 0, &all, 12),
        ((12, 20), vec![(3, 4)], 1, &all, 12),
        ((5, 5), turned(2, 3), 0, &all, 4),
        ((7, 7), turned(3, 4), 0, &all, 4),
        ((6, 6), turned(1, 4), 0, &all, 8),
        ((10, 10), turned(1, 4), 0, &all, 24),
        ((8, 8), turned(1, 2), 0, &corners, 30),
        ((8, 8), turned(1, 2), 0, &beside, 31),
        ((8, 8), turned(1, 3), 0, &golomb, 21),
        ((8, 8), turned(1, 3), 0, &corner, 20),
    ];
    for (size, parts, gap, free, known) in cases {
        let puzzle = puzzle(size, &parts, gap, free);
        let (found, weights) = solved(&puzzle, known);
        let bound = (weights.sum + 1e-9).floor() as usize;
        let proven = exact(&puzzle, &weights, &[], 20_000, &Progress::new())
            .unwrap()
            .unwrap();
        let what = format!(
            "{size:?} {parts:?}: found {found}, bound {:.3}",
            weights.sum
        );
        assert_eq!(found, known, "{what}");
        assert!(bound >= known, "{what}");
        assert!(
            bound == known || proven.proven && proven.places.len() == known,
            "{what}"
        );
        if proven.proven {
            assert!(
                puzzle.holds(&proven.places) && proven.places.len() == known,
                "{what}"
            );
        }
    }
}

#[test]
fn masked_areas_hold_what_a_mixed_integer_solver_finds() {
    type Case = (usize, f64, &'static [(usize, usize)], usize, usize);
    let cases: [Case; 10] = [
        (20, 8.0, &[(4, 4)], 0, 10),
        (20, 8.0, &[(3, 5)], 0, 11),
        (20, 8.0, &[(3, 5), (5, 3)], 0, 11),
        (20, 9.5, &[(4, 4)], 0, 14),
        (20, 9.5, &[(3, 5)], 0, 14),
        (20, 9.5, &[(3, 5), (5, 3)], 0, 16),
        (30, 14.0, &[(4, 4)], 0, 35),
        (30, 14.0, &[(3, 5)], 0, 34),
        (30, 14.0, &[(3, 5), (5, 3)], 0, 37),
        (20, 9.5, &[(4, 4)], 1, 9),
    ];
    for (n, r, parts, gap, known) in cases {
        let free = in_disk(n, r);
        let puzzle = puzzle((n, n), parts, gap, &free);
        let (found, weights) = solved(&puzzle, known);
        let bound = (weights.sum + 1e-9).floor() as usize;
        assert_eq!(found, known, "{n} {r} {parts:?}: bound {:.3}", weights.sum);
        assert!(bound >= known, "{n} {r} {parts:?}: {:.3}", weights.sum);
        println!(
            "{n} {r} {parts:?} gap {gap}: {found}, bound {:.3}",
            weights.sum
        );
    }
    let circles: [(usize, usize, f64, usize); 6] = [
        (9, 9, 4.0, 9),
        (12, 10, 4.0, 10),
        (11, 8, 3.5, 9),
        (13, 13, 5.0, 10),
        (15, 6, 4.5, 6),
        (10, 10, 3.0, 16),
    ];
    for (columns, rows, apart, known) in circles {
        let all = vec![true; columns * rows];
        let puzzle = Puzzle::of_circles((columns, rows), (1.0, 1.0), apart, all);
        let (found, weights) = solved(&puzzle, known);
        assert_eq!(found, known, "{columns} x {rows}, {apart}");
        let corners = [
            (0, 0),
            (columns - 1, 0),
            (0, rows - 1),
            (columns - 1, rows - 1),
        ];
        let corners = corners.map(|(x, y)| Point::new(x as f64, y as f64));
        let oler = of_circles(&corners, apart);
        assert!(
            weights.sum.min(oler) >= known as f64 - 1e-9,
            "{:.3} {oler:.3}",
            weights.sum
        );
    }
}

/// A field that falls towards the rim: E = 50 (1 - r²/400), and where it is so bright or brighter.
fn paraboloid(least: f64) -> impl Fn(usize, usize) -> bool {
    move |x, y| {
        let (dx, dy) = (x as f64 - 9.5, y as f64 - 9.5);
        50.0 * (1.0 - (dx * dx + dy * dy) / 400.0) >= least
    }
}

/// So many parts of 3 x 3 all get so much and no more: the solver of the counts, asked of each level of the field.
#[test]
fn the_highest_coldest_part_is_that_of_a_mixed_integer_solver() {
    let at = |least: f64| puzzle((20, 20), &[(3, 3)], 0, &paraboloid(least));
    assert_eq!(solved(&at(40.0), 24).0, 24);
    for (n, coldest) in [(4, 48.4375), (9, 45.9375), (16, 42.6875), (24, 40.1875)] {
        assert!(solved(&at(coldest), n).0 >= n, "{n} at {coldest}");
        let brighter = at(coldest + 1e-9);
        let progress = Progress::new();
        let bound = weights(&brighter, 4000, &|sum| sum < n as f64 - 1e-6, &progress).unwrap();
        let proven = exact(&brighter, &bound, &[], 1_000_000, &progress);
        let proven = proven.expect("not stopped").expect("few places");
        assert!(
            proven.proven && proven.places.len() < n,
            "{n} above {coldest}: {} placed, proven {}, bound {:.2}",
            proven.places.len(),
            proven.proven,
            bound.sum
        );
    }
}

/// An arrangement is chosen by some draws of the field and its confidence told by others: chosen to be sure by these, it
/// would look surer by them than it is.
#[test]
fn confidence_is_told_by_draws_that_nothing_was_chosen_by() {
    let progress = Progress::new();
    let (mut told, mut differs) = (Vec::new(), 0);
    for lower in [84.0, 86.0, 88.0, 90.0, 92.0] {
        let ask = question(lower);
        let ready = Ready::of(&ask, &progress).unwrap();
        let placed = ask.arrange(&progress).unwrap();
        let parts: Vec<(Point, bool)> = placed.sites.iter().map(|s| (s.centre, s.turned)).collect();
        let by = |seed: u64| {
            let sure = ready.judge().sure(&parts, seed, JUDGE, &progress);
            sure.unwrap().map(|s| s.all)
        };
        let fresh = (1..=6).any(|time| by(SEED + 100 * time) == placed.confidence);
        assert!(fresh, "{lower}: {:?}", placed.confidence);
        told.push(placed.confidence.unwrap());
        // draws of the same seed go on where those that it was chosen by end
        differs += usize::from(by(SEED) != placed.confidence);
    }
    assert!(differs > 0 && told.iter().any(|c| *c < 1.0), "{told:?}");
}

/// A bed of 100 x 80 mm in a field that falls by a fifth from one side to the other, read with 3 % noise.
fn question(lower: f64) -> ToPlace {
    let mut noise = Normals::new(15, 1);
    let sample = |i: usize| {
        let at = Point::new(25.0 * (i % 5) as f64, 20.0 * (i / 5 % 5) as f64);
        Sample {
            at: at.at_height(10.0 + 10.0 * (i / 25) as f64),
            irradiance: (100.0 - 0.2 * at.x) * (1.0 + 0.03 * noise.draw()),
            position: i % 25,
            minute: None,
        }
    };
    let samples: Vec<Sample> = (0..50).map(sample).collect();
    let settings = FitSettings {
        family: Some(Family::UniversalKriging),
        ..FitSettings::default()
    };
    let field = fit(&settings, &samples, &Progress::new()).unwrap();
    let rectangle = |width: f64, depth: f64| Shape::Rectangle { width, depth };
    ToPlace {
        field: field.into(),
        part: Part {
            shape: rectangle(14.0, 10.0),
            may_turn: false,
            clearance: 2.0,
            tolerance: 0.0,
        },
        bed: Bed {
            outline: Footprint::new(rectangle(100.0, 80.0), Point::new(50.0, 40.0)),
            rim: 0.0,
            barred: Vec::new(),
            height: 15.0,
        },
        bars: Bars {
            lower: Some(Bar {
                value: lower,
                scale: Scale::Relative,
            }),
            ..Bars::none()
        },
        kind: Kind::Rows { shifted: false },
        wish: Wish::Most,
        surely: Surely::AllAtOnce,
        effort: 1,
        passes: Passes::once(),
    }
}
