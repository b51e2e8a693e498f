//! The field as parts get it: in the open, or at bonds that something stands around.

use crate::field::{AtBond, Draws, Estimate, Fitted};
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};

/// A field, and what is in its way. Places are given with the area they lie in; [`OPEN`] is none.
pub(super) struct Lit<'a> {
    pub field: &'a Fitted,
    pub at_bond: Option<AtBond<'a>>,
    /// The same without what stands around single places; `None`: nothing does.
    pub bare: Option<AtBond<'a>>,
}

/// Places that have less than this of the light that they would have without clamps, other parts, walls and plates beside them
/// stand in a shadow whose bounds have not been shown to hold (`tests/bench/bond.md`).
const SHOWN: f64 = 0.98;

/// In no area: in the open.
pub(super) const OPEN: usize = AtBond::OPEN;

/// Draws where walls throw back the least that they may, and where they throw back the most, if that is another thing.
pub(super) struct LitDraws {
    pub low: Draws,
    pub high: Option<Draws>,
}

impl LitDraws {
    pub fn high(&self) -> &Draws {
        self.high.as_ref().unwrap_or(&self.low)
    }
}

impl<'a> Lit<'a> {
    /// The same with parts and all that stands around them moved up, mm.
    pub fn lifted(&self, by: f64) -> Lit<'_> {
        Lit {
            field: self.field,
            at_bond: self.at_bond.as_ref().map(|at| at.lifted(by)),
            bare: self.bare.as_ref().map(|at| at.lifted(by)),
        }
    }

    /// About what places of one area get, mW/cm².
    pub fn about(
        &self,
        area: usize,
        places: &[Place],
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        match &self.at_bond {
            Some(at_bond) => at_bond.about(area, places, progress),
            None => self.field.irradiance(places, progress),
        }
    }

    /// What places get.
    pub fn at(
        &self,
        places: &[(usize, Place)],
        progress: &Progress,
    ) -> Result<Vec<Estimate>, Cancelled> {
        match &self.at_bond {
            Some(at_bond) => at_bond.at(places, progress),
            None => self.field.at(&open(places), progress),
        }
    }

    /// Only the irradiance of places.
    pub fn irradiance(
        &self,
        places: &[(usize, Place)],
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        match &self.at_bond {
            Some(at_bond) => {
                let there = at_bond.at(places, progress)?;
                Ok(there.into_iter().map(|e| e.irradiance).collect())
            }
            None => self.field.irradiance(&open(places), progress),
        }
    }

    /// Whether no place stands in a shadow of which it is not shown how sure its depth is.
    pub fn is_shown(
        &self,
        places: &[(usize, Place)],
        progress: &Progress,
    ) -> Result<bool, Cancelled> {
        let (Some(at_bond), Some(bare)) = (&self.at_bond, &self.bare) else {
            return Ok(true);
        };
        for group in places
            .chunk_by(|a, b| a.0 == b.0)
            .filter(|g| g[0].0 != OPEN)
        {
            let own = open(group);
            let there = at_bond.about(group[0].0, &own, progress)?;
            let without = bare.about(group[0].0, &own, progress)?;
            if there.iter().zip(without).any(|(e, b)| *e < SHOWN * b) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Joint draws; `None` for a family without, where it is not known where the light comes from, or where a place stands in
    /// a shadow of which it is not shown how sure its depth is.
    pub fn joint(
        &self,
        places: &[(usize, Place)],
        seed: u64,
        n: usize,
        progress: &Progress,
    ) -> Result<Option<LitDraws>, Cancelled> {
        Ok(match &self.at_bond {
            Some(_) if !self.is_shown(places, progress)? => None,
            Some(at_bond) => {
                let draws = at_bond.joint(places, seed, n, progress)?;
                draws.map(|both| LitDraws {
                    low: both.low,
                    high: Some(both.high),
                })
            }
            None => {
                let draws = self.field.joint(&open(places), seed, n, progress)?;
                draws.map(|low| LitDraws { low, high: None })
            }
        })
    }
}

fn open(places: &[(usize, Place)]) -> Vec<Place> {
    places.iter().map(|p| p.1).collect()
}
