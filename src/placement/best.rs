//! So many parts, placed best.

use super::layout::{Chosen, Layout, Need, range, worst};
use super::ready::{CHOOSE, IN_HAND, Ready, Z95};
use super::{Best, CONFIDENCE, Placed, Unplaceable};
use crate::progress::{Cancelled, Progress};

impl Ready<'_> {
    /// So many, placed best.
    pub(super) fn so_many(
        &self,
        n: usize,
        best: Best,
        so_far: &mut dyn FnMut(Placed),
        progress: &Progress,
    ) -> Result<Chosen, Unplaceable> {
        let none = f32::NEG_INFINITY;
        let (dark, bright) = self.brightness();
        let safest = if self.ask.bars.is_none() {
            None
        } else {
            let most = self.highest();
            let lowest = -20.0f32;
            self.furthest(n, (lowest, most.max(lowest)), 10, &Need::level, progress)?
        };
        let anywhere = Need::level(if self.ask.bars.is_none() { none } else { -20.0 });
        let room = self.quick(anywhere, progress)?;
        let Some(top) = safest
            .map(|s| s.0)
            .or(self.ask.bars.is_none().then_some(none))
        else {
            // fewer than wanted are all that fit
            return self
                .furthest_inside(room, anywhere.level, progress)
                .map_err(Into::into);
        };
        if room.parts.len() < n {
            return self
                .furthest_inside(room, anywhere.level, progress)
                .map_err(Into::into);
        }
        so_far(self.first(&fewest(room, n, best)));
        let at = |level: f32| -> Result<Layout, Cancelled> {
            match best {
                Best::Coldest => {
                    let need = |cold: f32| Need {
                        cold,
                        ..Need::level(level)
                    };
                    let found = self.furthest(n, (dark - 1e-3, bright), 8, &need, progress)?;
                    Ok(fewest(found.map(|f| f.1).unwrap_or_default(), n, best))
                }
                Best::LeastRange => self.least_range(n, level, (dark, bright), progress),
            }
        };
        if !self.judged {
            let level = if self.ask.bars.is_none() {
                none
            } else {
                top.min(0.0)
            };
            let layout = at(level)?;
            return Ok(Chosen {
                level: worst(&layout),
                layout,
            });
        }
        // the least level with which all are sure; the further in, the less is left to place best
        let steps = [0.0, 0.35, 0.6, 0.8, 0.92, 1.0];
        let from = Z95.min(top);
        let mut last = Layout::default();
        for step in steps {
            let layout = at(from + step * (top - from))?;
            if layout.parts.len() < n {
                continue;
            }
            let sure = self.sure(&layout, 0, CHOOSE, progress)?;
            last = layout;
            if sure.is_some_and(|s| s.all >= CONFIDENCE + IN_HAND) {
                break;
            }
        }
        Ok(Chosen {
            level: worst(&last),
            layout: last,
        })
    }

    fn least_range(
        &self,
        n: usize,
        level: f32,
        (dark, bright): (f32, f32),
        progress: &Progress,
    ) -> Result<Layout, Cancelled> {
        // what is brightest is often among the most alike, too: near it, and over all from there down
        let need = |cold: f32| Need {
            cold,
            ..Need::level(level)
        };
        let brightest = self.furthest(n, (dark - 1e-3, bright), 8, &need, progress)?;
        let (top, brightest) = brightest.unwrap_or((bright, Layout::default()));
        let brightest = fewest(brightest, n, Best::LeastRange);
        let mut best: Option<(f32, Layout)> = None;
        if brightest.parts.len() == n {
            best = Some((range(&brightest), brightest));
        }
        for i in 0..8 {
            let cold = top - (top - dark) * i as f32 / 8.0 - 1e-3;
            // the narrowest that holds them: the negative of its width is what is made as great as can be
            let need = |narrow: f32| Need {
                cold,
                hot: cold - narrow,
                ..Need::level(level)
            };
            let widest = best.as_ref().map_or(2.0 * (bright - dark) + 0.5, |b| b.0);
            let found = self.furthest(n, (-widest, 0.0), 6, &need, progress)?;
            let Some((_, layout)) = found else { continue };
            let layout = fewest(layout, n, Best::LeastRange);
            let range = range(&layout);
            if best.as_ref().is_none_or(|b| range < b.0) {
                best = Some((range, layout));
            }
        }
        Ok(best.map(|b| b.1).unwrap_or_default())
    }
}

/// So many of the parts, the best ones.
fn fewest(mut layout: Layout, n: usize, best: Best) -> Layout {
    if layout.parts.len() <= n {
        return layout;
    }
    layout.parts.sort_by(|a, b| b.2.cold.total_cmp(&a.2.cold));
    let from = match best {
        Best::Coldest => 0,
        Best::LeastRange => {
            let width = |from: &usize| {
                let some = &layout.parts[*from..*from + n];
                let hot = some
                    .iter()
                    .map(|p| p.2.hot)
                    .fold(f32::NEG_INFINITY, f32::max);
                hot - some[n - 1].2.cold
            };
            let all = 0..=layout.parts.len() - n;
            all.min_by(|a, b| width(a).total_cmp(&width(b)))
                .unwrap_or(0)
        }
    };
    layout.parts = layout.parts[from..from + n].to_vec();
    layout
}
