//! As few positions around what is assessed as are expected to bring the bound near enough to the coldest spot.

use super::Pattern;
use super::prospect::{Expected, expected, read_around};
use crate::assess::NoAnswer;
use crate::progress::Progress;
use crate::station::Station;

/// Positions along the longer side, and rings, that are looked at.
const SIDE: std::ops::RangeInclusive<u32> = 3..=9;
const RINGS: std::ops::RangeInclusive<u32> = 1..=4;

/// The pattern with the fewest positions that is expected to do it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fewest {
    /// Around what is assessed.
    pub pattern: Pattern,
    /// How many positions it comes to.
    pub positions: usize,
    /// How wide the bound is expected to be with it.
    pub expected: Expected,
    /// It is as wide as was wanted at the most; else this is the pattern with the most positions that was looked at.
    pub reached: bool,
}

impl Fewest {
    /// Of a station's source, assessed area and heights, read with the pallet out: with the bound no more than `below` percent
    /// below the coldest spot in the median of lamps that are drawn. More positions are taken to make it narrower, so that few
    /// patterns have to be tried; `raster` as in [`Pattern::make`].
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn of(
        station: &Station,
        below: f64,
        raster: Option<f64>,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        if !(below.is_finite() && below > 0.0) {
            return Err(NoAnswer::Missing(
                "The bound always lies some way below the coldest spot; type a number above 0 %"
                    .into(),
            ));
        }
        let patterns = ladder(station);
        let tried = |pattern: Pattern| -> Result<Self, NoAnswer> {
            let read = read_around(station, pattern, raster, progress)?;
            let expected = expected(&read, progress)?;
            Ok(Self {
                pattern,
                positions: read.positions().len(),
                expected,
                reached: expected.below <= below,
            })
        };
        let (mut from, mut to) = (0, patterns.len() - 1);
        let mut best = tried(patterns[to])?;
        while best.reached && from < to {
            let middle = (from + to) / 2;
            let one = tried(patterns[middle])?;
            if one.reached {
                (best, to) = (one, middle);
            } else {
                from = middle + 1;
            }
        }
        Ok(best)
    }
}

/// Patterns of more and more positions, as evenly spaced along both sides as can be; never empty.
fn ladder(station: &Station) -> Vec<Pattern> {
    match Pattern::around(station) {
        Pattern::Rings {
            centre,
            first,
            radius,
            ..
        } => RINGS
            .map(|rings| Pattern::Rings {
                centre,
                rings,
                first,
                radius,
            })
            .collect(),
        _ => {
            let area = super::assessed_bounds(station);
            let (width, depth) = (area.width(), area.depth());
            let longer = width.max(depth).max(f64::MIN_POSITIVE);
            let along = |extent: f64, most: u32| {
                let steps = (extent / longer * f64::from(most - 1)).round();
                (steps as u32).saturating_add(1).clamp(*SIDE.start(), most)
            };
            SIDE.map(|most| Pattern::Around {
                columns: along(width, most),
                rows: along(depth, most),
                beyond: 0.0,
                staggered: false,
            })
            .collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;
    use crate::station::PlanLayout;

    fn bench(shape: Shape) -> Station {
        let mut station = Station::new("s", shape, 80.0);
        station.plan.layout = PlanLayout::ByHand(Vec::new());
        // one height is soon read and fitted
        station.plan.heights = vec![10.0];
        station
    }

    #[test]
    fn patterns_have_more_and_more_positions() {
        let oblong = bench(Shape::Rectangle {
            width: 160.0,
            depth: 80.0,
        });
        let sides: Vec<(u32, u32)> = ladder(&oblong)
            .into_iter()
            .map(|pattern| match pattern {
                Pattern::Around { columns, rows, .. } => (columns, rows),
                other => panic!("{other:?}"),
            })
            .collect();
        let wanted = [(3, 3), (4, 3), (5, 3), (6, 4), (7, 4), (8, 5), (9, 5)];
        assert_eq!(sides, wanted);
        let round = bench(Shape::Circle { diameter: 120.0 });
        assert_eq!(ladder(&round).len(), 4);
    }

    /// A wide bound needs the fewest positions, none reaches a bound without width, and what is between takes no more than
    /// the most.
    #[test]
    fn a_narrower_bound_takes_more_positions() {
        let station = bench(Shape::Rectangle {
            width: 120.0,
            depth: 80.0,
        });
        let progress = Progress::new();
        let of = |below| Fewest::of(&station, below, None, &progress).expect("drawn");
        let wide = of(95.0);
        assert!(wide.reached && wide.positions == 9, "{wide:?}");
        let never = of(0.01);
        assert!(!never.reached && never.positions >= 54, "{never:?}");
        assert!(
            never.expected.below < wide.expected.below,
            "{never:?} {wide:?}"
        );
        assert!(Fewest::of(&station, 0.0, None, &progress).is_err());
        progress.cancel();
        assert_eq!(
            Fewest::of(&station, 5.0, None, &progress),
            Err(NoAnswer::Cancelled)
        );
    }
}
