//! The middle of the window: the plan view that everybody looks at, its colour bar, what is shown on it
//! and the strip of irradiance against height below it.

mod legend;
mod overlay;

use std::sync::Arc;

use eframe::egui::{DragValue, Panel as Side, Ui};

use super::panels::Thing;
use super::panels::plan::{Overlay, Trial};
use super::widgets::colour_bar::ColourBar;
use super::widgets::height_strip::{HeightStrip, StripPoint};
use super::widgets::plan_view::{Drag, Handle, Phase, PlanView};
use crate::assess::Answer;
use crate::field::{Map, Raster};
use crate::geometry::{Footprint, Point};
use crate::progress::Progress;
use crate::session::{Command, Gesture, Same, Session, Step};
use crate::sheet::against::Against;
use crate::sheet::colour::ColourScale;
use crate::sheet::drawing::Drawing;
use crate::sheet::picture::{Layers, Picture, level_text};
use crate::station::{Edit, Position, Station};
use crate::units::{IrradianceUnit, LengthUnit, fixed};
use crate::work::Held;

/// Dragged things come to lie on whole half millimetres.
const SNAP: f64 = 0.5;
/// Readings this near to the strip's point are drawn on it, mm.
const NEAR: f64 = 6.0;

/// What is shown and half done in the middle; never saved.
pub struct State {
    /// What each step shows, in the order of [`Step::ALL`].
    layers: [Layers; 6],
    /// The step of limits shows the map against the limits.
    against: bool,
    /// Show the whole fixture again.
    pub fit: bool,
    gesture: Gesture,
    drawn: Option<(Key, Arc<Drawing>)>,
    scene: Option<Scene>,
}

/// What of the plan view does not change from frame to frame: positions are written out for it.
struct Scene {
    station: Same<Station>,
    step: Step,
    handles: Vec<Handle<Thing>>,
    /// What a screen reader says of the picture, without the field.
    contents: String,
}

