//! From irradiance to colour: one scale for screen and paper.

use serde::{Deserialize, Serialize};

/// A colour map that is perceptually even and safe for colour-vision deficiency; both get lighter
/// with more light, so they also work in greyscale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum ColourMap {
    /// Blue to yellow.
    #[default]
    Cividis,
    /// Violet over green to yellow.
    Viridis,
}

/// A colour map laid over a range of irradiance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColourScale {
    /// Irradiance at the dark end, mW/cm².
    pub low: f64,
    /// Irradiance at the light end, mW/cm².
    pub high: f64,
    /// The colours between.
    pub map: ColourMap,
}

impl ColourScale {
    /// Red, green, blue of an irradiance; what lies beyond the range takes the end's colour, a value
    /// that is not a number has none. A range of no width is all middle.
    pub fn colour(&self, irradiance: f64) -> Option<[u8; 3]> {
        if !irradiance.is_finite() {
            return None;
        }
        let width = self.high - self.low;
        let t = if width > 0.0 {
            ((irradiance - self.low) / width).clamp(0.0, 1.0)
        } else {
            0.5
        };
        let gradient = match self.map {
            ColourMap::Cividis => colorous::CIVIDIS,
            ColourMap::Viridis => colorous::VIRIDIS,
        };
        let c = gradient.eval_continuous(t);
        Some([c.r, c.g, c.b])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_light_is_lighter_all_the_way() {
        for map in [ColourMap::Cividis, ColourMap::Viridis] {
            let scale = ColourScale {
                low: 10.0,
                high: 20.0,
                map,
            };
            let lightness = |e: f64| {
                // relative luminance (IEC 61966-2-1), monotone with CIE L*
                let [r, g, b] = scale.colour(e).expect("finite").map(|c| {
                    let c = f64::from(c) / 255.0;
                    if c <= 0.04045 {
                        c / 12.92
                    } else {
                        ((c + 0.055) / 1.055).powf(2.4)
                    }
                });
                0.2126 * r + 0.7152 * g + 0.0722 * b
            };
            for i in 0..50 {
                let e = 10.0 + 0.2 * f64::from(i);
                assert!(lightness(e + 0.2) >= lightness(e), "{map:?} at {e}");
            }
        }
    }

    #[test]
    fn no_width_and_no_number_are_no_trouble() {
        let flat = ColourScale {
            low: 5.0,
            high: 5.0,
            map: ColourMap::Cividis,
        };
        assert!(flat.colour(5.0).is_some());
        assert_eq!(flat.colour(f64::NAN), None);
    }
}
