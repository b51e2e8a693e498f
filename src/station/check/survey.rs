//! Findings of one survey and its readings.

use std::collections::HashMap;

use super::repeated::repeated;
use crate::station::finding::{Finding, Where, note, warning};
use crate::station::seats::{Seat, Seats, Stand};
use crate::station::words::{at, called};
use crate::station::{KeepOut, Reading, Station, Survey};
use crate::units::Units;

/// Readings of one position may lie so far apart before it is worth a word, mm: less than anybody
/// places a detector by hand (common practice, no source).
const SAME_PLACE: f64 = 0.05;

/// What the findings of a survey hang on beside the survey.
#[derive(Debug, PartialEq)]
pub(super) struct Beside {
    stand: Stand,
    keep_outs: Vec<KeepOut>,
    face_height: f64,
    /// In which the findings are said.
    units: Units,
    /// An earlier one has the same name.
    is_second: bool,
}

impl Beside {
    pub(super) fn of(station: &Station, index: usize, units: Units) -> Self {
        let survey = &station.surveys[index];
        let mut earlier = station.surveys[..index].iter();
        Self {
            stand: Stand::during(station, survey.state.pallet),
            keep_outs: station.keep_outs.clone(),
            face_height: survey.face_height(station),
            units,
            is_second: earlier.any(|s| s.name == survey.name),
        }
    }
}

/// What is odd about the survey of that index.
pub(super) fn check(survey: &Survey, index: usize, beside: &Beside) -> Vec<Finding> {
    let mut all = Vec::new();
    let found = &mut all;
    let name = called("survey", &survey.name);
    if beside.is_second {
        found.push(warning(
            Where::Survey(index, "Name"),
            format!("{name} stands twice"),
            "give each survey its own name",
        ));
    }
    calibration(survey, &name, index, found);
    let rows = Rows {
        survey,
        index,
        units: beside.units,
    };
    rows.same(found);
    rows.moved(found);
    rows.places(beside, found);
    let range = survey.radiometer.as_ref().and_then(|r| r.range);
    for (row, reading) in survey.readings.iter().enumerate() {
        if reading.excluded.is_none() {
            rows.height(row, reading, beside.face_height, found);
        }
        rows.irradiance(row, reading, range, found);
    }
    all
}

fn calibration(survey: &Survey, name: &str, index: usize, found: &mut Vec<Finding>) {
    let Some(radiometer) = &survey.radiometer else {
        if !survey.readings.is_empty() {
            found.push(note(
                Where::Survey(index, "Radiometer"),
                format!("{name} does not say which radiometer was used"),
                "choose it, so that its calibration counts in the answer",
            ));
        }
        return;
    };
    let (date, radiometer_name) = (survey.date, called("radiometer", &radiometer.name));
    if let Some(due) = radiometer.due.filter(|&due| due < date) {
        found.push(warning(
            Where::Survey(index, "Radiometer"),
            format!(
                "{name} was read on {date}, the calibration of {radiometer_name} ended on {due}"
            ),
            "have the radiometer calibrated, or correct the dates",
        ));
    }
    if let Some(on) = radiometer.calibrated_on.filter(|&on| on > date) {
        found.push(warning(
            Where::Survey(index, "Radiometer"),
            format!("{name} was read on {date}, before {radiometer_name} was calibrated on {on}"),
            "choose the calibration that counted that day, or correct the dates",
        ));
    }
}

/// Equal for readings of the same position, height and repeat, and hardly ever for others.
fn mark(reading: &Reading) -> u64 {
    // Fibonacci hashing (Knuth, The Art of Computer Programming 3, 6.4)
    let mix =
        |mark: u64, more: u64| (mark.rotate_left(23) ^ more).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mut mark = mix(u64::from(reading.repeat), reading.height.to_bits());
    if reading.position.is_empty() {
        mark = mix(mix(mark, reading.x.to_bits()), reading.y.to_bits());
    }
    reading
        .position
        .bytes()
        .fold(mark, |mark, byte| mix(mark, u64::from(byte)))
}

/// A survey's readings, with what names them.
struct Rows<'a> {
    survey: &'a Survey,
    index: usize,
    units: Units,
}

