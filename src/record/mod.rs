//! What `--json` and `summary.json` say: names and meanings that scripts rely on. Keys stay; additions
//! are welcome. Irradiance in mW/cm², lengths in mm; bounds are `null` for a family that has none.

mod change;
mod drift;
mod figures;
mod limits;
mod next;
mod place;
mod plan;
mod plates;
mod repeat;
mod upkeep;

use figures::{maybe, rounded};

pub use change::{
    BoundedRecord, ChangeRecord, FaceRecord, FadingRateRecord, HistoryRecord, PositionChangeRecord,
    SeenRecord, SetUpRecord, ShortCheckRecord, ShortPositionRecord, SmallestRecord, TrendRecord,
    ZoneRecord, history_headings, history_rows, short_check as short_check_words,
    words as change_words,
};
pub use drift::{DriftRecord, VisitRecord};
pub use figures::PlaceRecord;
pub use limits::{
    ComponentRecord, DistanceRecord, DoseRecord, ExcludedRecord, FadingRecord, LimitsRecord,
    MonitorRecord, ReadingsRecord, SettleRecord, basis_words, counts_name, said_mw_cm2, scale_name,
};
pub use next::{NextRecord, ProposedRecord};
pub use place::{
    HeightRecord, MovedRecord, PlacedRecord, PlacementRecord, PresentRecord, RemedyRecord,
    best_words, confidence_words, decimals_by_bound, method_words, parts_per_hour,
    parts_per_hour_words, placement_kind_words, remedy_words,
};
pub use plan::{
    CycleRecord, GapRecord, PlanRecord, PositionRecord, ReferenceRecord, RouteRecord,
    UnreachedRecord, fewest_in_words,
};
pub use plates::{
    BoreRecord, OutlineRecord, PinRecord, PlatesRecord, too_near_in_words, troubles_in_words,
};
pub use repeat::{
    COMPONENT_HEADINGS, NoiseRecord, ProposedScatterRecord, ROUND_HEADINGS, RepeatComponentRecord,
    RepeatRecord, RepeatRoundRecord, ScatterRecord, component_rows, no_study_words, proposed_words,
    round_rows,
};

pub use upkeep::{
    LampRecord, LatestRecord, MonitorWindowRecord, OutlookRecord, SideBySideRecord, StepRecord,
    UpkeepRecord, log_headings, log_row, stands_out, words as upkeep_words,
};

use serde::Serialize;

use crate::assess::limits::{Judged, Outlook, Verdict};
use crate::assess::{Answer, Governing, Leaning, SiteAnswer, Spot};
use crate::field::Family as FieldFamily;
use crate::station::{Family, GoverningRule, Station};

/// What `verdict --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerdictRecord {
    /// Name of the station.
    pub station: String,
    /// Name of the survey.
    pub survey: String,
    /// The height at which everything was assessed; `null` when sites lie at several, each then says its own.
    pub height_mm: Option<f64>,
    /// How the field was made.
    pub model: ModelRecord,
    /// Coldest spot.
    pub coldest: ColdestRecord,
    /// Hottest spot.
    pub hottest: HottestRecord,
    /// Coldest reading that counts.
    pub coldest_reading: ColdestReadingRecord,
    /// The figure that governs.
    pub governing_minimum: GoverningRecord,
    /// How even the field is.
    pub uniformity: UniformityRecord,
    /// Per site, coldest first.
    pub sites: Vec<SiteRecord>,
    /// As `limits --json` says them; `null` without limits.
    pub limits: Option<LimitsRecord>,
    /// All parts together; `null` without limits.
    pub verdict: Option<&'static str>,
    /// Plain sentences.
    pub warnings: Vec<String>,
}

/// How a field was made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ModelRecord {
    /// The family in use.
    pub used: &'static str,
    /// Relative standard deviation of a reading about the field, percent.
    pub reading_noise_percent: Option<f64>,
    /// Every family tried.
    pub candidates: Vec<CandidateRecord>,
    /// The drift over the round; left out where none was taken out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drift: Option<DriftRecord>,
}

/// One family tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CandidateRecord {
    /// Its name, the one that screen and pages say.
    pub name: &'static str,
    /// Error at positions left out, percent.
    pub holdout_rms_percent: f64,
    /// The same at the outer ring, all of it left out at once; `null` where positions inside are too few.
    pub outer_ring_rms_percent: Option<f64>,
    /// Mean log predictive density at positions left out.
    pub holdout_log_density: Option<f64>,
    /// Its share in the field.
    pub weight: f64,
}

