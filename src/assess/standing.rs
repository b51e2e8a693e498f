//! What stands in the light of the parts, handed to the numeric core: clamps, rim, the parts themselves, and how bonds lie.
//!
//! The field is that of a survey read in the open. With the pallet out it is, but for keep-outs that stay; with the pallet in
//! place what stood there had its shadow on the readings beside it, and that is told ([`Standing::in_shadow`]).

use super::area::{Assessed, Assumed};
use crate::field::{AtBond, Block, Bond, Fitted, Frame, Glass, Lies, Scene};
use crate::geometry::{Footprint, Place, Point};
use crate::progress::{Cancelled, Progress};
use crate::station::{self, Lying, Pallet, Site, Station, Survey};

/// What stands around the bonds that are assessed, and how each lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    scene: Scene,
    /// The same without what stands around single places, and bonds open to the sky; `None`: nothing does.
    bare: Option<(Scene, Vec<Bond>)>,
    /// One an area of what is assessed, in its order.
    bonds: Vec<Bond>,
    /// Rows whose readings stood among what was there: of those that count.
    read: Vec<(usize, Place)>,
    /// What was there when they were read.
    there: Scene,
}

/// Readings that have less than this of the light in the open stood in a shadow.
const SHADOW: f64 = 0.98;
/// Heights are looked at this much higher: what the figure hangs on.
const WRONG: f64 = 1.2;

impl Standing {
    /// Of a survey of a station; `None` where nothing is in the light's way and all bonds are open and level.
    pub fn of(station: &Station, survey: &Survey, assessed: &Assessed) -> Option<Self> {
        if matches!(assessed.assumed, Some(Assumed::AsAsked(_))) {
            return None;
        }
        let keep_outs = |stays: bool| {
            let wanted = station.keep_outs.iter().filter(move |k| !stays || k.stays);
            wanted.filter_map(|k| {
                Some(Block {
                    outline: k.footprint.clone(),
                    top: k.height?,
                })
            })
        };
        let frame = station.fixture.rim.map(|rim| Frame {
            outline: station.fixture.footprint(),
            thickness: rim.thickness,
            top: rim.height,
        });
        let reflectance = station.fixture.reflectance_percent.map(|p| 0.01 * p);
        let mut blocks: Vec<Block> = keep_outs(false).collect();
        let clamps = blocks.clone();
        // parts that are not assessed one by one stand there too
        let parts = station.all_sites();
        let mut own = vec![None; parts.len()];
        for (site, own) in parts.iter().zip(&mut own) {
            if let Some(top) = station.sites.get(site.group).and_then(|g| g.top) {
                *own = Some(blocks.len());
                blocks.push(Block {
                    outline: site.footprint.clone(),
                    top,
                });
            }
        }
        let bonds: Vec<Bond> = if assessed.sites.is_empty() {
            vec![Bond::default(); assessed.areas.len()]
        } else {
            let each = assessed.sites.iter().zip(&own);
            each.map(|(site, &own)| bond(station, site, own)).collect()
        };
        let scene = Scene {
            blocks,
            frame: frame.clone(),
            reflectance,
        };
        if scene.is_empty() && bonds.iter().all(Bond::is_open) {
            return None;
        }
        let is_beside =
            |bond: &Bond| matches!(bond.lies, Lies::Pocket { .. } | Lies::Overhang { .. });
        let bare = (!scene.blocks.is_empty() || bonds.iter().any(is_beside)).then(|| {
            let open = bonds.iter().map(|bond| match is_beside(bond) {
                true => Bond {
                    lies: Lies::Level,
                    ..bond.clone()
                },
                false => bond.clone(),
            });
            let scene = Scene {
                blocks: Vec::new(),
                ..scene.clone()
            };
            (scene, open.map(|bond| Bond { own: None, ..bond }).collect())
        });
        let there = match survey.state.pallet {
            Pallet::Out => None,
            Pallet::NotSaid if station.plan.plate.is_some() => None,
            Pallet::NotSaid | Pallet::Empty => Some(clamps),
            Pallet::Loaded => Some(scene.blocks.clone()),
        };
        let there = match there {
            Some(blocks) => Scene {
                blocks,
                frame,
                reflectance: None,
            },
            None => Scene {
                blocks: keep_outs(true).collect(),
                ..Scene::default()
            },
        };
        let rows = survey.readings.iter().enumerate();
        let counted = rows.filter(|(_, r)| r.counted().is_some());
        let read = if there.is_empty() {
            Vec::new()
        } else {
            counted.map(|(row, r)| (row, r.place())).collect()
        };
        Some(Self {
            scene,
            bare,
            bonds,
            read,
            there,
        })
    }

