//! The middle of the window: the plan view that everybody looks at, its colour bar, what is shown on it
//! and the strip of irradiance along a line below it.

mod changed;
mod colours;
mod cross;
mod drags;
mod legend;
mod log;
mod marks;
mod overlay;
mod preview;
mod readout;
mod shown;
mod strip;
mod toolbar;

use std::sync::Arc;

use eframe::egui::{Panel as Side, Rect, ScrollArea, Ui};

use super::panels::Thing;
use super::steps;
use super::widgets::plan_view::{Drag, Handle, Phase, PlanView};
use crate::assess::Answer;
use crate::export::Arranged;
use crate::field::Raster;
use crate::geometry::Point;
use crate::session::{Command, Gap, Gesture, MapOf, PlanFigures, Same, Session, Step, Tried};
use crate::sheet::colour::ColourScale;
use crate::sheet::drawing::Drawing;
use crate::sheet::picture::{Layers, Picture, level_text};
use crate::sheet::placement::parts;
use crate::station::{Position, Station};
use crate::units::{IrradianceUnit, LengthUnit};
use shown::Shown;

/// Dragged things come to lie on whole half millimetres.
const SNAP: f64 = 0.5;

/// What the pointer can hold in the plan view.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Grip {
    Thing(Thing),
    /// A part of a group of sites, and from the group's first part to it, mm.
    Part(usize, [f64; 2]),
    Cross,
}

impl Grip {
    /// The thing that is moved, and where its handle belongs when what is held is at a place; `None`: the cross.
    fn thing(self, at: Point) -> Option<(Thing, Point)> {
        match self {
            Self::Thing(thing) => Some((thing, at)),
            Self::Part(group, [dx, dy]) => {
                Some((Thing::Sites(group), Point::new(at.x - dx, at.y - dy)))
            }
            Self::Cross => None,
        }
    }
}

/// What is shown and half done in the middle; never saved.
pub struct CentreState {
    /// What each step shows, in the order of [`Step::ALL`].
    layers: [Layers; Step::ALL.len()],
    /// The step of limits shows the map against the limits.
    against: bool,
    /// Show the whole fixture again.
    pub fit: bool,
    gesture: Gesture,
    cross: cross::CrossState,
    drawn: Option<(DrawingKey, Arc<Drawing>)>,
    scene: Option<Scene>,
    preview: preview::Preview,
    changed: changed::Pictures,
    log: log::LogView,
}

/// What of the plan view does not change from frame to frame: positions are written out for it.
struct Scene {
    station: Same<Station>,
    step: Step,
    handles: Vec<Handle<Grip>>,
    /// What a screen reader says of the picture, without the field.
    contents: String,
}

impl Scene {
    fn of(session: &Session) -> Self {
        let station = session.station();
        Self {
            station: Same(station.clone()),
            step: session.step(),
            handles: drags::handles(session)
                .into_iter()
                .map(|h| Handle {
                    key: Grip::Thing(h.key),
                    at: h.at,
                    body: h.body,
                })
                .chain(drags::parts(session).into_iter().map(|h| Handle {
                    key: Grip::Part(h.key.0, h.key.1),
                    at: h.at,
                    body: h.body,
                }))
                .collect(),
            contents: format!(
                "{}: {} sites, {} keep-outs, {} positions",
                station.name,
                station.all_sites().len(),
                station.keep_outs.len(),
                station.positions().len()
            ),
        }
    }

    fn is_of(&self, session: &Session) -> bool {
        self.step == session.step() && Arc::ptr_eq(&self.station.0, session.station())
    }
}

/// All that a drawing is made of.
#[derive(PartialEq)]
struct DrawingKey {
    station: Same<Station>,
    survey: Option<usize>,
    height: f64,
    raster: Option<Same<Raster>>,
    scale: Option<ColourScale>,
    against: Option<Same<Raster>>,
    proposed: Vec<Position>,
    answer: Option<Same<Answer>>,
    layers: Layers,
    /// Of the contours' values, and of readings.
    units: [IrradianceUnit; 2],
    tried: Option<Same<Tried>>,
    gap: Option<Gap>,
    way: Option<Same<PlanFigures>>,
    arranged: Option<Same<Arranged>>,
    length: LengthUnit,
}

impl Default for CentreState {
    fn default() -> Self {
        Self {
            layers: Step::ALL.map(|step| steps::of(step).layers),
            against: true,
            fit: false,
            gesture: 0,
            cross: cross::CrossState::default(),
            drawn: None,
            scene: None,
            preview: preview::Preview::default(),
            changed: changed::Pictures::default(),
            log: log::LogView::default(),
        }
    }
}

/// Whether there is a line through the cross to be shown in this step.
pub fn has_line(session: &Session) -> bool {
    let step = session.step();
    let is_there = session.answers().profile().any().is_some() && !session.is_at_bench();
    is_there && matches!(step, Step::Field | Step::Readings)
}

