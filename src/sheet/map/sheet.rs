//! What the pages of a map are made of, and what its pictures have in common.

use std::sync::Arc;

use crate::assess::Answer;
use crate::assess::limits::Outlook;
use crate::field::{Contour, Map, Raster};
use crate::sheet::against::Against;
use crate::sheet::colour::{ColourMap, ColourScale};
use crate::sheet::page::PaperSize;
use crate::sheet::picture::{Layers, level_text};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// What the pages of a map are made of.
#[derive(Debug, Clone, Copy)]
pub struct MapSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// What is said of the survey, and which survey that is.
    pub answer: &'a Answer,
    /// The map, at its height.
    pub raster: &'a Arc<Raster>,
    /// Lines of equal irradiance of that map.
    pub contours: &'a [Contour],
    /// The map against the limits, where there are some.
    pub against: Option<&'a Against>,
    /// How far off the map may be, percent (k = 2), where the family says it, and from and to where its colours go; `None`:
    /// from its least to its greatest.
    pub uncertainty: Option<(&'a Map, Option<[f64; 2]>)>,
    /// What hangs on the verdict, where it was worked out.
    pub outlook: Option<&'a Outlook>,
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
    /// The colours of the map.
    pub colours: ColourMap,
    /// From and to which irradiance they go, mW/cm²; `None`: from the map's least to its greatest.
    pub range: Option<[f64; 2]>,
}

/// What heading and sentences of a figure take, mm.
pub(super) const FIGURE_TEXT: f64 = 18.0;

/// What maps on the sheet show.
pub(super) const ON_PAPER: Layers = Layers {
    map: true,
    contours: true,
    readings: true,
    spots: true,
    ..Layers::FIXTURE
};

/// The contours' levels and, where there are fewer than two, the ends of the scale.
pub(super) fn bar_ticks(
    levels: &[f64],
    scale: ColourScale,
    unit: IrradianceUnit,
) -> Vec<(f64, String)> {
    let mut ticks = levels.to_vec();
    ticks.sort_by(f64::total_cmp);
    ticks.dedup();
    if ticks.len() < 2 {
        let ends = [scale.low, scale.high];
        let decimals = unit.decimals(scale.high, Some(0.1 * (scale.high - scale.low)));
        return ends
            .map(|e| (e, fixed(unit.from_mw_cm2(e), decimals)))
            .to_vec();
    }
    let said = level_text(levels, unit);
    ticks.into_iter().map(|e| (e, said(e))).collect()
}
