//! What a plan can show before anything is read, and what it can't.

use crate::assess::{Assessed, NoAnswer, Request, Spots, ToFit, ToSearch};
use crate::field::Area;
use crate::geometry::{Footprint, Hull, Point};
use crate::lamps::{AnyLamp, Errors, Reader, drawn};
use crate::numeric::quantile::quantile;
use crate::progress::Progress;
use crate::station::{PlanLayout, Reading, SourceKind, Station};

use super::Pattern;

/// What positions and heights can show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prospect {
    /// Share of the assessed area that lies beyond the outermost positions, 0 to 1.
    pub beyond: f64,
    /// How far the farthest of it lies beyond them, mm.
    pub farthest: f64,
    /// Twice the way from an assessed place between the positions to the nearest one, at most, mm: so far apart they lie.
    pub apart: f64,
    /// The least working distance of an assessed height, mm.
    pub distance: f64,
    /// How much is left at that distance of a pattern on the face that positions so far apart can't tell, 0 to 1: of one
    /// whose period is twice that.
    pub left: f64,
    /// The same of the panel's own rows of LEDs, where their pitch is known and the positions can't tell it.
    pub left_of_array: Option<f64>,
    /// Positions no further apart than this leave a hundredth at most, mm.
    pub proposed: f64,
}

/// What is left of a pattern whose contrast is this is nothing that a reading could show: less than a radiometer scatters by.
const LEFT: f64 = 0.01;
/// Between places that are looked at, mm, and how many of them at most.
const STEP: f64 = 4.0;
const MOST: f64 = 4000.0;

impl Prospect {
    /// Of the plan of a station; `None` without positions, or where what is assessed is not below the face.
    pub fn of(station: &Station) -> Option<Self> {
        let positions: Vec<Point> = station.positions().iter().map(|p| p.at).collect();
        if positions.is_empty() {
            return None;
        }
        let (areas, distance) = assessed(station);
        let hull = Hull::of(&positions);
        let area: f64 = areas.iter().map(|a| a.outline.area()).sum();
        let step = STEP.max((area / MOST).sqrt());
        let places: Vec<Point> = areas.iter().flat_map(|a| a.outline.lattice(step)).collect();
        let (mut beyond, mut farthest, mut gap) = (0_usize, 0.0_f64, 0.0_f64);
        for &p in &places {
            let outside = hull.outside(p);
            if outside > 1e-6 {
                beyond += 1;
                farthest = farthest.max(outside);
                continue;
            }
            let nearest = positions.iter().map(|q| q.distance(p));
            gap = gap.max(nearest.fold(f64::INFINITY, f64::min));
        }
        // from the middle of a square mesh to its corners it is half of the diagonal
        let apart = gap * std::f64::consts::SQRT_2;
        if !(distance > 0.0 && apart.is_finite()) {
            return None;
        }
        let pitch = station.source.array.map(|a| a.pitch_x.max(a.pitch_y));
        Some(Self {
            beyond: beyond as f64 / places.len().max(1) as f64,
            farthest,
            apart,
            distance,
            left: blurred(distance, 2.0 * apart),
            left_of_array: pitch
                .filter(|pitch| *pitch < 2.0 * apart)
                .map(|pitch| blurred(distance, pitch)),
            proposed: 0.5 * finest_left(distance),
        })
    }
}

/// Outlines that are assessed with their bond lines (without sites the fixture at the plan's lowest height), and the least
/// working distance there, mm.
fn assessed(station: &Station) -> (Vec<Area>, f64) {
    let lowest = station.plan.heights.iter().copied().reduce(f64::min);
    let request = Request {
        height: station
            .all_sites()
            .is_empty()
            .then(|| lowest.unwrap_or(0.0)),
        ..Request::default()
    };
    let survey = station.new_survey("", jiff::civil::Date::ZERO);
    let areas = Assessed::of(station, &survey, &request).areas;
    let highest = areas.iter().map(|a| a.height).reduce(f64::max);
    (areas, station.source.face_height - highest.unwrap_or(0.0))
}

/// How much of the contrast of a pattern of a period on a plane of Lambertian emitters is left at a distance, 0 to 1.
///
/// What one emitter gives falls as d²/(r² + d²)² about the place below it; of a wave of k = 2π/p that leaves k d K₁(k d),
/// K₁ the modified Bessel function (Gradshteyn & Ryzhik, 6.565 4). It falls nearly as exp(-2π d/p), times √(π k d/2).
pub fn blurred(distance: f64, period: f64) -> f64 {
    let x = std::f64::consts::TAU * distance / period;
    if x < 1e-6 { 1.0 } else { x * bessel_k1(x) }
}