impl Scene {
    fn of(session: &Session) -> Self {
        let station = session.station();
        Self {
            station: Same(station.clone()),
            step: session.step(),
            handles: handles(session),
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
struct Key {
    station: Same<Station>,
    survey: Option<usize>,
    height: f64,
    raster: Option<Same<Raster>>,
    against: Option<Same<Raster>>,
    proposed: Vec<Position>,
    answer: Option<Same<Answer>>,
    layers: Layers,
    unit: IrradianceUnit,
    overlay: Option<Same<Overlay>>,
    length: LengthUnit,
}

impl Default for State {
    fn default() -> Self {
        let field = Layers {
            map: true,
            contours: true,
            face: false,
            sites: true,
            keep_outs: true,
            positions: false,
            bodies: false,
            readings: false,
            spots: true,
        };
        let bare = Layers {
            map: false,
            contours: false,
            spots: false,
            ..field
        };
        Self {
            layers: [
                Layers { face: true, ..bare },
                Layers {
                    positions: true,
                    bodies: true,
                    ..bare
                },
                Layers {
                    readings: true,
                    ..field
                },
                field,
                Layers {
                    contours: false,
                    ..field
                },
                field,
            ],
            against: true,
            fit: false,
            gesture: 0,
            drawn: None,
            scene: None,
        }
    }
}

/// Shows the middle.
pub fn show(
    ui: &mut Ui,
    session: &Session,
    state: &mut State,
    trial: &Trial,
    chosen: &mut Option<Thing>,
    commands: &mut Vec<Command>,
) {
    let step = session.step();
    let at = Step::ALL.iter().position(|s| *s == step).unwrap_or(0);
    let map = session
        .answers()
        .map()
        .any()
        .filter(|_| session.survey().is_some());
    toolbar(
        ui,
        session,
        &mut state.layers[at],
        map.is_some(),
        &mut state.against,
        commands,
    );
    let mut layers = state.layers[at];
    let brightness = session.answers().brightness().any();
    let brightness = brightness.filter(|_| session.shows_brightness() && layers.map);
    if brightness.is_some() {
        layers.face = true;
    }
    let map = map.filter(|_| layers.map || layers.contours);
    let map = brightness.or(map);
    let scale = map.and_then(scale_of);
    if session.answers().profile().any().is_some() && matches!(step, Step::Field | Step::Readings) {
        Side::bottom("height strip")
            .resizable(true)
            .default_size(150.0)
            .size_range(110.0..=320.0)
            .show(ui, |ui| strip(ui, session, commands));
    }
    Side::bottom("read-out")
        .show_separator_line(false)
        .show(ui, |ui| readout(ui, session, brightness));
    let against = (session.answers().against().any())
        .filter(|_| step == Step::Limits && state.against && layers.map && map.is_some());
    if against.is_some() {
        Side::right("legend of limits")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(98.0)
            .show(ui, legend::show);
    } else if let Some((map, scale)) = map.zip(scale).filter(|_| layers.map) {
        Side::right("colour bar")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(98.0)
            .show(ui, |ui| {
                let spots = session.answers().answer().any();
                let spots = spots.filter(|_| layers.spots && brightness.is_none());
                let unit = session.preferences().irradiance_unit;
                ColourBar {
                    scale,
                    ticks: &map.levels,
                    unit: brightness.is_none().then_some(unit),
                    coldest: spots.map(|a| a.coldest.irradiance),
                    hottest: spots.map(|a| a.hottest.irradiance),
                }
                .show(ui)
            });
    }
    let shown = Shown {
        map: map.zip(scale),
        against,
        trial: (step == Step::Plan).then_some(trial),
    };
    picture(ui, session, state, layers, shown, chosen, commands);
}

/// The map, and the one against the limits where that is to be seen.
#[derive(Clone, Copy)]
struct Shown<'a> {
    map: Option<(&'a Map, ColourScale)>,
    against: Option<&'a Against>,
    /// What is tried out of the plan, in its step.
    trial: Option<&'a Trial>,
}

fn scale_of(map: &Map) -> Option<ColourScale> {
    let (low, high) = map.raster.range()?;
    Some(ColourScale {
        low,
        high,
        map: Default::default(),
    })
}

/// Which layers are shown, and at which height.
fn toolbar(
    ui: &mut Ui,
    session: &Session,
    layers: &mut Layers,
    mapped: bool,
    against: &mut bool,
    commands: &mut Vec<Command>,
) {
    ui.horizontal_wrapped(|ui| {
        ui.menu_button("Show", |ui| {
            for (layer, name) in [
                (&mut layers.map, "Map"),
                (&mut layers.contours, "Contours"),
                (&mut layers.spots, "Coldest and hottest spot"),
                (&mut layers.sites, "Sites"),
                (&mut layers.keep_outs, "Keep-outs"),
                (&mut layers.positions, "Positions"),
                (&mut layers.bodies, "Detector's body at each position"),
                (&mut layers.readings, "Readings"),
                (&mut layers.face, "Source's face"),
            ] {
                ui.checkbox(layer, name);
            }
        })
        .response
        .on_hover_text("What the plan view shows in this step");
        if !mapped || !(layers.map || layers.contours) {
            return;
        }
        if session.step() == Step::Field && layers.map {
            let mut shown = session.shows_brightness();
            let tip = "How bright each part of the lamp's face is, as the readings tell by the law of light: \
                       where it is dead or worn";
            if ui.checkbox(&mut shown, "Lamp's brightness").on_hover_text(tip).changed() {
                commands.push(Command::ShowBrightness(shown));
            }
            if shown {
                let held = session.answers().brightness();
                if let Held::Failed(why, _) = held {
                    ui.weak(why);
                    return;
                }
                if held.any().is_some() {
                    ui.weak("inferred, not measured");
                    return;
                }
            }
        }
        ui.separator();
        let unit = session.preferences().length_unit;
        let mut height = unit.from_mm(session.height());
        let label = ui.label("Map at height");
        let field = ui
            .add(
                DragValue::new(&mut height)
                    .speed(0.2 / unit.in_mm())
                    .fixed_decimals(unit.decimals())
                    .suffix(format!(" {}", unit.symbol())),
            )
            .labelled_by(label.id)
            .on_hover_text("Above the fixture's base; drag or type");
        if field.changed() || field.drag_stopped() {
            commands.push(Command::SetHeight {
                height: unit.to_mm(height),
                sliding: field.dragged(),
            });
        }
        for (name, at) in bond_lines(session.station()) {
            let tip = format!("The bond line of {name}");
            if ui
                .small_button(unit.show_with_unit(at))
                .on_hover_text(tip)
                .clicked()
            {
                commands.push(Command::SetHeight {
                    height: at,
                    sliding: false,
                });
            }
        }
        if session.step() == Step::Limits && session.judged().is_some() {
            ui.separator();
            ui.checkbox(against, "Against the limits").on_hover_text(
                "What can be said of each place with 95 % confidence: below, not proven, inside, above",
            );
        }
        let map = session.answers().map();
        if map.is_updating() || session.answers().against().is_updating() {
            ui.weak("updating the map");
        }
    });
}

/// Distinct bond-line heights with the group that has each.
fn bond_lines(station: &Station) -> Vec<(String, f64)> {
    let mut lines: Vec<(String, f64)> = Vec::new();
    for group in &station.sites {
        if !lines.iter().any(|(_, h)| (h - group.height).abs() < 0.05) {
            let name = if group.name.is_empty() {
                "the sites".to_owned()
            } else {
                format!("sites {}", group.name)
            };
            lines.push((name, group.height));
        }
    }
    lines.truncate(4);
    lines
}

fn picture(
    ui: &mut Ui,
    session: &Session,
    state: &mut State,
    layers: Layers,
    shown: Shown<'_>,
    chosen: &mut Option<Thing>,
    commands: &mut Vec<Command>,
) {
    let preferences = session.preferences();
    let drawing = drawing(session, state, layers, shown);
    let scene = match state.scene.take().filter(|scene| scene.is_of(session)) {
        Some(scene) => scene,
        None => Scene::of(session),
    };
    let scene = state.scene.insert(scene);
    let description = format!("{}; {}", scene.contents, spot(session));
    let view = PlanView {
        id_salt: "plan",
        drawing: &drawing,
        unit: preferences.length_unit,
        description: &description,
        handles: &scene.handles,
        chosen: *chosen,
        snap: shown.trial.map_or(Some(SNAP), Trial::raster),
        fit: std::mem::take(&mut state.fit),
    };
    let shown = view.show(ui);
    state_hover(ui, shown.hover);
    if let Some(key) = shown.hovered_handle.filter(|_| shown.response.clicked()) {
        *chosen = Some(key);
    } else if let Some(at) = shown.clicked {
        *chosen = None;
        commands.push(Command::ProfileAt(at));
    }
    if let Some(drag) = shown.drag {
        moved(session.station(), state, drag, commands);
        *chosen = Some(drag.target);
    }
}

fn drawing(
    session: &Session,
    state: &mut State,
    layers: Layers,
    Shown {
        map,
        against,
        trial,
    }: Shown<'_>,
) -> Arc<Drawing> {
    let unit = session.preferences().irradiance_unit;
    let length = session.preferences().length_unit;
    let answer = session.answers().answer().any();
    let key = Key {
        station: Same(session.station().clone()),
        survey: session.survey().map(|(i, _)| i),
        height: session.height(),
        raster: map.map(|(map, _)| Same(map.raster.clone())),
        proposed: proposed(session),
        against: against.map(|a| Same(a.raster.clone())),
        answer: answer.cloned().map(Same),
        layers,
        unit,
        overlay: trial.map(|trial| Same(trial.overlay().clone())),
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
    if let Some(overlay) = &key.overlay {
        if !overlay.0.positions.is_empty() {
            overlay::make_room(&mut drawing);
        }
        overlay::add(&mut drawing, &overlay.0, &key.station.0, length);
    }
    let drawing = Arc::new(drawing);
    state.drawn = Some((key, drawing.clone()));
    drawing
}

/// Positions to measure next, where they are shown.
fn proposed(session: &Session) -> Vec<Position> {
    let next = session.answers().next().current();
    let shown = next.filter(|_| session.step() == Step::Field && session.is_proposing());
    let positions = shown.map_or(&[][..], |proposal| &proposal.positions);
    positions.iter().map(|p| p.position.clone()).collect()
}

/// What can be dragged in this step.
fn handles(session: &Session) -> Vec<Handle<Thing>> {
    let station = session.station();
    match session.step() {
        Step::Fixture => {
            let sites = station.sites.iter().enumerate().map(|(i, group)| Handle {
                key: Thing::Sites(i),
                at: group.first_centre(),
            });
            let keep_outs = station.keep_outs.iter().enumerate().map(|(i, k)| Handle {
                key: Thing::KeepOut(i),
                at: k.footprint.centre,
            });
            sites.chain(keep_outs).chain(corners(station)).collect()
        }
        Step::Plan => station
            .positions()
            .into_iter()
            .enumerate()
            .map(|(i, p)| Handle {
                key: Thing::Position(i),
                at: p.at,
            })
            .collect(),
        Step::Readings | Step::Field | Step::Limits | Step::Export => Vec::new(),
    }
}

/// The corners of polygons: of the fixture and of its keep-outs.
fn corners(station: &Station) -> Vec<Handle<Thing>> {
    let of = |footprint: &Footprint, key: &dyn Fn(usize) -> Thing| -> Vec<Handle<Thing>> {
        let corners = footprint.corners().into_iter().enumerate();
        corners.map(|(i, at)| Handle { key: key(i), at }).collect()
    };
    let mut all = of(&station.fixture.footprint(), &Thing::FixtureCorner);
    for (k, keep_out) in station.keep_outs.iter().enumerate() {
        all.extend(of(&keep_out.footprint, &|i| Thing::KeepOutCorner(k, i)));
    }
    all
}

/// A handle was moved: the whole gesture is one step of undo.
fn moved(station: &Station, state: &mut State, drag: Drag<Thing>, commands: &mut Vec<Command>) {
    match drag.phase {
        Phase::Started => state.gesture += 1,
        Phase::GivenUp => return commands.push(Command::GiveUp(state.gesture)),
        Phase::Moving | Phase::Done => {}
    }
    let edit = match drag.target {
        Thing::Sites(i) => {
            let Some(group) = station.sites.get(i) else {
                return;
            };
            let from = group.first_centre();
            Edit::MoveSites(i, Point::new(drag.at.x - from.x, drag.at.y - from.y))
        }
        Thing::KeepOut(i) => {
            let Some(mut keep_out) = station.keep_outs.get(i).cloned() else {
                return;
            };
            keep_out.footprint.centre = drag.at;
            Edit::SetKeepOut(i, keep_out)
        }
        Thing::Position(i) => Edit::MovePosition(i, drag.at),
        Thing::FixtureCorner(i) => {
            let mut fixture = station.fixture.clone();
            let Some(shape) = fixture.footprint().with_corner(i, drag.at) else {
                return;
            };
            fixture.shape = shape;
            Edit::SetFixture(fixture)
        }
        Thing::KeepOutCorner(k, i) => {
            let Some(mut keep_out) = station.keep_outs.get(k).cloned() else {
                return;
            };
            let Some(shape) = keep_out.footprint.with_corner(i, drag.at) else {
                return;
            };
            keep_out.footprint.shape = shape;
            Edit::SetKeepOut(k, keep_out)
        }
    };
    commands.push(Command::Drag(edit, state.gesture));
}

/// The coldest spot in words.
fn spot(session: &Session) -> String {
    session.answers().answer().any().map_or_else(
        || "no field yet".to_owned(),
        |answer| super::words::answer_line(answer, session.preferences())[0].clone(),
    )
}

fn hover_id() -> eframe::egui::Id {
    eframe::egui::Id::unique("pointer over the plan")
}

/// The read-out stands below the picture and is laid out before it, so it shows last frame's pointer.
fn state_hover(ui: &Ui, hover: Option<Point>) {
    if hovered(ui) != hover {
        ui.data_mut(|data| data.insert_temp(hover_id(), hover));
        // after the closure: the context must not be asked for anything while it is held
        ui.ctx().request_repaint();
    }
}

fn hovered(ui: &Ui) -> Option<Point> {
    ui.data(|data| data.get_temp::<Option<Point>>(hover_id()).flatten())
}

fn readout(ui: &mut Ui, session: &Session, brightness: Option<&Map>) {
    let preferences = session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    let Some(at) = hovered(ui) else {
        let hint = match session.step() {
            Step::Fixture => {
                "Drag a site's or keep-out's centre, or a corner, to move it; arrow keys move what is chosen"
            }
            Step::Plan => "Drag a position to move it; arrow keys move what is chosen",
            _ if session.answers().map().any().is_none() => {
                "The map appears here as soon as there are readings"
            }
            _ => "Point at the map to read it; click to see irradiance against height there",
        };
        ui.weak(hint);
        return;
    };
    let mut text = format!("{}, {} {}", mm.show(at.x), mm.show(at.y), mm.symbol());
    if let Some(brightness) = brightness {
        if let Some(value) = brightness.raster.nearest(at) {
            text += &format!(
                ": brightness {} of the face's mean, inferred",
                fixed(value, 2)
            );
        }
        ui.label(text);
        return;
    }
    let inside = session.station().fixture.footprint().contains(at);
    if let Some(fit) = session.answers().fit().current().filter(|_| inside) {
        let place = [at.at_height(session.height())];
        if let Ok(there) = fit.field.at(&place, &Progress::new())
            && let Some(e) = there.first()
        {
            text += " at height ";
            text += &mm.show_with_unit(session.height());
            text += ": ";
            text += &match e.uncertainty {
                Some(u) => format!("{} {}", unit.show_expanded(e.irradiance, u), unit.symbol()),
                None => format!(
                    "{}, uncertainty not known",
                    unit.show_with_unit(e.irradiance, None)
                ),
            };
            if e.extrapolated {
                text += ", extrapolated";
            }
        }
    }
    ui.label(text);
}

/// Irradiance against height.
fn strip(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let Some(profile) = session.answers().profile().any() else {
        return;
    };
    let curve: Vec<StripPoint> = profile
        .values
        .iter()
        .map(|&(height, e)| StripPoint {
            height,
            irradiance: e.irradiance,
            // in the logarithm, as the field is made, so the band never reaches below zero
            band: e.uncertainty.filter(|_| e.irradiance > 0.0).map(|u| {
                let factor = (2.0 * u / e.irradiance).exp();
                (e.irradiance / factor, e.irradiance * factor)
            }),
            extrapolated: e.extrapolated,
        })
        .collect();
    let (Some(first), Some(last)) = (curve.first(), curve.last()) else {
        return;
    };
    let heights = (first.height, last.height);
    let measured = session
        .answers()
        .fit()
        .any()
        .map_or(&[][..], |fit| &fit.heights);
    let readings: Vec<(f64, f64)> = session
        .survey()
        .map_or(&[][..], |(_, survey)| &survey.readings)
        .iter()
        .filter(|r| r.place().point().distance(profile.point) <= NEAR)
        .filter_map(|r| Some((r.height, r.counted()?)))
        .collect();
    let preferences = session.preferences();
    let strip = HeightStrip {
        id_salt: "height strip",
        at: profile.point,
        curve: &curve,
        measured,
        readings: &readings,
        height: session.height(),
        heights,
        length: preferences.length_unit,
        unit: preferences.irradiance_unit,
    };
    if let Some(height) = strip.show(ui) {
        let height = (height * 10.0).round() / 10.0;
        commands.push(Command::SetHeight {
            height: height.clamp(heights.0, heights.1),
            sliding: ui.input(|input| input.pointer.any_down()),
        });
    } else if session.is_sliding() && !ui.input(|input| input.pointer.any_down()) {
        commands.push(Command::SetHeight {
            height: session.height(),
            sliding: false,
        });
    }
}

#[cfg(test)]
mod tests;
