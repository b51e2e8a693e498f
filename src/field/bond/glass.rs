//! A substrate over a bond: Fresnel's reflection at both faces, absorption along the slanting path.

/// A plate or film whose faces lie parallel to the bond.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glass {
    /// Refractive index, from 1 on.
    pub index: f64,
    /// mm.
    pub thickness: f64,
    /// Optical depth straight through: natural logarithm.
    absorbs: f64,
    /// What coated faces let through beyond clear ones, as a factor.
    coated: f64,
    /// Standard uncertainty of the transmission, relative.
    pub uncertainty: f64,
}

impl Glass {
    /// From the transmission of light straight on, 0 to 1: what clear faces of the index do not reflect and does not come
    /// through is absorbed inside.
    pub fn new(straight_on: f64, uncertainty: f64, index: f64, thickness: f64) -> Self {
        let clear = clear_faces(1.0, index);
        let inside = straight_on / clear;
        Self {
            index,
            thickness,
            absorbs: (-inside.ln()).max(0.0),
            coated: inside.max(1.0),
            uncertainty,
        }
    }

    /// How much light comes through whose angle of incidence has this cosine.
    pub fn through(&self, cosine: f64) -> f64 {
        let cosine = cosine.clamp(0.0, 1.0);
        // Snell
        let inside = (1.0 - (1.0 - cosine * cosine) / (self.index * self.index)).sqrt();
        // Beer and Lambert
        self.coated * clear_faces(cosine, self.index) * (-self.absorbs / inside).exp()
    }

    /// By how much the lamp seems nearer through it, mm: that of rays near the normal.
    pub fn nearer(&self) -> f64 {
        self.thickness * (1.0 - 1.0 / self.index)
    }
}

/// What one face between air and an index reflects of unpolarised light whose angle of incidence has this cosine (Fresnel):
/// perpendicular and parallel polarisation.
fn reflected(cosine: f64, index: f64) -> [f64; 2] {
    let inside = (1.0 - (1.0 - cosine * cosine) / (index * index)).sqrt();
    let ratio = |a: f64, b: f64| ((a - b) / (a + b)).powi(2);
    [ratio(cosine, index * inside), ratio(index * cosine, inside)]
}

/// What two clear faces let through, with all passes between them, incoherent.
fn clear_faces(cosine: f64, index: f64) -> f64 {
    if cosine <= 0.0 {
        return 0.0;
    }
    let [s, p] = reflected(cosine, index);
    0.5 * ((1.0 - s) / (1.0 + s) + (1.0 - p) / (1.0 + p))
}