/// Shows the field along the line through the cross by itself.
pub fn line(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    strip::show(ui, session, commands);
}

/// Shows the middle, with the line through the cross below the picture where `with_line`; where the picture is.
pub fn show(
    ui: &mut Ui,
    session: &Session,
    state: &mut CentreState,
    with_line: bool,
    panels: &mut super::panels::PanelState,
    commands: &mut Vec<Command>,
) -> Rect {
    let step = session.step();
    if step == Step::Export {
        let room = ui.available_rect_before_wrap();
        preview::show(ui, session, &mut state.preview);
        return room;
    }
    if step == Step::Change
        && let Some(compared) = session.answers().change().any().cloned()
    {
        let fit = std::mem::take(&mut state.fit);
        return changed::show(ui, session, &mut state.changed, fit, &compared);
    }
    if step == Step::Upkeep {
        let fit = std::mem::take(&mut state.fit);
        let chosen = panels.upkeep.chosen;
        let (room, clicked) = log::show(ui, session, &mut state.log, fit, chosen);
        if let Some(row) = clicked {
            panels.upkeep.choose(row);
        }
        return room;
    }
    let at = Step::ALL.iter().position(|s| *s == step).unwrap_or(0);
    let is_mapped = session.survey().is_some() && !session.is_at_bench();
    let irradiance = (session.answers().map().any()).filter(|_| is_mapped);
    toolbar::show(
        ui,
        session,
        &mut state.layers[at],
        irradiance.is_some(),
        &mut state.against,
        commands,
    );
    let mut layers = state.layers[at];
    if session.is_at_bench() {
        // where to go, and nothing else
        (layers.map, layers.contours, layers.spots) = (false, false, false);
    }
    let shown = Shown::of(session, irradiance, layers, state.against);
    if step == Step::Fixture && shown.against.is_some() {
        layers.map = true;
    }
    if shown.of == MapOf::Brightness {
        layers.face = true;
    }
    if arranged(session).is_some() {
        // of the fixture's sites only those that stay are drawn, with the arrangement
        layers.sites = false;
    }
    let has_line = has_line(session);
    if has_line && with_line {
        // with large text the picture has its share of a low window too
        let height = ui.available_height();
        Side::bottom("strip")
            .resizable(true)
            .default_size((0.45 * height).clamp(104.0, 176.0))
            .size_range(104.0..=(0.6 * height).clamp(104.0, 340.0))
            .show(ui, |ui| strip::show(ui, session, commands));
    }
    if !session.is_at_bench() {
        Side::bottom("read-out")
            .show_separator_line(false)
            .show(ui, |ui| readout::show(ui, session, shown));
    }
    if shown.against.is_some() {
        Side::right("legend of limits")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(98.0)
            .show(ui, |ui| {
                ScrollArea::vertical().show(ui, |ui| legend::show(ui, session))
            });
    } else if let Some((map, scale)) = shown.map.filter(|_| layers.map) {
        Side::right("colour bar")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(98.0)
            .show(ui, |ui| {
                let spots = session.answers().answer().any();
                let spots = spots.filter(|_| layers.spots).map(|a| &**a);
                colours::show(ui, session, (map, scale, shown.of), spots, commands);
            });
    }
    let cross = session.cross().filter(|_| has_line);
    let at = (shown, cross);
    picture(ui, session, state, layers, at, panels, commands)
}