    /// The light at the bonds from a field.
    pub fn at_bond<'a>(&'a self, field: &'a Fitted) -> AtBond<'a> {
        AtBond::new(field, &self.scene, &self.bonds)
    }

    /// The same without what stands around single places; `None`: nothing does.
    pub fn bare<'a>(&'a self, field: &'a Fitted) -> Option<AtBond<'a>> {
        let (scene, bonds) = self.bare.as_ref()?;
        Some(AtBond::new(field, scene, bonds))
    }

    /// Rows whose readings stood in the shadow of what was there, with how much of the light in the open they had.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub(super) fn in_shadow(
        &self,
        field: &Fitted,
        progress: &Progress,
    ) -> Result<Vec<(usize, f64)>, Cancelled> {
        if self.read.is_empty() {
            return Ok(Vec::new());
        }
        let places: Vec<Place> = self.read.iter().map(|r| r.1).collect();
        let open = field.irradiance(&places, progress)?;
        let there = AtBond::new(field, &self.there, &[]).about(0, &places, progress)?;
        let rows = self.read.iter().zip(open.iter().zip(there));
        let shares = rows.map(|((row, _), (open, there))| (*row, there / open));
        Ok(shares.filter(|(_, share)| *share < SHADOW).collect())
    }

    /// By how much the light at a place of a bond falls when all that stands above it is 20 % higher, and walls, plates and
    /// tilt are 20 % more: relative, 0 where nothing hangs on it.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub(super) fn hangs(
        &self,
        field: &Fitted,
        area: usize,
        at: Place,
        progress: &Progress,
    ) -> Result<f64, Cancelled> {
        let raised = self.scene.raised(at.height, WRONG);
        let bonds: Vec<Bond> = self.bonds.iter().map(|b| b.raised(WRONG)).collect();
        let now = self.at_bond(field).about(area, &[at], progress)?;
        let then = AtBond::new(field, &raised, &bonds).about(area, &[at], progress)?;
        Ok((1.0 - then[0] / now[0]).max(0.0))
    }
}

/// How the bond of a site lies, whose part is the `own` block of the scene.
fn bond(station: &Station, site: &Site, own: Option<usize>) -> Bond {
    let told = station.sites.get(site.group).and_then(|g| g.bond.as_ref());
    let Some(told) = told else {
        return Bond {
            own,
            ..Bond::default()
        };
    };
    let (part, turn) = (&site.footprint, site.footprint.turn);
    let unit = |degrees: f64| {
        let (sin, cos) = (degrees + turn).to_radians().sin_cos();
        Point::new(cos, sin)
    };
    let lies = match &told.lies {
        Lying::Level => Lies::Level,
        Lying::Pocket { depth, .. } => Lies::Pocket {
            outline: told.outline(part),
            depth: *depth,
        },
        Lying::Overhang { from, reach, gap } => {
            let under = unit(*from);
            let far = furthest(part, under);
            let by = far - reach;
            Lies::Overhang {
                edge: Point::new(by * under.x, by * under.y),
                under,
                gap: *gap,
            }
        }
        Lying::Tilted { angle, towards } => {
            let (sin, cos) = angle.to_radians().sin_cos();
            let to = unit(*towards);
            Lies::Tilted {
                about: part.middle(),
                normal: [sin * to.x, sin * to.y, cos],
            }
        }
    };
    Bond {
        own,
        lies,
        behind: told.behind.as_ref().map(glass),
    }
}

fn glass(substrate: &station::Substrate) -> Glass {
    Glass::new(
        0.01 * substrate.percent,
        0.5 * 0.01 * substrate.uncertainty_percent,
        substrate.index,
        substrate.thickness,
    )
}

/// How far an outline reaches along a direction from the datum, mm.
fn furthest(outline: &Footprint, along: Point) -> f64 {
    let reach = |p: Point| p.x * along.x + p.y * along.y;
    let corners = outline.outline().into_iter().map(reach);
    corners.fold(f64::NEG_INFINITY, f64::max)
}
