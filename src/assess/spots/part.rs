//! One area of the assessed area, drawn by places that stand for it.

use crate::assess::NoAnswer;
use crate::assess::lit::Lit;
use crate::field::Area;
use crate::geometry::Place;
use crate::progress::Progress;

/// Draws of the field. The 5th percentile of so many has a standard error of about 0.06 of the
/// spread it is taken from.
pub(super) const DRAWS: usize = 1200;

/// Places in one joint draw. With twice as many the bounds of the samples differ by 0.3 % up and down, which is what drawing
/// anew makes of them, and take four times as long.
pub(super) const PLACES: usize = 450;

/// Fixed, so that the same station gives the same figures.
pub(super) const SEED: u64 = 0x0e7e_f1e1d;

/// One-sided 95 %.
pub(super) const TAIL: f64 = 0.05;

/// One area of the assessed area: what the field is there.
pub(super) struct Part {
    /// How much of the light reaches the bond, 0 to 1.
    pub through: f64,
    /// Where it is coldest and how much, mW/cm².
    pub coldest: (Place, f64),
    /// Where it is hottest and how much.
    pub hottest: (Place, f64),
    /// Mean over the outline, mW/cm².
    pub mean: f64,
    /// mm².
    pub area: f64,
    /// Places that stand for the part in a joint draw; both spots are among them.
    pub places: Vec<Place>,
}

impl Part {
    #[allow(clippy::too_many_arguments)] // one place calls it
    pub fn of(
        lit: &Lit<'_>,
        index: usize,
        area: &Area,
        spots: Option<[Place; 2]>,
        through: f64,
        parts: usize,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let [cold, hot] = spots.ok_or_else(empty_area)?;
        let there = lit.about(index, &[cold, hot], progress)?;
        let (coldest, hottest) = ((cold, there[0]), (hot, there[1]));

        // As fine as the number of places allows: the field is smooth between them, and the refined
        // spots are added.
        let share = (PLACES / parts).saturating_sub(2).max(4) as f64;
        let mut step = (area.outline.area() / share).sqrt();
        let mut lattice = area.outline.lattice(step);
        while lattice.len() as f64 > share && lattice.len() > 9 {
            step *= 1.15;
            lattice = area.outline.lattice(step);
        }
        let mut places: Vec<Place> = vec![coldest.0, hottest.0];
        places.extend(
            lattice
                .into_iter()
                .map(|p| p.at_height(area.height))
                .filter(|p| *p != coldest.0 && *p != hottest.0),
        );

        // light at bonds takes longer, and its mean is no bound
        let fewest = if lit.at_bond.is_some() { 4.0 } else { 6.0 };
        let cells: Vec<Place> = area
            .outline
            .cells(step.min(area.outline.area().sqrt() / fewest))
            .into_iter()
            .map(|p| p.at_height(area.height))
            .collect();
        let values = lit.about(index, &cells, progress)?;
        let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
        Ok(Self {
            through,
            coldest,
            hottest,
            mean: if values.is_empty() { coldest.1 } else { mean },
            area: area.outline.area(),
            places,
        })
    }
}

pub(super) fn empty_area() -> NoAnswer {
    NoAnswer::Missing("The assessed area is empty; check the sites".into())
}
