//! How far inside the limits every part has to lie for all of them to be inside at once, and what comes of it.

use super::layout::{Chosen, Layout, Need, worst};
use super::ready::{CHOOSE, IN_HAND, JUDGE, Ready, Z95};
use super::round::rounded;
use super::sure::Sure;
use super::{CONFIDENCE, Kind, Placed, Surely, ToPlace, Unplaceable, Wish};
use crate::progress::{Cancelled, Progress};

/// Surer than this is not looked for.
const SUREST: f32 = 6.0;
/// Exchanges of the search for parts anywhere at the end.
const LONG: usize = 40_000;

impl ToPlace {
    /// The arrangement with the counts beside it and the bound; `so_far` is given every better one on the way.
    ///
    /// # Errors
    /// The part can't be placed, or it was asked to stop.
    pub fn place(
        &self,
        so_far: &mut dyn FnMut(Placed),
        progress: &Progress,
    ) -> Result<Placed, Unplaceable> {
        let ready = Ready::of(self, progress)?;
        let mut placed = ready.arranged(so_far, progress)?;
        progress.set(0.85);
        ready.beside(&mut placed, progress)?;
        progress.set(1.0);
        Ok(placed)
    }

    /// Only the arrangement.
    ///
    /// # Errors
    /// As of [`place`](Self::place).
    pub fn arrange(&self, progress: &Progress) -> Result<Placed, Unplaceable> {
        Ready::of(self, progress)?.arranged(&mut |_| {}, progress)
    }
}