/// Coldest spot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColdestRecord {
    /// Where.
    #[serde(flatten)]
    pub at: PlaceRecord,
    /// The field there.
    pub irradiance_mw_cm2: f64,
    /// Standard uncertainty there (k = 1).
    pub uncertainty_mw_cm2: Option<f64>,
    /// Assured minimum, relative.
    pub assured_mw_cm2: Option<f64>,
    /// Assured minimum, absolute.
    pub assured_absolute_mw_cm2: Option<f64>,
    /// 95 % upper bound of the minimum.
    pub at_most_mw_cm2: Option<f64>,
    /// The site it lies in.
    pub site: Option<String>,
    /// Beyond what the readings span.
    pub extrapolated: bool,
    /// What readings alone say there; `null` for a field without knowledge of the lamp.
    pub readings_alone_mw_cm2: Option<f64>,
    /// Standard uncertainty of that (k = 1).
    pub readings_alone_uncertainty_mw_cm2: Option<f64>,
    /// How far it lies outside the outermost positions.
    pub beyond_positions_mm: Option<f64>,
    /// The light there in the open, where the figures are at the bond; otherwise left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_the_open_mw_cm2: Option<f64>,
}

/// Hottest spot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HottestRecord {
    /// Where.
    #[serde(flatten)]
    pub at: PlaceRecord,
    /// The field there.
    pub irradiance_mw_cm2: f64,
    /// Standard uncertainty there (k = 1).
    pub uncertainty_mw_cm2: Option<f64>,
    /// 95 % lower bound of the maximum.
    pub at_least_mw_cm2: Option<f64>,
    /// Assured maximum, relative.
    pub at_most_mw_cm2: Option<f64>,
    /// Assured maximum, absolute.
    pub at_most_absolute_mw_cm2: Option<f64>,
    /// The site it lies in.
    pub site: Option<String>,
    /// Beyond what the readings span.
    pub extrapolated: bool,
    /// The light there in the open, where the figures are at the bond; otherwise left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_the_open_mw_cm2: Option<f64>,
}

/// Coldest reading that counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColdestReadingRecord {
    /// Name of its position.
    pub position: String,
    /// What was read.
    pub irradiance_mw_cm2: f64,
}

/// The figure that governs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GoverningRecord {
    /// The figure; `null` when the rule asks for an assured minimum and there is none.
    pub irradiance_mw_cm2: Option<f64>,
    /// By which rule.
    pub rule: &'static str,
    /// Which assured minimum it is, `relative` or `absolute`; `null` where the rule asks for none.
    pub bound: Option<&'static str>,
}

/// How even the field is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UniformityRecord {
    /// Mean over the assessed area.
    pub mean_mw_cm2: f64,
    /// Least over mean.
    pub min_over_mean: f64,
    /// Least over greatest.
    pub min_over_max: f64,
    /// (max - min) / (max + min), percent.
    pub nonuniformity_percent: f64,
}

/// One site.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteRecord {
    /// Its name.
    pub site: String,
    /// The height at which it was assessed.
    pub height_mm: f64,
    /// Least irradiance of the field in it.
    pub coldest_mw_cm2: f64,
    /// Its assured minimum, relative.
    pub assured_mw_cm2: Option<f64>,
    /// Mean over the footprint.
    pub mean_mw_cm2: f64,
    /// Greatest irradiance of the field in it.
    pub hottest_mw_cm2: f64,
    /// Its assured maximum, relative.
    pub at_most_mw_cm2: Option<f64>,
    /// Of this site by itself; `null` without limits.
    pub verdict: Option<&'static str>,
    /// The light in the open at its coldest spot, where the figures are at the bond; otherwise left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_the_open_mw_cm2: Option<f64>,
}

/// A family's name on the command line and in records.
pub fn family_name(family: Family) -> &'static str {
    match family {
        Family::SourceAware => "source-aware",
        Family::OrdinaryKriging => "ordinary kriging",
        Family::UniversalKriging => "universal kriging",
        Family::ThinPlate => "thin plate",
        Family::NaturalNeighbour => "natural neighbour",
        Family::InverseDistance => "inverse distance",
    }
}

/// A rule's name in records and on paper.
pub fn rule_name(rule: GoverningRule) -> &'static str {
    match rule {
        GoverningRule::AssuredMinimum => "the assured minimum",
        GoverningRule::LowerOfReadingAndSpot => "the lower of coldest reading and coldest spot",
        GoverningRule::ColdestReading => "the coldest reading alone",
    }
}

/// What the governing figure is: its rule and, of an assured minimum, which.
pub fn governing_words(governing: &Governing) -> String {
    let rule = rule_name(governing.rule);
    match governing.scale {
        Some(scale) => format!("{rule}, {}", scale_name(scale)),
        None => rule.to_owned(),
    }
}

/// The name of a family that was tried, on the screen, on paper and in records: more closely than what a document can
/// ask for.
pub fn candidate_words(family: FieldFamily) -> &'static str {
    match family {
        FieldFamily::RoundFace => "round beams from the face",
        FieldFamily::RoundOpen => "round beams, also from around it",
        FieldFamily::LeaningFace => "tilted beams and an arc",
        other => family_name(other.into()),
    }
}

