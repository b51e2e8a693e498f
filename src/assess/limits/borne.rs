//! What a `meets` bears of errors that all readings share. No reading shows them and no bound pays for them: they bend all
//! readings alike, and the field bends with them.
//!
//! Where all positions lie aside of what is written, the field lies as far aside, and parts get what the field says that far
//! down its slope. A detector whose response is another power of the cosine misreads a place by that power of the cosines of
//! its light, relative to the reading whose light slants least ([`Fitted::slants`]). Both are asked of the plain field, and
//! the bound is taken to change as it does.

use super::verdict::{Judged, Verdict, down};
use crate::field::Fitted;
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};
use crate::units::{LengthUnit, fixed};

/// As far as positions are asked to lie aside, mm: a datum set to the wrong edge of a stop, bores drawn on a scale that is
/// not true (common practice, no source).
const FARTHEST: f64 = 3.0;
const STEP: f64 = 0.5;
/// As far as a detector is asked to leave the cosine, as a power: one that reads light from 60 degrees 8.7 % too high
/// (common practice, no source).
const MOST_SLANTED: f64 = 0.12;
const POWERS: usize = 4;
/// Places brighter than so many times the coldest one don't become the coldest.
const NEARLY: f64 = 1.3;
/// From what slope is found, mm.
const HALF_STEP: f64 = 0.5;

/// An error that all readings share.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Together {
    /// All positions lie nearer to where it is bright than written.
    Aside,
    /// The detector reads slanting light too high.
    Slanting,
}

/// How much of one is borne.
#[derive(Debug, Clone, PartialEq)]
pub struct Borne {
    /// Of which error.
    pub of: Together,
    /// With more of it, it would not be `meets`: mm, or how much too high light from 60 degrees is read, percent.
    pub most: f64,
    /// What to say of it.
    pub sentence: String,
}

/// What is left of the coldest light under more and more of each error, whatever the limits are.
#[derive(Debug, Clone, PartialEq)]
pub struct Bending {
    /// mm, and the part that is left; from no error on.
    aside: Vec<(f64, f64)>,
    /// Powers of the cosine, likewise; none where the detector's directional response is known, or the lamp is not.
    slanting: Vec<(f64, f64)>,
}

impl Bending {
    /// Of places where parts are, each with how much of its light reaches the bond, 0 to 1.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        field: &Fitted,
        places: &[(Place, f64)],
        directional_is_known: bool,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let at: Vec<Place> = places.iter().map(|p| p.0).collect();
        let values = field.irradiance(&at, progress)?;
        let at_bond = |i: usize| values[i] * places[i].1;
        let least = (0..at.len()).map(at_bond).fold(f64::INFINITY, f64::min);
        let cold: Vec<usize> = (0..at.len())
            .filter(|&i| at_bond(i) <= NEARLY * least)
            .collect();
        let part = |of: &dyn Fn(usize) -> f64| {
            let each = cold.iter().enumerate();
            let bent = each.map(|(k, &i)| of(k) * places[i].1);
            bent.fold(f64::INFINITY, f64::min) / least
        };
        let places: Vec<Place> = cold.iter().map(|&i| at[i]).collect();
        let down = downhill(field, &places, progress)?;
        let mut aside = vec![(0.0, 1.0)];
        let mut by = STEP;
        while by <= FARTHEST {
            let moved = places.iter().zip(&down);
            let moved = moved.map(|(p, d)| Place::new(p.x + by * d.0, p.y + by * d.1, p.height));
            let there = field.irradiance(&moved.collect::<Vec<_>>(), progress)?;
            aside.push((by, part(&|k| there[k])));
            by += STEP;
        }
        let slants = (!directional_is_known).then(|| field.slants(&places));
        let slanting = slants.flatten().map_or_else(Vec::new, |slants| {
            let powers = (0..=POWERS).map(|i| MOST_SLANTED * i as f64 / POWERS as f64);
            let bent = |power: f64| part(&|k| values[cold[k]] * (power * slants[k]).exp());
            powers.map(|power| (power, bent(power))).collect()
        });
        Ok(Self { aside, slanting })
    }

    /// How much of each error leaves no less than a part of the coldest light; those of which as much as is asked does are
    /// left out.
    pub fn bears(&self, part: f64) -> Vec<(Together, f64)> {
        let aside = crossing(&self.aside, part).map(|mm| (Together::Aside, mm));
        let slanting = crossing(&self.slanting, part).map(|power| {
            let at_60_degrees = 100.0 * (2f64.powf(power) - 1.0);
            (Together::Slanting, at_60_degrees)
        });
        aside.into_iter().chain(slanting).collect()
    }
}

/// Where a falling line first comes below a value.
fn crossing(line: &[(f64, f64)], value: f64) -> Option<f64> {
    line.windows(2).find_map(|pair| {
        let ((from, before), (to, after)) = (pair[0], pair[1]);
        (after < value).then(|| {
            let along = (before - value) / (before - after);
            from + along.clamp(0.0, 1.0) * (to - from)
        })
    })
}

/// At each place the direction across the plan in which it gets darker the fastest.
fn downhill(
    field: &Fitted,
    places: &[Place],
    progress: &Progress,
) -> Result<Vec<(f64, f64)>, Cancelled> {
    let h = HALF_STEP;
    let around = |p: &Place| {
        [(-h, 0.0), (h, 0.0), (0.0, -h), (0.0, h)]
            .map(|(dx, dy)| Place::new(p.x + dx, p.y + dy, p.height))
    };
    let around: Vec<Place> = places.iter().flat_map(around).collect();
    let e = field.irradiance(&around, progress)?;
    let each = e.chunks_exact(4).map(|e| {
        let (dx, dy) = ((e[0] / e[1]).ln(), (e[2] / e[3]).ln());
        let steep = dx.hypot(dy);
        if steep > 0.0 {
            (dx / steep, dy / steep)
        } else {
            (0.0, 0.0)
        }
    });
    Ok(each.collect())
}

