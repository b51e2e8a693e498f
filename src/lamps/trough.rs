//! A long arc in a trough whose cross-section is a conic, traced backwards strip by strip.

use std::f64::consts::TAU;

use super::line::along as along_line;
use super::soft::between;
use super::{Lamp, PER_CM2, own_axes};
use crate::geometry::{Footprint, Place, Point, Shape};

/// A mirror bent about one axis, open downwards and at its ends, with a long arc near the focal line.
#[derive(Debug, Clone, PartialEq)]
pub struct Trough {
    /// The middle of its opening on the plan.
    pub centre: Point,
    /// Counter-clockwise, degrees; without it the trough runs along x.
    pub turn: f64,
    /// Of arc and mirror, mm.
    pub length: f64,
    /// Of the opening across, mm.
    pub opening: f64,
    /// Of the opening above the fixture's base, mm.
    pub face_height: f64,
    /// From the top line to the nearer focal line, mm.
    pub focal_length: f64,
    /// Below 1 an ellipse, 1 a parabola.
    pub eccentricity: f64,
    /// Share of the light that comes back where nothing is worn.
    pub reflectance: f64,
    /// What shines in it.
    pub arc: LongArc,
    /// Where the mirror has become dull.
    pub worn: Vec<WornStrip>,
}

/// A soft thin arc that emits by Lambert's cosine law about each of its points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LongArc {
    /// Intensity square to the line per length, mW/sr/mm.
    pub intensity_per_mm: f64,
    /// Standard deviation of the bell that its radiance is across, mm.
    pub size: f64,
    /// How far it sits below the focal line, mm; negative above.
    pub below_focus: f64,
    /// How far it sits off the middle, across, mm.
    pub aside: f64,
}

/// A dull patch of the mirror, which fades out as a bell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WornStrip {
    /// Its middle across, from the trough's, mm.
    pub across: f64,
    /// Standard deviation across, mm.
    pub wide: f64,
    /// Its middle along, from the trough's, mm.
    pub along: f64,
    /// Standard deviation along, mm.
    pub long: f64,
    /// Share of the reflectance lost in the middle.
    pub loss: f64,
}

/// The lamp with its mirror cut into strips along it.
#[derive(Debug, Clone, PartialEq)]
pub struct TroughLamp {
    trough: Trough,
    /// Across and height.
    arc_at: (f64, f64),
    strips: Vec<Strip>,
    /// Ends of the pieces that a strip's reflectance is told for, along, mm.
    ends: Vec<f64>,
}

#[derive(Debug, Clone, PartialEq)]
struct Strip {
    across: f64,
    height: f64,
    /// Across and up; down and inwards.
    normal: (f64, f64),
    /// Along the curve, mm.
    width: f64,
    /// Share of the plan across, mm.
    plan: f64,
    /// Of each piece along.
    reflectance: Vec<f64>,
}

/// Pieces that a worn mirror is cut into along it.
const PIECES: usize = 16;
/// Most strips.
const MOST_STRIPS: f64 = 4000.0;

impl Trough {
    /// How far the mirror lies below its top line at a distance from the middle, and its slope there.
    fn sag(&self, v: f64) -> (f64, f64) {
        let e = self.eccentricity;
        let radius = self.focal_length * (1.0 + e);
        let root = (radius * radius - (1.0 - e * e) * v * v).sqrt();
        (v * v / (radius + root), v / root)
    }

    fn reflectance_at(&self, across: f64, along: f64) -> f64 {
        self.worn.iter().fold(self.reflectance, |left, worn| {
            let away = ((across - worn.across) / worn.wide).powi(2)
                + ((along - worn.along) / worn.long).powi(2);
            left * (1.0 - worn.loss * (-0.5 * away).exp())
        })
    }
}

impl TroughLamp {
    /// Strips a quarter of an arc's size apart. `None` when a size is not above zero or the opening is as wide as the
    /// ellipse itself.
    pub fn new(trough: Trough) -> Option<Self> {
        let half = 0.5 * trough.opening;
        let (depth, steepest) = trough.sag(half);
        let sizes = [half, trough.length, trough.focal_length, trough.arc.size];
        if !(sizes.iter().all(|s| *s > 0.0) && steepest.is_finite()) {
            return None;
        }
        let top = trough.face_height + depth;
        let count = (trough.opening / (0.25 * trough.arc.size)).ceil();
        let count = count.clamp(8.0, MOST_STRIPS) as usize;
        let pieces = if trough.worn.is_empty() { 1 } else { PIECES };
        let end = |k: usize| trough.length * (k as f64 / pieces as f64 - 0.5);
        let ends: Vec<f64> = (0..=pieces).map(end).collect();
        let plan = trough.opening / count as f64;
        let strips = (0..count)
            .map(|i| {
                let across = plan * (i as f64 + 0.5) - half;
                let (sag, slope) = trough.sag(across);
                let stretch = slope.hypot(1.0);
                let middles = ends.windows(2).map(|e| 0.5 * (e[0] + e[1]));
                Strip {
                    across,
                    height: top - sag,
                    normal: (-slope / stretch, -1.0 / stretch),
                    width: plan * stretch,
                    plan,
                    reflectance: middles.map(|u| trough.reflectance_at(across, u)).collect(),
                }
            })
            .collect();
        let arc_at = (
            trough.arc.aside,
            top - trough.focal_length - trough.arc.below_focus,
        );
        Some(Self {
            trough,
            arc_at,
            strips,
            ends,
        })
    }

