//! What stands in the light and was not there, or not read, when the field was: how much a keep-out with a height could take
//! from a part beside it.
//!
//! The face shines as an even plane of Lambertian emitters (without an outline the fixture's own bounds): of each place of
//! it a bond gets d²/(r² + d²)² as much, straight through the air. What a block with upright sides stands before is lost;
//! light that mirrors and walls throw is not looked at. So the figure is what it could take, not what it takes.

use super::area::Assessed;
use crate::geometry::{Footprint, Place, Point, Shape};
use crate::progress::{Cancelled, Progress};
use crate::station::{KeepOut, Pallet, Station, Survey};

/// What may stand in the light.
#[derive(Debug, Clone, PartialEq)]
pub struct ToShade {
    /// Keep-outs whose height is known.
    keep_outs: Vec<KeepOut>,
    face: Footprint,
    face_height: f64,
    /// Where the survey was read with them in place.
    read: Vec<Point>,
    /// Those that go with the pallet were not there.
    pallet_out: bool,
}

/// What a keep-out could take.
#[derive(Debug, Clone, PartialEq)]
pub struct Shade {
    /// Its name.
    pub keep_out: String,
    /// The part that loses most, as an index of what is assessed.
    pub area: usize,
    /// Where there.
    pub at: Place,
    /// Share of the light there, 0 to 1.
    pub share: f64,
}

/// Less than this is nothing beside what a radiometer scatters by.
const LEAST: f64 = 0.01;
/// A reading so near to a part, mm, with the keep-out in place, has the shadow in it.
const BESIDE: f64 = 10.0;
/// The face is taken as about so many points, a part as so many places.
const ON_FACE: f64 = 300.0;
const ON_PART: f64 = 12.0;
/// A way through a keep-out shorter than this is none, mm.
const STEP: f64 = 0.3;

impl ToShade {
    /// Of a survey of a station.
    pub fn of(station: &Station, survey: &Survey) -> Self {
        let pallet_out = match survey.state.pallet {
            Pallet::Out => true,
            Pallet::NotSaid => station.plan.plate.is_some(),
            Pallet::Empty | Pallet::Loaded => false,
        };
        let bounds = station.fixture.footprint().bounds();
        let (width, depth) = (bounds.width(), bounds.depth());
        let over = || Footprint::new(Shape::Rectangle { width, depth }, bounds.centre());
        let keep_outs = station.keep_outs.iter().filter(|k| k.height.is_some());
        let keep_outs: Vec<KeepOut> = keep_outs.cloned().collect();
        let counted = survey.readings.iter().filter(|r| r.counted().is_some());
        let read = counted.map(|r| r.place().point());
        Self {
            read: if keep_outs.is_empty() {
                Vec::new()
            } else {
                read.collect()
            },
            keep_outs,
            face: station.source.face.clone().unwrap_or_else(over),
            face_height: survey
                .state
                .face_height
                .unwrap_or(station.source.face_height),
            pallet_out,
        }
    }

