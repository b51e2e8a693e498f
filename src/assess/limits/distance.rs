//! Other working distances: the lamp nearer or further, over the heights that were measured. The lamp moved
//! up by a length is the same to a part as the part moved down by it.

use super::monitor::{self, Window};
use super::sampled::{Sampled, Stand, sample};
use super::terms::{Scale, Terms};
use crate::assess::lit::Lit;
use crate::field::Fitted;
use crate::geometry::Place;
use crate::numeric::quantile::quantile;
use crate::progress::{Cancelled, Progress};
use crate::station::limits::Limits;

/// Distances in the table.
const ROWS: usize = 7;
/// Draws and places for each: the table compares, the verdict is made with more.
const DRAWS: usize = 500;
const PLACES: usize = 150;
const SEED: u64 = 0xd157_a4ce;
/// The lamp faded by so much, percent: what restores the reading is said of these.
const FADED: [f64; 4] = [5.0, 10.0, 20.0, 30.0];

/// What holds with the face at another height.
#[derive(Debug, Clone, PartialEq)]
pub struct AtDistance {
    /// Of the face above the fixture's base, mm.
    pub face_height: f64,
    /// From the face to the coldest part's bond line, mm.
    pub working_distance: f64,
    /// Least at the bond over all parts, mW/cm²: the field's own value.
    pub coldest: f64,
    /// With 95 % confidence it is at least this, relative.
    pub assured: Option<f64>,
    /// The one of its bounds that the lower limit is held against.
    pub judged: Option<f64>,
    /// Greatest at the bond.
    pub hottest: f64,
    /// With 95 % confidence it is at most this, relative.
    pub at_most: Option<f64>,
    /// The one of its bounds that an upper limit is held against; `None` without an upper limit.
    pub judged_most: Option<f64>,
    /// Least over greatest.
    pub min_over_max: f64,
    /// The monitor's window there; `None` where it can't be said.
    pub window: Option<Window>,
    /// It is the distance in use.
    pub in_use: bool,
}

/// How the reading of a lamp that has faded is restored by distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Restored {
    /// By how much the lamp has faded, percent.
    pub faded_percent: f64,
    /// Where the face has to be for the monitor to read what it reads now; `None`: not within the measured
    /// heights.
    pub face_height: Option<f64>,
    /// The coldest part there, mW/cm².
    pub coldest: Option<f64>,
}

/// What an error costs at the coldest spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slip {
    /// A millimetre nearer to the lamp changes the irradiance by so much, percent.
    pub height_percent_per_mm: f64,
    /// A millimetre across the plan changes it by at most so much, percent.
    pub plan_percent_per_mm: f64,
}

/// Everything that is said of distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Distances {
    /// From the nearest face to the furthest.
    pub rows: Vec<AtDistance>,
    /// The row whose window is the widest (most over least); `None` where none is open or has an end.
    pub widest: Option<usize>,
    /// Why there is no table, or what bounds it.
    pub said: String,
    /// What restores the monitor's reading.
    pub restored: Vec<Restored>,
}

/// What is known where distances are looked at.
pub(super) struct DistanceGrounds<'a> {
    pub lit: &'a Lit<'a>,
    /// Measured heights, ascending, mm.
    pub heights: &'a [f64],
    /// Of the face when the survey was taken, mm.
    pub face_height: f64,
    pub stands: &'a [Stand],
    pub monitor: Option<Place>,
}

/// What distances are held against.
pub(super) struct Against<'a> {
    pub terms: &'a Terms,
    pub limits: &'a Limits,
    pub noise: Option<f64>,
    pub calibration: Option<f64>,
}

/// The field at other distances, whatever the limits are.
#[derive(Debug)]
pub(super) struct Looked {
    rows: Vec<Row>,
    restored: Vec<Restored>,
}

/// Of one distance what is drawn, and what an [`AtDistance`] says of it.
#[derive(Debug)]
struct Row {
    face_height: f64,
    working_distance: f64,
    coldest: f64,
    hottest: f64,
    in_use: bool,
    sampled: Option<Sampled>,
}

fn lifted(at: Place, by: f64) -> Place {
    Place::new(at.x, at.y, at.height + by)
}

