//! A round at the bench: the rows of a survey are its stops, in their order.

use super::{Reading, Survey};

impl Reading {
    /// Nothing is left to do there: it was read, the meter was over range, or it does not count for a reason.
    pub fn is_done(&self) -> bool {
        self.irradiance.is_some() || self.saturated || self.excluded.is_some()
    }
}

impl Survey {
    /// The next stop at which something is left to do, from a row on, then from the first one on.
    pub fn next_stop(&self, from: usize) -> Option<usize> {
        let from = from.min(self.readings.len());
        let open = |row: &usize| !self.readings[*row].is_done();
        (from..self.readings.len()).chain(0..from).find(open)
    }

    /// The stops after a row at which something is left to do, in their order.
    pub fn stops_after(&self, row: usize) -> impl Iterator<Item = usize> + '_ {
        let rows = self.readings.iter().enumerate().skip(row + 1);
        rows.filter(|(_, r)| !r.is_done()).map(|(i, _)| i)
    }

    /// How many stops are done, of how many.
    pub fn done(&self) -> (usize, usize) {
        let done = self.readings.iter().filter(|r| r.is_done()).count();
        (done, self.readings.len())
    }

    /// A row to read the place of another one again, right behind it: the reading that is there stays.
    pub fn again(&self, row: usize) -> Option<Reading> {
        let of = self.readings.get(row)?;
        let same = |r: &&Reading| r.position == of.position && r.place() == of.place();
        let last = self.readings.iter().filter(same).map(|r| r.repeat).max();
        Some(Reading {
            position: of.position.clone(),
            repeat: last.unwrap_or(0).saturating_add(1),
            ..Reading::new(of.place(), None)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Place;
    use crate::station::Station;
    use jiff::civil::date;

    fn survey() -> Survey {
        let station = Station::new(
            "s",
            crate::geometry::Shape::Rectangle {
                width: 100.0,
                depth: 80.0,
            },
            60.0,
        );
        let mut survey = station.new_survey("r", date(2026, 3, 4));
        survey.readings = (0..4)
            .map(|i| Reading::new(Place::new(20.0 * f64::from(i), 10.0, 0.0), None))
            .collect();
        survey
    }

    #[test]
    fn a_round_goes_on_where_something_is_left() {
        let mut survey = survey();
        assert_eq!(survey.next_stop(0), Some(0));
        survey.readings[0].irradiance = Some(80.0);
        survey.readings[1].excluded = Some("no room for the detector".into());
        survey.readings[2].saturated = true;
        assert_eq!(survey.next_stop(1), Some(3));
        assert_eq!(survey.done(), (3, 4));
        survey.readings[3].irradiance = Some(81.0);
        survey.readings[1].excluded = None;
        // what was left behind comes last
        assert_eq!(survey.next_stop(4), Some(1));
        survey.readings[1].irradiance = Some(82.0);
        assert_eq!(survey.next_stop(2), None);
    }

    #[test]
    fn reading_again_is_the_next_repeat() {
        let mut survey = survey();
        survey.readings[2].irradiance = Some(80.0);
        let again = survey.again(2).expect("a row");
        assert_eq!((again.repeat, again.irradiance), (2, None));
        assert_eq!(again.place(), survey.readings[2].place());
        survey.readings.push(again);
        assert_eq!(survey.again(2).expect("a row").repeat, 3);
        assert!(survey.again(9).is_none());
    }
}
