//! Lamps in company: several at once, or one between reflecting walls.

use super::Lamp;
use crate::geometry::Place;

/// A lamp of any kind that threads may share.
pub type AnyLamp = Box<dyn Lamp + Send + Sync>;

/// Several lamps that shine on the same fixture; none stands in another's light.
pub struct Lamps(pub Vec<AnyLamp>);

/// A lamp that is driven at a part of its power.
pub struct Dimmed {
    /// At its whole power.
    pub lamp: AnyLamp,
    /// Of the power.
    pub share: f64,
}

/// An upright mirror.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// Its place along the axis that it stands square to, mm.
    pub at: f64,
    /// Share of the light that comes back.
    pub reflectance: f64,
}

/// The axis of the plan that walls stand square to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// Walls to the left and to the right.
    X,
    /// Walls in front and at the back.
    Y,
}

/// A lamp between upright mirrors that reach from the lowest place looked at up to the lamp's face and
/// have the whole lamp between them. Two axes of walls are walls around walls.
pub struct BetweenWalls {
    /// What shines.
    pub lamp: AnyLamp,
    /// Which way the walls face.
    pub axis: Axis,
    /// The wall on the side of lesser coordinates.
    pub low: Option<Wall>,
    /// The wall on the other side.
    pub high: Option<Wall>,
}

/// Reflections that add less than this share are left out, and those after them, which come from
/// further away.
const LEAST_SHARE: f64 = 1e-5;

impl Lamp for Lamps {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        self.0.iter().map(|lamp| lamp.seen(at, slant)).sum()
    }

    fn beams(&self, at: Place, each: &mut dyn FnMut([f64; 3], f64)) -> bool {
        let mut all = true;
        for lamp in &self.0 {
            all &= lamp.beams(at, each);
        }
        all
    }

    /// The lowest of the faces; infinite without lamps.
    fn face_height(&self) -> f64 {
        let heights = self.0.iter().map(|lamp| lamp.face_height());
        heights.fold(f64::INFINITY, f64::min)
    }
}

impl Lamp for Dimmed {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        self.share * self.lamp.seen(at, slant)
    }

    fn face_height(&self) -> f64 {
        self.lamp.face_height()
    }
}

impl BetweenWalls {
    /// What reaches a place by a last reflection at the high wall (or the low one), the reflection
    /// before that at the opposite one, and so on: an upright mirror leaves a level plane level, so the
    /// place's image receives what the place does. `direct` is what it receives without walls.
    fn mirrored(&self, at: Place, slant: f64, direct: f64, mut from_high: bool) -> f64 {
        let (mut image, mut share, mut sum) = (at, 1.0, 0.0);
        loop {
            let wall = if from_high { self.high } else { self.low };
            let Some(wall) = wall else { return sum };
            share *= wall.reflectance;
            let along = match self.axis {
                Axis::X => &mut image.x,
                Axis::Y => &mut image.y,
            };
            *along = 2.0 * wall.at - *along;
            let part = share * self.lamp.seen(image, slant);
            sum += part;
            if part <= LEAST_SHARE * (direct + sum) {
                return sum;
            }
            from_high = !from_high;
        }
    }
}

impl Lamp for BetweenWalls {
    /// Zero beyond a wall.
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let along = match self.axis {
            Axis::X => at.x,
            Axis::Y => at.y,
        };
        let beyond =
            self.low.is_some_and(|w| along < w.at) || self.high.is_some_and(|w| along > w.at);
        if beyond {
            return 0.0;
        }
        let direct = self.lamp.seen(at, slant);
        let mirrored = |from_high| self.mirrored(at, slant, direct, from_high);
        direct + mirrored(true) + mirrored(false)
    }

    fn face_height(&self) -> f64 {
        self.lamp.face_height()
    }
}

#[cfg(test)]
mod tests {
    use super::super::UniformPanel;
    use super::*;
    use crate::geometry::Point;

    fn panel(x: f64, width: f64) -> AnyLamp {
        Box::new(UniformPanel {
            centre: Point::new(x, 60.0),
            width,
            depth: 100.0,
            turn: 0.0,
            face_height: 75.0,
            exitance: 300.0,
        })
    }

    fn between(low: Option<Wall>, high: Option<Wall>) -> BetweenWalls {
        BetweenWalls {
            lamp: panel(90.0, 180.0),
            axis: Axis::X,
            low,
            high,
        }
    }

    #[test]
    fn two_halves_are_the_whole() {
        let halves = Lamps(vec![panel(45.0, 90.0), panel(135.0, 90.0)]);
        let at = Place::new(20.0, 30.0, 10.0);
        let whole = panel(90.0, 180.0).irradiance(at);
        assert!((halves.irradiance(at) - whole).abs() < 1e-9);
        assert_eq!(halves.face_height(), 75.0);
    }

    #[test]
    fn a_perfect_wall_at_the_face_is_a_face_twice_as_wide() {
        let wall = Wall {
            at: 180.0,
            reflectance: 1.0,
        };
        let at = Place::new(150.0, 30.0, 10.0);
        let twice = panel(180.0, 360.0).irradiance(at);
        assert!((between(None, Some(wall)).irradiance(at) - twice).abs() < 1e-9);
        assert_eq!(
            between(None, Some(wall)).irradiance(Place::new(181.0, 30.0, 10.0)),
            0.0
        );
    }

    #[test]
    fn two_good_walls_make_an_endless_face() {
        let wall = |at| {
            Some(Wall {
                at,
                reflectance: 0.998,
            })
        };
        let lamp = between(wall(0.0), wall(180.0));
        let endless = panel(90.0, 1e6);
        for x in [0.0, 40.0, 90.0] {
            let at = Place::new(x, 80.0, 10.0);
            let (a, b) = (lamp.irradiance(at), endless.irradiance(at));
            assert!(a < b && a / b > 0.99, "{x}: {a} {b}");
        }
    }

    #[test]
    fn a_wall_of_the_other_axis_is_the_same_turned() {
        let wall = Some(Wall {
            at: 120.0,
            reflectance: 0.5,
        });
        let lamp = BetweenWalls {
            lamp: panel(90.0, 180.0),
            axis: Axis::Y,
            low: None,
            high: wall,
        };
        let bare = panel(90.0, 180.0);
        let at = |y| Place::new(30.0, y, 20.0);
        let sum = bare.irradiance(at(100.0)) + 0.5 * bare.irradiance(at(140.0));
        assert!((lamp.irradiance(at(100.0)) - sum).abs() < 1e-12);
    }
}
