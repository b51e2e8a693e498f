//! What `place --json` prints.

use serde::Serialize;

use super::{maybe, rounded};
use crate::assess::limits::Z95;
use crate::geometry::Shape;
use crate::placement::{
    Asked, Best, Heights, Kind, Method, Placed, Present, Remedies, RemedyKind, Shift, Site,
    Together, Wish,
};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, fixed, trim_zeros};

/// Where parts may lie, and how many.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacementRecord {
    /// Name of the station.
    pub station: String,
    /// Name of the survey.
    pub survey: String,
    /// How many.
    pub count: usize,
    /// No arrangement of this kind holds more; `null` where a number was asked for.
    pub upper_bound: Option<usize>,
    /// How that was found.
    pub upper_bound_method: Option<String>,
    /// As many as the bound.
    pub optimal: bool,
    /// `rows` or `free`.
    pub arrangement: &'static str,
    /// With what confidence all parts lie inside the limits at once, percent; `null` without limits or bounds.
    pub confidence_percent: Option<f64>,
    /// `all inside at once`: `proven` or `not proven`; `null` without limits.
    pub verdict: Option<&'static str>,
    /// How many fit if each part alone has to be sure.
    pub count_each_alone: Option<usize>,
    /// How many fit if the field is taken for the truth.
    pub count_plain_field: Option<usize>,
    /// The part.
    pub part: PartRecord,
    /// Of the bond line above the fixture's base.
    pub height_mm: f64,
    /// From the face to it.
    pub working_distance_mm: f64,
    /// The limits that it was held against.
    pub limits: HeldRecord,
    /// The array, of rows.
    pub lattice: Option<LatticeRecord>,
    /// Of all parts at once: assured minimum and the most that the hottest gets.
    pub assured_mw_cm2: Option<f64>,
    /// With 95 % confidence the hottest part gets at most this.
    pub at_most_mw_cm2: Option<f64>,
    /// Parts in an hour at most, one load an exposure time or slowest other step, whichever is longer.
    pub parts_per_hour: Option<f64>,
    /// From the front left to the back right.
    pub sites: Vec<PlacedRecord>,
    /// The same at other heights, where that was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distances: Option<Vec<HeightRecord>>,
    /// Simple remedies, where they were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedies: Option<Vec<RemedyRecord>>,
    /// The sites as they are, where they were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub present: Option<PresentRecord>,
    /// Plain sentences.
    pub warnings: Vec<String>,
}

/// The part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartRecord {
    /// Along x as drawn; of a circle its diameter.
    pub width_mm: f64,
    /// Along y as drawn.
    pub depth_mm: f64,
    /// It is a circle.
    pub circle: bool,
    /// It may be turned by 90 degrees.
    pub may_turn: bool,
    /// To others and to what stands on the fixture.
    pub clearance_mm: f64,
    /// Of its place in the nest.
    pub tolerance_mm: f64,
}

/// Limits as they were held.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeldRecord {
    /// The least.
    pub lower_mw_cm2: Option<f64>,
    /// The most.
    pub upper_mw_cm2: Option<f64>,
}

/// A regular array.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LatticeRecord {
    /// Front left part's centre.
    pub x_mm: f64,
    /// Front left part's centre.
    pub y_mm: f64,
    /// From column to column.
    pub pitch_x_mm: f64,
    /// From row to row.
    pub pitch_y_mm: f64,
    /// `no`, `rows` or `columns`: every other one by half a pitch.
    pub shifted: &'static str,
}

/// A part's place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacedRecord {
    /// Of its centre, to the right of the datum.
    pub x_mm: f64,
    /// Of its centre, to the back of the datum.
    pub y_mm: f64,
    /// Turned by 90 degrees.
    pub turned: bool,
    /// Least over the part and its tolerance.
    pub coldest_mw_cm2: f64,
    /// One-sided 95 % lower bound of that, relative.
    pub assured_mw_cm2: Option<f64>,
    /// Greatest over it.
    pub hottest_mw_cm2: f64,
    /// One-sided 95 % upper bound of that, relative.
    pub at_most_mw_cm2: Option<f64>,
    /// With what confidence this part alone lies inside, percent.
    pub confidence_alone_percent: Option<f64>,
    /// 1 is filled first.
    pub rank: usize,
}