    /// The opening on the plan.
    pub fn outline(&self) -> Footprint {
        let shape = Shape::Rectangle {
            width: self.trough.length,
            depth: self.trough.opening,
        };
        Footprint {
            turn: self.trough.turn,
            ..Footprint::new(shape, self.trough.centre)
        }
    }

    /// Straight from the arc, per mm², at a place along, across and high.
    fn direct(&self, (along, across, height): (f64, f64, f64), slant: f64) -> f64 {
        let trough = &self.trough;
        let (dv, dz) = (self.arc_at.0 - across, self.arc_at.1 - height);
        if dz <= 0.0 {
            return 0.0;
        }
        let nearest = dv.hypot(dz);
        let part = ((trough.face_height - height) / dz).min(1.0);
        let seen = between(
            across + part * dv,
            0.5 * trough.opening,
            (part * trough.arc.size).max(1e-9),
        );
        let half = 0.5 * trough.length;
        let reach = ((-half - along) / nearest, (half - along) / nearest);
        seen * trough.arc.intensity_per_mm * dz / (nearest * nearest)
            * along_line(reach, dz / nearest, slant)
    }

    /// By way of one strip.
    fn by_way_of(
        &self,
        strip: &Strip,
        (along, across, height): (f64, f64, f64),
        slant: f64,
    ) -> f64 {
        let trough = &self.trough;
        let (dv, dz) = (strip.across - across, strip.height - height);
        let to_strip = dv.hypot(dz);
        let facing = -(dv * strip.normal.0 + dz * strip.normal.1) / to_strip;
        if facing <= 0.0 {
            return 0.0;
        }
        let way = (
            dv / to_strip + 2.0 * facing * strip.normal.0,
            dz / to_strip + 2.0 * facing * strip.normal.1,
        );
        let to_arc = (self.arc_at.0 - strip.across, self.arc_at.1 - strip.height);
        let ahead = to_arc.0 * way.0 + to_arc.1 * way.1;
        let miss = (to_arc.0 * way.1 - to_arc.1 * way.0) / trough.arc.size;
        if ahead <= 0.0 || miss.abs() > 7.0 {
            return 0.0;
        }
        let part = (trough.face_height - height) / dz;
        // A strip that the edge hides in part counts in part.
        let room = 0.5 * trough.opening - (across + part * dv).abs();
        let open = (room / (part * strip.plan) + 0.5).clamp(0.0, 1.0);
        if open <= 0.0 {
            return 0.0;
        }
        let radiance = trough.arc.intensity_per_mm / (trough.arc.size * TAU.sqrt())
            * (-0.5 * miss * miss).exp();
        let up = dz / to_strip;
        // Tangents along the way to the arc's ends, and to those of each piece of the strip.
        let half = 0.5 * trough.length;
        let whole = to_strip + ahead;
        let (from, to) = ((-half - along) / whole, (half - along) / whole);
        let sum: f64 = (strip.reflectance.iter())
            .zip(self.ends.windows(2))
            .map(|(reflectance, ends)| {
                let reach = (
                    from.max((ends[0] - along) / to_strip),
                    to.min((ends[1] - along) / to_strip),
                );
                if reach.0 < reach.1 {
                    reflectance * along_line(reach, up, slant)
                } else {
                    0.0
                }
            })
            .sum();
        open * radiance * strip.width * facing / to_strip * up * sum
    }
}

