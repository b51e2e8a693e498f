//! From a survey's readings to a fitted field.

use std::collections::HashMap;
use std::sync::Arc;

use super::OutOfLine;
use super::out_of_line::{self, out_of_line};
use super::same::SAME_POSITION;
use super::{FamilyChoice, NoAnswer, Request, drift};
use crate::field::{self, Directional, FitError, FitSettings, Fitted, Round, Sample};
use crate::geometry::Place;
use crate::progress::Progress;
use crate::station::{Family, Radiometer, Reading, Shared, SourceKind, Station, Survey};

/// A survey's readings made into a field.
#[derive(Debug, Clone)]
pub struct SurveyFit {
    /// Which survey of the station.
    pub survey: usize,
    /// The field.
    pub field: Arc<Fitted>,
    /// For each sample of the fit its row among the survey's readings.
    pub rows: Arc<[usize]>,
    /// Heights that were measured, ascending, mm.
    pub heights: Vec<f64>,
    /// Readings that the others do not bear out, in the order of the rows.
    pub out_of_line: Arc<[OutOfLine]>,
}

impl From<Family> for field::Family {
    fn from(family: Family) -> Self {
        match family {
            Family::SourceAware => Self::SourceAware,
            Family::OrdinaryKriging => Self::OrdinaryKriging,
            Family::UniversalKriging => Self::UniversalKriging,
            Family::ThinPlate => Self::ThinPlate,
            Family::NaturalNeighbour => Self::NaturalNeighbour,
            Family::InverseDistance => Self::InverseDistance,
        }
    }
}

impl From<field::Family> for Family {
    fn from(family: field::Family) -> Self {
        match family {
            field::Family::SourceAware
            | field::Family::RoundFace
            | field::Family::RoundOpen
            | field::Family::LeaningFace => Self::SourceAware,
            field::Family::OrdinaryKriging => Self::OrdinaryKriging,
            field::Family::UniversalKriging => Self::UniversalKriging,
            field::Family::ThinPlate => Self::ThinPlate,
            field::Family::NaturalNeighbour => Self::NaturalNeighbour,
            field::Family::InverseDistance => Self::InverseDistance,
        }
    }
}

/// More than this share of the readings, one in so many, can't all be slips.
const FEW: usize = 4;

/// The survey a request is about.
pub(super) fn survey_of<'a>(
    station: &'a Station,
    request: &Request,
) -> Result<(usize, &'a Shared<Survey>), NoAnswer> {
    let index = match request.survey {
        Some(index) => index,
        None => station
            .newest_survey()
            .ok_or_else(|| NoAnswer::Missing("No survey yet; add one and enter readings".into()))?,
    };
    let survey = station
        .surveys
        .get(index)
        .ok_or_else(|| NoAnswer::Missing("That survey is not there; choose another one".into()))?;
    Ok((index, survey))
}

/// All that a survey's field is made from. Two are equal when the same rows count and say the same: a note, a name or an
/// excluded value asks for no other field.
#[derive(Debug, Clone)]
pub struct ToFit {
    /// Which survey of the station.
    index: usize,
    survey: Shared<Survey>,
    settings: FitSettings,
    /// Whether the drift over the round is taken out; `None`: where there are visits enough.
    drift: Option<bool>,
}

impl PartialEq for ToFit {
    fn eq(&self, other: &Self) -> bool {
        let alike = || said(&self.survey).eq(said(&other.survey));
        self.index == other.index
            && self.settings == other.settings
            && self.drift == other.drift
            && (self.survey.is(&other.survey) || alike())
    }
}

/// What a survey says to a fit, row by row.
fn said(survey: &Survey) -> impl Iterator<Item = (usize, Place, Option<f64>, Option<f64>, bool)> {
    let visit = |r: &Reading| survey.reference.as_deref() == Some(r.position.as_str());
    counted_rows(survey).map(move |(row, r)| (row, r.place(), r.irradiance, r.minute, visit(r)))
}

