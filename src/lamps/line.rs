//! A long arc in a trough, as a thin line and its mirror images.

use super::{Lamp, PER_CM2, slanting};
use crate::geometry::{Place, Point};

/// A thin level line that emits evenly along its length and by Lambert's cosine law about each of
/// its points, with or without a flat mirror on either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineLamp {
    /// One end on the plan.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// Of the line above the fixture's base, mm.
    pub height: f64,
    /// Of the trough's lower edge above the fixture's base, mm; at most `height`.
    pub face_height: f64,
    /// Intensity square to the line per length, mW/sr/mm.
    pub intensity_per_mm: f64,
    /// The mirrors, where there are any.
    pub sides: Option<SideReflectors>,
}

/// Two flat mirrors along the line, alike on both sides, wide enough that the whole fixture sees its
/// image in each. Light that meets both is left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideReflectors {
    /// From the line to either mirror at the line's height, mm.
    pub gap: f64,
    /// By which they open downwards from upright, degrees.
    pub lean: f64,
    /// Share of the light that comes back.
    pub reflectance: f64,
}

impl LineLamp {
    /// Irradiance from a line `across` mm beside the place and `above` mm over it, whose ends are at
    /// `ends` along it, per intensity and length. Below the line itself it is
    /// (1/h) ½ [β + sin β cos β] between the angles of the ends; beside it only the part of the
    /// receiving plane's normal that points to the line counts.
    fn factor(across: f64, above: f64, ends: (f64, f64), slant: f64) -> f64 {
        let nearest2 = across * across + above * above;
        let nearest = nearest2.sqrt();
        let reach = (ends.0 / nearest, ends.1 / nearest);
        above / nearest2 * along(reach, above / nearest, slant)
    }
}

/// What comes from a line of unit intensity between two tangents of the angle β along it, by a detector with this slant:
/// ½ (β + sin β cos β) between them for the cosine's own response. `up` is the cosine of the angle across.
pub(super) fn along((from, to): (f64, f64), up: f64, slant: f64) -> f64 {
    if slant == 0.0 {
        let primitive = |t: f64| 0.5 * (t.atan() + t / (1.0 + t * t));
        return primitive(to) - primitive(from);
    }
    // cos² β (up cos β)^slant by Simpson's rule
    const PANELS: usize = 32;
    let (from, to) = (from.atan(), to.atan());
    let step = (to - from) / PANELS as f64;
    let sum: f64 = (0..=PANELS)
        .map(|i| {
            let cos = (from + step * i as f64).cos();
            let weight = match i {
                0 | PANELS => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * cos * cos * slanting(up * cos, slant)
        })
        .sum();
    sum * step / 3.0
}

impl Lamp for LineLamp {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let above = self.height - at.height;
        let length = self.from.distance(self.to);
        if at.height >= self.face_height || above <= 0.0 || length <= 0.0 {
            return 0.0;
        }
        let (ux, uy) = (
            (self.to.x - self.from.x) / length,
            (self.to.y - self.from.y) / length,
        );
        let (dx, dy) = (at.x - self.from.x, at.y - self.from.y);
        let (along, across) = (dx * ux + dy * uy, dy * ux - dx * uy);
        let ends = (-along, length - along);
        let direct = Self::factor(across, above, ends, slant);
        let mirrored = self.sides.map_or(0.0, |sides| {
            // The image lies as far behind the mirror's plane as the line lies before it.
            let (sin, cos) = sides.lean.to_radians().sin_cos();
            let (aside, up) = (2.0 * sides.gap * cos * cos, 2.0 * sides.gap * cos * sin);
            sides.reflectance
                * (Self::factor(across - aside, above + up, ends, slant)
                    + Self::factor(across + aside, above + up, ends, slant))
        });
        PER_CM2 * self.intensity_per_mm * (direct + mirrored)
    }

    fn face_height(&self) -> f64 {
        self.face_height
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: LineLamp = LineLamp {
        from: Point::new(-40.0, 60.0),
        to: Point::new(220.0, 60.0),
        height: 100.0,
        face_height: 70.0,
        intensity_per_mm: 40.0,
        sides: None,
    };

    #[test]
    fn upright_mirrors_are_two_more_lines() {
        let mirrored = LineLamp {
            sides: Some(SideReflectors {
                gap: 35.0,
                lean: 0.0,
                reflectance: 0.8,
            }),
            ..LINE
        };
        let shifted = |by: f64| LineLamp {
            from: Point::new(LINE.from.x, LINE.from.y + by),
            to: Point::new(LINE.to.x, LINE.to.y + by),
            ..LINE
        };
        let at = Place::new(20.0, 75.0, 15.0);
        let sum = LINE.irradiance(at)
            + 0.8 * (shifted(70.0).irradiance(at) + shifted(-70.0).irradiance(at));
        assert!((mirrored.irradiance(at) - sum).abs() < 1e-10);
    }

    #[test]
    fn a_leaning_mirror_reflects_a_ray_where_its_image_says() {
        // A ray to the mirror's foot and on to the place is as long as the straight way from the
        // image, wherever on the mirror it is reflected; here from the law of reflection at 45°.
        let (gap, lean) = (30.0_f64, 45.0_f64);
        let (sin, cos) = lean.to_radians().sin_cos();
        let image = (2.0 * gap * cos * cos, 2.0 * gap * cos * sin);
        // A level ray meets a mirror at 45° at y = gap and goes straight down from there.
        let down = 80.0;
        let way = gap + down;
        let straight = (image.0 - gap).hypot(image.1 + down);
        assert!((way - straight).abs() < 1e-12, "{way} {straight}");
    }

    #[test]
    fn a_turned_line_is_the_same_line() {
        let upright = LineLamp {
            from: Point::new(60.0, 220.0),
            to: Point::new(60.0, -40.0),
            ..LINE
        };
        let a = LINE.irradiance(Place::new(10.0, 33.0, 20.0));
        let b = upright.irradiance(Place::new(33.0, 10.0, 20.0));
        assert!((a - b).abs() < 1e-12);
    }

    #[test]
    fn nothing_reaches_the_trough() {
        assert_eq!(LINE.irradiance(Place::new(90.0, 60.0, 70.0)), 0.0);
    }
}