impl Lamp for TroughLamp {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let trough = &self.trough;
        if at.height >= trough.face_height {
            return 0.0;
        }
        let p = own_axes(at.point(), trough.centre, trough.turn);
        let place = (p.x, p.y, at.height);
        let strips = self.strips.iter();
        let reflected: f64 = strips.map(|s| self.by_way_of(s, place, slant)).sum();
        PER_CM2 * (self.direct(place, slant) + reflected)
    }

    fn face_height(&self) -> f64 {
        self.trough.face_height
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::super::LineLamp;
    use super::*;

    fn parabola() -> Trough {
        Trough {
            centre: Point::new(90.0, 60.0),
            turn: 0.0,
            length: 4000.0,
            opening: 120.0,
            face_height: 90.0,
            focal_length: 25.0,
            eccentricity: 1.0,
            reflectance: 0.8,
            arc: LongArc {
                intensity_per_mm: 40.0,
                size: 0.4,
                below_focus: 0.0,
                aside: 0.0,
            },
            worn: vec![],
        }
    }

    fn made(trough: Trough) -> TroughLamp {
        TroughLamp::new(trough).expect("a trough that can be made")
    }

    fn dark(trough: &Trough) -> TroughLamp {
        made(Trough {
            reflectance: 0.0,
            ..trough.clone()
        })
    }

    #[test]
    fn a_black_trough_leaves_a_bare_line() {
        let trough = Trough {
            length: 200.0,
            ..parabola()
        };
        let line = LineLamp {
            from: Point::new(-10.0, 60.0),
            to: Point::new(190.0, 60.0),
            height: dark(&trough).arc_at.1,
            face_height: 90.0,
            intensity_per_mm: 40.0,
            sides: None,
        };
        for at in [Place::new(90.0, 60.0, 10.0), Place::new(20.0, 95.0, 30.0)] {
            let (a, b) = (dark(&trough).irradiance(at), line.irradiance(at));
            assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
        }
    }

    #[test]
    fn a_parabola_with_a_line_in_its_focus_sends_the_light_straight_down() {
        // A long line gives each unit of angle across π/2 times its intensity; the strip at v takes the angle
        // dv / (f (1 + v²/4f²)) and sends it down as wide as it is on the plan.
        let trough = parabola();
        let (lamp, dark) = (made(trough.clone()), dark(&trough));
        for v in [-40.0, -12.0, 3.0, 50.0] {
            let at = Place::new(90.0, 60.0 + v, 10.0);
            let mirrored = lamp.irradiance(at) - dark.irradiance(at);
            let f = trough.focal_length;
            let expected = 100.0 * 0.8 * 40.0 * 0.5 * PI / (f * (1.0 + v * v / (4.0 * f * f)));
            assert!(
                (mirrored / expected - 1.0).abs() < 5e-3,
                "{v}: {mirrored} {expected}"
            );
        }
        let beyond = Place::new(90.0, 60.0 + 66.0, 10.0);
        let mirrored = lamp.irradiance(beyond) - dark.irradiance(beyond);
        assert!(mirrored < 1e-3 * lamp.irradiance(beyond), "{mirrored}");
    }

    #[test]
    fn an_ellipse_aims_at_its_other_focus() {
        let trough = Trough {
            eccentricity: 0.7,
            focal_length: 32.0,
            ..parabola()
        };
        let lamp = made(trough.clone());
        // the other focal line lies f (1 + e) / (1 - e) below the top
        let top = 90.0 + trough.sag(60.0).0;
        let focus = top - 32.0 * 1.7 / 0.3;
        let on = lamp.irradiance(Place::new(90.0, 60.0, focus));
        let beside = lamp.irradiance(Place::new(90.0, 75.0, focus));
        assert!(on > 8.0 * beside, "{on} {beside}");
    }

    #[test]
    fn a_worn_side_takes_away_on_its_side_and_pieces_make_the_whole() {
        let sound = Trough {
            length: 220.0,
            arc: LongArc {
                size: 5.0,
                ..parabola().arc
            },
            ..parabola()
        };
        let worn = |loss| {
            made(Trough {
                worn: vec![WornStrip {
                    across: 45.0,
                    wide: 12.0,
                    along: 20.0,
                    long: 60.0,
                    loss,
                }],
                ..sound.clone()
            })
        };
        let whole = made(sound.clone());
        let at = |v: f64| Place::new(100.0, 60.0 + v, 15.0);
        let loss = |v| 1.0 - worn(0.6).irradiance(at(v)) / whole.irradiance(at(v));
        assert!(
            loss(42.0) > 0.15 && loss(-42.0).abs() < 0.01,
            "{} {}",
            loss(42.0),
            loss(-42.0)
        );
        let (a, b) = (worn(0.0).irradiance(at(30.0)), whole.irradiance(at(30.0)));
        assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
    }

    #[test]
    fn slanting_light_that_counts_less_takes_away() {
        let lamp = made(parabola());
        let at = Place::new(90.0, 100.0, 10.0);
        let (less, even) = (lamp.seen(at, 0.2), lamp.seen(at, 1e-12));
        assert!(less < even && (even / lamp.irradiance(at) - 1.0).abs() < 1e-3);
    }
}
