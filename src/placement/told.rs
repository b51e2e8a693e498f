//! What is told of an arrangement: figures, counts beside it, the bound.

use super::Kind;
use super::bound::{of_circles, weights};
use super::cells::{Cell, offsets};
use super::exact::exact;
use super::layout::{Layout, Need};
use super::ready::{Ready, Z95};
use super::sure::Sure;
use super::{Bound, CONFIDENCE, Method, Placed, Site, Unplaceable, Wish};
use crate::geometry::{Place, Point, Shape};
use crate::progress::{Cancelled, Progress};

/// Rounds for the bound.
const ROUNDS: usize = 1500;

impl Ready<'_> {
    /// What is told of an arrangement before it is judged.
    pub(super) fn first(&self, layout: &Layout) -> Placed {
        let mut sites: Vec<Site> = layout
            .parts
            .iter()
            .map(|(c, t, cell)| site(*c, *t, cell))
            .collect();
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
    pub(super) fn told(
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
            true => {
                !misses && sure.is_some_and(|s| s.all >= CONFIDENCE) && !placed.sites.is_empty()
            }
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
                .map(|(pass, p)| {
                    self.ask
                        .passes
                        .image(pass, p)
                        .at_height(self.ask.bed.height)
                })
                .collect();
            let values = self.ask.field.irradiance(&places, progress)?;
            let means = values
                .chunks(passes)
                .map(|v| v.iter().sum::<f64>() / passes as f64);
            (site.coldest, site.hottest) = means
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| {
                    (l.min(e), h.max(e))
                });
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
    pub(super) fn beside(
        &self,
        placed: &mut Placed,
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
            placed.plain = Some(
                self.quick(Need::level(0.0), progress)?
                    .parts
                    .len()
                    .max(count),
            );
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
                method: Method::AllArrays {
                    step: self.rasters.step(),
                },
            },
            Kind::Free => self.bound_of_free(need, (count, alone), progress)?,
        };
        placed.optimal = bound.count <= count;
        placed.bound = Some(Bound {
            count: bound.count.max(count),
            ..bound
        });
        Ok(())
    }

    fn bound_of_free(
        &self,
        need: Need,
        (count, alone): (usize, usize),
        progress: &Progress,
    ) -> Result<Bound, Cancelled> {
        /// Nodes of the tree of an exact search.
        const TREE: usize = 60_000;
        let step = self.rasters.step_of_free();
        let Some((puzzle, points)) = self.rasters.widest(need) else {
            return Ok(Bound {
                count: alone,
                method: Method::AllArrays { step },
            });
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
                bound = Bound {
                    count: oler,
                    method: Method::Oler,
                };
            }
        }
        if bound.count > count
            && let Some(found) = exact(&puzzle, &weights, &[], TREE, progress)?
            && found.proven
        {
            bound = Bound {
                count: found.places.len(),
                method: Method::Exhausted { step },
            };
        }
        Ok(bound)
    }
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
        let row = sites[from..]
            .iter()
            .take_while(|s| s.centre.y - front <= ROW)
            .count();
        sites[from..from + row].sort_by(|a, b| a.centre.x.total_cmp(&b.centre.x));
        from += row;
    }
    let mut order: Vec<usize> = (0..sites.len()).collect();
    order.sort_by(|&a, &b| sites[b].coldest.total_cmp(&sites[a].coldest));
    for (rank, site) in order.into_iter().enumerate() {
        sites[site].rank = rank + 1;
    }
}