/// The rows that a field is made from.
fn counted_rows(survey: &Survey) -> impl Iterator<Item = (usize, &Reading)> {
    let counts = |(_, r): &(usize, &Reading)| r.counted().is_some() && r.place().is_finite();
    survey.readings.iter().enumerate().filter(counts)
}

/// Distinct heights of the readings that count, ascending, mm; heights within 0.05 mm are one.
pub fn heights_of(survey: &Survey) -> Vec<f64> {
    let mut heights: Vec<f64> = survey
        .readings
        .iter()
        .filter(|r| r.counted().is_some())
        .map(|r| r.height)
        .filter(|h| h.is_finite())
        .collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|b, a| (*b - *a).abs() < SAME_POSITION);
    heights
}

/// Fits the field of a survey.
///
/// # Errors
/// [`NoAnswer`] with what is missing.
pub fn fit_survey(
    station: &Station,
    request: &Request,
    progress: &Progress,
) -> Result<SurveyFit, NoAnswer> {
    ToFit::of(station, request)?.fit(progress)
}

impl ToFit {
    /// What the field of the survey that is asked about is made from.
    ///
    /// # Errors
    /// [`NoAnswer::Missing`] without a survey.
    pub fn of(station: &Station, request: &Request) -> Result<Self, NoAnswer> {
        let (index, survey) = survey_of(station, request)?;
        Ok(Self {
            index,
            survey: survey.clone(),
            settings: fit_settings(station, survey, request.family),
            drift: station.settings.drift,
        })
    }

    /// Of the same survey with other readings.
    pub(super) fn with(&self, survey: Survey) -> Self {
        Self {
            survey: survey.into(),
            ..self.clone()
        }
    }

    /// The survey.
    pub fn survey(&self) -> &Shared<Survey> {
        &self.survey
    }

    /// Fits the field, and looks which readings are out of line with it.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn fit(&self, progress: &Progress) -> Result<SurveyFit, NoAnswer> {
        let fit = self
            .fit_by(|samples, round| field::fit_round(&self.settings, samples, round, progress))?;
        let suspects = self.suspects(&fit, progress)?;
        Ok(SurveyFit {
            out_of_line: suspects.into(),
            ..fit
        })
    }

    /// Fits the field near the one of the same survey with a few readings more or fewer, to be held against it; of its
    /// readings nothing is asked.
    ///
    /// # Errors
    /// As [`fit`](Self::fit).
    pub(super) fn fit_near(
        &self,
        near: &Fitted,
        progress: &Progress,
    ) -> Result<SurveyFit, NoAnswer> {
        self.fit_by(|samples, round| {
            field::fit_near(near, &self.settings, samples, round, progress)
        })
    }

    fn fit_by(
        &self,
        make: impl FnOnce(&[Sample], Option<&Round>) -> Result<Fitted, FitError>,
    ) -> Result<SurveyFit, NoAnswer> {
        let survey = &*self.survey;
        let rows: Vec<usize> = counted_rows(survey).map(|(row, _)| row).collect();
        let samples = samples(&survey.readings, &rows);
        let round = self.round(&rows);
        let fitted = make(&samples, round.as_ref()).map_err(|error| match error {
        FitError::Cancelled => NoAnswer::Cancelled,
        FitError::NoReadings => NoAnswer::Missing(no_readings(survey)),
        FitError::BadSample(sample) => NoAnswer::Missing(format!(
            "Row {} of survey '{}' can't be used; check its numbers",
            rows.get(sample).map_or(0, |row| row + 1),
            survey.name
        )),
        FitError::NotPossible(_) => NoAnswer::Missing(format!(
            "Survey '{}' can't be mapped by natural neighbours: at no height are there three positions that are not on one line; \
             read beside the line, or choose another family",
            survey.name
        )),
        FitError::Singular => NoAnswer::Missing(format!(
            "No field fits the readings of survey '{}'; look for rows with a wrong place or irradiance",
            survey.name
        )),
    })?;
        Ok(SurveyFit {
            survey: self.index,
            out_of_line: [].into(),
            field: Arc::new(fitted),
            rows: rows.into(),
            heights: heights_of(survey),
        })
    }

    /// The round of these rows, where its drift is taken out.
    fn round(&self, rows: &[usize]) -> Option<Round> {
        let round = drift::round(&self.survey, rows)?;
        let visits = round.visit.iter().filter(|v| **v).count();
        drift::takes_out(self.drift, visits).then_some(round)
    }

    /// What is out of line with a field: of several, those that a field without them all does not bear out either.
    fn suspects(&self, fit: &SurveyFit, progress: &Progress) -> Result<Vec<OutOfLine>, NoAnswer> {
        let (survey, rows) = (&*self.survey, &fit.rows);
        let mut suspects = out_of_line(survey, &fit.field, rows);
        if suspects.len() > 1
            && suspects.len() <= rows.len() / FEW
            && rows.len() <= out_of_line::MOST
        {
            let is_suspect = |row: &usize| suspects.iter().any(|out| out.row == *row);
            let rest = rows.iter().copied().filter(|row| !is_suspect(row));
            let rest: Vec<usize> = rest.collect();
            let samples = self::samples(&survey.readings, &rest);
            let round = self.round(&rest);
            match field::fit_round(&self.settings, &samples, round.as_ref(), progress) {
                Ok(without) => {
                    let drifted = |row: usize| {
                        let sample = rows.iter().position(|&r| r == row);
                        sample.map_or(1.0, |sample| fit.field.drifted(sample))
                    };
                    suspects =
                        out_of_line::borne_out(suspects, survey, &without, drifted, progress)
                            .map_err(|_| NoAnswer::Cancelled)?;
                }
                Err(FitError::Cancelled) => return Err(NoAnswer::Cancelled),
                // then they stay what they were
                Err(_) => {}
            }
        }
        Ok(suspects)
    }
}

