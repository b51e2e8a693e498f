//! The files of an arrangement.

use super::{Outlined, placement_csv, placement_dxf};
use crate::assess::limits::limits_of;
use crate::assess::{NoAnswer, Request, fit_survey};
use crate::geometry::Footprint;
use crate::placement::{Asked, Placed, Wanted, asked};
use crate::progress::Progress;
use crate::record::PlacementRecord;
use crate::sheet::page::{Page, PaperSize};
use crate::sheet::placement::{PlacementSheet, placement_pages};
use crate::station::{Bars, Station};
use crate::units::Units;

/// An arrangement that is written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Arranged {
    /// Which survey its field was made from.
    pub survey: usize,
    /// What was asked.
    pub asked: Asked,
    /// What came of it.
    pub placed: Placed,
}

impl Arranged {
    /// As many as fit, in rows, of the part that the station speaks of.
    pub(super) fn of(
        station: &Station,
        request: &Request,
        units: Units,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let fit = fit_survey(station, request, progress)?;
        let limits = limits_of(station, units);
        let asked = asked(station, &fit, limits.as_ref(), &Wanted::default(), units);
        let placed = asked.ask.place(&mut |_| {}, progress)?;
        Ok(Self {
            survey: fit.survey,
            asked,
            placed,
        })
    }

    fn record(&self, station: &Station) -> PlacementRecord {
        PlacementRecord::new(station, self.survey, &self.asked, &self.placed)
    }

    pub(super) fn pages(&self, station: &Station, units: Units, paper: PaperSize) -> Vec<Page> {
        placement_pages(&PlacementSheet {
            station,
            asked: &self.asked,
            placed: &self.placed,
            record: &self.record(station),
            length: units.length,
            irradiance: units.irradiance,
            paper,
            version: env!("CARGO_PKG_VERSION"),
        })
    }

    pub(super) fn csv(&self, station: &Station) -> String {
        placement_csv(&self.record(station))
    }

    pub(super) fn dxf(&self, station: &Station) -> String {
        let bars = station
            .keep_outs
            .iter()
            .filter(|k| k.bars != Bars::Detector);
        let keep_outs: Vec<Footprint> = bars.map(|k| k.footprint.clone()).collect();
        let stay: Vec<Outlined> = (self.asked.stay.iter())
            .map(|site| Outlined {
                footprint: site.footprint.clone(),
                name: site.name.clone(),
            })
            .collect();
        let parts: Vec<Outlined> = (self.placed.sites.iter())
            .map(|s| Outlined {
                footprint: self.asked.ask.part.at(s.centre, s.turned),
                name: s.rank.to_string(),
            })
            .collect();
        placement_dxf(&station.fixture.footprint(), &keep_outs, &stay, &parts)
    }
}