impl VerdictRecord {
    /// The record of an answer; `outlook` where it was worked out.
    pub fn new(station: &Station, answer: &Answer, outlook: Option<&Outlook>) -> Self {
        let judged: Option<&Judged> = answer.judged();
        let open = |which: usize| maybe(answer.bond.as_ref().map(|b| b.open[which]));
        let mut warnings = answer.warnings.clone();
        if let Some(Err(why)) = &answer.judged {
            warnings.push(why.clone());
        }
        Self {
            station: station.name.clone(),
            survey: station
                .surveys
                .get(answer.survey)
                .map_or_else(String::new, |s| s.name.clone()),
            height_mm: answer.height,
            model: ModelRecord {
                used: family_name(answer.family),
                reading_noise_percent: maybe(answer.noise.map(|n| 100.0 * n)),
                candidates: answer
                    .scores
                    .iter()
                    .map(|score| CandidateRecord {
                        name: candidate_words(score.family),
                        holdout_rms_percent: rounded(score.rms_percent),
                        outer_ring_rms_percent: maybe(score.outer_ring_rms_percent),
                        holdout_log_density: maybe(score.log_density),
                        weight: rounded(score.weight),
                    })
                    .collect(),
                drift: answer.drift.as_ref().map(DriftRecord::from),
            },
            coldest: cold(&answer.coldest, answer.leaning, open(0)),
            hottest: hot(&answer.hottest, open(1)),
            coldest_reading: ColdestReadingRecord {
                position: answer.coldest_reading.position.clone(),
                irradiance_mw_cm2: answer.coldest_reading.irradiance,
            },
            governing_minimum: GoverningRecord {
                irradiance_mw_cm2: maybe(answer.governing.irradiance),
                rule: rule_name(answer.governing.rule),
                bound: answer.governing.scale.map(scale_name),
            },
            uniformity: UniformityRecord {
                mean_mw_cm2: rounded(answer.uniformity.mean),
                min_over_mean: rounded(answer.uniformity.min_over_mean),
                min_over_max: rounded(answer.uniformity.min_over_max),
                nonuniformity_percent: rounded(answer.uniformity.nonuniformity_percent),
            },
            sites: answer
                .sites
                .iter()
                .enumerate()
                .map(|(i, s)| site(s, judged.and_then(|j| j.sites.get(i).copied())))
                .collect(),
            limits: judged.map(|j| LimitsRecord::new(&j.terms, Some(j), outlook)),
            verdict: judged.map(|j| j.verdict.words()),
            warnings,
        }
    }
}

fn cold(spot: &Spot, leaning: Option<Leaning>, open: Option<f64>) -> ColdestRecord {
    ColdestRecord {
        at: spot.at.into(),
        irradiance_mw_cm2: rounded(spot.irradiance),
        uncertainty_mw_cm2: maybe(spot.uncertainty),
        assured_mw_cm2: maybe(spot.at_least),
        assured_absolute_mw_cm2: maybe(spot.at_least_absolute),
        at_most_mw_cm2: maybe(spot.at_most),
        site: spot.site.clone(),
        extrapolated: spot.extrapolated || leaning.is_some_and(|l| l.beyond > 0.0),
        readings_alone_mw_cm2: maybe(leaning.map(|l| l.readings_alone)),
        readings_alone_uncertainty_mw_cm2: maybe(leaning.map(|l| l.readings_alone_uncertainty)),
        beyond_positions_mm: maybe(leaning.map(|l| l.beyond)),
        in_the_open_mw_cm2: open,
    }
}

fn hot(spot: &Spot, open: Option<f64>) -> HottestRecord {
    HottestRecord {
        at: spot.at.into(),
        irradiance_mw_cm2: rounded(spot.irradiance),
        uncertainty_mw_cm2: maybe(spot.uncertainty),
        at_least_mw_cm2: maybe(spot.at_least),
        at_most_mw_cm2: maybe(spot.at_most),
        at_most_absolute_mw_cm2: maybe(spot.at_most_absolute),
        site: spot.site.clone(),
        extrapolated: spot.extrapolated,
        in_the_open_mw_cm2: open,
    }
}

fn site(site: &SiteAnswer, verdict: Option<Verdict>) -> SiteRecord {
    SiteRecord {
        site: site.site.clone(),
        height_mm: rounded(site.coldest.at.height),
        coldest_mw_cm2: rounded(site.coldest.irradiance),
        assured_mw_cm2: maybe(site.coldest.at_least),
        mean_mw_cm2: rounded(site.mean),
        hottest_mw_cm2: rounded(site.hottest.irradiance),
        at_most_mw_cm2: maybe(site.hottest.at_most),
        verdict: verdict.map(Verdict::words),
        in_the_open_mw_cm2: maybe(site.open.map(|o| o[0])),
    }
}
