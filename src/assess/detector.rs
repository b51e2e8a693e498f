//! What the detector itself keeps from a survey: light that its aperture averages, bond lines that its sensing plane is too
//! high for.

use super::{SiteAnswer, Spot};
use crate::field::{Estimate, Fitted};
use crate::geometry::Place;
use crate::progress::Progress;
use crate::station::{Family, Radiometer};

/// An average of more than this, percent, is said as a warning (common practice, no source).
const MUCH: f64 = 1.0;

/// What a detector can't show, by the field.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OfDetector {
    /// By so much the mean over the aperture at the coldest spot exceeds the light in its middle, percent; below zero where
    /// it falls short of it. `None`: the aperture is not known.
    pub averaged_percent: Option<f64>,
    /// The site whose bond line the sensing plane misses by most light; `None`: it reaches all.
    pub unreached: Option<UnreachedSite>,
}

/// A bond line below the lowest place of the sensing plane.
#[derive(Debug, Clone, PartialEq)]
pub struct UnreachedSite {
    /// Its name.
    pub site: String,
    /// Of its bond line above the fixture's base, mm.
    pub height: f64,
    /// Of the sensing plane, the detector on the base, mm.
    pub lowest: f64,
    /// By so much the light there exceeds that at the site's coldest spot on the bond line, percent.
    pub more_percent: f64,
}

impl OfDetector {
    pub(super) fn of(
        field: &Fitted,
        radiometer: Option<&Radiometer>,
        coldest: &Spot,
        sites: &[SiteAnswer],
    ) -> Self {
        let aperture = radiometer.and_then(|r| r.aperture_diameter);
        let lowest = radiometer.map(|r| r.sensing_plane);
        Self {
            averaged_percent: aperture.and_then(|d| averaged_percent(field, coldest.at, d)),
            unreached: lowest.and_then(|lowest| unreached(field, lowest, sites)),
        }
    }

    /// What a person has to be careful about. The family that knows the lamp takes the average off the readings.
    pub(super) fn warnings(&self, family: Family, say: &dyn Fn(f64) -> String) -> Vec<String> {
        let averaged = (self.averaged_percent)
            .filter(|percent| percent.abs() >= MUCH && family != Family::SourceAware);
        let averaged = averaged.map(|percent| {
            format!(
                "The detector's aperture averages {percent:.1} % away at the coldest spot: the light in its middle is lower \
                 than the field says; read with a smaller aperture"
            )
        });
        let unreached = self.unreached.as_ref().map(|u| {
            format!(
                "The detector's sensing plane sits {} up and can't be brought to the bond line of site {}, {} up, where by \
                 the field there is {:.1} % less light; raise the source by the difference for the survey, or read with a \
                 lower detector",
                say(u.lowest),
                u.site,
                say(u.height),
                100.0 * (1.0 - 1.0 / (1.0 + 0.01 * u.more_percent)),
            )
        });
        averaged.into_iter().chain(unreached).collect()
    }
}

/// By how much the mean over a disk exceeds the value in its middle, percent: a rule of seven points, exact for polynomials
/// of the fifth degree (Abramowitz and Stegun, Handbook of Mathematical Functions, 25.4.61).
fn averaged_percent(field: &Fitted, at: Place, diameter: f64) -> Option<f64> {
    let estimates = at_places(field, &disk(at, 0.5 * diameter))?;
    let (middle, rim) = estimates.split_first()?;
    let rim: f64 = rim.iter().map(|e| e.irradiance).sum();
    let mean = middle.irradiance / 4.0 + rim / 8.0;
    let percent = 100.0 * (mean / middle.irradiance - 1.0);
    percent.is_finite().then_some(percent)
}

/// The middle, which weighs 1/4, and six points that weigh 1/8 each.
fn disk(at: Place, radius: f64) -> [Place; 7] {
    let (far, half, high) = (
        radius * (2.0f64 / 3.0).sqrt(),
        radius * (1.0f64 / 6.0).sqrt(),
        radius * std::f64::consts::FRAC_1_SQRT_2,
    );
    [
        (0.0, 0.0),
        (far, 0.0),
        (-far, 0.0),
        (half, high),
        (half, -high),
        (-half, high),
        (-half, -high),
    ]
    .map(|(x, y)| Place::new(at.x + x, at.y + y, at.height))
}

fn unreached(field: &Fitted, lowest: f64, sites: &[SiteAnswer]) -> Option<UnreachedSite> {
    let low = sites.iter().filter(|s| s.coldest.at.height < lowest - 1e-3);
    let low: Vec<&SiteAnswer> = low.collect();
    let at = |s: &&SiteAnswer| s.coldest.at.point().at_height(lowest);
    let places: Vec<Place> = low.iter().map(at).collect();
    let above = at_places(field, &places)?;
    let each = low.iter().zip(above).map(|(site, above)| UnreachedSite {
        site: site.site.clone(),
        height: site.coldest.at.height,
        lowest,
        more_percent: 100.0 * (above.irradiance / site.coldest.irradiance - 1.0),
    });
    each.filter(|u| u.more_percent.is_finite())
        .max_by(|a, b| a.more_percent.abs().total_cmp(&b.more_percent.abs()))
}

fn at_places(field: &Fitted, places: &[Place]) -> Option<Vec<Estimate>> {
    // too few to be stopped
    field.at(places, &Progress::new()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean of x⁴ over a disk is R⁴/8, of x² y² R⁴/24, of x² R²/4 (textbook); of odd powers nothing.
    #[test]
    fn seven_points_average_polynomials_of_the_fifth_degree() {
        let radius = 1.7;
        let mean = |f: &dyn Fn(f64, f64) -> f64| {
            let [middle, rim @ ..] = disk(Place::default(), radius);
            let rim: f64 = rim.iter().map(|p| f(p.x, p.y)).sum();
            f(middle.x, middle.y) / 4.0 + rim / 8.0
        };
        let r4 = radius.powi(4);
        for (got, wanted) in [
            (mean(&|_, _| 3.0), 3.0),
            (mean(&|x, _| x * x), radius * radius / 4.0),
            (mean(&|x, _| x.powi(4)), r4 / 8.0),
            (mean(&|x, y| x * x * y * y), r4 / 24.0),
            (mean(&|x, y| x.powi(3) * y * y + y), 0.0),
        ] {
            assert!((got - wanted).abs() < 1e-12, "{got} {wanted}");
        }
    }
}
