//! The probe-position plan: patterns of positions, in which order they are visited, what the detector stands
//! on, and where to measure next.

mod fewest;
mod next;
mod pattern;
mod prospect;
mod seat;

pub use fewest::Fewest;
pub use next::{LEAST_GAIN, Proposal, Proposed, propose};
pub use pattern::{BEFORE, Made, Pattern, assessed_bounds, beside, free_place, room_for_rings};
pub use prospect::{Expectation, Expected, Prospect, blurred, heights_around};
pub use seat::FINEST_RASTER;

use crate::geometry::Place;

/// Heights and rows that differ by less count as one, mm.
const SAME_HEIGHT: f64 = 1e-3;

/// Positions placed by hand stand in one row when they differ along y by no more, mm: less than any
/// detector's body.
const SAME_ROW: f64 = 5.0;

/// The order in which to visit places, as their indices: one height after the other from the lowest
/// up, so that the spacer is changed as seldom as can be; at each height row by row from the front,
/// there and back, from the front left. It depends on where the places are, not on the order in which
/// they are given, so everyone walks the same way; only places that coincide keep their order.
pub fn route(places: &[Place]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..places.len()).collect();
    sort_along(&mut order, |i| places[i].height);
    let mut route = Vec::with_capacity(order.len());
    for height in bands(order, |i| places[i].height, SAME_HEIGHT) {
        let mut there = true;
        let mut at_height = height;
        sort_along(&mut at_height, |i| places[i].y);
        for mut row in bands(at_height, |i| places[i].y, SAME_ROW) {
            let way = if there { 1.0 } else { -1.0 };
            sort_along(&mut row, |i| way * places[i].x);
            route.append(&mut row);
            there = !there;
        }
    }
    route
}

/// Sorts indices by a coordinate; equal ones by index.
fn sort_along(order: &mut [usize], along: impl Fn(usize) -> f64) {
    order.sort_by(|&a, &b| along(a).total_cmp(&along(b)).then(a.cmp(&b)));
}

/// Cuts sorted indices where a coordinate is more than `width` beyond the first of its band.
fn bands(sorted: Vec<usize>, along: impl Fn(usize) -> f64, width: f64) -> Vec<Vec<usize>> {
    let mut bands: Vec<Vec<usize>> = Vec::new();
    for i in sorted {
        match bands.last_mut() {
            Some(band) if along(i) - along(band[0]) <= width => band.push(i),
            _ => bands.push(vec![i]),
        }
    }
    bands
}

/// How thick a spacer on the fixture's base brings a detector's sensing plane to a height, mm; both
/// above what they stand on. 0 when the detector stands on the base itself, `None` when it is taller
/// than that height and no spacer helps, or when a number is not finite.
pub fn spacer(height: f64, sensing_plane: f64) -> Option<f64> {
    let thickness = height - sensing_plane;
    (thickness >= -SAME_HEIGHT)
        .then_some(thickness.max(0.0))
        .filter(|t| t.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(columns: u32, rows: u32, heights: &[f64]) -> Vec<Place> {
        heights
            .iter()
            .flat_map(|&h| (0..rows).map(move |row| (h, row)))
            .flat_map(|(h, row)| {
                (0..columns).map(move |c| Place::new(20.0 * f64::from(c), 20.0 * f64::from(row), h))
            })
            .collect()
    }

    #[test]
    fn rows_are_walked_there_and_back_at_each_height() {
        let places = grid(3, 2, &[30.0, 10.0]);
        // the second height given is the lower one
        assert_eq!(route(&places), [6, 7, 8, 11, 10, 9, 0, 1, 2, 5, 4, 3]);
    }

    #[test]
    fn the_route_does_not_depend_on_the_order_given() {
        let places = grid(7, 7, &[10.0, 20.0, 30.0]);
        let mut mixed: Vec<Place> = (0..147).map(|i| places[(i * 50) % 147]).collect();
        mixed.reverse();
        let walked = |places: &[Place]| -> Vec<Place> {
            route(places).into_iter().map(|i| places[i]).collect()
        };
        assert_ne!(mixed, places);
        assert_eq!(walked(&places), walked(&mixed));
    }

    #[test]
    fn positions_a_little_off_stay_in_their_row() {
        let places = [
            Place::new(50.0, 12.0, 10.0),
            Place::new(10.0, 10.0, 10.0),
            Place::new(90.0, 9.0, 10.0),
            Place::new(80.0, 30.0, 10.0),
            Place::new(20.0, 31.0, 10.0),
        ];
        assert_eq!(route(&places), [1, 0, 2, 3, 4]);
    }

    #[test]
    fn places_that_coincide_keep_their_order() {
        assert_eq!(route(&[Place::new(1.0, 1.0, 1.0); 3]), [0, 1, 2]);
        assert!(route(&[]).is_empty());
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
    }

    #[test]
    fn a_spacer_fills_what_the_detector_does_not() {
        assert_eq!(spacer(20.0, 6.5), Some(13.5));
        assert_eq!(spacer(6.5, 6.5), Some(0.0));
        assert_eq!(spacer(6.4999, 6.5), Some(0.0));
        assert_eq!(spacer(5.0, 6.5), None);
        assert_eq!(spacer(f64::NAN, 6.5), None);
        assert_eq!(spacer(f64::INFINITY, 6.5), None);
    }
}
