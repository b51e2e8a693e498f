//! What the readings at the monitor position are held against: the window that the verdict gives, the share of the reading
//! that the coldest part has, and by how much the lamp can be brought nearer.

use jiff::civil::Date;

use crate::assess::limits::Outlook;
use crate::assess::{Answer, Request};
use crate::station::{SourceKind, Station, Survey};

/// What daily readings are held against.
#[derive(Debug, Clone, PartialEq)]
pub struct MonitorTerms {
    /// The radiometer that judged, by name.
    pub main: Option<String>,
    /// Day of the survey that the window comes from: readings are carried to the scale that the radiometer had then.
    pub on: Date,
    /// Least and most that may be read, and what to set, mW/cm²; rounded as they are written. `None` without limits, or
    /// where no window can be said.
    pub window: Option<MonitorWindow>,
    /// Irradiance of the coldest part over what is read at the monitor position, by the field.
    pub coldest_share: Option<f64>,
    /// The coldest part's site.
    pub coldest_site: Option<String>,
    /// The lower limit at the bond, mW/cm².
    pub lower: Option<f64>,
    /// How the source is set anew.
    pub set_by: SetBy,
    /// Of the face in that survey, mm.
    pub face_height: f64,
    /// Heights of the face, mm, with what the monitor reads there over what it reads at `face_height`; ascending in the
    /// ratio, within the measured heights.
    pub reach: Vec<(f64, f64)>,
}

/// Least, most and what to set, mW/cm².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonitorWindow {
    /// At the least.
    pub least: f64,
    /// At the most, where there is an upper limit.
    pub most: Option<f64>,
    /// What to set it to.
    pub set: Option<f64>,
}

/// How a source is brought back to its reading: an arc lamp by distance, an LED source by its drive (common practice, no
/// source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SetBy {
    /// By its distance.
    Distance,
    /// By its drive.
    Drive,
}

/// How a reading that is too low is brought back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// The face to this height, mm.
    FaceAt(f64),
    /// The drive up by this factor.
    DriveBy(f64),
    /// No distance within the measured heights brings it back: another lamp.
    OtherLamp,
}

impl MonitorTerms {
    /// Without limits: readings are kept and have a trend, and are held against nothing.
    pub fn without(station: &Station) -> Self {
        let survey = station.newest_survey().and_then(|i| station.survey_at(i));
        let on = survey.map_or(Date::ZERO, |survey| survey.date);
        let face_height = survey.map_or(station.source.face_height, |s| s.face_height(station));
        Self {
            main: main_of(station, survey),
            on,
            window: None,
            coldest_share: None,
            coldest_site: None,
            lower: None,
            set_by: match station.source.kind {
                SourceKind::LedPanel => SetBy::Drive,
                SourceKind::ReflectorArc | SourceKind::LinearArc | SourceKind::Other => {
                    SetBy::Distance
                }
            },
            face_height,
            reach: vec![(face_height, 1.0)],
        }
    }

    /// Of a verdict.
    pub fn of(station: &Station, request: &Request, answer: &Answer, outlook: &Outlook) -> Self {
        let survey = request.survey.or(station.newest_survey());
        let survey = survey.and_then(|i| station.survey_at(i));
        let without = Self::without(station);
        let face_height = survey.map_or(without.face_height, |s| s.face_height(station));
        let monitor = outlook.monitor.as_ref();
        let window = monitor
            .and_then(|m| m.window.as_ref().ok())
            .filter(|window| window.is_open())
            .map(|window| window.written());
        let judged = answer.judged();
        let coldest = judged.map(|judged| &judged.coldest);
        let share = coldest.and_then(|c| {
            let now = monitor?.now;
            Some(c.estimate / now).filter(|share| share.is_finite())
        });
        let mut reach = vec![(face_height, 1.0)];
        let restored = outlook.distances.restored.iter();
        reach.extend(restored.filter_map(|r| {
            let left = 1.0 - r.faded_percent / 100.0;
            Some((r.face_height?, 1.0 / left))
        }));
        reach.sort_by(|a, b| a.1.total_cmp(&b.1));
        Self {
            main: main_of(station, survey),
            on: survey.map_or(without.on, |survey| survey.date),
            window: window.map(|w| MonitorWindow {
                least: w.least,
                most: w.most,
                set: w.set,
            }),
            coldest_share: share,
            coldest_site: answer.coldest.site.clone(),
            lower: judged.map(|judged| judged.terms.lower.value),
            face_height,
            reach,
            ..without
        }
    }

