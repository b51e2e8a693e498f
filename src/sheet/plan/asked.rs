//! What the pages of a plan are made of.

use crate::record::PlanRecord;
use crate::sheet::page::PaperSize;
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit};

/// What the pages of a plan are made of.
#[derive(Debug, Clone, Copy)]
pub struct PlanSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// Its stops, in the order in which they are visited.
    pub record: &'a PlanRecord,
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}
