//! Faces of even brightness, whose fields are known in closed form.

use std::f64::consts::TAU;

use super::{Lamp, own_axes};
use crate::geometry::{Place, Point};

/// A rectangle that emits evenly and by Lambert's cosine law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniformPanel {
    /// Its middle on the plan.
    pub centre: Point,
    /// Along x before turning, mm.
    pub width: f64,
    /// Along y before turning, mm.
    pub depth: f64,
    /// Counter-clockwise, degrees.
    pub turn: f64,
    /// Above the fixture's base, mm.
    pub face_height: f64,
    /// What it emits, mW/cm².
    pub exitance: f64,
}

/// A disk that emits evenly and by Lambert's cosine law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniformDisk {
    /// Its middle on the plan.
    pub centre: Point,
    /// mm.
    pub diameter: f64,
    /// Above the fixture's base, mm.
    pub face_height: f64,
    /// What it emits, mW/cm².
    pub exitance: f64,
}

impl Lamp for UniformPanel {
    /// Four rectangles that have a corner over the place, added and subtracted.
    fn irradiance(&self, at: Place) -> f64 {
        let distance = self.face_height - at.height;
        if distance <= 0.0 {
            return 0.0;
        }
        let p = own_axes(at.point(), self.centre, self.turn);
        let (right, left) = (0.5 * self.width - p.x, -0.5 * self.width - p.x);
        let (back, front) = (0.5 * self.depth - p.y, -0.5 * self.depth - p.y);
        let corner = |x: f64, y: f64| corner_factor(x / distance, y / distance);
        self.exitance
            * (corner(right, back) - corner(left, back) - corner(right, front)
                + corner(left, front))
    }

    fn face_height(&self) -> f64 {
        self.face_height
    }
}

impl Lamp for UniformDisk {
    /// Foote's form (Siegel & Howell, Thermal Radiation Heat Transfer), written so that nothing
    /// cancels far from the axis.
    fn irradiance(&self, at: Place) -> f64 {
        let distance = self.face_height - at.height;
        if distance <= 0.0 {
            return 0.0;
        }
        let radius = 0.5 * self.diameter;
        let offset = at.point().distance(self.centre);
        let (h2, a2, r2) = (distance * distance, offset * offset, radius * radius);
        // (h² + a² + R²)² - 4 a²R² as a product of sums
        let root = ((h2 + (offset + radius).powi(2)) * (h2 + (offset - radius).powi(2))).sqrt();
        let rest = h2 + a2 - r2;
        // root² - rest² is 4 h²R², so the plain form ½(1 - rest / root) is this too
        let factor = if rest > 0.0 {
            2.0 * h2 * r2 / (root * (root + rest))
        } else {
            0.5 * (1.0 - rest / root)
        };
        self.exitance * factor
    }

    fn face_height(&self) -> f64 {
        self.face_height
    }
}

/// Irradiance over exitance below a corner of a rectangle whose sides are `a` and `b` times its
/// distance; odd in both, which is what the superposition needs (Siegel & Howell, Thermal Radiation
/// Heat Transfer; Howell's catalogue of configuration factors).
fn corner_factor(a: f64, b: f64) -> f64 {
    let (na, nb) = (a.hypot(1.0), b.hypot(1.0));
    ((a / na) * (b / na).atan() + (b / nb) * (a / nb).atan()) / TAU
}

#[cfg(test)]
mod tests {
    use super::*;

    const PANEL: UniformPanel = UniformPanel {
        centre: Point::new(90.0, 60.0),
        width: 150.0,
        depth: 100.0,
        turn: 0.0,
        face_height: 75.0,
        exitance: 300.0,
    };

    #[test]
    fn a_quarter_turn_swaps_the_sides() {
        let turned = UniformPanel {
            turn: 90.0,
            ..PANEL
        };
        let swapped = UniformPanel {
            width: PANEL.depth,
            depth: PANEL.width,
            ..PANEL
        };
        for at in [Place::new(3.0, 8.0, 20.0), Place::new(120.0, 40.0, 0.0)] {
            assert!((turned.irradiance(at) - swapped.irradiance(at)).abs() < 1e-10);
        }
    }

    #[test]
    fn nothing_reaches_the_face_and_above() {
        assert_eq!(PANEL.irradiance(Place::new(90.0, 60.0, 75.0)), 0.0);
        assert_eq!(PANEL.irradiance(Place::new(90.0, 60.0, 80.0)), 0.0);
    }

    #[test]
    fn a_wide_face_nearly_touched_gives_its_exitance() {
        let near = PANEL.irradiance(Place::new(90.0, 60.0, 74.999));
        assert!((near / PANEL.exitance - 1.0).abs() < 1e-4, "{near}");
    }

    #[test]
    fn both_forms_of_the_disk_meet() {
        let disk = UniformDisk {
            centre: Point::new(0.0, 0.0),
            diameter: 100.0,
            face_height: 30.0,
            exitance: 1.0,
        };
        // h² + a² = R² at a = 40: the two branches on either side of it
        let below = disk.irradiance(Place::new(40.0 - 1e-9, 0.0, 0.0));
        let above = disk.irradiance(Place::new(40.0 + 1e-9, 0.0, 0.0));
        assert!((below - above).abs() < 1e-9, "{below} {above}");
        assert!((above - 0.5).abs() < 1e-9);
    }
}