impl Ready<'_> {
    fn arranged(
        &self,
        so_far: &mut dyn FnMut(Placed),
        progress: &Progress,
    ) -> Result<Placed, Unplaceable> {
        progress.set(0.1);
        let chosen = match self.ask.wish {
            Wish::Most => self.most_sure(so_far, progress)?,
            Wish::Count(n, best) => self.so_many(n, best, so_far, progress)?,
        };
        progress.set(0.6);
        let (mut layout, mut judged) = self.settled(chosen, progress)?;
        progress.set(0.7);
        if self.ask.kind == Kind::Free && self.ask.wish == Wish::Most {
            (layout, judged) = self.longer(layout, judged, so_far, progress)?;
        }
        let mut placed = self.told(&layout, judged.as_ref(), progress)?;
        placed.so_far = false;
        Ok(placed)
    }

    /// As many as fit.
    fn most_sure(
        &self,
        so_far: &mut dyn FnMut(Placed),
        progress: &Progress,
    ) -> Result<Chosen, Unplaceable> {
        if !self.judged || self.ask.surely != Surely::AllAtOnce {
            let need = match (self.ask.bars.is_none(), self.ask.surely) {
                (true, _) => Need::level(f32::NEG_INFINITY),
                (_, Surely::EachAlone) if self.judged => Need::level(Z95),
                _ => Need::level(0.0),
            };
            let layout = self.quick(need, progress)?;
            so_far(self.first(&layout));
            return Ok(self.furthest_inside(layout, need.level, progress)?);
        }
        let most = self.highest();
        // a first answer: the level that mostly turns out to be enough
        let guess = self.most(Need::level(2.3), 0, &mut |_| {}, progress)?;
        so_far(self.first(&guess));
        let enough = |layout: &Layout| -> Result<bool, Cancelled> {
            if layout.parts.is_empty() {
                return Ok(true);
            }
            let sure = self.sure(layout, 0, CHOOSE, progress)?;
            Ok(sure.is_some_and(|s| s.all >= CONFIDENCE + IN_HAND))
        };
        let highest = most.min(SUREST);
        let mut low = Z95;
        let first = self.furthest_inside(self.quick(Need::level(Z95), progress)?, Z95, progress)?;
        if first.layout.parts.is_empty() || enough(&first.layout)? {
            return Ok(first);
        }
        let mut best = None;
        let mut high = highest.max(low);
        // counts are few: between two levels of the same count there is nothing to find
        for step in 0..7 {
            progress.set(0.1 + 0.06 * step as f64);
            let middle = if step == 0 && 2.3 < high {
                2.3
            } else {
                0.5 * (low + high)
            };
            let layout = self.quick(Need::level(middle), progress)?;
            let tried = self.furthest_inside(layout, middle, progress)?;
            if enough(&tried.layout)? {
                high = middle;
                let count = tried.layout.parts.len();
                let better = best
                    .as_ref()
                    .is_none_or(|b: &Chosen| count >= b.layout.parts.len());
                if better {
                    so_far(self.first(&tried.layout));
                    best = Some(tried);
                }
            } else {
                // what is no surer with as many parts, further in, is not sure with that count at all
                low = middle.max(tried.level.min(high));
            }
            if high - low < 0.02 {
                break;
            }
        }
        Ok(best.unwrap_or(Chosen {
            layout: Layout::default(),
            level: highest,
        }))
    }

    /// Of arrangements of as many the one that lies furthest inside the limits; without limits the brightest.
    pub(super) fn furthest_inside(
        &self,
        layout: Layout,
        level: f32,
        progress: &Progress,
    ) -> Result<Chosen, Cancelled> {
        /// Halvings.
        const STEPS: usize = 6;
        let n = layout.parts.len();
        if n == 0 {
            return Ok(Chosen { layout, level });
        }
        let steps = if self.ask.kind == Kind::Free {
            STEPS / 2
        } else {
            STEPS
        };
        let found = if self.ask.bars.is_none() {
            let (dark, bright) = self.brightness();
            let need = |cold: f32| Need {
                cold,
                ..Need::level(f32::NEG_INFINITY)
            };
            self.furthest(n, (dark - 1e-3, bright), steps, &need, progress)?
        } else {
            let most = self.highest();
            let from = worst(&layout).max(level);
            self.furthest(n, (from, most.max(from)), steps, &Need::level, progress)?
        };
        Ok(match found {
            Some((_, better)) if better.parts.len() >= n => {
                let level = worst(&better);
                Chosen {
                    layout: better,
                    level,
                }
            }
            _ => Chosen {
                level: worst(&layout),
                layout,
            },
        })
    }

    fn round(&self, chosen: Chosen) -> Chosen {
        Chosen {
            layout: rounded(chosen.layout, self.ask, &self.light),
            ..chosen
        }
    }

    /// Judged by fresh draws; what fresh draws do not bear out is asked to lie further inside.
    fn settled(
        &self,
        chosen: Chosen,
        progress: &Progress,
    ) -> Result<(Layout, Option<Sure>), Unplaceable> {
        /// Further in by so much a time, and at most so often.
        const STEP: f32 = 0.12;
        const TIMES: u64 = 6;
        let chosen = self.round(chosen);
        if !self.judged || chosen.layout.parts.is_empty() {
            let sure = match (self.ask.bars.is_none(), chosen.layout.parts.is_empty()) {
                (true, false) => self.sure(&chosen.layout, 1, CHOOSE, progress)?,
                _ => None,
            };
            return Ok((chosen.layout, sure));
        }
        let mut tried = chosen;
        for time in 1..=TIMES {
            let sure = self.sure(&tried.layout, 100 * time, JUDGE, progress)?;
            let asked = self.ask.surely == Surely::AllAtOnce;
            let held = !asked || sure.as_ref().is_none_or(|s| s.all >= CONFIDENCE);
            if held || self.ask.wish != Wish::Most || time == TIMES {
                return Ok((tried.layout, sure));
            }
            let level = tried.level + STEP;
            let layout = self.quick(Need::level(level), progress)?;
            if layout.parts.is_empty() {
                return Ok((tried.layout, sure));
            }
            tried = self.round(self.furthest_inside(layout, level, progress)?);
        }
        Ok((tried.layout, None))
    }

    /// Free parts: the long search at the level that turned out to be enough.
    fn longer(
        &self,
        layout: Layout,
        judged: Option<Sure>,
        so_far: &mut dyn FnMut(Placed),
        progress: &Progress,
    ) -> Result<(Layout, Option<Sure>), Unplaceable> {
        let need = if self.ask.bars.is_none() {
            Need::level(f32::NEG_INFINITY)
        } else {
            Need::level(worst(&layout))
        };
        let least = layout.parts.len();
        let mut tell = |better: Layout| {
            if better.parts.len() > least {
                so_far(self.first(&better));
            }
        };
        let found = self.most(
            need,
            LONG.saturating_mul(self.ask.effort),
            &mut tell,
            progress,
        )?;
        if found.parts.len() <= layout.parts.len() {
            return Ok((layout, judged));
        }
        let sure = self.sure(&found, 5000, JUDGE, progress)?;
        let asked = self.judged && self.ask.surely == Surely::AllAtOnce;
        let held = !asked || sure.as_ref().is_some_and(|s| s.all >= CONFIDENCE);
        Ok(if held {
            (found, sure)
        } else {
            (layout, judged)
        })
    }

    /// The most that there is room for, whatever the light, without so many of the worst that the rest are sure; and how
    /// many that is. `None` where nothing is judged.
    pub(super) fn without_worst(
        &self,
        progress: &Progress,
    ) -> Result<Option<(Placed, usize)>, Cancelled> {
        if !self.judged {
            return Ok(None);
        }
        let mut layout = self.quick(Need::level(f32::MIN), progress)?;
        layout.parts.sort_by(|a, b| b.2.level.total_cmp(&a.2.level));
        let all = layout.parts.len();
        let first = |n: usize| Layout {
            parts: layout.parts[..n].to_vec(),
            ..layout.clone()
        };
        let (mut held, mut above) = (0, all + 1);
        while above - held > 1 {
            let n = held.midpoint(above);
            let sure = self.sure(&first(n), 0, CHOOSE, progress)?;
            if sure.is_some_and(|s| s.all >= CONFIDENCE + IN_HAND) {
                held = n;
            } else {
                above = n;
            }
        }
        let kept = first(held);
        let sure = if held > 0 {
            self.sure(&kept, 100, JUDGE, progress)?
        } else {
            None
        };
        Ok(Some((
            self.told(&kept, sure.as_ref(), progress)?,
            all - held,
        )))
    }
}
