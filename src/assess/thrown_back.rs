//! What differs with the pallet out: light that pallet and parts throw back is not in such readings. A few positions that
//! another survey read with the pallet in place tell how much it is.

use crate::field::Fitted;
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};
use crate::station::{Pallet, Station, Survey};

/// What is asked of a survey that was read with the pallet out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ToCompare {
    /// Whether it was read so.
    pallet_out: bool,
    /// What the same radiometer read with the pallet in place, mW/cm².
    in_place: Vec<(Place, f64)>,
}

/// Light thrown back, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ThrownBack {
    /// Nothing was read with the pallet in place.
    NotKnown,
    /// So many readings with the pallet in place are higher than the field by this factor (geometric mean), with its relative
    /// standard uncertainty.
    Factor {
        /// With the pallet in place over with the pallet out.
        factor: f64,
        /// k = 1, relative.
        uncertainty: f64,
        /// Readings that it is from.
        readings: usize,
    },
}

/// Fewer readings tell no uncertainty.
const FEWEST: usize = 3;

impl ToCompare {
    /// Of a survey of a station; the newest of the others that was read by the same radiometer with the pallet in place is
    /// held against it.
    pub fn of(station: &Station, survey: &Survey) -> Self {
        if survey.state.pallet != Pallet::Out {
            return Self::default();
        }
        let name = |s: &Survey| s.radiometer.as_ref().map(|r| r.name.clone());
        let in_place = |s: &&Survey| {
            matches!(s.state.pallet, Pallet::Empty | Pallet::Loaded) && name(s) == name(survey)
        };
        let others = station.surveys.iter().map(|s| &**s).filter(in_place);
        let newest = others.max_by_key(|s| s.date);
        let readings = newest.map_or(&[][..], |s| &s.readings);
        let counted = readings
            .iter()
            .filter_map(|r| Some((r.place(), r.counted()?)));
        Self {
            pallet_out: true,
            in_place: counted.collect(),
        }
    }

    /// What the field says of it; `None` with the pallet in place.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn against(
        &self,
        field: &Fitted,
        progress: &Progress,
    ) -> Result<Option<ThrownBack>, Cancelled> {
        if !self.pallet_out {
            return Ok(None);
        }
        let places: Vec<Place> = self.in_place.iter().map(|(at, _)| *at).collect();
        let there = field.at(&places, progress)?;
        // beyond the positions the field is no reading
        let logs: Vec<f64> = (self.in_place.iter().zip(&there))
            .filter(|(_, said)| !said.extrapolated)
            .map(|((_, read), said)| (read / said.irradiance).ln())
            .collect();
        if logs.len() < FEWEST {
            return Ok(Some(ThrownBack::NotKnown));
        }
        let n = logs.len() as f64;
        let mean = logs.iter().sum::<f64>() / n;
        let square = logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (n - 1.0);
        Ok(Some(ThrownBack::Factor {
            factor: mean.exp(),
            uncertainty: (square / n).sqrt(),
            readings: logs.len(),
        }))
    }
}

impl ThrownBack {
    /// As a sentence.
    pub(super) fn words(self) -> String {
        match self {
            Self::NotKnown => "These readings were taken with the pallet out: light that pallet and parts throw back is not in \
                 them; read a few positions again with the pallet in place, as a survey of its own, to know how much it is"
                .into(),
            Self::Factor {
                factor,
                uncertainty,
                readings,
            } => format!(
                "These readings were taken with the pallet out: with it in place {readings} readings are {:.1} % {} (± {:.1} %, k = 1), which is not in the figures",
                100.0 * (factor - 1.0).abs(),
                if factor < 1.0 { "lower" } else { "higher" },
                100.0 * uncertainty * factor,
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::{Request, fit_survey};
    use crate::geometry::{Point, Shape};
    use crate::station::Reading;
    use jiff::civil::date;

    fn station(repeated: usize) -> Station {
        let shape = Shape::Rectangle {
            width: 80.0,
            depth: 80.0,
        };
        let mut station = Station::new("bench", shape, 90.0);
        let at =
            |i: usize| Point::new(20.0 * (i % 5) as f64, 20.0 * (i / 5) as f64).at_height(10.0);
        let even = |at: Place| 100.0 - 0.002 * ((at.x - 40.0).powi(2) + (at.y - 40.0).powi(2));
        let mut survey = |name: &str, pallet, count: usize, factor: f64| {
            let mut survey = station.new_survey(name, date(2026, 3, 9));
            survey.state.pallet = pallet;
            survey.readings = (0..count)
                .map(|i| Reading::new(at((7 * i) % 25), Some(factor * even(at((7 * i) % 25)))))
                .collect();
            station.surveys.push(survey.into());
        };
        survey("Out", Pallet::Out, 25, 1.0);
        survey("In", Pallet::Loaded, repeated, 1.04);
        station
    }

    fn found(station: &Station, survey: usize) -> Option<ThrownBack> {
        let request = Request::of_survey(survey);
        let fit = fit_survey(station, &request, &Progress::new()).expect("fitted");
        let to_compare = ToCompare::of(station, &station.surveys[survey]);
        to_compare
            .against(&fit.field, &Progress::new())
            .expect("not cancelled")
    }

    #[test]
    fn positions_repeated_with_the_pallet_in_place_tell_the_factor() {
        let Some(ThrownBack::Factor {
            factor,
            uncertainty,
            readings,
        }) = found(&station(6), 0)
        else {
            panic!("six were repeated");
        };
        assert!(
            (factor - 1.04).abs() < 0.004 && uncertainty < 0.004,
            "{factor} {uncertainty}"
        );
        assert_eq!(readings, 6);
        assert_eq!(found(&station(2), 0), Some(ThrownBack::NotKnown));
        assert_eq!(found(&station(9), 1), None);
    }
}
