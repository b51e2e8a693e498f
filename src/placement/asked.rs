//! The question, as it follows from a station: what stands on the fixture, which limits hold, how high the bond line is.

use std::sync::Arc;

use super::{Bar, Bars, Bed, Kind, Part, Passes, Surely, ToPlace, Wish};
use crate::assess::limits::{Scale, Terms, ToLimit, allowed};
use crate::assess::{Assessed, Request, Standing, SurveyFit, ToSearch};
use crate::geometry::{Footprint, Shape};
use crate::station::{Bars as Keeps, Site, Station};
use crate::units::Units;

/// What a person asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The part; `None`: that of the first site, else one of a tenth of the fixture.
    pub part: Option<Part>,
    /// From the fixture's outline inwards no part lies, mm.
    pub rim: f64,
    /// How they are arranged.
    pub kind: Kind,
    /// How many.
    pub wish: Wish,
    /// Of the bond line above the fixture's base, mm; `None`: that of the sites, else the lowest measured height.
    pub height: Option<f64>,
    /// Other limits than the station's, lower and upper, mW/cm².
    pub instead: [Option<f64>; 2],
    /// How many times as long as usual is searched for more parts anywhere.
    pub effort: usize,
    /// Names of sites that stay where they are.
    pub locked: Vec<String>,
}

impl Default for Wanted {
    fn default() -> Self {
        Self {
            part: None,
            rim: 0.0,
            kind: Kind::Rows { shifted: false },
            wish: Wish::Most,
            height: None,
            instead: [None, None],
            effort: 1,
            locked: Vec::new(),
        }
    }
}

/// The question and what had to be assumed.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The question.
    pub ask: ToPlace,
    /// Of the source's face when the survey was taken, above the fixture's base, mm.
    pub face_height: f64,
    /// How long parts are exposed, s, where it is known.
    pub exposure_s: Option<f64>,
    /// The slowest other step of the line, s, where it is known.
    pub slowest_step_s: Option<f64>,
    /// Sites that stay where they are.
    pub stay: Vec<Site>,
    /// Plain sentences.
    pub warnings: Vec<String>,
}

/// The part that a station speaks of: that of its first site, else one of a tenth of the fixture.
pub fn part_of(station: &Station) -> Part {
    let (shape, turn) = station.sites.first().map_or_else(
        || {
            let (w, d) = station.fixture.shape.size();
            let side = (0.1 * w.min(d)).round().max(1.0);
            (
                Shape::Rectangle {
                    width: side,
                    depth: side,
                },
                0.0,
            )
        },
        |group| (group.shape.clone(), group.turn),
    );
    // one that lies across is a part of the other size; one that lies askew is taken for the rectangle around it
    let around = Footprint {
        turn,
        ..Footprint::new(shape.clone(), Default::default())
    }
    .bounds();
    let shape = match shape {
        Shape::Circle { .. } => shape,
        _ => Shape::Rectangle {
            width: around.width(),
            depth: around.depth(),
        },
    };
    Part {
        shape,
        may_turn: false,
        clearance: 2.0,
        tolerance: 0.0,
    }
}

/// The bond line that a station speaks of, mm, and whether its sites have several.
fn bond_line(sites: &[Site]) -> Option<(f64, bool)> {
    let first = sites.first()?.height;
    Some((first, sites.iter().any(|s| s.height != first)))
}

/// The question for a station. `terms`: the limits that hold, or why there are none, where some are set.
pub fn asked(
    station: &Station,
    fit: &SurveyFit,
    limits: Option<&ToLimit>,
    wanted: &Wanted,
    units: Units,
) -> Asked {
    let mut warnings = Vec::new();
    let survey = station.surveys.get(fit.survey);
    let sites = station.all_sites();
    let length = units.length;
    let height = wanted.height.unwrap_or_else(|| match bond_line(&sites) {
        Some((height, several)) => {
            if several {
                warnings.push(format!(
                    "The sites have several bond lines; parts are placed at that of the first, {}",
                    length.show_with_unit(height)
                ));
            }
            height
        }
        None => {
            let lowest = fit.heights.first().copied().unwrap_or(0.0);
            warnings.push(format!(
                "Parts are placed at {}, the lowest measured height; name the height of the bond line",
                length.show_with_unit(lowest)
            ));
            lowest
        }
    });
    let (low, high) = (fit.heights.first(), fit.heights.last());
    if let (Some(&low), Some(&high)) = (low, high)
        && !(low - 0.5 * (high - low) - 0.5..=high + 0.5 * (high - low) + 0.5).contains(&height)
    {
        warnings.push(format!(
            "{} is far from the measured heights, {} to {}: figures there lean on how light spreads; measure at that height",
            length.show_with_unit(height),
            length.show(low),
            length.show_with_unit(high)
        ));
    }
    let terms = limits.map(|limits| limits.terms(survey.map(|s| &**s), units));
    let terms = match terms {
        Some(Ok(terms)) => Some(terms),
        Some(Err(why)) => {
            warnings.push(why);
            None
        }
        None => None,
    };
    let bars = bars(
        station,
        fit,
        limits,
        terms.as_ref(),
        wanted,
        &sites,
        &mut warnings,
    );
    let mut stay = sites;
    stay.retain(|site| wanted.locked.contains(&site.name));
    let mut barred: Vec<Footprint> = (station.keep_outs.iter())
        .filter(|k| k.bars != Keeps::Detector)
        .map(|k| k.footprint.clone())
        .collect();
    barred.extend(stay.iter().map(|s| s.footprint.clone()));
    if fit.field.misses().is_some() {
        warnings.push(
            "The field misses readings that were left out by far more than a reading's scatter: no arrangement is called proven; look at the step Field"
                .to_owned(),
        );
    }
    if station
        .keep_outs
        .iter()
        .any(|k| k.height.is_some_and(|h| h > height))
    {
        warnings.push(
            "What stands higher than the bond line shades its neighbours, and that is not in the field: keep clear of it or measure beside it"
                .to_owned(),
        );
    }
    Asked {
        face_height: survey.map_or(station.source.face_height, |s| s.face_height(station)),
        exposure_s: terms.as_ref().and_then(|t| t.exposure_s),
        slowest_step_s: limits.and_then(|l| l.slowest_step),
        stay,
        ask: ToPlace {
            field: Arc::clone(&fit.field),
            part: wanted.part.clone().unwrap_or_else(|| part_of(station)),
            bed: Bed {
                outline: station.fixture.footprint(),
                rim: wanted.rim,
                barred,
                height,
            },
            bars,
            kind: wanted.kind,
            wish: wanted.wish,
            surely: Surely::AllAtOnce,
            effort: wanted.effort.max(1),
            passes: Passes::once(),
        },
        warnings,
    }
}

