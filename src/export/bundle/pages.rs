//! The pages of each document.

use super::answered::Answered;
use super::sheets::Sheets;
use super::wanted::Bundle;
use crate::assess::Assessment;
use crate::export::no_bundle::NoBundle;
use crate::export::placed::Arranged;
use crate::field::{Map, Raster};
use crate::probing::plate::Plates;
use crate::progress::Progress;
use crate::record::PlanRecord;
use crate::sheet::against::Against;
use crate::sheet::map::{MapSheet, map_pages};
use crate::sheet::page::Page;
use crate::sheet::plan::{PlanSheet, plan_pages};
use crate::sheet::plate::{PlateSheet, plate_pages};
use crate::sheet::posted::{StationSheet, station_pages};
use crate::sheet::upkeep::{LogSheet, log_pages};
use crate::upkeep::Review;

/// Nodes along the longer side of the map against the limits.
const AGAINST: f64 = 150.0;
/// Nodes along the longer side of the map of uncertainty.
const UNCERTAINTY: usize = 110;

pub(super) const MAP: &str = "Map of irradiance";
pub(super) const PLAN: &str = "Probe-position plan";
pub(super) const PLATE: &str = "Locating plate";
pub(super) const SHEET: &str = "Station sheet";
pub(super) const PLACEMENT: &str = "Placement";
pub(super) const LOG: &str = "Irradiance log";
pub(super) const REPORT: &str = "Report";

/// What is arranged.
pub(super) fn arranged(bundle: &Bundle<'_>, progress: &Progress) -> Result<Arranged, NoBundle> {
    match bundle.arranged {
        Some(arranged) => Ok(arranged.clone()),
        None => Ok(Arranged::of(
            bundle.station,
            &bundle.request,
            bundle.units(),
            progress,
        )?),
    }
}

/// The pages of the plan.
pub(super) fn plan(bundle: &Bundle<'_>, record: &PlanRecord) -> Vec<Page> {
    plan_pages(&PlanSheet {
        station: bundle.station,
        record,
        length: bundle.length,
        irradiance: bundle.irradiance,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// The plates, where they are wanted. Asked for with all the rest, a plan that can't have any goes without.
pub(super) fn plates(bundle: &Bundle<'_>) -> Result<Option<Plates>, NoBundle> {
    if !bundle.sheets.plate {
        return Ok(None);
    }
    match Plates::of(bundle.station) {
        Err(_) if bundle.sheets == Sheets::ALL => Ok(None),
        plates => Ok(Some(
            plates.map_err(|why| NoBundle::NoAnswer(why.to_string()))?,
        )),
    }
}

/// The pages of the plates.
pub(super) fn plate(bundle: &Bundle<'_>, plates: &Plates) -> Vec<Page> {
    plate_pages(&PlateSheet {
        station: bundle.station,
        plates,
        length: bundle.length,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// The station sheet.
pub(super) fn sheet(bundle: &Bundle<'_>, answered: Option<&Answered>) -> Vec<Page> {
    station_pages(&StationSheet {
        station: bundle.station,
        answered: answered.map(|a| (&a.assessed.answer, a.outlook.as_ref())),
        length: bundle.length,
        irradiance: bundle.irradiance,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// The pages of the log.
pub(super) fn log(bundle: &Bundle<'_>, review: &Review) -> Vec<Page> {
    log_pages(&LogSheet {
        station: bundle.station,
        review,
        period: bundle.made.period,
        units: bundle.units(),
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// The pages of the map.
pub(super) fn map(
    bundle: &Bundle<'_>,
    answered: &Answered,
    progress: &Progress,
) -> Result<Vec<Page>, NoBundle> {
    let (station, height) = (bundle.station, answered.height);
    let Assessment { fit, answer, .. } = &answered.assessed;
    let (field, outline) = (&fit.field, station.fixture.footprint());
    let map = Map::of(field, &outline, height, Map::FINE, progress)?;
    // the map is that of the open: it can't say of a shadow what is not shown
    let against = match answer.judged().filter(|judged| !judged.unproven_at_bond) {
        Some(judged) => {
            let bounds = outline.bounds();
            let step = bounds.width().max(bounds.depth()) / AGAINST;
            let raster = Raster::of(field, &outline, height, step, progress)?;
            Some(Against::new(
                &raster,
                &outline,
                &judged.terms,
                answer.calibration,
            ))
        }
        None => None,
    };
    let uncertainty = Map::of_uncertainty(field, &outline, height, UNCERTAINTY, progress)?;
    Ok(map_pages(&MapSheet {
        station,
        answer,
        against: against.as_ref(),
        outlook: answered.outlook.as_ref(),
        uncertainty: uncertainty
            .as_ref()
            .map(|map| (map, bundle.uncertainty_range)),
        raster: &map.raster,
        contours: &map.contours,
        length: bundle.length,
        irradiance: bundle.irradiance,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
        colours: bundle.colours,
        range: bundle.range,
    }))
}