impl Rows<'_> {
    fn place(&self, row: usize) -> Where {
        Where::Reading(self.index, row)
    }

    /// `reading 12 (B3) of survey baseline`
    fn name(&self, row: usize) -> String {
        let position = &self.survey.readings[row].position;
        let survey = called("survey", &self.survey.name);
        if position.is_empty() {
            format!("reading {} of {survey}", row + 1)
        } else {
            format!("reading {} ({position}) of {survey}", row + 1)
        }
    }

    /// The same repeat of the same position and height twice.
    fn same(&self, found: &mut Vec<Finding>) {
        // of a scan nearly always none: that is seen without a table of all of them
        let mut marks: Vec<u64> = self.survey.readings.iter().map(mark).collect();
        marks.sort_unstable();
        if marks.windows(2).all(|pair| pair[0] != pair[1]) {
            return;
        }
        let keys = self.survey.readings.iter().map(|r| {
            let place = r
                .position
                .is_empty()
                .then(|| (r.x.to_bits(), r.y.to_bits()));
            (&r.position, place, r.height.to_bits(), r.repeat)
        });
        for (row, first) in repeated(keys) {
            found.push(warning(
                self.place(row),
                format!(
                    "{} has the same position, height and repeat as reading {}",
                    self.name(row),
                    first + 1
                ),
                "give it the next repeat or delete it",
            ));
        }
    }

    /// One name at two places.
    fn moved(&self, found: &mut Vec<Finding>) {
        let mut first: HashMap<&str, (usize, &Reading)> = HashMap::new();
        for (row, reading) in self.survey.readings.iter().enumerate() {
            if reading.position.is_empty() || reading.excluded.is_some() {
                continue;
            }
            let &mut (first_row, one) = first.entry(&reading.position).or_insert((row, reading));
            let (a, b) = (one.place().point(), reading.place().point());
            if a.distance(b) > SAME_PLACE {
                found.push(warning(
                    self.place(row),
                    format!(
                        "{} lies at {}, reading {} of that position at {}",
                        self.name(row),
                        at(b, self.units.length),
                        first_row + 1,
                        at(a, self.units.length)
                    ),
                    "correct x and y, or give the position another name",
                ));
            }
        }
    }

    fn places(&self, beside: &Beside, found: &mut Vec<Finding>) {
        let seats = Seats::of(beside.stand.clone(), &beside.keep_outs);
        let body = self.survey.radiometer.as_ref().map(|r| &r.body);
        for (row, reading) in self.survey.readings.iter().enumerate() {
            // where an excluded reading was taken is of no account
            if reading.excluded.is_some() {
                continue;
            }
            let point = reading.place().point();
            let Some(seat) = seats.wrong(point, body) else {
                continue;
            };
            let what = format!("{} {}", self.name(row), seat.what(point, self.units.length));
            let counts = reading.counted().is_some();
            found.push(match seat {
                Seat::OutsideFixture if counts => warning(
                    self.place(row),
                    what,
                    "correct x and y, say that the pallet was out, or exclude the reading: until then it counts, and the field is drawn towards it there",
                ),
                Seat::OutsidePlate if counts => warning(
                    self.place(row),
                    what,
                    "correct x and y or the plate, or exclude the reading: until then it counts, and the field is drawn towards it there",
                ),
                Seat::OutsideFixture | Seat::OutsidePlate => {
                    warning(self.place(row), what, "correct x and y")
                }
                Seat::InKeepOut(_) => {
                    note(self.place(row), what, "check x and y; a detector could not sit there")
                }
                Seat::BodyOverRim | Seat::BodyOverPlate | Seat::BodyOverKeepOut(_) => note(
                    self.place(row),
                    what,
                    "check x and y and the size of the body; it had no room there",
                ),
            });
        }
    }

    fn height(&self, row: usize, reading: &Reading, face: f64, found: &mut Vec<Finding>) {
        if reading.height >= face {
            found.push(warning(
                self.place(row),
                format!(
                    "{} at height {} is not below the face at {}",
                    self.name(row),
                    self.units.length.show_with_unit(reading.height),
                    self.units.length.show_with_unit(face)
                ),
                "correct the height or the face height",
            ));
        } else if reading.height < 0.0 {
            found.push(note(
                self.place(row),
                format!(
                    "{} at height {} is below the fixture's base",
                    self.name(row),
                    self.units.length.show_with_unit(reading.height)
                ),
                "heights are measured upwards from the base; check the sign",
            ));
        }
    }

    fn irradiance(
        &self,
        row: usize,
        reading: &Reading,
        range: Option<f64>,
        found: &mut Vec<Finding>,
    ) {
        if let Some(reason) = &reading.excluded {
            if reason.trim().is_empty() {
                found.push(note(
                    self.place(row),
                    format!("{} is excluded without a reason", self.name(row)),
                    "type why it does not count",
                ));
            }
            return;
        }
        if reading.saturated {
            found.push(note(
                self.place(row),
                format!("{} is saturated and does not count", self.name(row)),
                "read it again in a wider range",
            ));
            return;
        }
        let Some(value) = reading.irradiance else {
            return;
        };
        if value < 0.0 {
            found.push(warning(
                self.place(row),
                format!(
                    "{} is negative: {}",
                    self.name(row),
                    self.units.irradiance.show_with_unit(value, None)
                ),
                "zero the radiometer and read it again, or exclude it",
            ));
        } else if value == 0.0 {
            found.push(warning(
                self.place(row),
                format!("{} is zero and does not count", self.name(row)),
                "read it again, or clear it if it was never read",
            ));
        } else if let Some(range) = range.filter(|&range| value > range) {
            found.push(warning(
                self.place(row),
                format!(
                    "{} of {} is above the radiometer's range of {}",
                    self.name(row),
                    self.units.irradiance.show_with_unit(value, None),
                    self.units.irradiance.show_with_unit(range, None)
                ),
                "correct it, or mark it as saturated",
            ));
        }
    }
}