fn picture(
    ui: &mut Ui,
    session: &Session,
    state: &mut CentreState,
    layers: Layers,
    (shown, cross): (Shown<'_>, Option<Point>),
    panels: &mut super::panels::PanelState,
    commands: &mut Vec<Command>,
) -> Rect {
    let reading = super::panels::readings::chosen(panels, session);
    let chosen = &mut panels.chosen;
    let preferences = session.preferences();
    let drawing = drawing(session, state, layers, shown);
    let scene = match state.scene.take().filter(|scene| scene.is_of(session)) {
        Some(scene) => scene,
        None => Scene::of(session),
    };
    let scene = state.scene.insert(scene);
    let mut description = format!("{}; {}", scene.contents, spot(session));
    let at_cross = cross.map(|at| {
        [Handle {
            key: Grip::Cross,
            at,
            body: Default::default(),
        }]
    });
    if let Some(at) = cross {
        description += &cross::words(at, preferences.length_unit);
    }
    let moved_by_keys = match *chosen {
        Some(thing) => Some(Grip::Thing(thing)),
        None => state.cross.is_chosen.then_some(Grip::Cross),
    };
    let view = PlanView {
        name: "Plan view",
        id_salt: "plan",
        drawing: &drawing,
        unit: preferences.length_unit,
        description: &description,
        handles: at_cross.as_ref().map_or(&scene.handles, |cross| &cross[..]),
        chosen: moved_by_keys,
        snap: match session.step() {
            Step::Plan => session.trial().raster(),
            _ => Some(SNAP),
        },
        fit: std::mem::take(&mut state.fit),
    };
    let seen = view.show(ui);
    marks::paint(ui, &seen.transform, session, reading);
    if let Some(at) = cross {
        cross::paint(ui, &seen.transform, session, at);
    }
    readout::remember(ui, seen.hover);
    match seen.hovered_handle.filter(|_| seen.response.clicked()) {
        Some(Grip::Thing(thing)) => *chosen = Some(thing),
        Some(Grip::Part(group, _)) => *chosen = Some(Thing::Sites(group)),
        Some(Grip::Cross) => state.cross.is_chosen = true,
        None => {
            if let Some(at) = seen.clicked {
                *chosen = None;
                state.cross.is_chosen = true;
                commands.extend(cross::to(session, at));
            }
        }
    }
    if let Some(Drag { target, at, phase }) = seen.drag {
        match target.thing(at) {
            None => state.cross.dragged(session, at, phase, commands),
            Some((target, at)) => {
                drags::moved(
                    session.station(),
                    &mut state.gesture,
                    Drag { target, at, phase },
                    commands,
                );
                *chosen = Some(target);
            }
        }
    }
    seen.response.rect
}

fn drawing(
    session: &Session,
    state: &mut CentreState,
    layers: Layers,
    Shown { map, of, against }: Shown<'_>,
) -> Arc<Drawing> {
    let unit = match of {
        MapOf::Irradiance => session.preferences().irradiance_unit,
        // levels are said as they are
        MapOf::Uncertainty | MapOf::Brightness => IrradianceUnit::MilliwattPerCm2,
    };
    let length = session.preferences().length_unit;
    let answer = session.answers().answer().any();
    let planning = session.answers().planning();
    let is_planned = session.step() == Step::Plan;
    let key = DrawingKey {
        station: Same(session.station().clone()),
        survey: session.survey().map(|(i, _)| i),
        height: session.height(),
        raster: map.map(|(map, _)| Same(map.raster.clone())),
        scale: map.map(|(_, scale)| scale),
        proposed: proposed(session),
        against: against.map(|a| Same(a.raster.clone())),
        answer: answer.cloned().map(Same),
        layers,
        units: [unit, session.preferences().irradiance_unit],
        tried: (planning.seen().filter(|_| is_planned)).map(|tried| Same(tried.clone())),
        gap: planning.gap().filter(|_| is_planned),
        way: (planning
            .figures()
            .any()
            .filter(|_| is_planned && layers.positions))
        .map(|figures| Same(figures.clone())),
        arranged: arranged(session).map(Same),
        length,
    };
    if let Some((drawn, drawing)) = &state.drawn
        && *drawn == key
    {
        return drawing.clone();
    }
    let limits: Vec<f64> =
        against.map_or_else(Vec::new, |a| a.lines.iter().map(|l| l.level).collect());
    let levels = match against {
        Some(_) => &limits[..],
        None => map.map_or(&[][..], |(map, _)| &map.levels),
    };
    let text = level_text(levels, unit);
    let picture = Picture {
        station: &key.station.0,
        survey: key.survey,
        height: Some(key.height),
        map: map.map(|(map, scale)| (&map.raster, scale)),
        unit: session.preferences().irradiance_unit,
        contours: match against {
            Some(against) => &against.lines,
            None => map.map_or(&[][..], |(map, _)| &map.contours),
        },
        against,
        proposed: &key.proposed,
        answer: answer.map(|a| &**a),
        layers,
    };
    let mut drawing = picture.drawing(&text);
    let tried = (key.tried.as_ref()).map_or(&[][..], |tried| &tried.0.made.positions);
    if !tried.is_empty() {
        overlay::make_room(&mut drawing);
    } else if let Some(Same(figures)) = &key.way {
        overlay::way(&mut drawing, &figures.route);
    }
    overlay::add(&mut drawing, tried, key.gap, &key.station.0, length);
    if let Some(Same(arranged)) = &key.arranged {
        drawing
            .items
            .extend(parts(&arranged.asked, &arranged.placed));
    }
    let drawing = Arc::new(drawing);
    state.drawn = Some((key, drawing.clone()));
    drawing
}

/// The arrangement that is drawn.
fn arranged(session: &Session) -> Option<Arc<Arranged>> {
    let is_placing = session.step() == Step::Placement;
    is_placing.then(|| session.arrangement_seen()).flatten()
}

/// Positions to measure next, where they are shown.
fn proposed(session: &Session) -> Vec<Position> {
    let next = session.answers().next().current();
    let shown = next.filter(|_| session.step() == Step::Field && session.is_proposing());
    let positions = shown.map_or(&[][..], |proposal| &proposal.positions);
    positions.iter().map(|p| p.position.clone()).collect()
}

/// The coldest spot in words.
fn spot(session: &Session) -> String {
    session.answers().answer().any().map_or_else(
        || "no field yet".to_owned(),
        |answer| super::words::answer_line(answer, session.preferences())[0].clone(),
    )
}

#[cfg(test)]
mod tests;
