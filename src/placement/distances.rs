//! Which working distance: the same question over the measured heights. The lamp moved up by a length is the same to a part
//! as the part moved down by it.

use super::{Placed, ToPlace, Unplaceable};
use crate::progress::Progress;

/// Heights that are looked at.
const ROWS: usize = 7;

/// The question at several heights.
#[derive(Debug, Clone, PartialEq)]
pub struct ToScan {
    /// At the height in use.
    pub ask: ToPlace,
    /// Measured heights, ascending, mm.
    pub heights: Vec<f64>,
    /// Of the source's face above the fixture's base, mm.
    pub face_height: f64,
}

/// What fits with the parts (or the face) at another height.
#[derive(Debug, Clone, PartialEq)]
pub struct AtHeight {
    /// From the face to the bond line, mm.
    pub working_distance: f64,
    /// Of the face above the fixture's base, the fixture left where it is, mm.
    pub face_height: f64,
    /// What is placed.
    pub placed: Placed,
    /// How far the source may be off before a part leaves the limits, greatest over least: from where the coldest part's
    /// assured minimum meets the lower limit to where the hottest part's upper bound meets the upper one. Below 1 there is
    /// no such window; `None` without both limits or bounds.
    pub window: Option<f64>,
    /// It is the distance in use.
    pub in_use: bool,
}

/// All of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Heights {
    /// From the nearest face to the furthest.
    pub rows: Vec<AtHeight>,
    /// The one that holds most; of those that hold as many the one of the widest window, or without windows the one of
    /// the highest coldest part. `None` where nothing fits anywhere.
    pub best: Option<usize>,
}

impl ToScan {
    /// Asks at each height.
    ///
    /// # Errors
    /// As of the question itself.
    pub fn scan(&self, progress: &Progress) -> Result<Heights, Unplaceable> {
        let here = self.ask.bed.height;
        let ends = self.heights.first().zip(self.heights.last());
        let (low, high) = ends.map_or((here, here), |(a, b)| (a.min(here), b.max(here)));
        let mut heights: Vec<f64> = if high - low < 0.5 {
            vec![]
        } else {
            (0..ROWS)
                .map(|i| high + (low - high) * i as f64 / (ROWS - 1) as f64)
                .map(|h| h.round().clamp(low, high))
                .collect()
        };
        heights.push(here);
        heights.retain(|h| *h < self.face_height);
        heights.sort_by(|a, b| b.total_cmp(a));
        heights.dedup_by(|a, b| (*a - *b).abs() < 0.25);
        let mut rows = Vec::with_capacity(heights.len());
        for (i, &height) in heights.iter().enumerate() {
            progress.check()?;
            let mut ask = self.ask.clone();
            ask.bed.height = height;
            // progress is that of all heights: each has its own that is stopped with it
            let placed = ask.arrange(&progress.part())?;
            progress.set((i + 1) as f64 / heights.len() as f64);
            rows.push(AtHeight {
                working_distance: self.face_height - height,
                face_height: self.face_height - (height - here),
                window: self.window(&placed),
                placed,
                in_use: (height - here).abs() < 0.25,
            });
        }
        let key = |row: &AtHeight| {
            let cold = row.placed.assured.or(row.placed.coldest()).unwrap_or(0.0);
            (row.placed.sites.len(), row.window.unwrap_or(0.0), cold)
        };
        let best = (0..rows.len())
            .filter(|i| !rows[*i].placed.sites.is_empty())
            .max_by(|a, b| {
                let (a, b) = (key(&rows[*a]), key(&rows[*b]));
                a.0.cmp(&b.0)
                    .then(a.1.total_cmp(&b.1))
                    .then(a.2.total_cmp(&b.2))
            });
        Ok(Heights { rows, best })
    }

    fn window(&self, placed: &Placed) -> Option<f64> {
        let bars = &self.ask.bars;
        let (lower, upper) = (bars.lower?.value, bars.upper?.value);
        let (cold, hot) = (placed.assured?, placed.at_most?);
        let least = lower / (cold * bars.through * bars.allowed.0);
        let most = upper / (hot * bars.through * bars.allowed.1);
        Some(most / least)
    }
}
