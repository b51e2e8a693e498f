//! Readings that the others do not bear out.

use super::SurveyFit;
use crate::station::Survey;

/// Leave-one-out residuals beyond this many predictive standard deviations are pointed out (common practice, no
/// source).
const FAR: f64 = 4.0;

/// A reading against what all others predict there. It counts in full until it is read again or excluded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfLine {
    /// Row among the survey's readings.
    pub row: usize,
    /// What was read, mW/cm².
    pub read: f64,
    /// What the others predict, mW/cm².
    pub predicted: f64,
    /// How far apart they are in predictive standard deviations, in the logarithm.
    pub deviations: f64,
}

impl OutOfLine {
    /// How far the reading is above the prediction, percent of it.
    pub fn percent(&self) -> f64 {
        100.0 * (self.read / self.predicted - 1.0)
    }

    /// Standard uncertainty of the prediction of a reading there, mW/cm².
    pub fn uncertainty(&self) -> f64 {
        self.predicted * ((self.read / self.predicted).ln() / self.deviations).abs()
    }
}

/// The readings of a survey that are out of line, in the order of its rows; none for a family of fields that does not
/// say how far off its predictions may be. `fit` must be the fit of these readings.
pub fn out_of_line(survey: &Survey, fit: &SurveyFit) -> Vec<OutOfLine> {
    let told = fit.rows.iter().zip(fit.field.leave_one_out());
    told.filter_map(|(&row, told)| {
        let deviations = told.standardised.filter(|z| z.abs() > FAR)?;
        let read = survey.readings.get(row)?.counted()?;
        Some(OutOfLine {
            row,
            read,
            predicted: told.predicted,
            deviations,
        })
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_difference_is_said_in_percent_and_of_the_predictions_own_spread() {
        let out = OutOfLine {
            row: 0,
            read: 110.0,
            predicted: 100.0,
            deviations: 5.0,
        };
        assert!((out.percent() - 10.0).abs() < 1e-9);
        // ln 1.1 over five deviations
        assert!((out.uncertainty() - 1.906_2).abs() < 1e-3);
    }
}
