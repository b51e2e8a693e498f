//! Faces of even brightness, whose fields are known in closed form.

use std::f64::consts::TAU;

use super::{Lamp, own_axes, slanting};
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
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let distance = self.face_height - at.height;
        if distance <= 0.0 {
            return 0.0;
        }
        let p = own_axes(at.point(), self.centre, self.turn);
        if slant != 0.0 {
            let cell = self.width * self.depth / f64::from(CELLS * CELLS);
            return self.exitance
                * cell
                * cells(CELLS, CELLS)
                    .map(|(i, j)| {
                        let (x, y) = ((i - 0.5) * self.width - p.x, (j - 0.5) * self.depth - p.y);
                        of_cell(x.hypot(y), distance, slant)
                    })
                    .sum::<f64>();
        }
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
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let distance = self.face_height - at.height;
        if distance <= 0.0 {
            return 0.0;
        }
        let radius = 0.5 * self.diameter;
        let offset = at.point().distance(self.centre);
        if slant != 0.0 {
            // rings of the same area
            let cell = 0.5 * TAU * radius * radius / f64::from(CELLS * CELLS);
            return self.exitance
                * cell
                * cells(CELLS, CELLS)
                    .map(|(i, j)| {
                        let (sin, cos) = (TAU * j).sin_cos();
                        let r = radius * i.sqrt();
                        of_cell((r * cos - offset).hypot(r * sin), distance, slant)
                    })
                    .sum::<f64>();
        }
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

/// For detectors without the cosine's own response faces are cut into so many cells along each side.
const CELLS: u32 = 100;

/// Middles of cells of the unit square.
fn cells(columns: u32, rows: u32) -> impl Iterator<Item = (f64, f64)> {
    let middle = |k: u32, n: u32| (f64::from(k) + 0.5) / f64::from(n);
    (0..columns).flat_map(move |i| (0..rows).map(move |j| (middle(i, columns), middle(j, rows))))
}

/// What a detector with this slant reads of a cell that is `aside` and `distance` above it, per exitance and area, 1/mm².
fn of_cell(aside: f64, distance: f64, slant: f64) -> f64 {
    let r2 = aside * aside + distance * distance;
    let cos = distance / r2.sqrt();
    2.0 * cos * cos / (TAU * r2) * slanting(cos, slant)
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
    fn cells_are_the_whole_face() {
        let disk = UniformDisk {
            centre: Point::new(90.0, 60.0),
            diameter: 120.0,
            face_height: 75.0,
            exitance: 300.0,
        };
        let at = Place::new(130.0, 40.0, 10.0);
        for lamp in [&PANEL as &dyn Lamp, &disk] {
            let (cells, whole) = (lamp.seen(at, 1e-12), lamp.irradiance(at));
            assert!((cells / whole - 1.0).abs() < 2e-4, "{cells} {whole}");
            assert!(lamp.seen(at, -0.12) > whole && lamp.seen(at, 0.12) < whole);
        }
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