fn bars(
    station: &Station,
    fit: &SurveyFit,
    limits: Option<&ToLimit>,
    terms: Option<&Terms>,
    wanted: &Wanted,
    sites: &[Site],
    warnings: &mut Vec<String>,
) -> Bars {
    let request = Request::of_survey(fit.survey);
    let calibration = station.surveys.get(fit.survey).and_then(|survey| {
        let assessed = Assessed::of(station, survey, &request);
        ToSearch::of(station, survey, &assessed).calibration
    });
    let through = through(station, sites, warnings);
    let stands = (station.surveys.get(fit.survey)).is_some_and(|survey| {
        let assessed = Assessed::of(station, survey, &request);
        Standing::of(station, survey, &assessed).is_some()
    });
    if stands {
        warnings.push(
            "Parts are placed by the light in the open: what clamps, rim, parts, recesses, tilts and substrates take at their new \
             places is not counted; take an arrangement and look whether the verdict at the bond stands"
                .to_owned(),
        );
    }
    let allowances = limits.map(|l| l.limits.allowances).unwrap_or_default();
    let mut bars = match terms {
        Some(terms) => Bars::of(terms, allowed(allowances), calibration, through),
        None => Bars {
            calibration,
            through,
            ..Bars::none()
        },
    };
    // a figure that is only asked about has no origin: the pair that read is taken to have found it
    let typed = |value: f64| Bar {
        value,
        scale: Scale::Relative,
    };
    bars.lower = wanted.instead[0].map(typed).or(bars.lower);
    bars.upper = wanted.instead[1].map(typed).or(bars.upper);
    if wanted.instead.iter().any(Option::is_some) {
        warnings.push(
            "The typed limits are taken to be found with the radiometer pair of the survey: its calibration uncertainty is not counted"
                .to_owned(),
        );
    }
    if bars.is_none() {
        warnings.push(
            "No limits are held: only the room on the pallet counts; set limits in the step Limits, or name them"
                .to_owned(),
        );
    }
    if let (Some(low), Some(high)) = (bars.lower, bars.upper)
        && high.value <= low.value
    {
        warnings.push(
            "The upper limit is not above the lower one: no part can lie between them".to_owned(),
        );
    }
    if bars.lacks_calibration() {
        warnings.push(
            "A limit asks for the calibration uncertainty of the radiometer, which is not known: nothing can be proven; enter it with the survey's radiometer"
                .to_owned(),
        );
    }
    bars
}

/// How much of the light reaches the bond of a part: what is said of all sites, where they agree.
fn through(station: &Station, sites: &[Site], warnings: &mut Vec<String>) -> f64 {
    let Some(limits) = station
        .limits
        .as_deref()
        .filter(|l| !l.transmission.is_empty())
    else {
        return 1.0;
    };
    let each = sites.iter().map(|site| {
        let group = station.sites.get(site.group).map_or("", |g| &g.name);
        limits.through(&site.name, group)
    });
    let (least, greatest) = each.fold((1.0f64, 0.0f64), |(l, g), t| (l.min(t), g.max(t)));
    if sites.is_empty() {
        return 1.0;
    }
    if least != greatest {
        warnings.push(format!(
            "Sites are cured through different substrates; parts are placed for the one that lets least light through, {} %",
            crate::units::trim_zeros(crate::units::fixed(100.0 * least, 1))
        ));
    }
    least
}