/// K₁(x) = ∫₀^∞ exp(-x cosh t) cosh t dt (DLMF 10.32.9); what is left out is nothing beside rounding.
fn bessel_k1(x: f64) -> f64 {
    const STEP: f64 = 0.05;
    let at = |t: f64| (-x * t.cosh()).exp() * t.cosh();
    let until = (1.0 + 40.0 / x).acosh();
    let steps = (until / STEP).ceil() as usize;
    STEP * (0.5 * at(0.0) + (1..=steps).map(|i| at(STEP * i as f64)).sum::<f64>())
}

/// The period of which a hundredth is left, mm.
fn finest_left(distance: f64) -> f64 {
    let (mut less, mut more) = (0.2 * distance, 20.0 * distance);
    for _ in 0..60 {
        let period = 0.5 * (less + more);
        if blurred(distance, period) > LEFT {
            more = period;
        } else {
            less = period;
        }
    }
    less
}

/// Heights to read at, mm: the bond lines, and one on either side of them where the detector's sensing plane can be
/// brought to it and has room below the face.
pub fn heights_around(station: &Station) -> Vec<f64> {
    const ASIDE: f64 = 0.2;
    const ROOM: f64 = 20.0;
    let mut heights = station.heights_to_begin_with();
    let (Some(&lowest), Some(&highest)) = (heights.first(), heights.last()) else {
        return heights;
    };
    let face = station.source.face_height;
    let aside = (ASIDE * (face - highest)).clamp(5.0, 25.0).round();
    let least = station.plan_radiometer().map_or(0.0, |r| r.sensing_plane);
    if lowest - aside >= least {
        heights.insert(0, lowest - aside);
    }
    if highest + aside <= face - ROOM {
        heights.push(highest + aside);
    }
    heights
}

/// How wide the bound of the coldest spot is expected to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// How far it lies below the coldest spot that is found, percent: the median over lamps that were drawn.
    pub below: f64,
    /// The largest of them, percent.
    pub most: f64,
    /// How many lamps were drawn.
    pub lamps: usize,
}

/// What is to be expected of a plan and, where it is read with the pallet in place, of one around the parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expectation {
    /// As the plan is.
    pub planned: Expected,
    /// Read around, with the pallet out; `None`: so it is read.
    pub around: Option<Expected>,
}

/// Lamps that are drawn.
const LAMPS: u64 = 5;

impl Expectation {
    /// Draws lamps of the station's kind over its face, reads them by the plan with 1.2 % noise and 0.7 mm of placement, and
    /// looks for the bound as from any survey.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn of(station: &Station, progress: &Progress) -> Result<Self, NoAnswer> {
        let planned = expected(station, progress)?;
        let around = match station.plan.plate {
            Some(_) => None,
            None => Some(expected(
                &read_around(station, Pattern::around(station), None, progress)?,
                progress,
            )?),
        };
        Ok(Self { planned, around })
    }
}

/// The same station with a plan around what is assessed, the pallet out; on the plan's plate where there is one.
pub(super) fn read_around(
    station: &Station,
    pattern: Pattern,
    raster: Option<f64>,
    progress: &Progress,
) -> Result<Station, NoAnswer> {
    let mut other = station.clone();
    let plate = || station.plate_to_begin_with();
    other.plan.plate.get_or_insert_with(plate);
    let made = pattern.make(&other, raster, progress)?;
    other.plan.layout = PlanLayout::ByHand(made.positions);
    Ok(other)
}

pub(super) fn expected(station: &Station, progress: &Progress) -> Result<Expected, NoAnswer> {
    let places = station.planned_places();
    if places.is_empty() {
        return Err(NoAnswer::Missing(
            "The plan has no positions to expect anything of; add some".into(),
        ));
    }
    let mut below = Vec::new();
    for number in 0..LAMPS {
        progress.check()?;
        progress.set(number as f64 / LAMPS as f64);
        let Some(lamp) = lamp(station, number) else {
            continue;
        };
        let mut reader = Reader::new(Errors::careful(), number);
        let readings = places.iter().map(|(name, at)| {
            let placed = reader.set_down(*at);
            // a lamp as bright as most, so that the display's step is no matter
            let shown = reader.read(lamp.as_ref(), placed, 0.0);
            Reading {
                position: name.clone(),
                ..Reading::new(*at, Some(shown))
            }
        });
        let mut survey = station.new_survey("", jiff::civil::Date::ZERO);
        survey.readings = readings.collect();
        let mut read = Station {
            surveys: Vec::new(),
            ..station.clone()
        };
        read.surveys.push(survey.into());
        let request = Request::of_survey(0);
        let to_fit = ToFit::of(&read, &request)?;
        let fit = to_fit.fit(&Progress::new())?;
        let survey = to_fit.survey();
        let search = ToSearch::of(&read, survey, &Assessed::of(&read, survey, &request));
        let spot = Spots::of(&fit.field, &search, &Progress::new())?.coldest.1;
        below.extend(
            spot.at_least
                .map(|least| 100.0 * (1.0 - least / spot.irradiance)),
        );
    }
    let (Some(median), Some(most)) = (quantile(&below, 0.5), quantile(&below, 1.0)) else {
        return Err(NoAnswer::Missing(
            "No lamp of this kind could be drawn over this face; check the face and its height"
                .into(),
        ));
    };
    Ok(Expected {
        below: median,
        most,
        lamps: below.len(),
    })
}

