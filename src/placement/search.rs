//! How far inside the limits every part has to lie for all of them to be inside at once, and what comes of it.

use super::arrange::{Layout, Need, Rasters};
use super::bound::{of_circles, weights};
use super::cells::{Cell, offsets};
use super::exact::exact;
use super::light::Light;
use super::round::rounded;
use super::sure::{Judge, Sure};
use super::{Best, Bound, CONFIDENCE, Kind, Method, Placed, Site, Surely, ToPlace, Unplaceable,
    Wish,
};
use crate::geometry::{Place, Point, Shape};
use crate::progress::{Cancelled, Progress};

/// One-sided 95 % of a normal distribution: what a part alone needs at every point, at the least.
const Z95: f32 = 1.644_853_6;
/// Surer than this is not looked for.
const SUREST: f32 = 6.0;
/// Draws that an arrangement is chosen by, and that it is judged by.
const CHOOSE: usize = 400;
const JUDGE: usize = 1600;
/// Chosen with a little in hand, so that fresh draws seldom say otherwise.
const IN_HAND: f64 = 0.008;
const SEED: u64 = 0x91ac_e000;
/// Exchanges of the search for parts anywhere: while it is looked for how far inside is enough, and at the end.
const QUICK: usize = 1_500;
const LONG: usize = 40_000;
/// Rounds for the bound.
const ROUNDS: usize = 1500;

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
        let light = Light::of(&ask.field, bed.outline.bounds(), bed.height, &ask.passes, progress)?;
        let rasters = Rasters::of((&ask.part, bed), (&light, bars), ask.kind, progress)?;
        let judged = light.has_uncertainty() && !bars.is_none() && !bars.lacks_calibration();
        Ok(Self { ask, light, rasters, judged })
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

    fn sure(
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
    fn most(
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
        let free = self.rasters.anywhere(need, exchanges, enough, told, progress)?;
        Ok(if free.parts.len() > rows.parts.len() { free } else { Layout { lattice: None, ..rows } })
    }

    fn quick(&self, need: Need, progress: &Progress) -> Result<Layout, Cancelled> {
        self.most(need, QUICK, &mut |_| {}, progress)
    }

    /// The greatest of values from `low` to `high` with which `n` parts are found; `None`: not even with `low`.
    fn furthest(
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

    /// Range of the levels of places with room.
    fn levels(&self) -> (f32, f32) {
        let finite = self.rasters.all().map(|c| c.level).filter(|l| l.is_finite());
        let most = finite.fold(f32::NEG_INFINITY, f32::max);
        (f32::NEG_INFINITY, most)
    }

    fn brightness(&self) -> (f32, f32) {
        let all = self.rasters.all();
        all.fold((f32::INFINITY, f32::NEG_INFINITY), |(lo, hi), c| (lo.min(c.cold), hi.max(c.cold)))
    }
}

/// What is chosen: a layout, and whether it is thought to be sure.
struct Chosen {
    layout: Layout,
    level: f32,
}

impl ToPlace {
    /// The arrangement, as far as it can be told; `so_far` is given every better one on the way.
    ///
    /// # Errors
    /// The part can't be placed, or it was asked to stop.
    pub fn place(
        &self,
        so_far: &mut dyn FnMut(Placed),
        progress: &Progress,
    ) -> Result<Placed, Unplaceable> {
        let ready = Ready::of(self, progress)?;
        progress.set(0.1);
        let chosen = match self.wish {
            Wish::Most => ready.most_sure(so_far, progress)?,
            Wish::Count(n, best) => ready.so_many(n, best, so_far, progress)?,
        };
        progress.set(0.6);
        let (mut layout, mut judged) = ready.settled(chosen, progress)?;
        progress.set(0.7);
        if self.kind == Kind::Free && self.wish == Wish::Most {
            (layout, judged) = ready.longer(layout, judged, so_far, progress)?;
        }
        progress.set(0.85);
        let mut placed = ready.told(&layout, judged.as_ref(), progress)?;
        placed.so_far = false;
        ready.beside(&mut placed, &layout, progress)?;
        progress.set(1.0);
        Ok(placed)
    }
}

impl Ready<'_> {
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
        let (_, most) = self.levels();
        // a first answer: the level that mostly turns out to be enough
        let guess = self.quick(Need::level(2.3), progress)?;
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
            let middle = if step == 0 && 2.3 < high { 2.3 } else { 0.5 * (low + high) };
            let layout = self.quick(Need::level(middle), progress)?;
            let tried = self.furthest_inside(layout, middle, progress)?;
            if enough(&tried.layout)? {
                high = middle;
                let count = tried.layout.parts.len();
                let better = best.as_ref().is_none_or(|b: &Chosen| count >= b.layout.parts.len());
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
        Ok(best.unwrap_or(Chosen { layout: Layout::default(), level: highest }))
    }

    /// Of arrangements of as many the one that lies furthest inside the limits; without limits the brightest.
    fn furthest_inside(
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
        let steps = if self.ask.kind == Kind::Free { STEPS / 2 } else { STEPS };
        let found = if self.ask.bars.is_none() {
            let (dark, bright) = self.brightness();
            let need = |cold: f32| Need { cold, ..Need::level(f32::NEG_INFINITY) };
            self.furthest(n, (dark - 1e-3, bright), steps, &need, progress)?
        } else {
            let (_, most) = self.levels();
            let from = worst(&layout).max(level);
            self.furthest(n, (from, most.max(from)), steps, &Need::level, progress)?
        };
        Ok(match found {
            Some((_, better)) if better.parts.len() >= n => {
                let level = worst(&better);
                Chosen { layout: better, level }
            }
            _ => Chosen { level: worst(&layout), layout },
        })
    }

    /// So many, placed best.
    fn so_many(
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
            let (_, most) = self.levels();
            let lowest = -20.0f32;
            self.furthest(n, (lowest, most.max(lowest)), 10, &Need::level, progress)?
        };
        let anywhere = Need::level(if self.ask.bars.is_none() { none } else { -20.0 });
        let room = self.quick(anywhere, progress)?;
        let Some(top) = safest.map(|s| s.0).or(self.ask.bars.is_none().then_some(none)) else {
            // fewer than wanted are all that fit
            return self.furthest_inside(room, anywhere.level, progress).map_err(Into::into);
        };
        if room.parts.len() < n {
            return self.furthest_inside(room, anywhere.level, progress).map_err(Into::into);
        }
        so_far(self.first(&fewest(room, n, best)));
        let at = |level: f32| -> Result<Layout, Cancelled> {
            match best {
                Best::Coldest => {
                    let need = |cold: f32| Need { cold, ..Need::level(level) };
                    let found = self.furthest(n, (dark - 1e-3, bright), 8, &need, progress)?;
                    Ok(fewest(found.map(|f| f.1).unwrap_or_default(), n, best))
                }
                Best::LeastRange => self.least_range(n, level, (dark, bright), progress),
            }
        };
        if !self.judged {
            let level = if self.ask.bars.is_none() { none } else { top.min(0.0) };
            let layout = at(level)?;
            return Ok(Chosen { level: worst(&layout), layout });
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
        Ok(Chosen { level: worst(&last), layout: last })
    }

    fn least_range(
        &self,
        n: usize,
        level: f32,
        (dark, bright): (f32, f32),
        progress: &Progress,
    ) -> Result<Layout, Cancelled> {
        let mut best: Option<(f32, Layout)> = None;
        for i in 0..8 {
            let cold = dark + (bright - dark) * i as f32 / 8.0 - 1e-3;
            // the narrowest that holds them: the negative of its width is what is made as great as can be
            let need = |narrow: f32| Need { cold, hot: cold - narrow, ..Need::level(level) };
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

    fn round(&self, chosen: Chosen) -> Chosen {
        Chosen { layout: rounded(chosen.layout, self.ask, &self.light), ..chosen }
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
        let found = self.most(need, LONG.saturating_mul(self.ask.effort), &mut tell, progress)?;
        if found.parts.len() <= layout.parts.len() {
            return Ok((layout, judged));
        }
        let sure = self.sure(&found, 5000, JUDGE, progress)?;
        let asked = self.judged && self.ask.surely == Surely::AllAtOnce;
        let held = !asked || sure.as_ref().is_some_and(|s| s.all >= CONFIDENCE);
        Ok(if held { (found, sure) } else { (layout, judged) })
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
        let first = |n: usize| Layout { parts: layout.parts[..n].to_vec(), ..layout.clone() };
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
        let sure = if held > 0 { self.sure(&kept, 100, JUDGE, progress)? } else { None };
        Ok(Some((self.told(&kept, sure.as_ref(), progress)?, all - held)))
    }

    /// What is told of an arrangement before it is judged.
    fn first(&self, layout: &Layout) -> Placed {
        let mut sites: Vec<Site> = layout.parts.iter().map(|(c, t, cell)| site(*c, *t, cell)).collect();
        in_order(&mut sites);
        Placed {
            sites,
            lattice: layout.lattice,
            confidence: None,
            proven: false,
            assured: None,
            at_most: None,
            bound: None,
            optimal: false,
            alone: None,
            plain: None,
            so_far: true,
        }
    }

    /// All that is known of an arrangement.
    fn told(
        &self,
        layout: &Layout,
        sure: Option<&Sure>,
        progress: &Progress,
    ) -> Result<Placed, Cancelled> {
        let mut placed = self.first(layout);
        placed.sites = self.figures(&layout.parts, sure, progress)?;
        let held = !self.ask.bars.is_none();
        placed.confidence = sure.filter(|_| held).map(|s| s.all);
        placed.assured = sure.map(|s| s.extremes.0);
        placed.at_most = sure.map(|s| s.extremes.1);
        let misses = self.ask.field.misses().is_some();
        placed.proven = match held {
            false => true,
            true => !misses && sure.is_some_and(|s| s.all >= CONFIDENCE) && !placed.sites.is_empty(),
        };
        Ok(placed)
    }

    /// Each part's figures, from the field itself.
    pub(super) fn figures(
        &self,
        parts: &[(Point, bool, Cell)],
        sure: Option<&Sure>,
        progress: &Progress,
    ) -> Result<Vec<Site>, Cancelled> {
        let mut sites = Vec::with_capacity(parts.len());
        let held = !self.ask.bars.is_none();
        for (i, (centre, turned, cell)) in parts.iter().enumerate() {
            let mut site = site(*centre, *turned, cell);
            let passes = self.ask.passes.len();
            let places: Vec<Place> = offsets(&self.ask.part, *turned, 120)
                .into_iter()
                .map(|o| Point::new(centre.x + o.x, centre.y + o.y))
                .flat_map(|p| (0..passes).map(move |pass| (pass, p)))
                .map(|(pass, p)| self.ask.passes.image(pass, p).at_height(self.ask.bed.height))
                .collect();
            let values = self.ask.field.irradiance(&places, progress)?;
            let means = values.chunks(passes).map(|v| v.iter().sum::<f64>() / passes as f64);
            (site.coldest, site.hottest) =
                means.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| (l.min(e), h.max(e)));
            if let Some(sure) = sure {
                site.assured = Some(sure.bounds[i].0);
                site.at_most = Some(sure.bounds[i].1);
                site.alone = held.then(|| sure.alone[i]);
            }
            sites.push(site);
        }
        in_order(&mut sites);
        Ok(sites)
    }

    /// Counts beside it and the bound.
    fn beside(
        &self,
        placed: &mut Placed,
        layout: &Layout,
        progress: &Progress,
    ) -> Result<(), Unplaceable> {
        let held = !self.ask.bars.is_none();
        let need = match (held, self.judged) {
            (false, _) => Need::level(f32::NEG_INFINITY),
            (true, true) => Need::level(Z95),
            (true, false) => Need::level(0.0),
        };
        let count = placed.sites.len();
        if held {
            placed.plain = Some(self.quick(Need::level(0.0), progress)?.parts.len().max(count));
        }
        let alone = self.quick(need, progress)?.parts.len().max(count);
        if held && self.judged {
            placed.alone = Some(alone);
        }
        if matches!(self.ask.wish, Wish::Count(..)) {
            return Ok(());
        }
        let bound = match self.ask.kind {
            Kind::Rows { .. } => Bound {
                count: alone,
                method: Method::AllArrays { step: self.rasters.step() },
            },
            Kind::Free => self.bound_of_free(need, layout, alone, progress)?,
        };
        placed.optimal = bound.count <= count;
        placed.bound = Some(Bound { count: bound.count.max(count), ..bound });
        Ok(())
    }

    fn bound_of_free(
        &self,
        need: Need,
        layout: &Layout,
        alone: usize,
        progress: &Progress,
    ) -> Result<Bound, Cancelled> {
        /// Nodes of the tree of an exact search.
        const TREE: usize = 60_000;
        let count = layout.parts.len();
        let step = self.rasters.step_of_free();
        let Some((puzzle, points)) = self.rasters.widest(need) else {
            return Ok(Bound { count: alone, method: Method::AllArrays { step } });
        };
        let enough = |sum: f64| sum < (count + 1) as f64 - 1e-6;
        let weights = weights(&puzzle, ROUNDS, &enough, progress)?;
        let mut bound = Bound {
            count: (weights.sum + 1e-9).floor() as usize,
            method: Method::Weights { step },
        };
        if let Shape::Circle { diameter } = self.ask.part.shape {
            let apart = diameter + 2.0 * self.ask.part.tolerance + self.ask.part.clearance;
            // middles between nodes: up to a step beyond the outermost ones
            let grown: Vec<Point> = points
                .iter()
                .flat_map(|p| {
                    [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (0.0, 0.0)]
                        .map(|(x, y)| Point::new(p.x + x * step, p.y + y * step))
                })
                .collect();
            let oler = (of_circles(&grown, apart) + 1e-9).floor() as usize;
            if oler < bound.count {
                bound = Bound { count: oler, method: Method::Oler };
            }
        }
        if bound.count > count
            && let Some(found) = exact(&puzzle, &weights, &[], TREE, progress)?
            && found.proven
        {
            bound = Bound { count: found.places.len(), method: Method::Exhausted { step } };
        }
        Ok(bound)
    }
}

/// The level of the worst part.
fn worst(layout: &Layout) -> f32 {
    layout.parts.iter().map(|p| p.2.level).fold(f32::INFINITY, f32::min)
}

fn range(layout: &Layout) -> f32 {
    let cold = layout.parts.iter().map(|p| p.2.cold).fold(f32::INFINITY, f32::min);
    let hot = layout.parts.iter().map(|p| p.2.hot).fold(f32::NEG_INFINITY, f32::max);
    hot - cold
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
                let hot = some.iter().map(|p| p.2.hot).fold(f32::NEG_INFINITY, f32::max);
                hot - some[n - 1].2.cold
            };
            let all = 0..=layout.parts.len() - n;
            all.min_by(|a, b| width(a).total_cmp(&width(b))).unwrap_or(0)
        }
    };
    layout.parts = layout.parts[from..from + n].to_vec();
    layout
}

fn site(centre: Point, turned: bool, cell: &Cell) -> Site {
    Site {
        centre,
        turned,
        coldest: f64::from(cell.cold).exp(),
        hottest: f64::from(cell.hot).exp(),
        assured: None,
        at_most: None,
        alone: None,
        rank: 0,
    }
}

/// From the front left to the back right, with ranks by the coldest point.
fn in_order(sites: &mut [Site]) {
    /// What lies so near to a row lies in it, mm.
    const ROW: f64 = 0.5;
    sites.sort_by(|a, b| a.centre.y.total_cmp(&b.centre.y));
    let mut from = 0;
    while from < sites.len() {
        let front = sites[from].centre.y;
        let row = sites[from..].iter().take_while(|s| s.centre.y - front <= ROW).count();
        sites[from..from + row].sort_by(|a, b| a.centre.x.total_cmp(&b.centre.x));
        from += row;
    }
    let mut order: Vec<usize> = (0..sites.len()).collect();
    order.sort_by(|&a, &b| sites[b].coldest.total_cmp(&sites[a].coldest));
    for (rank, site) in order.into_iter().enumerate() {
        sites[site].rank = rank + 1;
    }
}
