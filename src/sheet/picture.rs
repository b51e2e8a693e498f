//! The picture of a station as a [`Drawing`]: the same for the window, the map and the plan.

use std::sync::Arc;

use super::against::Against;
use super::colour::ColourScale;
use super::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use crate::assess::Answer;
use crate::field::{Contour, Raster};
use crate::geometry::{Footprint, Point};
use crate::station::{Pallet, Position, Station};
use crate::units::{IrradianceUnit, fixed, trim_zeros};

pub(super) mod labels;

/// What to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layers {
    /// The map of irradiance.
    pub map: bool,
    /// Lines of equal irradiance with their values.
    pub contours: bool,
    /// The source's face.
    pub face: bool,
    /// Parts with their names.
    pub sites: bool,
    /// Keep-outs.
    pub keep_outs: bool,
    /// Planned positions with their names.
    pub positions: bool,
    /// The detector's body at each planned position.
    pub bodies: bool,
    /// Readings near the picture's height.
    pub readings: bool,
    /// What was read, beside each of them.
    pub numbers: bool,
    /// Coldest and hottest spot.
    pub spots: bool,
}

impl Layers {
    /// What a person at the fixture has before them, and nothing else: its parts and what stands on it.
    pub const FIXTURE: Self = Self {
        map: false,
        contours: false,
        face: false,
        sites: true,
        keep_outs: true,
        positions: false,
        bodies: false,
        readings: false,
        numbers: false,
        spots: false,
    };
}

/// Everything a picture is made of.
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    /// The document.
    pub station: &'a Station,
    /// Whose readings.
    pub survey: Option<usize>,
    /// Readings within 0.5 mm of this height are shown; `None`: all.
    pub height: Option<f64>,
    /// The map and its colours.
    pub map: Option<(&'a Arc<Raster>, ColourScale)>,
    /// In which readings are said.
    pub unit: IrradianceUnit,
    /// Lines of equal irradiance of that map.
    pub contours: &'a [Contour],
    /// The map against the limits, drawn instead of the map.
    pub against: Option<&'a Against>,
    /// Positions to measure next.
    pub proposed: &'a [Position],
    /// Where it is coldest and hottest.
    pub answer: Option<&'a Answer>,
    /// What to show.
    pub layers: Layers,
}

/// Readings this near to the picture's height are shown, mm.
const NEAR: f64 = 0.5;

impl<'a> Picture<'a> {
    /// Of a station alone: no map, no readings, no figures.
    pub fn bare(station: &'a Station, layers: Layers) -> Self {
        Self {
            station,
            survey: None,
            height: None,
            map: None,
            unit: IrradianceUnit::default(),
            contours: &[],
            against: None,
            proposed: &[],
            answer: None,
            layers,
        }
    }

    /// The drawing: map, contours, fixture, face, keep-outs, sites, positions, readings, spots, in
    /// this order of painting. Contour labels say the level in mW/cm² with the digits of the levels'
    /// spacing through `level_text`.
    pub fn drawing(&self, level_text: &dyn Fn(f64) -> String) -> Drawing {
        let fixture = self.station.fixture.footprint();
        let face = (self.station.source.face.as_ref()).filter(|_| self.layers.face);
        let plate = self.plate();
        let inner =
            (face.into_iter().chain(&plate)).fold(fixture.bounds(), |all, f| all.union(f.bounds()));
        let extent = inner.width().max(inner.depth());
        let bounds = inner.grown(0.05 * extent);
        let sites = if self.layers.sites {
            self.station.all_sites()
        } else {
            Vec::new()
        };
        // on the map against the limits they would cover the small areas that matter most
        let readings = if self.layers.readings && self.against.is_none() {
            self.readings()
        } else {
            Vec::new()
        };
        let mut room = labels::Room::new(fixture.bounds());
        room.readings(readings.iter().filter_map(|item| match item {
            Item::Mark { at, .. } => Some(*at),
            _ => None,
        }));
        if let Some(against) = self.against.filter(|_| self.layers.map) {
            room.keep_off(against.small());
        }
        let names: Vec<Point> = sites
            .iter()
            .map(|site| room.name(site.footprint.bounds(), &site.name))
            .collect();
        let spots = if self.layers.spots {
            self.spots(&mut room)
        } else {
            Vec::new()
        };
        let mut items = Vec::new();

        if let Some(against) = self.against.filter(|_| self.layers.map) {
            items.push(Item::Field {
                raster: against.raster.clone(),
                scale: Against::scale(),
            });
            items.extend(against.items(extent));
        } else if let Some((raster, scale)) = self.map.filter(|_| self.layers.map) {
            items.push(Item::Field {
                raster: raster.clone(),
                scale,
            });
            items.extend(extrapolated(raster, extent / 60.0));
        }
        if self.layers.contours {
            items.extend(self.contours.iter().map(|c| {
                let closed = c.points.len() > 2 && c.points.first() == c.points.last();
                let kept = c.points.len() - usize::from(closed);
                Item::Path {
                    points: c.points[..kept].to_vec(),
                    closed,
                    role: Role::Contour,
                }
            }));
            items.extend(room.on_contours(self.contours, level_text));
        }
        items.push(area(&fixture, Role::Fixture));
        items.extend(datum(0.08 * extent));
        items.extend(plate.iter().map(|plate| area(plate, Role::Plate)));
        items.extend(face.iter().map(|f| area(f, Role::Face)));
        if self.layers.keep_outs {
            let barred = self.station.keep_outs.iter();
            items.extend(barred.map(|k| area(&k.footprint, Role::KeepOut)));
        }
        for (site, at) in sites.into_iter().zip(names) {
            items.push(area(&site.footprint, Role::Site));
            items.push(Item::Label {
                at,
                text: site.name,
                anchor: Anchor::Below,
                role: Role::Site,
            });
        }
        self.add_positions(&mut items);
        for position in self.proposed {
            items.push(Item::Mark {
                at: position.at,
                form: MarkForm::Ring,
                role: Role::Position,
            });
            items.push(Item::Label {
                at: position.at,
                text: format!("{} next", position.name),
                anchor: Anchor::Above,
                role: Role::Position,
            });
        }
        items.extend(readings);
        items.extend(spots);
        Drawing { bounds, items }
    }