/// What a `meets` bears; nothing for another verdict.
pub(super) fn borne(judged: &Judged, bending: &Bending, length: LengthUnit) -> Vec<Borne> {
    let side = &judged.coldest;
    let bound = side
        .bounds
        .at_least
        .filter(|_| judged.verdict == Verdict::Meets);
    let Some(bound) = bound else {
        return Vec::new();
    };
    let part = side.limit.value / (bound * down(judged.allowances));
    let all = bending.bears(part).into_iter();
    all.map(|(of, most)| Borne {
        of,
        most,
        sentence: sentence(of, most, length),
    })
    .collect()
}

fn sentence(of: Together, most: f64, length: LengthUnit) -> String {
    match of {
        Together::Aside => format!(
            "'Meets' takes the places of the readings as they are written: were all of them read more than {} nearer to where \
             it is brighter (a datum set aside, bores too close together), it would not be met, and no reading shows that. \
             Measure from the datum to the outermost positions",
            length.show_with_unit(most)
        ),
        Together::Slanting => format!(
            "'Meets' takes the detector to follow the cosine, for nothing is entered of its directional response: if it read \
             light from 60° more than {} % too high, it would not be met. Enter the measured response, or f2 from its \
             certificate",
            fixed(most, 1)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::{Face, FitSettings, Sample, fit};
    use crate::geometry::{Footprint, Point, Shape};
    use crate::lamps::{Lamp, UniformPanel};

    /// What the field of a panel says is lost is what the panel itself gives less so far out, and what a detector of that
    /// power reads too high there: both of the panel's own law, which shares no kernel with the field.
    #[test]
    fn an_error_that_all_readings_share_costs_what_the_lamp_says() {
        let outline = Footprint::new(
            Shape::Rectangle {
                width: 160.0,
                depth: 110.0,
            },
            Point::new(80.0, 55.0),
        );
        let lamp = UniformPanel {
            centre: outline.centre,
            width: 160.0,
            depth: 110.0,
            turn: 0.0,
            face_height: 90.0,
            exitance: 100.0,
        };
        let samples: Vec<Sample> = (0..50)
            .map(|i| {
                let (column, row) = (i % 5, (i / 5) % 5);
                let at = Point::new(40.0 * f64::from(column), 27.5 * f64::from(row));
                let at = at.at_height(if i < 25 { 10.0 } else { 30.0 });
                Sample {
                    at,
                    irradiance: lamp.irradiance(at),
                    position: (i % 25) as usize,
                    minute: None,
                }
            })
            .collect();
        let settings = FitSettings {
            resolution: 0.01,
            face: Some(Face {
                height: 90.0,
                outline: Some(outline),
            }),
            ..FitSettings::default()
        };
        let progress = Progress::new();
        let field = fit(&settings, &samples, &progress).expect("a field");
        let corner = Place::new(0.0, 0.0, 20.0);
        let middle = Place::new(80.0, 55.0, 20.0);
        let places = [(middle, 1.0), (corner, 1.0)];
        let bending = Bending::of(&field, &places, false, &progress).expect("not cancelled");
        let there = lamp.irradiance(corner);
        let (aside, left) = *bending.aside.last().expect("asked");
        // down the slope of a corner is out along its diagonal, nearly
        let steep = (0..90).map(|degrees| {
            let (sin, cos) = f64::from(degrees).to_radians().sin_cos();
            lamp.irradiance(Place::new(-aside * cos, -aside * sin, 20.0)) / there
        });
        let steepest = steep.fold(f64::INFINITY, f64::min);
        assert!((left - steepest).abs() < 0.003, "{left} {steepest}");
        // relative to the reading whose light slants least, the one in the middle at the lower height
        let (power, left) = *bending.slanting.last().expect("asked");
        let too_high = |at: Place| lamp.seen(at, -power) / lamp.irradiance(at);
        let least_slanting = samples.iter().map(|s| too_high(s.at));
        let least_slanting = least_slanting.fold(f64::INFINITY, f64::min);
        let wanted = least_slanting / too_high(corner);
        assert!((left - wanted).abs() < 0.004, "{left} {wanted}");
        // the part that is left is asked back
        let bears = bending.bears(0.5 * (1.0 + left));
        let of = |which| bears.iter().find(|b| b.0 == which).map(|b| b.1);
        assert!(of(Together::Aside).is_some_and(|mm| mm > 0.0 && mm < FARTHEST));
        assert!(of(Together::Slanting).is_some_and(|percent| percent > 0.0 && percent < 8.8));
        assert_eq!(bending.bears(0.2), [], "more than is asked is borne");
        let known = Bending::of(&field, &places, true, &progress).expect("not cancelled");
        assert!(known.slanting.is_empty(), "a known response is in the fit");
    }

    #[test]
    fn a_line_is_crossed_between_its_points() {
        // with exact binary fractions
        let line = [(0.0, 1.0), (1.0, 0.75), (2.0, 0.25)];
        assert_eq!(crossing(&line, 0.875), Some(0.5));
        assert_eq!(crossing(&line, 0.5), Some(1.5));
        assert_eq!(crossing(&line, 0.125), None);
        assert_eq!(crossing(&line, 1.25), Some(0.0), "lost without any error");
        assert_eq!(crossing(&[], 0.9), None);
    }
}