    /// The most that a keep-out could take from what is assessed; `None` where it is less than a hundredth, or was read.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn most(
        &self,
        assessed: &[crate::field::Area],
        progress: &Progress,
    ) -> Result<Option<Shade>, Cancelled> {
        let step = (self.face.area() / ON_FACE).sqrt();
        let shining = self.face.cells(step);
        let mut most: Option<Shade> = None;
        for keep_out in &self.keep_outs {
            let Some(top) = keep_out.height.filter(|top| *top < self.face_height) else {
                continue;
            };
            for (area, of) in assessed.iter().enumerate() {
                progress.check()?;
                if top <= of.height || self.was_read(keep_out, &of.outline) {
                    continue;
                }
                let step = (of.outline.area() / ON_PART).sqrt().max(0.5);
                for at in of.outline.lattice(step) {
                    let share = self.share(keep_out, top, at.at_height(of.height), &shining);
                    if share > most.as_ref().map_or(LEAST, |m| m.share) {
                        most = Some(Shade {
                            keep_out: keep_out.name.clone(),
                            area,
                            at: at.at_height(of.height),
                            share,
                        });
                    }
                }
            }
        }
        Ok(most)
    }

    /// Whether a reading stood beside a part while the keep-out was there.
    fn was_read(&self, keep_out: &KeepOut, part: &Footprint) -> bool {
        let was_there = !self.pallet_out || keep_out.stays;
        let near = |at: &&Point| {
            part.signed_distance(**at) <= BESIDE
                && keep_out.footprint.signed_distance(**at) <= 2.0 * BESIDE
        };
        was_there && self.read.iter().any(|at| near(&at))
    }

    /// Share of the light at a place that a keep-out with a top stands before.
    fn share(&self, keep_out: &KeepOut, top: f64, at: Place, shining: &[Point]) -> f64 {
        let up = self.face_height - at.height;
        let part = (top - at.height) / up;
        let (from, mut lost, mut all) = (at.point(), 0.0, 0.0);
        if keep_out.footprint.contains(from) {
            // the part lies in it, which is a finding of its own
            return 0.0;
        }
        for &to in shining {
            let away = from.distance(to);
            let light = (up / (away * away + up * up)).powi(2);
            all += light;
            // below its top the way is over so much of the plan
            let reach = part * away;
            let mut along = 0.0;
            while along < reach {
                let t = along / away;
                let here = Point::new(from.x + t * (to.x - from.x), from.y + t * (to.y - from.y));
                let clear = keep_out.footprint.signed_distance(here);
                if clear <= 0.0 {
                    lost += light;
                    break;
                }
                along += clear.max(STEP);
            }
        }
        if all > 0.0 { lost / all } else { 0.0 }
    }
}

impl Shade {
    /// As a sentence.
    pub(super) fn words(&self, assessed: &Assessed) -> String {
        let part = match assessed.sites.get(self.area) {
            Some(site) => format!("site {}", site.name),
            None => "the fixture".into(),
        };
        format!(
            "Keep-out {} stands in the light: from {part} it could take up to {:.0} % beside it, a shadow that these readings \
             do not show; read beside that part with it in place, or count the figure off",
            self.keep_out,
            100.0 * self.share
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Area;
    use crate::station::Bars;

    fn to_shade(height: f64, read: Vec<Point>, pallet_out: bool) -> ToShade {
        let shape = |width, depth| Shape::Rectangle { width, depth };
        let clamp = KeepOut {
            height: Some(height),
            ..KeepOut::new(
                "Clamp",
                Footprint::new(shape(4.0, 400.0), Point::new(12.0, 0.0)),
                Bars::Both,
            )
        };
        ToShade {
            keep_outs: vec![clamp],
            face: Footprint::new(shape(400.0, 400.0), Point::default()),
            face_height: 50.0,
            read,
            pallet_out,
        }
    }

    fn part() -> Vec<Area> {
        let shape = Shape::Circle { diameter: 0.2 };
        vec![Area {
            outline: Footprint::new(shape, Point::default()),
            height: 0.0,
        }]
    }

    /// A long wall beside a place under a wide even face hides all light from below a line across: of a Lambertian sky the
    /// share between the horizon and an elevation a on one side is (1 - cos a)/2 (a wall without end as tall as that).
    #[test]
    fn a_long_wall_takes_what_the_closed_form_says() {
        let shade = to_shade(10.0, Vec::new(), false);
        let found = shade
            .most(&part(), &Progress::new())
            .expect("ran")
            .expect("some");
        // the near face of the wall is 10 mm away and 10 mm high: 45 degrees
        let closed = 0.5 * (1.0 - f64::to_radians(45.0).cos());
        assert!(
            (found.share - closed).abs() < 0.03,
            "{} {closed}",
            found.share
        );
        assert_eq!((found.keep_out.as_str(), found.area), ("Clamp", 0));
    }

    #[test]
    fn a_low_one_takes_nothing_and_one_that_was_read_is_in_the_readings() {
        let most = |shade: ToShade| shade.most(&part(), &Progress::new()).expect("ran");
        assert_eq!(most(to_shade(0.0, Vec::new(), false)), None);
        let beside = vec![Point::new(3.0, 0.0)];
        assert_eq!(most(to_shade(10.0, beside.clone(), false)), None);
        // with the pallet out it was not there
        assert!(most(to_shade(10.0, beside, true)).is_some());
    }
}