    /// What brings a reading back to the middle or the set point of its window, with the face at a height now. `None`
    /// without a window.
    pub fn remedy(&self, reading: f64, face_height: f64) -> Option<Remedy> {
        let window = self.window?;
        let aim = (window.set)
            .or(window.most.map(|most| 0.5 * (window.least + most)))
            .unwrap_or(window.least);
        let factor = aim / reading;
        if !factor.is_finite() {
            return None;
        }
        Some(match self.set_by {
            SetBy::Drive => Remedy::DriveBy(factor),
            SetBy::Distance => match self.height_for(self.ratio_at(face_height)? * factor) {
                Some(height) => Remedy::FaceAt(height),
                None => Remedy::OtherLamp,
            },
        })
    }

    /// What the monitor reads with the face at a height, over what it reads with the face where it was; between those that were
    /// looked at, straight on the logarithm. `None` beyond them.
    fn ratio_at(&self, face_height: f64) -> Option<f64> {
        let near = |a: f64| (a - face_height).abs() < 0.05;
        if let Some((_, ratio)) = self.reach.iter().find(|(height, _)| near(*height)) {
            return Some(*ratio);
        }
        self.reach.windows(2).find_map(|pair| {
            let [(h0, r0), (h1, r1)] = [pair[0], pair[1]];
            let share = (face_height - h0) / (h1 - h0);
            ((0.0..=1.0).contains(&share)).then(|| (r0.ln() + share * (r1 / r0).ln()).exp())
        })
    }

    /// The height of the face at which the monitor reads so much over what it reads with the face where it was.
    fn height_for(&self, ratio: f64) -> Option<f64> {
        self.reach.windows(2).find_map(|pair| {
            let [(h0, r0), (h1, r1)] = [pair[0], pair[1]];
            let share = (ratio / r0).ln() / (r1 / r0).ln();
            ((0.0..=1.0).contains(&share)).then_some(h0 + share * (h1 - h0))
        })
    }
}

/// The radiometer that the station keeps to: the one of the survey that judges, else the one that the plan is made for.
fn main_of(station: &Station, survey: Option<&Survey>) -> Option<String> {
    let of_survey = survey.and_then(|survey| survey.radiometer.as_ref());
    let main = of_survey.or(station.plan_radiometer());
    main.map(|radiometer| radiometer.name.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;

    #[test]
    fn a_reading_is_brought_back_by_distance_as_far_as_was_measured() {
        let station = Station::new("s", Shape::Circle { diameter: 90.0 }, 100.0);
        let mut terms = MonitorTerms::without(&station);
        assert_eq!(terms.remedy(80.0, 100.0), None);
        terms.window = Some(MonitorWindow {
            least: 70.0,
            most: Some(100.0),
            set: Some(90.0),
        });
        // twice the reading at three quarters of the height
        terms.reach = vec![(100.0, 1.0), (75.0, 2.0)];
        let Some(Remedy::FaceAt(height)) = terms.remedy(45.0, 100.0) else {
            panic!("within reach");
        };
        assert!((height - 75.0).abs() < 1e-9);
        let Some(Remedy::FaceAt(height)) = terms.remedy(90.0 / 2f64.sqrt(), 100.0) else {
            panic!("within reach");
        };
        assert!((height - 87.5).abs() < 1e-9);
        assert_eq!(terms.remedy(40.0, 100.0), Some(Remedy::OtherLamp));
        // already half way down
        let Some(Remedy::FaceAt(height)) = terms.remedy(90.0 / 2f64.sqrt(), 87.5) else {
            panic!("within reach");
        };
        assert!((height - 75.0).abs() < 1e-9);
        terms.set_by = SetBy::Drive;
        assert_eq!(terms.remedy(45.0, 100.0), Some(Remedy::DriveBy(2.0)));
    }
}
