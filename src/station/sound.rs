//! Which numbers a station may hold at all. An edit that brings others is refused, a file that holds
//! others is not opened; so whatever works on a station need not fear a size of zero or a height
//! that is not a number. What is sound and still odd is said by [`check`](Station::check).

use super::bond::reflectance;
use super::numbers::{
    BRIGHTEST, Fault, LONGEST, MOST_HEIGHTS, Sound, above_zero, count_of_places, fault, footprint,
    length, not_negative, number, optional, pitch, point, rows_and_columns, shape, turn,
};
use super::trials::{Exposure, Trials, Wrong};
use super::{
    Bond, Bores, Cycle, Fixture, KeepOut, LedArray, LocatedBy, Plan, PlanLayout, Plate, Radiometer,
    Reading, Reference, Rim, Scatter, Settings, SiteGroup, SiteLayout, Source, SourceState,
    Station, Survey, Upkeep, Where,
};

/// A number that can't be, as what is wrong and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsound {
    /// Where it stands.
    pub place: Where,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub mend: String,
}

impl Source {
    /// With the label of the field that is wrong.
    pub(super) fn sound(&self) -> Result<(), (&'static str, Fault)> {
        above_zero("face height", self.face_height, LONGEST).map_err(|f| ("Face height", f))?;
        if let Some(face) = &self.face {
            footprint("face", face).map_err(|f| ("Face", f))?;
        }
        match &self.array {
            Some(array) => array.sound().map_err(|f| ("Rows of LEDs", f)),
            None => Ok(()),
        }
    }
}

impl LedArray {
    fn sound(&self) -> Sound {
        rows_and_columns("LED panel", self.columns, self.rows)?;
        pitch("pitch of the LEDs along x", self.pitch_x, self.columns)?;
        pitch("pitch of the LEDs along y", self.pitch_y, self.rows)
    }
}

impl Plate {
    fn sound(&self) -> Sound {
        point("front left corner of the plate", self.corner)?;
        above_zero("width of the plate", self.width, LONGEST)?;
        above_zero("depth of the plate", self.depth, LONGEST)
    }
}

impl Reference {
    fn sound(&self) -> Sound {
        length("height of the reference position", self.height)?;
        if self.every == Some(0) {
            return fault(
                "the reference position is visited every 0 readings",
                "type a number above zero, or none",
            );
        }
        Ok(())
    }
}

impl Cycle {
    fn sound(&self) -> Sound {
        let seconds = [
            self.open,
            self.place,
            self.close,
            self.settle,
            self.expose,
            self.read,
            self.change,
        ];
        (seconds.into_iter()).try_for_each(|s| not_negative("time of a step of the cycle", s, 1e5))
    }
}

impl Bores {
    fn sound(&self) -> Sound {
        not_negative("clearance of the bores", self.clearance, LONGEST)?;
        not_negative("web between bores", self.web, LONGEST)?;
        match self.located {
            LocatedBy::Edges => Ok(()),
            LocatedBy::Pins { diameter, at } => {
                above_zero("diameter of the pins", diameter, LONGEST)?;
                point("first pin", at.0)?;
                point("second pin", at.1)
            }
        }
    }
}

impl Fixture {
    pub(super) fn sound(&self) -> Sound {
        shape("fixture", &self.shape)?;
        self.rim.as_ref().map_or(Ok(()), Rim::sound)?;
        optional(self.reflectance_percent, reflectance)
    }
}

impl SiteGroup {
    pub(super) fn sound(&self) -> Sound {
        shape("part", &self.shape)?;
        turn("part", self.turn)?;
        length("height of the bond line", self.height)?;
        optional(self.top, |top| above_zero("top of the part", top, LONGEST))?;
        self.bond.as_ref().map_or(Ok(()), Bond::sound)?;
        match self.layout {
            SiteLayout::Single { centre } => point("part", centre),
            SiteLayout::Grid {
                first,
                columns,
                rows,
                pitch_x,
                pitch_y,
            } => {
                point("first part", first)?;
                rows_and_columns("group of sites", columns, rows)?;
                pitch("pitch along x", pitch_x, columns)?;
                pitch("pitch along y", pitch_y, rows)
            }
            SiteLayout::Ring {
                centre,
                radius,
                count,
                from,
                ..
            } => {
                point("ring", centre)?;
                above_zero("radius of the ring", radius, LONGEST)?;
                rows_and_columns("ring of sites", count, 1)?;
                turn("first part", from)
            }
        }
    }

    /// How many sites the group writes out.
    pub(super) fn count(&self) -> u64 {
        match self.layout {
            SiteLayout::Single { .. } => 1,
            SiteLayout::Grid { columns, rows, .. } => u64::from(columns) * u64::from(rows),
            SiteLayout::Ring { count, .. } => u64::from(count),
        }
    }
}

