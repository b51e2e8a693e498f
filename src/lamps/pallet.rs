//! A pallet under a panel that throws light back: from its surface by way of the lamp's window, and from upright ledges
//! around it.

use std::f64::consts::PI;

use super::{Emitters, Lamp, PER_CM2, slanting};
use crate::geometry::{Bounds, Footprint, Place};

/// What stands under the lamp and throws light back.
#[derive(Debug, Clone, PartialEq)]
pub struct Pallet {
    /// Its surface on the plan.
    pub bounds: Bounds,
    /// Height of its surface above the fixture's base, mm.
    pub height: f64,
    /// Share of the light that its surface scatters evenly.
    pub scattered: f64,
    /// Upright bright ledges around it.
    pub ledges: Ledges,
    /// The lamp's window, a level mirror at the panel's height.
    pub window: Footprint,
    /// Share of the light that the window mirrors.
    pub mirrored: f64,
}

/// Upright mirrors on all four sides, with the whole panel between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ledges {
    /// Where they stand on the plan.
    pub around: Bounds,
    /// Of their upper edge above the fixture's base, mm.
    pub top: f64,
    /// Over how many millimetres the upper edge fades out: it is rounded.
    pub rounded: f64,
    /// Share of the light that comes back.
    pub reflectance: f64,
}

/// A panel over a pallet that throws light back.
#[derive(Debug, Clone, PartialEq)]
pub struct OverPallet {
    panel: Emitters,
    pallet: Pallet,
    patches: Vec<Patch>,
}

/// A piece of the pallet's surface as the window mirrors it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Patch {
    x: f64,
    y: f64,
    /// Radiance times area and the window's share, mW/sr.
    strength: f64,
}

/// Between pieces of the pallet's surface, about, mm.
const PATCH: f64 = 10.0;

impl OverPallet {
    /// `None` when an emitter is not between the ledges, or the window's height is not above the pallet.
    pub fn new(panel: Emitters, pallet: Pallet) -> Option<Self> {
        let around = pallet.ledges.around;
        let inside = panel.emitters.iter().all(|e| {
            (around.min.x..=around.max.x).contains(&e.at.x)
                && (around.min.y..=around.max.y).contains(&e.at.y)
        });
        if !inside || panel.face_height <= pallet.height {
            return None;
        }
        let (width, depth) = (pallet.bounds.width(), pallet.bounds.depth());
        let (columns, rows) = ((width / PATCH).ceil(), (depth / PATCH).ceil());
        let area = width * depth / (columns * rows);
        let mut patches = Vec::new();
        for row in 0..rows as u32 {
            for column in 0..columns as u32 {
                let x = pallet.bounds.min.x + (f64::from(column) + 0.5) * width / columns;
                let y = pallet.bounds.min.y + (f64::from(row) + 0.5) * depth / rows;
                let lit = panel.irradiance(Place::new(x, y, pallet.height)) / PER_CM2;
                let radiance = pallet.scattered * lit / PI;
                patches.push(Patch {
                    x,
                    y,
                    strength: pallet.mirrored * radiance * area,
                });
            }
        }
        Some(Self {
            panel,
            pallet,
            patches,
        })
    }

    /// From the pallet's surface by way of the window, mW/mm².
    fn of_surface(&self, at: Place, slant: f64) -> f64 {
        let up = 2.0 * self.panel.face_height - self.pallet.height - at.height;
        let part = (self.panel.face_height - at.height) / up;
        (self.patches.iter())
            .map(|patch| {
                let (dx, dy) = (patch.x - at.x, patch.y - at.y);
                let on = crate::geometry::Point::new(at.x + part * dx, at.y + part * dy);
                // pieces go as softly as they are large
                let room = -self.pallet.window.signed_distance(on) / (part * PATCH);
                let seen = (room + 0.5).clamp(0.0, 1.0);
                if seen <= 0.0 {
                    return 0.0;
                }
                let r2 = dx * dx + dy * dy + up * up;
                let cos2 = up * up / r2;
                seen * patch.strength * cos2 / r2 * slanting(cos2.sqrt(), slant)
            })
            .sum()
    }

    /// From the ledges, mW/cm²: each shows the panel's image through what stands of it above the place.
    fn of_ledges(&self, at: Place, slant: f64) -> f64 {
        let ledges = &self.pallet.ledges;
        if at.height >= ledges.top + ledges.rounded {
            return 0.0;
        }
        let distance = self.panel.face_height - at.height;
        let sides = [
            (true, ledges.around.min.x),
            (true, ledges.around.max.x),
            (false, ledges.around.min.y),
            (false, ledges.around.max.y),
        ];
        let lobe = &self.panel.lobe;
        let per_mm2: f64 = sides
            .into_iter()
            .flat_map(|(along_x, wall)| self.panel.emitters.iter().map(move |e| (along_x, wall, e)))
            .map(|(along_x, wall, e)| {
                let (mut dx, mut dy) = (e.at.x - at.x, e.at.y - at.y);
                let (to_wall, to_image) = if along_x {
                    dx = 2.0 * wall - e.at.x - at.x;
                    (wall - at.x, dx)
                } else {
                    dy = 2.0 * wall - e.at.y - at.y;
                    (wall - at.y, dy)
                };
                let crossing = at.height + distance * to_wall / to_image;
                let stands = ((ledges.top - crossing) / ledges.rounded + 0.5).clamp(0.0, 1.0);
                if stands <= 0.0 || e.power <= 0.0 {
                    return 0.0;
                }
                let aside2 = dx * dx + dy * dy;
                let r2 = aside2 + distance * distance;
                let r = r2.sqrt();
                let angle = aside2.sqrt().atan2(distance);
                stands * e.power * lobe.intensity(angle) * distance / (r2 * r)
                    * slanting(distance / r, slant)
            })
            .sum();
        PER_CM2 * ledges.reflectance * per_mm2
    }
}