/// Least and greatest at the bond with every part moved up by `by`, and the height of the least.
fn ends(
    seen: &DistanceGrounds<'_>,
    by: f64,
    progress: &Progress,
) -> Result<(f64, f64, f64), Cancelled> {
    let stands = seen.stands.iter();
    let places: Vec<(usize, Place)> = stands.map(|s| (s.area, lifted(s.at, by))).collect();
    let values = seen.lit.lifted(by).irradiance(&places, progress)?;
    let mut found = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
    for (value, stand) in values.iter().zip(seen.stands) {
        let e = value * stand.through;
        if e < found.0 {
            (found.0, found.2) = (e, stand.at.height);
        }
        found.1 = found.1.max(e);
    }
    Ok(found)
}

/// How far parts can be moved up (negative: down) so that all of them stay at measured heights.
fn range(seen: &DistanceGrounds<'_>) -> (f64, f64) {
    let heights = seen.stands.iter().map(|s| s.at.height);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), h| {
        (lo.min(h), hi.max(h))
    });
    match (seen.heights.first(), seen.heights.last()) {
        (Some(&first), Some(&last)) => ((first - low).min(0.0), (last - high).max(0.0)),
        _ => (0.0, 0.0),
    }
}

/// Looks at them.
pub(super) fn look(seen: &DistanceGrounds<'_>, progress: &Progress) -> Result<Looked, Cancelled> {
    let (down, up) = range(seen);
    let few: Vec<Stand> = thinned(seen.stands);
    let mut shifts: Vec<f64> = if up - down < 0.5 {
        vec![0.0]
    } else {
        (0..ROWS)
            .map(|i| up + (down - up) * i as f64 / (ROWS - 1) as f64)
            .map(|by| by.round().clamp(down, up))
            .collect()
    };
    shifts.push(0.0);
    shifts.sort_by(|a, b| b.total_cmp(a));
    shifts.dedup_by(|a, b| (*a - *b).abs() < 0.25);
    let mut rows = Vec::new();
    for (i, &by) in shifts.iter().enumerate() {
        progress.set(0.5 + 0.5 * i as f64 / shifts.len() as f64);
        let (coldest, hottest, height) = ends(seen, by, progress)?;
        let moved: Vec<Stand> = few
            .iter()
            .map(|s| Stand {
                at: lifted(s.at, by),
                ..*s
            })
            .collect();
        let beside: Vec<Place> = seen.monitor.iter().map(|m| lifted(*m, by)).collect();
        let sampled = sample(&seen.lit.lifted(by), &moved, &beside, DRAWS, SEED, progress)?;
        rows.push(Row {
            face_height: seen.face_height - by,
            working_distance: seen.face_height - by - height,
            coldest,
            hottest,
            in_use: by == 0.0,
            sampled,
        });
    }
    let restored = restored(seen, (down, up), progress)?;
    Ok(Looked { rows, restored })
}

