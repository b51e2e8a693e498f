//! What is told of light at bonds, beside the figures.

/// What is told of light at bonds.
#[derive(Debug, Clone, PartialEq)]
pub struct OfBond {
    /// Readings tell where the light comes from; without that nothing at a bond is proven.
    pub lamp_known: bool,
    /// No part stands in a shadow of a clamp, another part, a wall or a plate of which it is not shown how sure its depth is.
    pub is_shown: bool,
    /// The light in the open at the coldest and at the hottest spot, mW/cm²: what a radiometer can check.
    pub open: [f64; 2],
    /// By how much the coldest spot falls with all that stands above it 20 % higher, relative.
    pub hangs: f64,
    /// Rows whose readings stood in a shadow, with how much of the light in the open they had.
    pub in_shadow: Vec<(usize, f64)>,
}

/// A figure that falls by less than this with heights 20 % wrong hangs on none.
const HANGS: f64 = 0.01;
/// So many rows are named one by one.
const NAMED: usize = 5;

impl OfBond {
    /// Whether there are no bounds because of what stands in the light.
    pub fn is_unproven(&self) -> bool {
        !(self.lamp_known && self.is_shown)
    }

    /// As sentences.
    pub(super) fn words(&self) -> Vec<String> {
        let mut said = Vec::new();
        if !self.lamp_known {
            said.push(
                "Nothing is proven at the bond: something stands in the light's way, and this field does not tell where the \
                 light comes from; an even face stands for the lamp in the figures; let the family be chosen by itself, and \
                 describe the face"
                    .to_owned(),
            );
        }
        if self.lamp_known && !self.is_shown {
            said.push(
                "Nothing is proven at the bond: clamps, other parts, walls or plates shade some of it. Their shadow is computed \
                 from the inferred lamp, but how sure its depth is has not been shown on simulated lamps, so the figures are \
                 estimates without bounds; move what stands in the light, or prove the part by trials there"
                    .to_owned(),
            );
        }
        if self.hangs > HANGS {
            said.push(format!(
                "The coldest spot hangs on the heights of what stands in its light: were they 20 % more above the bond, it would \
                 fall by {:.0} %; measure the heights of clamps, rim, parts and recesses beside it",
                100.0 * self.hangs
            ));
        }
        if let Some(darkest) = self.in_shadow.iter().map(|r| r.1).reduce(f64::min) {
            let rows = self.in_shadow.iter().take(NAMED);
            let rows: Vec<String> = rows.map(|(row, _)| (row + 1).to_string()).collect();
            let more = match self.in_shadow.len().saturating_sub(NAMED) {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            said.push(format!(
                "Readings stood in the shadow of what is described there (row {}{more}; the darkest had {:.0} % of the light in \
                 the open) and count as read in the open, so that the shadow counts twice and figures at the bond are too low; \
                 read with the pallet out, or exclude them",
                rows.join(", "),
                100.0 * darkest
            ));
        }
        said
    }
}
