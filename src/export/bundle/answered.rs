//! The answer that sheets of a survey are made from, and what its log tells.

use super::sheets::Sheets;
use super::wanted::Bundle;
use crate::assess::Assessment;
use crate::assess::limits::Outlook;
use crate::export::field_csv;
use crate::export::no_bundle::NoBundle;
use crate::field::Raster;
use crate::progress::Progress;
use crate::upkeep::{MonitorTerms, Review};

/// Distance of the nodes of the field file, mm.
const FIELD_STEP: f64 = 2.0;

/// What the sheets of a survey are made from.
pub(super) struct Answered {
    pub(super) assessed: Assessment,
    pub(super) outlook: Option<Outlook>,
    pub(super) height: f64,
}

impl Answered {
    /// `None` where no sheet needs an answer, or where there is none yet and the station sheet alone would show it: its blanks
    /// are filled in by hand.
    pub(super) fn for_sheets(
        bundle: &Bundle<'_>,
        progress: &Progress,
    ) -> Result<Option<Self>, NoBundle> {
        let sheets = bundle.sheets;
        let must = sheets.map || sheets.field || sheets.summary;
        if !must && !sheets.sheet && !sheets.log && !sheets.report {
            return Ok(None);
        }
        match Self::of(bundle, progress) {
            Err(NoBundle::NoAnswer(_)) if !must => Ok(None),
            answered => answered.map(Some),
        }
    }

    fn of(bundle: &Bundle<'_>, progress: &Progress) -> Result<Self, NoBundle> {
        let station = bundle.station;
        let units = bundle.units();
        let assessed = match bundle.fit {
            Some(fit) => Assessment::of_fit(fit.clone(), station, &bundle.request, progress)?,
            None => Assessment::of(station, &bundle.request, progress)?,
        };
        let assessed = assessed.in_units(station, units)?;
        let sheets = bundle.sheets;
        let is_told = sheets.map || sheets.summary || sheets.sheet;
        let outlook = if is_told || sheets.log || sheets.report {
            let show = |e| bundle.irradiance.show_with_unit(e, None);
            assessed.outlook(station, &show, progress)?
        } else {
            None
        };
        Ok(Self {
            height: (bundle.map_height).unwrap_or(assessed.answer.coldest.at.height),
            assessed,
            outlook,
        })
    }

    /// The field as a table for other programs.
    pub(super) fn field(
        &self,
        bundle: &Bundle<'_>,
        progress: &Progress,
    ) -> Result<String, NoBundle> {
        let (field, outline) = (&self.assessed.fit.field, bundle.station.fixture.footprint());
        let mut raster = Raster::of(field, &outline, self.height, FIELD_STEP, progress)?;
        raster.mark_beyond_positions(field);
        Ok(field_csv(&raster))
    }
}

/// What the irradiance log tells, where its pages are wanted and it has entries.
pub(super) fn reviewed(
    bundle: &Bundle<'_>,
    answered: Option<&Answered>,
    progress: &Progress,
) -> Result<Option<Review>, NoBundle> {
    let station = bundle.station;
    let upkeep = station.upkeep();
    if !bundle.sheets.log {
        return Ok(None);
    }
    if upkeep.log.is_empty() {
        return match bundle.sheets == Sheets::ALL {
            true => Ok(None),
            false => Err(NoBundle::NoAnswer(
                "there is no irradiance log yet; log readings in the step Upkeep, or 'evenfield log STATION --add FILE'".to_owned(),
            )),
        };
    }
    let outlook = answered.and_then(|a| Some((a, a.outlook.as_ref()?)));
    let terms = match outlook {
        Some((answered, outlook)) => {
            let answer = &answered.assessed.answer;
            MonitorTerms::of(station, &bundle.request, answer, outlook)
        }
        None => MonitorTerms::without(station),
    };
    let today = bundle.made.today;
    Ok(Some(Review::of(station, &upkeep, terms, today, progress)?))
}
