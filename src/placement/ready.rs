//! What is asked, its field looked up and its rasters laid: how many parts lie so far inside the limits, and how sure some
//! are inside at once.

use super::arrange::Rasters;
use super::layout::{Layout, Need};
use super::light::Light;
use super::sure::{Judge, Sure};
use super::{Kind, ToPlace, Unplaceable, Wish};
use crate::geometry::Point;
use crate::progress::{Cancelled, Progress};

/// What a part alone needs at every point, at the least.
pub(super) const Z95: f32 = crate::assess::limits::Z95 as f32;
/// Draws that an arrangement is chosen by, and that it is judged by.
pub(super) const CHOOSE: usize = 400;
pub(super) const JUDGE: usize = 1600;
/// Chosen with a little in hand, so that fresh draws seldom say otherwise.
pub(super) const IN_HAND: f64 = 0.008;
/// Of the draws an arrangement is chosen by; it is judged by those of further seeds.
pub(super) const SEED: u64 = 0x91ac_e000;
/// Exchanges of the search for parts anywhere while it is looked for how far inside is enough.
const QUICK: usize = 1_500;

/// What is asked, its field looked up and its rasters laid.
pub(super) struct Ready<'a> {
    pub ask: &'a ToPlace,
    pub light: Light,
    pub rasters: Rasters,
    /// The field has joint draws, and some limit is held: then there is a confidence.
    pub judged: bool,
}

impl<'a> Ready<'a> {
    pub fn of(ask: &'a ToPlace, progress: &Progress) -> Result<Self, Unplaceable> {
        ask.part.sound()?;
        let (bed, bars) = (&ask.bed, &ask.bars);
        let light = Light::of(
            &ask.field,
            bed.outline.bounds(),
            bed.height,
            &ask.passes,
            progress,
        )?;
        let rasters = Rasters::of((&ask.part, bed), (&light, bars), ask.kind, progress)?;
        let judged = light.has_uncertainty() && !bars.is_none() && !bars.lacks_calibration();
        Ok(Self {
            ask,
            light,
            rasters,
            judged,
        })
    }

    pub fn judge(&self) -> Judge<'_> {
        Judge {
            field: &self.ask.field,
            light: &self.light,
            part: &self.ask.part,
            bars: &self.ask.bars,
            passes: &self.ask.passes,
            height: self.ask.bed.height,
        }
    }

    pub fn sure(
        &self,
        layout: &Layout,
        seed: u64,
        draws: usize,
        progress: &Progress,
    ) -> Result<Option<Sure>, Cancelled> {
        let parts: Vec<(Point, bool)> = layout.parts.iter().map(|p| (p.0, p.1)).collect();
        self.judge().sure(&parts, SEED + seed, draws, progress)
    }

    /// The most parts where the need is met; of free ones what a search of so many exchanges finds.
    pub fn most(
        &self,
        need: Need,
        exchanges: usize,
        told: &mut dyn FnMut(Layout),
        progress: &Progress,
    ) -> Result<Layout, Cancelled> {
        let rows = self.rasters.rows(need, progress)?;
        if matches!(self.ask.kind, Kind::Rows { .. }) {
            return Ok(rows);
        }
        let enough = match self.ask.wish {
            Wish::Most => usize::MAX,
            Wish::Count(n, _) => n,
        };
        if rows.parts.len() >= enough {
            return Ok(rows);
        }
        let free = self
            .rasters
            .anywhere(need, exchanges, enough, told, progress)?;
        Ok(if free.parts.len() > rows.parts.len() {
            free
        } else {
            Layout {
                lattice: None,
                ..rows
            }
        })
    }

    pub fn quick(&self, need: Need, progress: &Progress) -> Result<Layout, Cancelled> {
        self.most(need, QUICK, &mut |_| {}, progress)
    }

    /// The greatest of values from `low` to `high` with which `n` parts are found; `None`: not even with `low`.
    pub fn furthest(
        &self,
        n: usize,
        (low, high): (f32, f32),
        steps: usize,
        need: &dyn Fn(f32) -> Need,
        progress: &Progress,
    ) -> Result<Option<(f32, Layout)>, Cancelled> {
        let layout = self.quick(need(low), progress)?;
        if layout.parts.len() < n || n == 0 {
            return Ok(None);
        }
        let (mut held, mut above) = ((low, layout), high);
        for _ in 0..steps {
            let middle = 0.5 * (held.0 + above);
            let layout = self.quick(need(middle), progress)?;
            if layout.parts.len() >= n {
                held = (middle, layout);
            } else {
                above = middle;
            }
        }
        Ok(Some(held))
    }

    /// The highest level of a place with room.
    pub fn highest(&self) -> f32 {
        let levels = self.rasters.all().map(|c| c.level);
        let finite = levels.filter(|l| l.is_finite());
        finite.fold(f32::NEG_INFINITY, f32::max)
    }

    /// Least and greatest ln(mW/cm²) of the coldest point of places with room.
    pub fn brightness(&self) -> (f32, f32) {
        let all = self.rasters.all();
        all.fold((f32::INFINITY, f32::NEG_INFINITY), |(lo, hi), c| {
            (lo.min(c.cold), hi.max(c.cold))
        })
    }
}