/// One height.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeightRecord {
    /// From the face to the bond line.
    pub working_distance_mm: f64,
    /// Of the face above the fixture's base.
    pub face_height_mm: f64,
    /// How many fit.
    pub count: usize,
    /// Coldest part.
    pub coldest_mw_cm2: Option<f64>,
    /// Hottest part.
    pub hottest_mw_cm2: Option<f64>,
    /// By how much the source may vary: greatest over least.
    pub window: Option<f64>,
    /// It is the one in use.
    pub in_use: bool,
    /// It is the best.
    pub best: bool,
}

/// A remedy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RemedyRecord {
    /// Which.
    pub remedy: String,
    /// How many fit then.
    pub count: usize,
    /// With 95 % confidence the coldest gets at least this, as the mean over the exposure.
    pub assured_mw_cm2: Option<f64>,
    /// The hottest gets at most this.
    pub at_most_mw_cm2: Option<f64>,
    /// All parts at once, percent.
    pub confidence_percent: Option<f64>,
}

/// The sites as they are.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PresentRecord {
    /// All at once, percent.
    pub confidence_percent: Option<f64>,
    /// One-sided 95 % lower bound of the coldest of all, relative.
    pub assured_mw_cm2: Option<f64>,
    /// One-sided 95 % upper bound of the hottest.
    pub at_most_mw_cm2: Option<f64>,
    /// Each of those that have the part's size and bond line.
    pub sites: Vec<PresentSiteRecord>,
    /// So many more have another size or bond line.
    pub others: usize,
    /// For how many of those that fall short there is a place elsewhere, the others left where they are; `null` where none
    /// falls short.
    pub can_move: Option<usize>,
    /// What moving those would give; `null` where none falls short.
    pub moved: Option<MovedRecord>,
}

/// Sites that fall short placed elsewhere, the others left where they are.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MovedRecord {
    /// Their places.
    pub sites: Vec<PlacedRecord>,
    /// All parts at once then, percent.
    pub confidence_percent: Option<f64>,
    /// One-sided 95 % lower bound of the coldest of all then.
    pub assured_mw_cm2: Option<f64>,
    /// One-sided 95 % upper bound of the hottest.
    pub at_most_mw_cm2: Option<f64>,
}

/// A site as it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PresentSiteRecord {
    /// Its name.
    pub site: String,
    /// It lies inside with 95 % confidence, by itself, and has room.
    pub holds: bool,
    /// It stays where it is, whatever comes.
    pub stays: bool,
    /// Alone, percent.
    pub confidence_alone_percent: Option<f64>,
    /// Least over it.
    pub coldest_mw_cm2: f64,
    /// Greatest over it.
    pub hottest_mw_cm2: f64,
}

/// How a bound was found, in words.
pub fn method_words(method: Method, length: LengthUnit) -> String {
    // a raster's step is finer than what anybody measures
    let step = |mm: f64| length.show_finely(mm);
    match method {
        Method::AllArrays { step: s } => {
            format!("all pitches and offsets on a raster of {}", step(s))
        }
        Method::Weights { step: s } => format!(
            "linear relaxation: weights on a raster of {} that every part covers at least once",
            step(s)
        ),
        Method::Oler => "Oler's inequality for circles".to_owned(),
        Method::Exhausted { step: s } => {
            format!(
                "branch and bound over all places on a raster of {}",
                step(s)
            )
        }
    }
}

/// A remedy in words.
pub fn remedy_words(kind: RemedyKind, length: LengthUnit) -> String {
    match kind {
        RemedyKind::Turned => "pallet turned by 180 degrees at half time".to_owned(),
        RemedyKind::TwoPasses(by) => {
            let (way, by) = if by.x != 0.0 {
                ("x", by.x)
            } else {
                ("y", by.y)
            };
            format!(
                "two passes, the pallet moved by {} along {way} between them",
                length.show_with_unit(by)
            )
        }
        RemedyKind::LeftOut(n) => {
            format!("{n} worst of all places that there is room for left out")
        }
    }
}