    /// The plate, where the plan is shown or a survey that was read on one.
    fn plate(&self) -> Option<Footprint> {
        let plate = self.station.plan.plate?;
        let shown = match self.survey.and_then(|i| self.station.surveys.get(i)) {
            Some(survey) if self.layers.readings => survey.state.pallet == Pallet::Out,
            Some(_) => false,
            None => !self.layers.map,
        };
        let with_plan = self.layers.positions || self.layers.bodies;
        (shown || with_plan).then(|| plate.footprint())
    }

    /// Marks and words of the coldest and the hottest spot.
    fn spots(&self, room: &mut labels::Room) -> Vec<Item> {
        let Some(answer) = self.answer else {
            return Vec::new();
        };
        let spots = [
            (
                &answer.coldest,
                MarkForm::TriangleDown,
                Role::Coldest,
                "coldest",
            ),
            (
                &answer.hottest,
                MarkForm::TriangleUp,
                Role::Hottest,
                "hottest",
            ),
        ];
        // both marks before any word, so that neither word stands on the other's mark
        for (spot, ..) in spots {
            room.mark(spot.at.point());
        }
        let mut items = Vec::new();
        for (spot, form, role, word) in spots {
            let elsewhere = self
                .height
                .is_some_and(|h| (spot.at.height - h).abs() > NEAR);
            let text = if elsewhere {
                format!("{word} (at its own height)")
            } else {
                word.to_owned()
            };
            let at = spot.at.point();
            items.push(Item::Mark { at, form, role });
            let (at, anchor) = room.word(at, &text);
            items.push(Item::Label {
                at,
                text,
                anchor,
                role,
            });
        }
        items
    }

    fn add_positions(&self, items: &mut Vec<Item>) {
        if !self.layers.positions && !self.layers.bodies {
            return;
        }
        let body = self.station.plan_radiometer().map(|r| &r.body);
        for position in self.station.positions() {
            if let Some(body) = body.filter(|_| self.layers.bodies) {
                items.push(area(&Footprint::new(body.clone(), position.at), Role::Body));
            }
            if self.layers.positions {
                items.push(Item::Mark {
                    at: position.at,
                    form: MarkForm::Plus,
                    role: Role::Position,
                });
                items.push(Item::Label {
                    at: position.at,
                    text: position.name,
                    anchor: Anchor::Above,
                    role: Role::Position,
                });
            }
        }
    }

    /// One mark a place: repeats lie on each other, and one that counts hides none that does not. The numbers of repeats
    /// stand side by side.
    fn readings(&self) -> Vec<Item> {
        let mut items = Vec::new();
        let mut last = None;
        let readings = self
            .survey
            .and_then(|i| self.station.surveys.get(i))
            .map_or(&[][..], |s| &s.readings);
        for reading in readings {
            let near = self
                .height
                .is_none_or(|h| (reading.height - h).abs() <= NEAR);
            if reading.irradiance.is_none() || !near {
                continue;
            }
            let (form, role) = if reading.counted().is_some() {
                (MarkForm::Dot, Role::Reading)
            } else {
                (MarkForm::Cross, Role::ReadingLeftOut)
            };
            let at = reading.place().point();
            let mark = Item::Mark { at, form, role };
            let said = match reading.irradiance.filter(|_| self.layers.numbers) {
                Some(e) => trim_zeros(self.unit.show(e, None)),
                None => String::new(),
            };
            if last.as_ref() == Some(&mark) {
                if let Some(Item::Label { text, .. }) = items.last_mut() {
                    text.push_str(", ");
                    text.push_str(&said);
                }
                continue;
            }
            items.push(mark.clone());
            last = Some(mark);
            if self.layers.numbers {
                items.push(Item::Label {
                    at,
                    text: said,
                    anchor: Anchor::Above,
                    role,
                });
            }
        }
        items
    }
}

