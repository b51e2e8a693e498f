//! Patterns of positions: made from the fixture, its sites and the detector's body in one go, to be taken
//! into the plan as positions placed by hand.
//!
//! They ask only where a detector can sit, so they work with every outline, body and keep-out; a plan keeps the positions,
//! not the pattern. So many places are asked about at most, and a pattern that would need more is refused.

use super::seat::Seating;
use crate::assess::NoAnswer;
use crate::geometry::{Bounds, Point, Shape};
use crate::progress::Progress;
use crate::station::{AssessedArea, Position, Station, row_letters};
use crate::units::LengthUnit;

/// More positions than this are not made at once: nobody reads as many by hand.
const MOST: usize = 2_000;
/// A seat farther from its site or from the rim than this is none of it, mm.
const REACH: f64 = 50.0;
/// So many meshes of the snap grid a place moves where its nearest point of the grid has no room.
const MESHES: f64 = 2.0;

/// Where one more position lies best: where a detector can sit, as far from those there are already as can be, on whole half
/// millimetres; the fixture's middle without any.
pub fn free_place(station: &Station, there: &[Position]) -> Point {
    const ALONG: f64 = 60.0;
    let fixture = station.fixture.footprint();
    let middle = fixture.middle();
    if there.is_empty() {
        return middle;
    }
    let body = station.plan_radiometer().map(|r| &r.body);
    let seats = station.seats();
    let (width, depth) = fixture.shape.size();
    let rounded = |p: Point| Point::new((2.0 * p.x).round() / 2.0, (2.0 * p.y).round() / 2.0);
    let away = |p: Point| {
        let apart = there.iter().map(|other| other.at.distance(p));
        apart.fold(f64::INFINITY, f64::min)
    };
    fixture
        .lattice(width.max(depth) / ALONG)
        .into_iter()
        .map(rounded)
        .filter(|p| seats.is_free(*p, body))
        .map(|p| (p, away(p)))
        .reduce(|best, next| if next.1 > best.1 { next } else { best })
        .map_or(middle, |(p, _)| p)
}

/// Outermost positions lie at most so far beyond the assessed area, mm: further out there is hardly light.
const MOST_BEYOND: f64 = 200.0;
/// Positions lie no further apart than this part of the working distance, where that makes no more than a person reads:
/// what a face does over less is blurred.
const APART_PER_DISTANCE: f64 = 0.5;

/// How positions are laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pattern {
    /// Rows of positions, every second one moved by half a step and one position shorter.
    Staggered {
        /// Positions in the front row.
        columns: u32,
        /// How many rows.
        rows: u32,
        /// From the bounds of the outline to the outermost positions, mm.
        margin: f64,
    },
    /// Rows whose outermost positions lie on the bounds of the assessed area and its corners, or beyond them.
    Around {
        /// Positions in the front row.
        columns: u32,
        /// How many rows.
        rows: u32,
        /// From those bounds out to the outermost positions, mm.
        beyond: f64,
        /// Every second row is moved by half a step, with a position more where it begins and ends.
        staggered: bool,
    },
    /// A middle position and rings around it, each with as many positions more as the first one has.
    Rings {
        /// Of all rings.
        centre: Point,
        /// How many beside the middle position.
        rings: u32,
        /// Positions on the first ring.
        first: u32,
        /// Of the outermost ring, mm.
        radius: f64,
    },
    /// One for each site, as near to its middle as body and keep-outs allow.
    Sites,
    /// Along the rim, as near to it as the body allows.
    Rim {
        /// From position to position, at most, mm.
        spacing: f64,
    },
}

/// What a pattern comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Made {
    /// In the order of the pattern; a detector can sit at each.
    pub positions: Vec<Position>,
    /// Places of the pattern where no detector can sit, or that another position stands for.
    pub left_out: usize,
    /// Positions outside the site that they are for.
    pub beside_site: usize,
}

/// Where rings lie best and how large the outermost can be, mm: around the middle of the source's face,
/// where it is known and over the fixture, else around the fixture's middle, out to where the detector's
/// body reaches the rim.
pub fn room_for_rings(station: &Station) -> (Point, f64) {
    let fixture = station.fixture.footprint();
    let face = station.source.face.as_ref().map(|face| face.middle());
    let centre = face
        .filter(|p| fixture.contains(*p))
        .unwrap_or(fixture.middle());
    let body = station.plan_radiometer().map_or(0.0, |r| half(&r.body));
    let room = -fixture.signed_distance(centre) - body;
    // whole millimetres are easier to find on a plate
    (centre, room.floor().max(1.0))
}

impl Pattern {
    /// As many rings as a person reads in a round, as large as there is [room](room_for_rings).
    pub fn rings_for(station: &Station) -> Self {
        let (centre, radius) = room_for_rings(station);
        Self::Rings {
            centre,
            rings: 3,
            first: 6,
            radius,
        }
    }

