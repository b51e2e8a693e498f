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
    /// Of changes: blue below none over white to red, with the scale as far to one side as to the other.
    Change,
    /// The same, pale.
    ChangeMuted,
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

/// Whether values lie beyond a scale's ends, where they have the end's colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LeftOut {
    /// Some are below the dark end.
    pub below: bool,
    /// Some are above the light end.
    pub above: bool,
}

impl LeftOut {
    /// As a sentence without its full stop; `None` where nothing is left out.
    pub fn words(self) -> Option<&'static str> {
        match (self.below, self.above) {
            (false, false) => None,
            (true, false) => Some("Part of the map is below that and has the darkest colour"),
            (false, true) => Some("Part of the map is above that and has the lightest colour"),
            (true, true) => Some(
                "Parts of the map are below and above that and have the darkest and the lightest colour",
            ),
        }
    }
}

impl ColourScale {
    /// A scale over a fixed range, or else from the least to the greatest of the values; `None` without either.
    pub fn over(
        values: Option<(f64, f64)>,
        fixed: Option<[f64; 2]>,
        map: ColourMap,
    ) -> Option<Self> {
        let (low, high) = fixed.map(|[low, high]| (low, high)).or(values)?;
        Some(Self { low, high, map })
    }

    /// What of values from a least to a greatest lies beyond the scale by more than rounding.
    pub fn left_out(&self, (least, greatest): (f64, f64)) -> LeftOut {
        let slack = 1e-9 * (self.high - self.low).abs();
        LeftOut {
            below: least < self.low - slack,
            above: greatest > self.high + slack,
        }
    }

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
            ColourMap::Change | ColourMap::ChangeMuted => {
                let c = colorous::RED_BLUE.eval_continuous(1.0 - t);
                let pale = |v: u8| match self.map {
                    ColourMap::ChangeMuted => (0.3 * f64::from(v) + 0.7 * 244.0).round() as u8,
                    _ => v,
                };
                return Some([c.r, c.g, c.b].map(pale));
            }
        };
        let c = gradient.eval_continuous(t);
        Some([c.r, c.g, c.b])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fixed_scale_says_what_it_leaves_out() {
        let of = |fixed| ColourScale::over(Some((60.0, 90.0)), fixed, ColourMap::Cividis);
        let own = of(None).expect("values");
        assert_eq!((own.low, own.high), (60.0, 90.0));
        assert_eq!(own.left_out((60.0, 90.0)).words(), None);
        let narrow = of(Some([70.0, 80.0])).expect("a range");
        let both = LeftOut {
            below: true,
            above: true,
        };
        assert_eq!(narrow.left_out((60.0, 90.0)), both);
        assert_eq!(narrow.colour(60.0), narrow.colour(70.0));
        assert_eq!(narrow.colour(90.0), narrow.colour(80.0));
        let words = narrow.left_out((75.0, 90.0)).words();
        assert!(words.is_some_and(|w| w.contains("above") && !w.contains("below")));
        assert!(ColourScale::over(None, None, ColourMap::Cividis).is_none());
    }

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
