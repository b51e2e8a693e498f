//! The probe-position plan: patterns of positions, in which order they are visited, what the detector stands
//! on, and where to measure next.

mod fewest;
mod next;
mod pattern;
pub mod plate;
mod prospect;
pub mod route;
mod seat;

pub use fewest::Fewest;
pub use next::{LEAST_GAIN, Proposal, Proposed, propose};
pub use pattern::{BEFORE, Made, Pattern, assessed_bounds, beside, free_place, room_for_rings};
pub use prospect::{Expectation, Expected, Prospect, blurred, heights_around};
pub use route::{Route, Stop, route};
pub use seat::FINEST_RASTER;

use route::SAME_HEIGHT;

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