/// Text for levels of equal irradiance in a unit: as few decimals as tell them apart and say each to
/// a thousandth of their least spacing.
pub fn level_text(levels: &[f64], unit: IrradianceUnit) -> impl Fn(f64) -> String + use<> {
    let mut said: Vec<f64> = levels.iter().map(|&e| unit.from_mw_cm2(e)).collect();
    said.sort_by(f64::total_cmp);
    let spacing = said
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|d| *d > 1e-12)
        .fold(f64::INFINITY, f64::min);
    let slack = if spacing.is_finite() {
        1e-3 * spacing
    } else {
        1e-3 * said.first().map_or(1.0, |e| e.abs())
    };
    let decimals = (0..=6)
        .find(|&d| {
            let step = 0.1f64.powi(d);
            said.iter()
                .all(|e| ((e / step).round() * step - e).abs() <= slack)
        })
        .unwrap_or(6) as usize;
    move |mw_cm2| fixed(unit.from_mw_cm2(mw_cm2), decimals)
}

fn area(footprint: &Footprint, role: Role) -> Item {
    Item::Path {
        points: footprint.outline(),
        closed: true,
        role,
    }
}

/// The datum corner: a ring and two arrows along the axes.
fn datum(length: f64) -> Vec<Item> {
    let role = Role::Datum;
    let head = 0.2 * length;
    let line = |points: &[(f64, f64)]| Item::Path {
        points: points.iter().map(|&(x, y)| Point::new(x, y)).collect(),
        closed: false,
        role,
    };
    let label = |x, y, text: &str, anchor| Item::Label {
        at: Point::new(x, y),
        text: text.to_owned(),
        anchor,
        role,
    };
    vec![
        line(&[(0.0, 0.0), (length, 0.0)]),
        line(&[
            (length - head, 0.5 * head),
            (length, 0.0),
            (length - head, -0.5 * head),
        ]),
        line(&[(0.0, 0.0), (0.0, length)]),
        line(&[
            (0.5 * head, length - head),
            (0.0, length),
            (-0.5 * head, length - head),
        ]),
        Item::Mark {
            at: Point::new(0.0, 0.0),
            form: MarkForm::Ring,
            role,
        },
        label(length, 0.0, "x", Anchor::Below),
        label(0.0, length, "y", Anchor::Right),
    ]
}

/// Slanting strokes over what is extrapolated, `spacing` mm apart along x.
fn extrapolated(raster: &Raster, spacing: f64) -> Vec<Item> {
    if !raster.extrapolated.contains(&true) || spacing.is_nan() || spacing <= 0.0 {
        return Vec::new();
    }
    let bounds = raster.bounds();
    let step = 0.25 * spacing;
    let held = |p: Point| {
        let node = |v: f64, from: f64, step: f64, n: usize| {
            if step > 0.0 {
                (((v - from) / step).round().max(0.0) as usize).min(n.saturating_sub(1))
            } else {
                0
            }
        };
        let column = node(p.x, bounds.min.x, raster.step_x, raster.columns);
        let row = node(p.y, bounds.min.y, raster.step_y, raster.rows);
        let i = row * raster.columns + column;
        raster.extrapolated[i] && raster.irradiance[i].is_finite()
    };
    let mut strokes = Vec::new();
    let lines = ((bounds.width() + bounds.depth()) / spacing).ceil() as usize;
    for line in 0..=lines {
        // points of one line have x - y in common
        let offset = bounds.min.x - bounds.max.y + line as f64 * spacing;
        let mut run: Option<(Point, Point)> = None;
        let steps = (bounds.depth() / step).ceil() as usize;
        for k in 0..=steps {
            let y = (bounds.min.y + k as f64 * step).min(bounds.max.y);
            let p = Point::new(offset + y, y);
            if p.x >= bounds.min.x && p.x <= bounds.max.x && held(p) {
                run = Some((run.map_or(p, |(from, _)| from), p));
            } else {
                strokes.extend(run.take());
            }
        }
        strokes.extend(run);
    }
    strokes
        .into_iter()
        .filter(|(from, to)| from != to)
        .map(|(from, to)| Item::Path {
            points: vec![from, to],
            closed: false,
            role: Role::Extrapolated,
        })
        .collect()
}
