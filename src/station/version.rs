//! The version of the format that a station needs: the lowest one that holds all of its parts, so that an older program
//! opens whatever it can.

use super::{Pallet, Plan, SiteGroup, SiteLayout, Station, Where};

/// The newest version of the format.
pub const NEWEST: u64 = 2;

impl Station {
    /// The lowest version of the format that holds this station.
    pub fn format_version(&self) -> u64 {
        if self.since_version_2().is_some() {
            2
        } else {
            1
        }
    }

    /// The first part that format version 1 does not have: where, and what it is.
    pub fn since_version_2(&self) -> Option<(Where, &'static str)> {
        if self.source.array.is_some() {
            return Some((Where::Source("Rows of LEDs"), "rows and columns of LEDs"));
        }
        if self.fixture.rim.is_some() {
            return Some((Where::Fixture("Rim height"), "a rim"));
        }
        if self.fixture.reflectance_percent.is_some() {
            return Some((Where::Fixture("Walls throw back"), "what walls throw back"));
        }
        let ring = |group: &SiteGroup| matches!(group.layout, SiteLayout::Ring { .. });
        if let Some(i) = self.sites.iter().position(ring) {
            return Some((Where::Sites(i), "a ring of sites"));
        }
        for (i, group) in self.sites.iter().enumerate() {
            if group.top.is_some() {
                return Some((Where::Sites(i), "the top of a part"));
            }
            if group.bond.is_some() {
                return Some((Where::Sites(i), "how a bond lies"));
            }
        }
        for (i, keep_out) in self.keep_outs.iter().enumerate() {
            if keep_out.height.is_some() {
                return Some((Where::KeepOut(i), "the height of a keep-out"));
            }
            if keep_out.stays {
                return Some((
                    Where::KeepOut(i),
                    "a keep-out that stays with the pallet out",
                ));
            }
        }
        if self.plan.plate.is_some() {
            return Some((Where::Plan("Plate"), "a plate"));
        }
        if let Some(part) = self.plan.since_version_2() {
            return Some(part);
        }
        let of_survey = self.surveys.iter().enumerate().find_map(|(i, survey)| {
            if survey.state.pallet == Pallet::Out {
                return Some((Where::Survey(i, "Pallet"), "a survey with the pallet out"));
            }
            if survey.began.is_some() {
                return Some((Where::Survey(i, "Began"), "when a round began"));
            }
            let reference = survey.reference.is_some();
            reference.then_some((
                Where::Survey(i, "Reference"),
                "the reference position of a survey",
            ))
        });
        let settings = &self.settings;
        of_survey
            .or(self
                .repeat
                .is_some()
                .then_some((Where::Repeat, "a repeat study")))
            .or(settings
                .drift
                .is_some()
                .then_some((Where::Settings("Drift"), "whether drift is taken out")))
            .or(settings
                .scatter
                .is_some()
                .then_some((Where::Settings("Scatter"), "how readings scatter")))
            .or(self
                .upkeep
                .is_some()
                .then_some((Where::Upkeep("Log"), "an irradiance log")))
            .or(self
                .papers
                .is_some()
                .then_some((Where::Upkeep("Papers"), "people who answer for the record")))
    }
}

impl Plan {
    fn since_version_2(&self) -> Option<(Where, &'static str)> {
        let parts = [
            (self.start.is_some(), "Start", "where the route begins"),
            (self.positions_first, "Order", "all heights at a position"),
            (
                self.reference.is_some(),
                "Reference",
                "a reference position",
            ),
            (self.cycle.is_some(), "Cycle", "what a reading takes"),
            (self.bores.is_some(), "Bores", "the bores of a plate"),
        ];
        let part = parts.into_iter().find(|(is_there, ..)| *is_there);
        part.map(|(_, field, what)| (Where::Plan(field), what))
    }
}