/// A lamp as this source may be.
fn lamp(station: &Station, number: u64) -> Option<AnyLamp> {
    let source = &station.source;
    let fixture = station.fixture.footprint();
    let over = || Footprint {
        shape: crate::geometry::Shape::Rectangle {
            width: fixture.bounds().width(),
            depth: fixture.bounds().depth(),
        },
        centre: fixture.bounds().centre(),
        turn: 0.0,
    };
    let face = source.face.clone().unwrap_or_else(over);
    let height = source.face_height;
    let counts = source.array.map(|a| (a.columns, a.rows));
    match (source.kind, number % 3) {
        (SourceKind::LedPanel, _) | (SourceKind::Other, 0) => {
            Some(drawn::led_panel(&face, height, counts, number))
        }
        (SourceKind::LinearArc, _) | (SourceKind::Other, 1) => {
            Some(drawn::trough(&face, height, number))
        }
        (SourceKind::ReflectorArc | SourceKind::Other, _) => {
            drawn::reflector(&face, height, number)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;

    fn station(margin: f64) -> Station {
        let shape = Shape::Rectangle {
            width: 160.0,
            depth: 100.0,
        };
        let mut station = Station::new("s", shape, 80.0);
        station.plan.layout = PlanLayout::Grid {
            columns: 5,
            rows: 5,
            margin,
        };
        station
    }

    #[test]
    fn modified_bessel_function_as_tabulated() {
        // Abramowitz & Stegun 1964, table 9.8: e^x K1(x)
        for (x, table) in [
            (0.5, 2.731_009_708),
            (1.0, 1.636_153_486),
            (5.0, 0.600_273_858_8),
        ] {
            let ours = f64::exp(x) * bessel_k1(x);
            assert!((ours / table - 1.0).abs() < 1e-7, "{x}: {ours} for {table}");
        }
    }

    /// The closed form against the sum of single emitters: a long row of them, each spread along y without end.
    #[test]
    fn a_pattern_is_blurred_as_the_sum_of_its_emitters_is() {
        let (distance, period) = (40.0, 70.0);
        // strips along y: ∫ d²/(r² + d²)² dy = (π/2) d²/(x² + d²)^1.5
        let strip = |x: f64| distance * distance / (x * x + distance * distance).powf(1.5);
        let wave = |x: f64| (std::f64::consts::TAU * x / period).cos();
        let (mut even, mut waved) = (0.0, 0.0);
        for i in -400_000..=400_000 {
            let x = 0.05 * f64::from(i);
            even += strip(x);
            waved += strip(x) * wave(x);
        }
        let left = blurred(distance, period);
        assert!(
            (waved / even - left).abs() < 1e-4,
            "{} {left}",
            waved / even
        );
    }

    #[test]
    fn positions_inside_leave_the_rim_beyond_them() {
        let inside = Prospect::of(&station(10.0)).expect("positions");
        // 160 x 100 mm less 140 x 80 mm is 30 % of it; the lattice has its rim among its nodes
        assert!((0.25..0.45).contains(&inside.beyond), "{inside:?}");
        assert!((inside.farthest - 10.0 * f64::sqrt(2.0)).abs() < 1e-9);
        let on_rim = Prospect::of(&station(0.0)).expect("positions");
        assert_eq!((on_rim.beyond, on_rim.farthest), (0.0, 0.0));
        // 40 by 25 mm: the middle of a mesh lies 23.6 mm from its corners
        assert!((30.0..34.0).contains(&on_rim.apart), "{on_rim:?}");
        assert!(on_rim.left < 0.03 && on_rim.proposed > 30.0, "{on_rim:?}");
    }

    #[test]
    fn a_height_lies_on_either_side_of_the_bond_line() {
        let mut station = station(10.0);
        assert_eq!(heights_around(&station), [0.0, 16.0]);
        station.sites.push(crate::station::SiteGroup {
            name: "S-".into(),
            shape: Shape::Circle { diameter: 5.0 },
            turn: 0.0,
            height: 20.0,
            top: None,
            bond: None,
            layout: crate::station::SiteLayout::Single {
                centre: Point::new(50.0, 50.0),
            },
        });
        assert_eq!(heights_around(&station), [8.0, 20.0, 32.0]);
    }

    #[test]
    fn read_around_the_bound_is_expected_to_be_narrower() {
        let mut station = station(10.0);
        station.source.kind = SourceKind::ReflectorArc;
        station.plan.heights = heights_around(&station);
        let expected = Expectation::of(&station, &Progress::new()).expect("drawn");
        let around = expected.around.expect("the pallet is in place");
        assert!(around.below < expected.planned.below, "{expected:?}");
        assert!((0.5..20.0).contains(&around.below), "{expected:?}");
    }
}