    /// Around what is assessed, so that its coldest spot lies between readings: rows, and around a round fixture rings. So
    /// many positions that they lie no further apart than half a working distance.
    pub fn around(station: &Station) -> Self {
        /// Positions along a side: fewer tell too little, more nobody reads.
        const SIDE: std::ops::RangeInclusive<u32> = 5..=9;
        let area = assessed_bounds(station);
        if let (Shape::Circle { diameter }, true) = (
            &station.fixture.shape,
            area == station.fixture.footprint().bounds(),
        ) {
            return Self::Rings {
                centre: station.fixture.footprint().middle(),
                rings: 3,
                first: 6,
                radius: 0.5 * diameter,
            };
        }
        let lowest = station.plan.heights.iter().copied();
        let lowest = lowest.fold(f64::INFINITY, f64::min);
        let distance = station.source.face_height - if lowest.is_finite() { lowest } else { 0.0 };
        let along = |extent: f64| {
            let steps = (extent / (APART_PER_DISTANCE * distance).max(1.0)).ceil();
            (steps as u32)
                .saturating_add(1)
                .clamp(*SIDE.start(), *SIDE.end())
        };
        Self::Around {
            columns: along(area.width()),
            rows: along(area.depth()),
            beyond: 0.0,
            staggered: false,
        }
    }

    /// The positions, each where a detector can sit, on whole multiples of `raster` mm from the datum.
    ///
    /// # Errors
    /// [`NoAnswer`]: why there are none, as a sentence for the person, or that it was asked to stop.
    pub fn make(
        &self,
        station: &Station,
        raster: Option<f64>,
        progress: &Progress,
    ) -> Result<Made, NoAnswer> {
        let seating = Seating::of(station, raster, progress);
        let made = match *self {
            Self::Staggered {
                columns,
                rows,
                margin,
            } => seated(&seating, staggered(station, columns, rows, margin)?)?,
            Self::Around {
                columns,
                rows,
                beyond,
                staggered,
            } => seated(
                &seating,
                around(station, (columns, rows), beyond, staggered)?,
            )?,
            Self::Rings {
                centre,
                rings,
                first,
                radius,
            } => seated(&seating, ringed(centre, rings, first, radius)?)?,
            Self::Sites => at_sites(&seating, station)?,
            Self::Rim { spacing } => along_rim(&seating, station, spacing)?,
        };
        if made.positions.is_empty() {
            return Err(missing(match self {
                Self::Staggered { .. } => {
                    "No position of these rows lies where the detector can sit; choose another margin or more rows and columns"
                }
                Self::Around { .. } => {
                    "No position around the assessed area lies where the detector can sit; read the plan with the pallet out, or choose a larger plate"
                }
                Self::Rings { .. } => {
                    "No position of these rings lies where the detector can sit; choose another centre or radius"
                }
                Self::Sites => {
                    "No site has a place near it where the detector can sit; check the keep-outs and the detector's body"
                }
                Self::Rim { .. } => {
                    "The detector finds no place along the rim; check its body, the outline and the keep-outs"
                }
            }));
        }
        Ok(made)
    }
}

fn missing(why: impl Into<String>) -> NoAnswer {
    NoAnswer::Missing(why.into())
}

/// Half of the larger side of a body.
fn half(body: &Shape) -> f64 {
    let (width, depth) = body.size();
    0.5 * width.max(depth)
}

fn above_zero(what: &str, value: f64) -> Result<(), NoAnswer> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(missing(format!(
            "The {what} has to be above zero; type a larger one"
        )))
    }
}

fn not_too_many(count: usize) -> Result<(), NoAnswer> {
    if count <= MOST {
        Ok(())
    } else {
        Err(missing(format!(
            "That makes {count} positions; choose no more than {MOST}, by a wider spacing or fewer rows or rings"
        )))
    }
}

/// What stands before each name that is made here, so that no position is called as a site is.
pub const BEFORE: &str = "P-";

/// Places of a pattern, each with its row or ring.
type InRows = Vec<(u32, Point)>;

fn staggered(station: &Station, columns: u32, rows: u32, margin: f64) -> Result<InRows, NoAnswer> {
    if columns < 2 || rows == 0 {
        return Err(missing(
            "Staggered rows need two columns and one row at least; type more",
        ));
    }
    not_too_many((columns as usize).saturating_mul(rows as usize))?;
    let outer = station.fixture.footprint().bounds();
    if !margin.is_finite() || 2.0 * margin > outer.width().min(outer.depth()) {
        let narrow = LengthUnit::Mm.show_with_unit(outer.width().min(outer.depth()));
        return Err(missing(format!(
            "The margin is more than half of the fixture's {narrow}; make it smaller"
        )));
    }
    let bounds = outer.grown(-margin);
    let step_x = bounds.width() / f64::from(columns - 1);
    let y = |row: u32| match rows {
        1 => bounds.centre().y,
        _ => bounds.min.y + bounds.depth() * f64::from(row) / f64::from(rows - 1),
    };
    Ok((0..rows)
        .flat_map(|row| {
            let odd = row % 2;
            (0..columns - odd).map(move |column| {
                let x = bounds.min.x + step_x * (f64::from(column) + 0.5 * f64::from(odd));
                (row, Point::new(x, y(row)))
            })
        })
        .collect())
}

