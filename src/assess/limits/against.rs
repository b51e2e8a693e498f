//! The map held against the limits, place by place.

use super::Z95;
use super::terms::{Scale, Terms};
use crate::field::Raster;

/// What can be said of one place with 95 % confidence on either side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// Below the lower limit.
    Below,
    /// Neither.
    NotProven,
    /// At or above the lower and at or below the upper limit.
    Inside,
    /// Above the upper limit.
    Above,
}

impl Class {
    /// All, from dim to bright.
    pub const ALL: [Self; 4] = [Self::Below, Self::NotProven, Self::Inside, Self::Above];

    /// As the map's legend says it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::NotProven => "not proven",
            Self::Inside => "inside",
            Self::Above => "above",
        }
    }
}

/// What stands for a margin that can't be said: as far outside as no field is, and still a number to draw lines with.
const NEVER: f64 = -10.0;

/// How far a place is inside each class, in the logarithm of the irradiance: smooth from place to place, so that the
/// border of a class is the line where its margin is zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// Above zero: below the lower limit.
    pub below: f64,
    /// Not below zero: inside the limits.
    pub inside: f64,
    /// Above zero: above the upper limit.
    pub above: f64,
}

impl Margins {
    /// What can be said of the place.
    pub fn class(self) -> Class {
        if self.below > 0.0 {
            Class::Below
        } else if self.above > 0.0 {
            Class::Above
        } else if self.inside >= 0.0 {
            Class::Inside
        } else {
            Class::NotProven
        }
    }
}

/// The margins of each node; `None` outside the outline. Each place is judged by itself, from the field's own
/// uncertainty there and, where the limit's origin calls for it, the calibration error (`calibration`, relative
/// standard uncertainty); a field without uncertainties proves nothing anywhere.
pub fn against(raster: &Raster, terms: &Terms, calibration: Option<f64>) -> Vec<Option<Margins>> {
    // half the width of the band of 95 % on either side, in the logarithm
    let half = |relative: f64, scale: Scale| {
        let scale = match scale {
            Scale::Relative => Some(0.0),
            Scale::Absolute => calibration,
        };
        scale.map(|u| Z95 * relative.hypot(u))
    };
    let nodes = raster.irradiance.iter().zip(&raster.uncertainty);
    nodes
        .map(|(&e, &u)| {
            if !e.is_finite() {
                return None;
            }
            let nothing = Margins {
                below: NEVER,
                inside: NEVER,
                above: NEVER,
            };
            if !u.is_finite() || e <= 0.0 {
                return Some(nothing);
            }
            let over = (e / terms.lower.value).ln();
            let (below, warm) = match half(u / e, terms.lower.scale) {
                Some(half) => (-over - half, over - half),
                None => (NEVER, NEVER),
            };
            let (above, cool) = match &terms.upper {
                None => (NEVER, f64::INFINITY),
                Some(upper) => match half(u / e, upper.scale) {
                    Some(half) => {
                        let over = (e / upper.value).ln();
                        (over - half, -over - half)
                    }
                    None => (NEVER, NEVER),
                },
            };
            Some(Margins {
                below,
                inside: warm.min(cool),
                above,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::terms::Line;
    use super::*;
    use crate::geometry::Point;

    fn raster(values: &[(f64, f64)]) -> Raster {
        Raster {
            columns: values.len(),
            rows: 1,
            origin: Point::new(0.0, 0.0),
            step_x: 1.0,
            step_y: 1.0,
            height: 0.0,
            irradiance: values.iter().map(|v| v.0).collect(),
            uncertainty: values.iter().map(|v| v.1).collect(),
            extrapolated: vec![false; values.len()],
        }
    }

    fn terms(scale: Scale) -> Terms {
        let line = |value| Line {
            value,
            written: value,
            scale,
        };
        Terms {
            least: 80.0,
            least_from: String::new(),
            exposure_s: None,
            effective_s: None,
            safety_factor_percent: 0.0,
            lower: line(80.0),
            upper: Some(line(140.0)),
            warnings: Vec::new(),
        }
    }

    fn classes(raster: &Raster, scale: Scale, calibration: Option<f64>) -> Vec<Option<Class>> {
        let margins = against(raster, &terms(scale), calibration);
        margins.into_iter().map(|m| m.map(Margins::class)).collect()
    }

    #[test]
    fn each_place_is_judged_by_its_own_bounds() {
        use Class::{Above, Below, Inside, NotProven};
        // one percent: the bounds lie 1.66 % away
        let values = [
            70.0,
            78.6,
            78.8,
            81.2,
            81.4,
            137.6,
            137.9,
            142.2,
            142.5,
            f64::NAN,
        ];
        let nodes: Vec<(f64, f64)> = values.iter().map(|e| (*e, 0.01 * e)).collect();
        let said = classes(&raster(&nodes), Scale::Relative, None);
        let wanted = [
            Below, Below, NotProven, NotProven, Inside, Inside, NotProven, NotProven, Above,
        ];
        assert_eq!(said[..9], wanted.map(Some));
        assert_eq!(said[9], None);
    }

    #[test]
    fn without_uncertainty_or_without_the_scale_error_nothing_is_proven() {
        let unknown = raster(&[(100.0, f64::NAN), (10.0, f64::NAN)]);
        let said = classes(&unknown, Scale::Relative, None);
        assert_eq!(said, [Some(Class::NotProven); 2]);
        let known = raster(&[(100.0, 1.0), (10.0, 0.1)]);
        let said = classes(&known, Scale::Absolute, None);
        assert_eq!(said, [Some(Class::NotProven); 2]);
        let said = classes(&known, Scale::Absolute, Some(0.025));
        assert_eq!(said, [Some(Class::Inside), Some(Class::Below)]);
    }
}