/// A confidence in words, percent: never more than so many draws can say.
pub fn confidence_words(share: f64) -> String {
    /// All of 1600 draws: with 95 % confidence the share is greater than this (Clopper and Pearson 1934).
    const MOST: f64 = 0.998;
    if share > MOST {
        "more than 99.8 %".to_owned()
    } else {
        format!("{} %", fixed(100.0 * share, 1))
    }
}

/// Decimals of what a part gets, in this unit, by how far its one-sided 95 % bound is off, both mW/cm².
pub fn decimals_by_bound(unit: IrradianceUnit, value: f64, bound: Option<f64>) -> usize {
    unit.decimals(value, bound.map(|b| (value - b).abs() / Z95))
}

/// Parts in an hour at most: a load takes the exposure time, or that of the slowest other step where that is longer.
pub fn parts_per_hour(asked: &Asked, count: usize) -> Option<f64> {
    let cycle = asked.exposure_s?.max(asked.slowest_step_s.unwrap_or(0.0));
    (cycle > 0.0).then(|| 3600.0 * count as f64 / cycle)
}

/// The same in words, with what sets the pace.
pub fn parts_per_hour_words(asked: &Asked, count: usize) -> Option<String> {
    let n = fixed(parts_per_hour(asked, count)?, 0);
    let exposure = asked.exposure_s?;
    let seconds = |s: f64| trim_zeros(fixed(s, 2));
    Some(match asked.slowest_step_s.filter(|s| *s > exposure) {
        Some(slowest) => format!(
            "{n} at most: the slowest other step takes {} s",
            seconds(slowest)
        ),
        None => format!("{n} at most: a load in {} s of exposure", seconds(exposure)),
    })
}

impl PlacementRecord {
    /// The record of an arrangement.
    pub fn new(station: &Station, survey: usize, asked: &Asked, placed: &Placed) -> Self {
        let ask = &asked.ask;
        let percent = |share: f64| rounded(100.0 * share);
        let (width, depth) = ask.part.shape.size();
        let mut warnings = asked.warnings.clone();
        if let Wish::Count(n, _) = ask.wish
            && placed.sites.len() < n
        {
            warnings.push(format!(
                "{n} parts were asked for and {} fit",
                placed.sites.len()
            ));
        }
        if placed.sites.is_empty() {
            warnings.push(
                "No part can be placed: nowhere is a part inside the limits with 95 % confidence; measure more, or look at other working distances"
                    .to_owned(),
            );
        } else if !placed.proven && !ask.bars.is_none() {
            warnings.push("Not proven: that all parts lie inside the limits at once can't be said with 95 % confidence".to_owned());
        }
        Self {
            station: station.name.clone(),
            survey: station
                .surveys
                .get(survey)
                .map_or_else(String::new, |s| s.name.clone()),
            count: placed.sites.len(),
            upper_bound: placed.bound.map(|b| b.count),
            upper_bound_method: placed.bound.map(|b| method_words(b.method, LengthUnit::Mm)),
            optimal: placed.optimal,
            arrangement: kind_name(ask.kind),
            confidence_percent: placed.confidence.map(percent),
            verdict: (!ask.bars.is_none()).then_some(if placed.proven {
                "proven"
            } else {
                "not proven"
            }),
            count_each_alone: placed.alone,
            count_plain_field: placed.plain,
            part: PartRecord {
                width_mm: rounded(width),
                depth_mm: rounded(depth),
                circle: matches!(ask.part.shape, Shape::Circle { .. }),
                may_turn: ask.part.may_turn,
                clearance_mm: rounded(ask.part.clearance),
                tolerance_mm: rounded(ask.part.tolerance),
            },
            height_mm: rounded(ask.bed.height),
            working_distance_mm: rounded(asked.face_height - ask.bed.height),
            limits: HeldRecord {
                lower_mw_cm2: maybe(ask.bars.lower.map(|b| b.value)),
                upper_mw_cm2: maybe(ask.bars.upper.map(|b| b.value)),
            },
            lattice: placed.lattice.map(|l| LatticeRecord {
                x_mm: rounded(l.first.x),
                y_mm: rounded(l.first.y),
                pitch_x_mm: rounded(l.pitch_x),
                pitch_y_mm: rounded(l.pitch_y),
                shifted: match l.shifted {
                    Shift::None => "no",
                    Shift::Rows => "rows",
                    Shift::Columns => "columns",
                },
            }),
            assured_mw_cm2: maybe(placed.assured),
            at_most_mw_cm2: maybe(placed.at_most),
            parts_per_hour: maybe(parts_per_hour(asked, placed.sites.len())),
            sites: placed.sites.iter().map(PlacedRecord::of).collect(),
            distances: None,
            remedies: None,
            present: None,
            warnings,
        }
    }