/// The bounds of what is assessed: of all sites, or of the fixture, mm.
pub fn assessed_bounds(station: &Station) -> Bounds {
    let sites = match station.settings.area {
        AssessedArea::Sites => station.all_sites(),
        AssessedArea::Fixture => Vec::new(),
    };
    let each = sites.iter().map(|site| site.footprint.bounds());
    each.reduce(|all, one| all.union(one))
        .unwrap_or_else(|| station.fixture.footprint().bounds())
}

fn around(
    station: &Station,
    (columns, rows): (u32, u32),
    beyond: f64,
    staggered: bool,
) -> Result<InRows, NoAnswer> {
    if columns < 2 || rows < 2 {
        return Err(missing(
            "Around the assessed area two columns and two rows are needed at least; type more",
        ));
    }
    let more = u64::from(rows) * u64::from(columns.saturating_add(1));
    not_too_many(usize::try_from(more).unwrap_or(usize::MAX))?;
    if !(0.0..=MOST_BEYOND).contains(&beyond) {
        return Err(missing(format!(
            "The outermost positions lie 0 to {} beyond the assessed area; type such a distance",
            LengthUnit::Mm.show_with_unit(MOST_BEYOND)
        )));
    }
    let bounds = assessed_bounds(station).grown(beyond);
    let part = |i: u32, n: u32| f64::from(i) / f64::from(n - 1);
    Ok((0..rows)
        .flat_map(|row| {
            let y = bounds.min.y + bounds.depth() * part(row, rows);
            // corners are read in the first and last row; a moved row keeps the outermost positions on the outline
            let moved = staggered && row % 2 == 1 && row + 1 < rows;
            let count = if moved { columns + 1 } else { columns };
            (0..count).map(move |column| {
                let along = if moved && (1..columns).contains(&column) {
                    (f64::from(column) - 0.5) / f64::from(columns - 1)
                } else {
                    part(column, count)
                };
                (row, Point::new(bounds.min.x + bounds.width() * along, y))
            })
        })
        .collect())
}

fn ringed(centre: Point, rings: u32, first: u32, radius: f64) -> Result<InRows, NoAnswer> {
    above_zero("radius", radius)?;
    if rings == 0 || first == 0 {
        return Err(missing(
            "Rings need one ring with one position at least; type more",
        ));
    }
    let (n, k) = (rings as usize, first as usize);
    // 1 + k + 2 k + ... + n k
    not_too_many(
        k.saturating_mul(n.saturating_mul(n + 1) / 2)
            .saturating_add(1),
    )?;
    let mut all = vec![(0, centre)];
    for ring in 1..=rings {
        let count = first * ring;
        let r = radius * f64::from(ring) / f64::from(rings);
        all.extend((0..count).map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / f64::from(count);
            let at = Point::new(centre.x + r * angle.cos(), centre.y + r * angle.sin());
            (ring, at)
        }));
    }
    Ok(all)
}

/// Each place on the snap grid; one where no detector can sit moves to the next point of the grid where
/// it can, or is left out. Names count those that are left, so that no name is missing.
fn seated(seating: &Seating<'_>, wanted: InRows) -> Result<Made, NoAnswer> {
    let mut made = Made::default();
    let mut taken: Vec<Point> = Vec::new();
    // letters of the rows so far, the row that was last, positions in it
    let (mut letters, mut last, mut count) = (0, None, 0);
    for (row, at) in wanted {
        seating.may_go_on()?;
        let snapped = seating.snapped(at);
        let seat = if seating.is_free(snapped) {
            Some(snapped)
        } else if snapped == at {
            None
        } else {
            // only the snap grid barred it: where its nearest point is a hair too far out, the next one inward is
            // a mesh away, in a corner two
            let reach = MESHES * seating.mesh();
            seating.nearest(at, reach).filter(|_| seating.is_free(at))
        };
        match seat {
            Some(seat) if !taken.contains(&seat) => {
                taken.push(seat);
                if last != Some(row) {
                    (letters, last, count) = (letters + 1, Some(row), 0);
                }
                count += 1;
                let name = format!("{BEFORE}{}{count}", row_letters(letters - 1));
                made.positions.push(Position { name, at: seat });
            }
            _ => made.left_out += 1,
        }
    }
    seating.may_go_on()?;
    Ok(made)
}