impl Lamp for OverPallet {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        if at.height >= self.panel.face_height {
            return 0.0;
        }
        self.panel.seen(at, slant)
            + PER_CM2 * self.of_surface(at, slant)
            + self.of_ledges(at, slant)
    }

    fn face_height(&self) -> f64 {
        self.panel.face_height
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Axis, BetweenWalls, Lobe, Wall};
    use super::*;
    use crate::geometry::{Point, Shape};

    fn panel() -> Emitters {
        let shape = Shape::Rectangle {
            width: 150.0,
            depth: 100.0,
        };
        let face = Footprint::new(shape, Point::new(90.0, 60.0));
        Emitters::scattered(
            &face,
            75.0,
            (9, 6),
            Lobe::lambertian(),
            20_000.0,
            (0.0, 0.0),
            4,
        )
    }

    fn around(margin: f64) -> Bounds {
        Bounds {
            min: Point::new(0.0, 0.0),
            max: Point::new(180.0, 120.0),
        }
        .grown(margin)
    }

    fn pallet() -> Pallet {
        let shape = Shape::Rectangle {
            width: 1e5,
            depth: 1e5,
        };
        Pallet {
            bounds: around(0.0),
            height: 0.0,
            scattered: 0.0,
            ledges: Ledges {
                around: around(2.0),
                top: 75.0,
                rounded: 1.0,
                reflectance: 0.0,
            },
            window: Footprint::new(shape, Point::new(90.0, 60.0)),
            mirrored: 1.0,
        }
    }

    #[test]
    fn ledges_up_to_the_face_are_walls_of_one_reflection() {
        let reflectance = 0.002; // so that what meets two walls is not seen
        let ledges = Ledges {
            reflectance,
            top: 1e4,
            ..pallet().ledges
        };
        let lamp = OverPallet::new(panel(), Pallet { ledges, ..pallet() }).expect("sound");
        let wall = |at| Some(Wall { at, reflectance });
        let across = BetweenWalls {
            lamp: Box::new(panel()),
            axis: Axis::X,
            low: wall(-2.0),
            high: wall(182.0),
        };
        let walls = BetweenWalls {
            lamp: Box::new(across),
            axis: Axis::Y,
            low: wall(-2.0),
            high: wall(122.0),
        };
        let at = Place::new(170.0, 20.0, 10.0);
        let bare = panel().irradiance(at);
        let (a, b) = (lamp.irradiance(at) - bare, walls.irradiance(at) - bare);
        assert!((a / b - 1.0).abs() < 0.01, "{a} {b}");
        let low = Ledges {
            top: 20.0,
            ..ledges
        };
        let low = OverPallet::new(
            panel(),
            Pallet {
                ledges: low,
                ..pallet()
            },
        )
        .expect("sound");
        let c = low.irradiance(at) - bare;
        assert!(c > 0.0 && c < a, "{c} {a}");
    }

    #[test]
    fn a_wide_window_shows_the_pallet_as_a_face_of_its_radiosity() {
        // A pallet much wider than it is far away, evenly lit, seen in a mirror, gives scattered × mirrored × what it gets.
        let wide = Emitters::scattered(
            &Footprint::new(
                Shape::Rectangle {
                    width: 1600.0,
                    depth: 1600.0,
                },
                Point::new(0.0, 0.0),
            ),
            75.0,
            (32, 32),
            Lobe::lambertian(),
            1e6,
            (0.0, 0.0),
            1,
        );
        let bounds = Bounds {
            min: Point::new(-800.0, -800.0),
            max: Point::new(800.0, 800.0),
        };
        let ledges = Ledges {
            around: bounds.grown(1.0),
            ..pallet().ledges
        };
        let lamp = OverPallet::new(
            wide.clone(),
            Pallet {
                bounds,
                scattered: 0.3,
                mirrored: 0.5,
                ledges,
                ..pallet()
            },
        )
        .expect("sound");
        let at = Place::new(0.0, 0.0, 10.0);
        let bare = wide.irradiance(at);
        let share = (lamp.irradiance(at) - bare) / bare;
        assert!((share / 0.15 - 1.0).abs() < 0.06, "{share}");
    }

    #[test]
    fn an_emitter_beyond_a_ledge_makes_no_lamp() {
        let ledges = Ledges {
            around: around(-40.0),
            ..pallet().ledges
        };
        assert_eq!(
            OverPallet::new(panel(), Pallet { ledges, ..pallet() }),
            None
        );
    }
}