/// What the fit of a survey takes from the station beside readings.
pub fn fit_settings(
    station: &Station,
    survey: &Survey,
    family: Option<FamilyChoice>,
) -> FitSettings {
    let family = match family {
        Some(FamilyChoice::Automatic) => None,
        Some(FamilyChoice::Fixed(family)) => Some(family),
        None => station.settings.family,
    };
    let detector = survey.radiometer.as_ref();
    let sound = |value: Option<f64>| value.filter(|v| v.is_finite() && *v > 0.0).unwrap_or(0.0);
    FitSettings {
        family: family.map(Into::into),
        resolution: sound(detector.and_then(|r| r.resolution)),
        face: Some(face(station, survey)),
        aperture: sound(detector.and_then(|r| r.aperture_diameter)),
        directional: detector.map_or_else(Directional::default, directional),
        // A kind that is not said may have them.
        mirrors: station.source.kind != SourceKind::LedPanel,
        bare: false,
        scatter: station.settings.scatter.map(|found| field::Scatter {
            noise: 0.01 * found.noise_percent,
            placement: found.placement,
        }),
    }
}

/// What the fit is told of a detector's directional response: the measured one, else the index.
fn directional(radiometer: &Radiometer) -> Directional {
    let index = radiometer.angular_error_percent.filter(|f2| f2.is_finite());
    match &radiometer.angular_response[..] {
        [] => index.map_or_else(Directional::default, |f2| Directional::of_index(0.01 * f2)),
        measured => Directional::of_response(measured),
    }
}

/// The lamp's face as it was when the survey was taken.
fn face(station: &Station, survey: &Survey) -> field::Face {
    let stood = survey.state.face_height.filter(|h| h.is_finite());
    field::Face {
        height: stood.unwrap_or(station.source.face_height),
        outline: station.source.face.clone(),
    }
}

fn no_readings(survey: &Survey) -> String {
    let name = &survey.name;
    if survey.readings.is_empty() {
        format!("Survey '{name}' has no readings yet; enter, paste or import them")
    } else if survey.readings.iter().all(|r| r.irradiance.is_none()) {
        format!("Survey '{name}' has no irradiance yet; type what the radiometer shows")
    } else {
        format!(
            "No reading of survey '{name}' counts; all are excluded, saturated or not above zero"
        )
    }
}

