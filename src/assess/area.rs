//! Where the field counts.

use super::fit::survey_of;
use super::{NoAnswer, Request, heights_of};
use crate::field::Area;
use crate::station::{AssessedArea, Site, Station};

/// The assessed area of a station for a request.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessed {
    /// The sites, in the order of the station; empty when the whole fixture counts.
    pub sites: Vec<Site>,
    /// The outlines with their heights: one a site, or the fixture alone.
    pub areas: Vec<Area>,
    /// The one height at which everything is assessed, mm; `None`: sites lie at several.
    pub height: Option<f64>,
    /// What had to be assumed, as sentences.
    pub assumed: Vec<String>,
}

/// Says where the field of a station counts.
///
/// # Errors
/// [`NoAnswer`] without a survey.
pub fn assessed_area(station: &Station, request: &Request) -> Result<Assessed, NoAnswer> {
    let (_, survey) = survey_of(station, request)?;
    let sites = match station.settings.area {
        AssessedArea::Sites => station.all_sites(),
        AssessedArea::Fixture => Vec::new(),
    };
    let mut assumed = Vec::new();
    if sites.is_empty() {
        let height = match request.height {
            Some(height) => height,
            None => {
                // The lowest is the furthest from the lamp: nearly always the dimmest.
                let lowest = heights_of(survey).first().copied().unwrap_or(0.0);
                assumed.push(format!(
                    "The whole fixture is assessed at {lowest} mm, the lowest measured height; describe the sites or name a height to assess another",
                ));
                lowest
            }
        };
        let outline = station.fixture.footprint();
        return Ok(Assessed {
            sites,
            areas: vec![Area { outline, height }],
            height: Some(height),
            assumed,
        });
    }
    if let Some(height) = request.height {
        assumed.push(format!(
            "All sites are assessed at {height} mm as asked, not at their own bond lines",
        ));
    }
    let areas = sites
        .iter()
        .map(|site| Area {
            outline: site.footprint.clone(),
            height: request.height.unwrap_or(site.height),
        })
        .collect();
    let shared = |areas: &Vec<Area>| {
        let first = areas.first()?.height;
        areas.iter().all(|a| a.height == first).then_some(first)
    };
    Ok(Assessed {
        sites,
        height: shared(&areas),
        areas,
        assumed,
    })
}