/// Whether so many groups of sites can be written out.
pub(super) fn count_of_sites<'a>(groups: impl Iterator<Item = &'a SiteGroup>) -> Sound {
    count_of_places("sites", groups.map(SiteGroup::count).sum())
}

/// A measured directional response.
fn response(points: &[(f64, f64)]) -> Sound {
    let mut last = 0.0;
    for &(angle, of_cosine) in points {
        number("angle of the angular response", angle, 90.0)?;
        if angle <= last {
            return fault(
                format!("the angular response has {angle} degrees after {last}"),
                "type angles above 0 degrees, each larger than the one before",
            );
        }
        last = angle;
        above_zero("angular response", of_cosine, 2.0)?;
    }
    Ok(())
}

impl KeepOut {
    pub(super) fn sound(&self) -> Sound {
        footprint("keep-out", &self.footprint)?;
        optional(self.height, |v| {
            above_zero("height of the keep-out", v, LONGEST)
        })
    }
}

impl Radiometer {
    /// With the label of the field that is wrong.
    pub(super) fn sound(&self) -> Result<(), (&'static str, Fault)> {
        let percent = |label, value| optional(value, |v| not_negative(label, v, 1e4));
        let fields = [
            ("Body", shape("detector's body", &self.body)),
            (
                "Aperture",
                optional(self.aperture_diameter, |v| {
                    above_zero("diameter of the aperture", v, LONGEST)
                }),
            ),
            (
                "Sensing plane",
                length("height of the sensing plane", self.sensing_plane),
            ),
            (
                "Angular error",
                percent("angular error", self.angular_error_percent),
            ),
            ("Angular response", response(&self.angular_response)),
            (
                "Resolution",
                optional(self.resolution, |v| {
                    not_negative("resolution", v, BRIGHTEST)
                }),
            ),
            (
                "Range",
                optional(self.range, |v| above_zero("range", v, BRIGHTEST)),
            ),
            (
                "Uncertainty",
                percent("expanded uncertainty", self.expanded_uncertainty_percent),
            ),
            (
                "Coverage factor",
                above_zero("coverage factor", self.coverage_factor, 100.0),
            ),
        ];
        for (field, sound) in fields {
            sound.map_err(|fault| (field, fault))?;
        }
        Ok(())
    }
}

impl Plan {
    /// With the label of the field that is wrong.
    pub(super) fn sound(&self) -> Result<(), (&'static str, Fault)> {
        if self.heights.len() > MOST_HEIGHTS {
            return fault(
                format!("the plan has {} heights", self.heights.len()),
                format!("have at most {MOST_HEIGHTS}"),
            )
            .map_err(|f| ("Heights", f));
        }
        for &height in &self.heights {
            length("height of the plan", height).map_err(|f| ("Heights", f))?;
        }
        if let Some(plate) = &self.plate {
            plate.sound().map_err(|f| ("Plate", f))?;
        }
        if let Some(reference) = &self.reference {
            reference.sound().map_err(|f| ("Reference", f))?;
        }
        if let Some(cycle) = &self.cycle {
            cycle.sound().map_err(|f| ("Cycle", f))?;
        }
        if let Some(bores) = &self.bores {
            bores.sound().map_err(|f| ("Bores", f))?;
        }
        match &self.layout {
            &PlanLayout::Grid {
                columns,
                rows,
                margin,
            } => {
                rows_and_columns("plan", columns, rows)
                    .and_then(|()| {
                        count_of_places("positions", u64::from(columns) * u64::from(rows))
                    })
                    .map_err(|f| ("Rows and columns", f))?;
                not_negative("margin", margin, LONGEST).map_err(|f| ("Margin", f))
            }
            PlanLayout::ByHand(positions) => {
                count_of_places("positions", positions.len() as u64)
                    .map_err(|f| ("Positions", f))?;
                positions.iter().try_for_each(|p| {
                    point(&format!("position {}", p.name), p.at).map_err(|f| ("Positions", f))
                })
            }
        }
    }
}

impl SourceState {
    /// With the label of the field that is wrong.
    fn sound(&self) -> Result<(), (&'static str, Fault)> {
        optional(self.face_height, |v| above_zero("face height", v, LONGEST))
            .map_err(|f| ("Face height", f))?;
        optional(self.lamp_hours, |v| {
            not_negative("hours on the lamp", v, 1e7)
        })
        .map_err(|f| ("Lamp hours", f))?;
        optional(self.minutes_on, |v| {
            not_negative("minutes since ignition", v, 1e9)
        })
        .map_err(|f| ("Minutes on", f))
    }
}

impl Survey {
    /// All but the readings, with the label of the field that is wrong.
    pub(super) fn details_sound(&self) -> Result<(), (&'static str, Fault)> {
        if let Some(radiometer) = &self.radiometer {
            radiometer
                .sound()
                .map_err(|(_, fault)| ("Radiometer", fault))?;
        }
        self.state.sound()
    }