/// The counted readings as samples; those at one place of the plan share a position number.
fn samples(readings: &[Reading], rows: &[usize]) -> Vec<Sample> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    let at = |i: usize| &readings[rows[i]];
    order.sort_by(|&a, &b| {
        at(a)
            .x
            .total_cmp(&at(b).x)
            .then(at(a).y.total_cmp(&at(b).y))
    });
    // A position's other readings lie in its cell or the ones around it; of several the last before it counts.
    let cell = |v: f64| (v / SAME_POSITION).floor() as i64;
    let mut cells: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let mut position = vec![0; rows.len()];
    let mut next = 0;
    for (n, &i) in order.iter().enumerate() {
        let here = at(i).place().point();
        let (column, row) = (cell(here.x), cell(here.y));
        let around = (-1..=1).flat_map(|c| (-1..=1).map(move |r| (column + c, row + r)));
        let before = around.filter_map(|key| cells.get(&key)).flatten();
        let near = |&&m: &&usize| here.distance(at(order[m]).place().point()) <= SAME_POSITION;
        position[i] = match before.filter(near).max() {
            Some(&m) => position[order[m]],
            None => {
                next += 1;
                next - 1
            }
        };
        cells.entry((column, row)).or_default().push(n);
    }
    rows.iter()
        .zip(position)
        .map(|(&row, position)| Sample {
            at: readings[row].place(),
            irradiance: readings[row].counted().unwrap_or(f64::NAN),
            position,
            minute: readings[row].minute.filter(|m| m.is_finite()),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_at_one_place_share_a_position() {
        let readings: Vec<Reading> = [
            (10.0, 5.0, 0.0),
            (30.0, 5.0, 0.0),
            (10.01, 5.0, 20.0),
            (10.0, 9.0, 0.0),
        ]
        .map(|(x, y, h)| Reading::new(Place::new(x, y, h), Some(50.0)))
        .to_vec();
        let samples = samples(&readings, &[0, 1, 2, 3]);
        assert_eq!(samples[0].position, samples[2].position);
        let mut all: Vec<usize> = samples.iter().map(|s| s.position).collect();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), 3);
    }

    #[test]
    fn only_what_counts_asks_for_another_field() {
        use crate::geometry::Shape;
        let mut station = Station::new("bench", Shape::Circle { diameter: 100.0 }, 80.0);
        let mut survey = station.new_survey("one", jiff::civil::date(2026, 3, 9));
        let reading = |x| Reading::new(Place::new(x, 5.0, 10.0), Some(90.0));
        survey.readings = vec![reading(1.0), reading(2.0), reading(3.0)];
        survey.readings[1].excluded = Some("the hand".into());
        station.surveys.push(survey.into());
        let asked = |station: &Station| ToFit::of(station, &Request::default()).expect("a survey");
        let before = asked(&station);
        let with = |change: fn(&mut Station)| {
            let mut changed = station.clone();
            change(&mut changed);
            asked(&changed)
        };
        let same: [fn(&mut Station); 5] = [
            |s| s.name = "other".into(),
            |s| s.surveys[0].name = "other".into(),
            |s| s.surveys[0].readings[0].note = "by the door".into(),
            |s| s.surveys[0].readings[1].irradiance = Some(7.0),
            |s| {
                s.surveys[0]
                    .readings
                    .push(Reading::new(Place::new(9.0, 5.0, 10.0), None))
            },
        ];
        assert!(same.iter().all(|change| with(*change) == before));
        let other: [fn(&mut Station); 6] = [
            |s| s.source.face_height = 81.0,
            |s| s.surveys[0].readings[0].irradiance = Some(91.0),
            |s| s.surveys[0].readings[0].minute = Some(1.0),
            |s| s.surveys[0].readings[1].excluded = None,
            |s| {
                s.surveys[0]
                    .readings
                    .insert(1, Reading::new(Place::new(9.0, 5.0, 10.0), None))
            },
            |s| s.settings.family = Some(Family::OrdinaryKriging),
        ];
        assert!(other.iter().all(|change| with(*change) != before));
    }
}