/// What is said of them against limits.
pub(super) fn distances(looked: &Looked, against: &Against<'_>) -> Distances {
    let scale = against.calibration.map(|u| monitor::scale_draws(u, DRAWS));
    let rows = looked.rows.iter();
    let rows: Vec<AtDistance> = rows
        .map(|row| held_against(row, against, scale.as_deref()))
        .collect();
    let room = |row: &AtDistance| {
        let window = row.window.as_ref()?;
        Some(window.most? / window.least).filter(|_| window.is_open())
    };
    let widest = (0..rows.len())
        .filter_map(|i| Some((i, room(&rows[i])?)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(i, _)| i);
    let said = if rows.len() == 1 {
        "The heights that were measured leave no other working distance to look at; read at more heights".to_owned()
    } else {
        "Only distances at which every part lies within the measured heights are looked at"
            .to_owned()
    };
    Distances {
        rows,
        widest,
        said,
        restored: looked.restored.clone(),
    }
}

fn held_against(row: &Row, against: &Against<'_>, scale: Option<&[f64]>) -> AtDistance {
    let sampled = row.sampled.as_ref();
    let window = sampled.and_then(|s| {
        let drawn = monitor::Drawn {
            monitor: s.beside.first()?,
            coldest: &s.coldest,
            hottest: &s.hottest,
            noise: against.noise.unwrap_or(0.0),
            scale,
        };
        let limits = against.limits;
        monitor::window(&drawn, against.terms, limits.allowances, limits.kept).ok()
    });
    let judged = match (against.terms.lower.scale, sampled, scale) {
        (Scale::Relative, Some(s), _) => quantile(&s.coldest, 0.05),
        (Scale::Absolute, Some(s), Some(scale)) => {
            let each = s.coldest.iter().zip(scale);
            quantile(&each.map(|(e, by)| e * by).collect::<Vec<_>>(), 0.05)
        }
        _ => None,
    };
    let judged_most = match (&against.terms.upper, sampled, scale) {
        (Some(upper), Some(s), _) if upper.scale == Scale::Relative => quantile(&s.hottest, 0.95),
        (Some(_), Some(s), Some(scale)) => {
            let each = s.hottest.iter().zip(scale);
            quantile(&each.map(|(e, by)| e * by).collect::<Vec<_>>(), 0.95)
        }
        _ => None,
    };
    AtDistance {
        judged_most,
        face_height: row.face_height,
        working_distance: row.working_distance,
        coldest: row.coldest,
        assured: sampled.and_then(|s| quantile(&s.coldest, 0.05)),
        judged,
        hottest: row.hottest,
        at_most: sampled.and_then(|s| quantile(&s.hottest, 0.95)),
        min_over_max: row.coldest / row.hottest,
        window,
        in_use: row.in_use,
    }
}

/// Evenly fewer, the first ones (the sites' own spots) kept.
fn thinned(stands: &[Stand]) -> Vec<Stand> {
    if stands.len() <= PLACES {
        return stands.to_vec();
    }
    let (first, rest) = stands.split_at(PLACES / 2);
    let every = rest.len().div_ceil(PLACES / 2).max(1);
    first
        .iter()
        .chain(rest.iter().step_by(every))
        .copied()
        .collect()
}

/// Where the monitor reads what it reads now after the lamp has faded, and what the coldest part gets there.
fn restored(
    seen: &DistanceGrounds<'_>,
    (down, up): (f64, f64),
    progress: &Progress,
) -> Result<Vec<Restored>, Cancelled> {
    let Some(at) = seen.monitor else {
        return Ok(Vec::new());
    };
    let read = |by: f64| -> Result<f64, Cancelled> {
        Ok(seen.lit.field.irradiance(&[lifted(at, by)], progress)?[0])
    };
    let wanted = read(0.0)?;
    let mut out = Vec::new();
    for faded_percent in FADED {
        let left = 1.0 - faded_percent / 100.0;
        let short = |by: f64| -> Result<f64, Cancelled> { Ok(left * read(by)? - wanted) };
        // nearer is brighter there, or further: whichever end of the range restores it
        let end = if short(up)? >= 0.0 {
            Some(up)
        } else if short(down)? >= 0.0 {
            Some(down)
        } else {
            None
        };
        let mut found = (None, None);
        if let Some(end) = end {
            let (mut dim, mut bright) = (0.0, end);
            for _ in 0..40 {
                let middle = 0.5 * (dim + bright);
                if short(middle)? >= 0.0 {
                    bright = middle;
                } else {
                    dim = middle;
                }
            }
            let (coldest, ..) = ends(seen, bright, progress)?;
            found = (Some(seen.face_height - bright), Some(left * coldest));
        }
        out.push(Restored {
            faded_percent,
            face_height: found.0,
            coldest: found.1,
        });
    }
    Ok(out)
}

/// What an error in height and across the plan costs at a place.
pub(super) fn slip(field: &Fitted, at: Place, progress: &Progress) -> Result<Slip, Cancelled> {
    let h = 0.5;
    let e = field.irradiance(&[lifted(at, -h), lifted(at, h)], progress)?;
    Ok(Slip {
        height_percent_per_mm: 100.0 * (e[1] / e[0]).ln() / (2.0 * h),
        plan_percent_per_mm: monitor::gradient(field, at, progress)?,
    })
}
