//! Where the field counts.
//!
//! Without sites and without a height, the fixture is assessed at the lowest measured height, and says so.

use super::fit::survey_of;
use super::{NoAnswer, Request, heights_of};
use crate::field::Area;
use crate::geometry::Footprint;
use crate::station::{AssessedArea, Site, Station, Survey};
use crate::units::LengthUnit;

/// The assessed area of a station for a request.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessed {
    /// The sites, in the order of the station; empty when the whole fixture counts.
    pub sites: Vec<Site>,
    /// The outlines with their heights: one a site, or the fixture alone.
    pub areas: Vec<Area>,
    /// The one height at which everything is assessed, mm; `None`: sites lie at several.
    pub height: Option<f64>,
    /// What had to be assumed.
    pub assumed: Option<Assumed>,
}

/// What had to be assumed where the field is assessed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Assumed {
    /// The whole fixture at the lowest measured height, mm.
    Lowest(f64),
    /// All sites at one height, which was asked for, mm.
    AsAsked(f64),
}

impl Assumed {
    /// As a sentence.
    pub fn words(self, length: LengthUnit) -> String {
        match self {
            Self::Lowest(height) => format!(
                "The whole fixture is assessed at {}, the lowest measured height; describe the sites or name a height to assess another",
                length.show_with_unit(height)
            ),
            Self::AsAsked(height) => format!(
                "All sites are assessed at {} as asked, not at their own bond lines",
                length.show_with_unit(height)
            ),
        }
    }
}

/// Where the adhesive of a site is.
fn bond_outline(station: &Station, site: &Site) -> Footprint {
    let bond = station.sites.get(site.group).and_then(|g| g.bond.as_ref());
    bond.map_or_else(
        || site.footprint.clone(),
        |bond| bond.outline(&site.footprint),
    )
}

/// Says where the field of a station counts.
///
/// # Errors
/// [`NoAnswer`] without a survey.
pub fn assessed_area(station: &Station, request: &Request) -> Result<Assessed, NoAnswer> {
    let (_, survey) = survey_of(station, request)?;
    Ok(Assessed::of(station, survey, request))
}

impl Assessed {
    /// Where the field of that survey counts.
    pub fn of(station: &Station, survey: &Survey, request: &Request) -> Self {
        let sites = match station.settings.area {
            AssessedArea::Sites => station.all_sites(),
            AssessedArea::Fixture => Vec::new(),
        };
        let mut assumed = None;
        if sites.is_empty() {
            let height = match request.height {
                Some(height) => height,
                None => {
                    // The lowest is the furthest from the lamp: nearly always the dimmest.
                    let lowest = heights_of(survey).first().copied().unwrap_or(0.0);
                    assumed = Some(Assumed::Lowest(lowest));
                    lowest
                }
            };
            let outline = station.fixture.footprint();
            return Self {
                sites,
                areas: vec![Area { outline, height }],
                height: Some(height),
                assumed,
            };
        }
        if let Some(height) = request.height {
            assumed = Some(Assumed::AsAsked(height));
        }
        let areas = sites
            .iter()
            .map(|site| Area {
                outline: bond_outline(station, site),
                height: request.height.unwrap_or(site.height),
            })
            .collect();
        let shared = |areas: &Vec<Area>| {
            let first = areas.first()?.height;
            areas.iter().all(|a| a.height == first).then_some(first)
        };
        Self {
            sites,
            height: shared(&areas),
            areas,
            assumed,
        }
    }
}
