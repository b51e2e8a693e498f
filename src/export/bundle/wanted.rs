//! What is wanted of the sheets of a station.

use jiff::civil::Date;

use super::sheets::Sheets;
use crate::assess::{Request, SurveyFit};
use crate::export::placed::Arranged;
use crate::files::{Digest, Trail};
use crate::sheet::colour::ColourMap;
use crate::sheet::page::PaperSize;
use crate::sheet::report::MadeFrom;
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, Units};

/// What to make and how.
#[derive(Debug, Clone, Copy)]
pub struct Bundle<'a> {
    /// The document.
    pub station: &'a Station,
    /// Which survey, by which family.
    pub request: Request,
    /// The field of that survey, where it was fitted before; otherwise it is fitted.
    pub fit: Option<&'a SurveyFit>,
    /// Height of the map and the field file, mm; `None`: that of the coldest spot.
    pub map_height: Option<f64>,
    /// Which sheets.
    pub sheets: Sheets,
    /// For lengths on paper.
    pub length: LengthUnit,
    /// For irradiance on paper.
    pub irradiance: IrradianceUnit,
    /// What is arranged on the placement's sheets; `None`: rows of as many as fit of the part that the station speaks of.
    pub arranged: Option<&'a Arranged>,
    /// The paper.
    pub paper: PaperSize,
    /// The colours of the map.
    pub colours: ColourMap,
    /// From and to which irradiance they go, mW/cm²; `None`: from the map's least to its greatest.
    pub range: Option<[f64; 2]>,
    /// From and to which uncertainty, percent (k = 2), those of the map of it go; `None` as above.
    pub uncertainty_range: Option<[f64; 2]>,
    /// When and from which file it is made.
    pub made: MadeOn<'a>,
}

/// When, and from which file, sheets are made.
#[derive(Debug, Clone, Copy)]
pub struct MadeOn<'a> {
    /// The day.
    pub today: Date,
    /// Who saved the file when; empty where it keeps no trail.
    pub trail: &'a Trail,
    /// The first and the last day of the log that is shown.
    pub period: (Option<Date>, Option<Date>),
}

impl MadeOn<'_> {
    /// What pages of this document say at their foot; `None`: nobody answers for its record.
    pub fn made_from(&self, station: &Station) -> Option<MadeFrom> {
        if station.papers.is_none() && self.trail.is_empty() {
            return None;
        }
        let digest = Digest::of(station);
        let last = self.trail.entries().last();
        Some(MadeFrom {
            revision: self.trail.revision(),
            is_changed: last.is_some_and(|last| last.document != digest),
            digits: digest.on_page(),
        })
    }
}

impl Bundle<'_> {
    pub(super) fn units(&self) -> Units {
        Units {
            length: self.length,
            irradiance: self.irradiance,
        }
    }
}