    /// With the other heights.
    pub fn with_heights(mut self, heights: &Heights) -> Self {
        let rows = heights
            .rows
            .iter()
            .enumerate()
            .map(|(i, row)| HeightRecord {
                working_distance_mm: rounded(row.working_distance),
                face_height_mm: rounded(row.face_height),
                count: row.placed.sites.len(),
                coldest_mw_cm2: maybe(row.placed.coldest()),
                hottest_mw_cm2: maybe(row.placed.hottest()),
                window: maybe(row.window),
                in_use: row.in_use,
                best: heights.best == Some(i),
            });
        self.distances = Some(rows.collect());
        self
    }

    /// With the remedies.
    pub fn with_remedies(mut self, remedies: &Remedies) -> Self {
        let each = remedies.each.iter().map(|r| RemedyRecord {
            remedy: remedy_words(r.kind, LengthUnit::Mm),
            count: r.placed.sites.len(),
            assured_mw_cm2: maybe(r.placed.assured),
            at_most_mw_cm2: maybe(r.placed.at_most),
            confidence_percent: r.placed.confidence.map(|c| rounded(100.0 * c)),
        });
        self.remedies = Some(each.collect());
        self
    }

    /// With the sites as they are.
    pub fn with_present(mut self, present: &Present) -> Self {
        let percent = |share: f64| rounded(100.0 * share);
        let each = present.sites.iter().map(|s| PresentSiteRecord {
            site: s.name.clone(),
            holds: s.is_good(),
            stays: s.stays,
            confidence_alone_percent: s.site.alone.map(percent),
            coldest_mw_cm2: rounded(s.site.coldest),
            hottest_mw_cm2: rounded(s.site.hottest),
        });
        let together = |all: &Together| {
            (
                all.confidence.map(percent),
                maybe(all.assured),
                maybe(all.at_most),
            )
        };
        let (confidence_percent, assured_mw_cm2, at_most_mw_cm2) = together(&present.now);
        let moved = present.moved.as_ref().map(|moved| {
            let (confidence_percent, assured_mw_cm2, at_most_mw_cm2) = together(&moved.then);
            MovedRecord {
                sites: moved.sites.iter().map(PlacedRecord::of).collect(),
                confidence_percent,
                assured_mw_cm2,
                at_most_mw_cm2,
            }
        });
        self.present = Some(PresentRecord {
            confidence_percent,
            assured_mw_cm2,
            at_most_mw_cm2,
            sites: each.collect(),
            others: present.others,
            can_move: present.moved.as_ref().map(|m| m.sites.len()),
            moved,
        });
        self
    }
}

impl PlacedRecord {
    fn of(site: &Site) -> Self {
        Self {
            x_mm: rounded(site.centre.x),
            y_mm: rounded(site.centre.y),
            turned: site.turned,
            coldest_mw_cm2: rounded(site.coldest),
            assured_mw_cm2: maybe(site.assured),
            hottest_mw_cm2: rounded(site.hottest),
            at_most_mw_cm2: maybe(site.at_most),
            confidence_alone_percent: site.alone.map(|share| rounded(100.0 * share)),
            rank: site.rank,
        }
    }
}

fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::Rows { .. } => "rows",
        Kind::Free => "free",
    }
}

/// How parts are arranged, in words.
pub fn placement_kind_words(kind: Kind) -> &'static str {
    match kind {
        Kind::Rows { shifted: false } => "rows and columns",
        Kind::Rows { shifted: true } => "rows, shifted too",
        Kind::Free => "anywhere",
    }
}

/// How a wish says which arrangement is better, in words.
pub fn best_words(best: Best) -> &'static str {
    match best {
        Best::Coldest => "highest coldest part",
        Best::LeastRange => "least range from coldest to hottest",
    }
}