fn at_sites(seating: &Seating<'_>, station: &Station) -> Result<Made, NoAnswer> {
    let sites = station.all_sites();
    if sites.is_empty() {
        return Err(missing(
            "The station has no sites; describe them in the step Fixture",
        ));
    }
    not_too_many(sites.len())?;
    let mut made = Made::default();
    for (i, site) in sites.iter().enumerate() {
        let seat = seating.nearest(site.footprint.middle(), REACH);
        seating.may_go_on()?;
        let is_new = |at: &Point| made.positions.iter().all(|p| p.at.distance(*at) >= 1.0);
        let Some(at) = seat.filter(is_new) else {
            made.left_out += 1;
            continue;
        };
        let wanted = match site.name.trim() {
            "" => format!("{BEFORE}{}", i + 1),
            name => format!("{BEFORE}{}", name.strip_prefix("S-").unwrap_or(name)),
        };
        let name = free(&wanted, &made.positions);
        made.beside_site += usize::from(!site.footprint.contains(at));
        made.positions.push(Position { name, at });
    }
    Ok(made)
}

/// The corners of the rim first; between two of them places that are even along their seats.
fn along_rim(seating: &Seating<'_>, station: &Station, spacing: f64) -> Result<Made, NoAnswer> {
    above_zero("spacing", spacing)?;
    if station.plan_radiometer().is_none() {
        return Err(missing(
            "Without a radiometer it is not known how near to the rim its body can sit; choose one above",
        ));
    }
    let fixture = station.fixture.footprint();
    let corners = match fixture.shape {
        Shape::Circle { diameter } => {
            let around = std::f64::consts::PI * diameter;
            not_too_many((around / spacing).ceil() as usize)?;
            let n = (around / spacing).ceil().max(3.0) as u32;
            (0..n)
                .map(|i| {
                    let angle = std::f64::consts::TAU * f64::from(i) / f64::from(n);
                    Point::new(0.5 * diameter * angle.cos(), 0.5 * diameter * angle.sin())
                })
                .map(|p| fixture.from_own(p))
                .collect()
        }
        _ => fixture.outline(),
    };
    let ends = || corners.iter().zip(corners.iter().cycle().skip(1));
    let around: f64 = ends().map(|(a, b)| a.distance(*b)).sum();
    not_too_many(corners.len() + (around / spacing).ceil() as usize)?;
    let is_round = matches!(fixture.shape, Shape::Circle { .. });
    let mut wanted: Vec<Point> = Vec::new();
    for (&a, &b) in ends() {
        wanted.push(a);
        if is_round {
            continue;
        }
        let (Some(from), Some(to)) = (seating.nearest(a, REACH), seating.nearest(b, REACH)) else {
            seating.may_go_on()?;
            continue;
        };
        let side = Point::new(b.x - a.x, b.y - a.y);
        let square = side.x * side.x + side.y * side.y;
        let parts = (from.distance(to) / spacing - 1e-6).ceil().max(1.0) as u32;
        wanted.extend((1..parts).map(|i| {
            let t = f64::from(i) / f64::from(parts);
            let between = Point::new(from.x + t * (to.x - from.x), from.y + t * (to.y - from.y));
            // straight out to the rim, from where the nearest seat is looked for
            let along = ((between.x - a.x) * side.x + (between.y - a.y) * side.y) / square;
            Point::new(a.x + along * side.x, a.y + along * side.y)
        }));
    }
    let mut made = Made::default();
    for place in wanted {
        let apart = 0.5 * spacing;
        let is_new = |at: &Point| made.positions.iter().all(|p| p.at.distance(*at) >= apart);
        let seat = seating.nearest(place, REACH).filter(is_new);
        seating.may_go_on()?;
        match seat {
            Some(at) => {
                let name = format!("{BEFORE}R{}", made.positions.len() + 1);
                made.positions.push(Position { name, at });
            }
            None => made.left_out += 1,
        }
    }
    Ok(made)
}

/// A name like the wanted one that no position has yet.
fn free(wanted: &str, taken: &[Position]) -> String {
    let is_free = |name: &str| taken.iter().all(|p| p.name != name);
    if is_free(wanted) {
        return wanted.to_owned();
    }
    (2..)
        .map(|n| format!("{wanted}-{n}"))
        .find(|name| is_free(name))
        .unwrap_or_default()
}

/// Positions beside those there are already: at places a millimetre or more from each, under names that
/// are free.
pub fn beside(there: &[Position], more: &[Position]) -> Vec<Position> {
    let mut all = there.to_vec();
    for position in more {
        if all.iter().all(|p| p.at.distance(position.at) >= 1.0) {
            let name = free(&position.name, &all);
            all.push(Position {
                name,
                at: position.at,
            });
        }
    }
    all
}

#[cfg(test)]
mod tests;