    /// The numbers that can't be in the survey of that index.
    pub(super) fn unsound(&self, index: usize) -> Vec<Unsound> {
        let details = self.details_sound().err();
        let details = details.map(|(field, fault)| (Where::Survey(index, field), fault));
        let rows = self.readings.iter().enumerate();
        let readings = rows.filter_map(|(row, reading)| {
            let fault = reading.sound().err()?;
            Some((Where::Reading(index, row), fault))
        });
        let all = details.into_iter().chain(readings);
        all.map(|(place, (what, mend))| Unsound { place, what, mend })
            .collect()
    }
}

impl Settings {
    /// With the label of the field that is wrong.
    pub(super) fn sound(&self) -> Result<(), (&'static str, Fault)> {
        let Some(Scatter {
            noise_percent,
            placement,
        }) = self.scatter
        else {
            return Ok(());
        };
        above_zero("noise of a reading", noise_percent, 100.0).map_err(|f| ("Scatter", f))?;
        optional(placement, |mm| {
            not_negative("error of placement", mm, LONGEST)
        })
        .map_err(|f| ("Scatter", f))
    }
}

impl Reading {
    /// Whether its numbers can be.
    pub(crate) fn sound(&self) -> Sound {
        length("x of the reading", self.x)?;
        length("y of the reading", self.y)?;
        length("height of the reading", self.height)?;
        optional(self.irradiance, |v| number("irradiance", v, BRIGHTEST))?;
        optional(self.minute, |v| number("minute", v, 1e9))?;
        if self.repeat == 0 {
            return fault("the repeat is 0", "count the readings of a position from 1");
        }
        Ok(())
    }
}

impl Station {
    /// The numbers that can't be, in the order of the steps; of each part the first one. A station
    /// that was only changed by edits has none.
    pub fn unsound(&self) -> Vec<Unsound> {
        self.unsound_with(|survey| self.surveys[survey].unsound(survey))
    }

    /// As [`unsound`](Self::unsound), for who knows already what [`Survey::unsound`] says of each survey.
    pub(super) fn unsound_with(&self, of_survey: impl Fn(usize) -> Vec<Unsound>) -> Vec<Unsound> {
        let mut all = Vec::new();
        let mut note = |place: Where, (what, mend): Fault| {
            all.push(Unsound { place, what, mend });
        };
        if let Err((field, fault)) = self.source.sound() {
            note(Where::Source(field), fault);
        }
        if let Err(fault) = self.fixture.sound() {
            note(Where::Fixture("Outline"), fault);
        }
        for (i, group) in self.sites.iter().enumerate() {
            if let Err(fault) = group.sound() {
                note(Where::Sites(i), fault);
            }
        }
        if let Err(fault) = count_of_sites(self.sites.iter()) {
            note(Where::Sites(self.sites.len().saturating_sub(1)), fault);
        }
        for (i, keep_out) in self.keep_outs.iter().enumerate() {
            if let Err(fault) = keep_out.sound() {
                note(Where::KeepOut(i), fault);
            }
        }
        for (i, radiometer) in self.radiometers.iter().enumerate() {
            if let Err((field, fault)) = radiometer.sound() {
                note(Where::Radiometer(i, field), fault);
            }
        }
        if let Err((field, fault)) = self.settings.sound() {
            note(Where::Settings(field), fault);
        }
        if let Some(Err((field, fault))) = self.limits.as_ref().map(|l| l.sound()) {
            note(Where::Limits(field), fault);
        }
        if let Err((field, fault)) = self.plan.sound() {
            note(Where::Plan(field), fault);
        }
        for unsound in (0..self.surveys.len()).flat_map(of_survey) {
            note(unsound.place, (unsound.what, unsound.mend));
        }
        match self.trials.as_ref().map_or(Ok(()), Trials::sound) {
            Err((Wrong::Field(field), fault)) => note(Where::Trials(field), fault),
            Err((Wrong::Part(row), fault)) => note(Where::Trial(row), fault),
            Ok(()) => {}
        }
        if let Some(Err((field, fault))) = self.exposure.as_ref().map(Exposure::sound) {
            note(Where::Exposure(field), fault);
        }
        if let Some(upkeep) = &self.upkeep {
            if let Err(fault) = upkeep.sound_but_log() {
                note(Where::Upkeep("Events"), fault);
            }
            if let Err(fault) = Upkeep::log_may_have(upkeep.log.len()) {
                note(Where::Upkeep("Log"), fault);
            }
            for (row, entry) in upkeep.log.iter().enumerate() {
                if let Err(fault) = entry.sound() {
                    note(Where::LogEntry(row), fault);
                }
            }
        }
        all
    }
}
