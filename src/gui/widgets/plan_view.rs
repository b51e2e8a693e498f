//! The plan view: a drawing in true proportions that can be moved, enlarged, pointed at, and whose
//! handles can be dragged. Also the place where `egui_plot` is used for plans; it gives the frame, the
//! axes and the way from millimetres to the screen, all painting is [`paint`](crate::gui::paint)'s.

use std::fmt::Debug;

use eframe::egui::{
    Button, CursorIcon, Event, EventFilter, Id, Key, Modifiers, PointerButton, Pos2, Rect,
    Response, Role as Spoken, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use egui_plot::{Plot, PlotMemory, PlotPoint, PlotTransform, PlotUi};

use super::axes;
use crate::geometry::Point;
use crate::gui::paint::Canvas;
use crate::gui::theme::surroundings;
use crate::sheet::drawing::Drawing;
use crate::units::LengthUnit;

/// How far from a handle it is still meant, points of the screen.
const REACH: f32 = 10.0;
/// The least and the greatest width that the view shows, mm.
const WIDTHS: [f64; 2] = [1.0, 20_000.0];

/// Something that can be dragged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Handle<K> {
    /// Tells it from the others.
    pub key: K,
    /// Where it is now, mm.
    pub at: Point,
    /// Where around it it is taken hold of, too, where no handle is nearer.
    pub body: Body,
}

/// The box or disk around a handle that is dragged by it; nothing by default.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Body {
    /// Half its width and depth, mm.
    pub half: [f64; 2],
    /// Counter-clockwise, degrees.
    pub turn: f64,
    /// A disk.
    pub is_round: bool,
}

impl Body {
    fn holds(&self, middle: Point, p: Point) -> bool {
        let (sin, cos) = self.turn.to_radians().sin_cos();
        let (dx, dy) = (p.x - middle.x, p.y - middle.y);
        let [a, b] = self.half;
        let (x, y) = (dx * cos + dy * sin, dy * cos - dx * sin);
        if self.is_round {
            dx.hypot(dy) <= a
        } else {
            x.abs() <= a && y.abs() <= b
        }
    }
}

/// How far a drag has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// It begins.
    Started,
    /// It goes on.
    Moving,
    /// It has ended, and `at` is where the thing now belongs.
    Done,
    /// It was moved by a key: no drag, and done at once.
    ByKey,
    /// It was given up with Escape: the thing belongs where it was before, which `at` does not say.
    GivenUp,
}

/// A handle on its way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drag<K> {
    /// Which handle.
    pub target: K,
    /// Where it is wanted, mm, on the snap grid when there is one.
    pub at: Point,
    /// How far the drag has come.
    pub phase: Phase,
}

/// What the person did with the view in this frame.
pub struct PlanViewResponse<K> {
    /// Where the pointer is, mm.
    pub hover: Option<Point>,
    /// Where was clicked, mm.
    pub clicked: Option<Point>,
    /// Which handle is under the pointer.
    pub hovered_handle: Option<K>,
    /// The handle that moves.
    pub drag: Option<Drag<K>>,
    /// From millimetres to the screen in this frame.
    pub transform: PlotTransform,
    /// Of the area with the picture, for context menus and focus.
    pub response: Response,
}

/// A plan view to be shown. `K` tells handles apart; any small value of the caller's will do.
#[derive(Debug, Clone, Copy)]
pub struct PlanView<'a, K> {
    /// What a screen reader calls it.
    pub name: &'a str,
    /// Tells this view from others in the same part of the window.
    pub id_salt: &'a str,
    /// What it shows.
    pub drawing: &'a Drawing,
    /// The unit of its axes.
    pub unit: LengthUnit,
    /// What a screen reader says of the picture.
    pub description: &'a str,
    /// What can be dragged.
    pub handles: &'a [Handle<K>],
    /// The handle that the arrow keys move: by 1 mm, with Shift by 10 mm.
    pub chosen: Option<K>,
    /// Mesh of the grid on which dragged handles come to lie, mm.
    pub snap: Option<f64>,
    /// Show the whole drawing again, as the button does.
    pub fit: bool,
}

/// A handle that the pointer holds, from press to release.
#[derive(Debug, Clone, Copy)]
struct Grip<K> {
    key: K,
    /// From the pointer to the handle, mm.
    offset: [f64; 2],
    /// Where it was wanted last; `None` until the pointer has moved.
    wanted: Option<Point>,
    /// Escape was pressed: until the button is let go the pointer holds nothing, and moves nothing.
    given_up: bool,
}

impl<K: Copy + PartialEq + Debug + Send + Sync + 'static> PlanView<'_, K> {
    /// Shows the view in all the room there is.
    pub fn show(self, ui: &mut Ui) -> PlanViewResponse<K> {
        let id = ui.make_persistent_id(self.id_salt);
        let theme = ui.theme();
        let grip = self.take_grip(ui, id);
        let plot = self.plot(id, grip.is_none());
        let shown = ui
            .scope(|ui| {
                ui.visuals_mut().extreme_bg_color = surroundings(theme);
                plot.show(ui, zoom)
            })
            .inner;
        let (response, transform) = (shown.response, shown.transform);
        let frame = *transform.frame();

        let painter = ui.painter_at(frame);
        let canvas = Canvas {
            painter: &painter,
            transform: &transform,
            theme,
        };
        let pointer = response.hover_pos();
        let near = pointer.and_then(|at| self.nearest(at, &transform));
        let selected: Vec<Point> = [near, self.chosen.and_then(|key| self.handle(key))]
            .into_iter()
            .flatten()
            .map(|handle| handle.at)
            .collect();
        canvas.drawing(self.drawing, &selected, id);
        if response.has_focus() {
            painter.rect_stroke(
                frame,
                0.0,
                ui.visuals().selection.stroke,
                StrokeKind::Inside,
            );
        }
        if grip.is_some_and(|grip| !grip.given_up) {
            ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
        } else if near.is_some() {
            ui.ctx().set_cursor_icon(CursorIcon::Grab);
        }

        let drag = self
            .drag(ui, id, grip, &response, &transform)
            .or_else(|| self.nudge(ui, &response));
        if response.clicked() {
            response.request_focus();
        }
        response.widget_info(|| WidgetInfo::labeled(Spoken::Canvas, ui.is_enabled(), self.name));
        ui.ctx().accesskit_node_builder(response.id, |node| {
            node.set_description(self.description);
        });
        if self.fit || (!is_whole(ui, id) && fit_button(ui, frame)) {
            fit_all(ui, id);
        }

        PlanViewResponse {
            hover: pointer.map(|at| point(&transform, at)),
            clicked: response
                .clicked()
                .then(|| response.interact_pointer_pos())
                .flatten()
                .map(|at| point(&transform, at)),
            hovered_handle: near.map(|h| h.key),
            drag,
            transform,
            response,
        }
    }

    fn plot(&self, id: Id, pan: bool) -> Plot<'static> {
        let unit = self.unit;
        let bounds = self.drawing.bounds;
        let mut plot = Plot::new(id)
            .id(id)
            .data_aspect(1.0)
            .auto_bounds(true)
            .show_grid(false)
            .show_x(false)
            .show_y(false)
            .allow_drag(pan)
            .allow_zoom(false)
            .allow_scroll(false)
            .allow_boxed_zoom(false)
            .allow_axis_zoom_drag(false)
            .x_axis_label(format!("x, {}", unit.symbol()))
            .y_axis_label(format!("y, {}", unit.symbol()))
            .x_grid_spacer(axes::ticks(unit.in_mm(), 80.0))
            .y_grid_spacer(axes::ticks(unit.in_mm(), 60.0))
            .x_axis_formatter(axes::tick_text(unit.in_mm()))
            .y_axis_formatter(axes::tick_text(unit.in_mm()));
        for p in [bounds.min, bounds.max] {
            if p.x.is_finite() && p.y.is_finite() {
                plot = plot.include_x(p.x).include_y(p.y);
            }
        }
        plot
    }

    fn handle(&self, key: K) -> Option<Handle<K>> {
        self.handles.iter().copied().find(|h| h.key == key)
    }

    /// The handle within reach of a place on the screen, the nearest one of several; else the one on whose thing it is.
    fn nearest(&self, at: Pos2, transform: &PlotTransform) -> Option<Handle<K>> {
        let nearest = |within: &dyn Fn(&Handle<K>, f32) -> bool| {
            self.handles
                .iter()
                .map(|&h| (h, place(transform, h.at).distance(at)))
                .filter(|(h, distance)| within(h, *distance))
                .min_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(h, _)| h)
        };
        let there = point(transform, at);
        nearest(&|_, distance| distance <= REACH)
            .or_else(|| nearest(&|h, _| h.body.holds(h.at, there)))
    }

    /// The grip in force, taken when the pointer goes down on a handle. This is known before the plot
    /// is shown, or its first frame of a drag would move the whole picture.
    fn take_grip(&self, ui: &Ui, id: Id) -> Option<Grip<K>> {
        let (pressed, origin) = ui.input(|i| {
            (
                i.pointer.button_pressed(PointerButton::Primary),
                i.pointer.press_origin(),
            )
        });
        if pressed {
            let grip = PlotMemory::load(ui.ctx(), id)
                .zip(origin)
                .filter(|(memory, at)| memory.transform().frame().contains(*at))
                .and_then(|(memory, at)| {
                    let handle = self.nearest(at, &memory.transform())?;
                    let held = point(&memory.transform(), at);
                    Some(Grip {
                        key: handle.key,
                        offset: [handle.at.x - held.x, handle.at.y - held.y],
                        wanted: None,
                        given_up: false,
                    })
                });
            ui.data_mut(|data| match grip {
                Some(grip) => {
                    data.insert_temp(id, grip);
                }
                None => data.remove::<Grip<K>>(id),
            });
        }
        ui.data(|data| data.get_temp(id))
    }

    fn drag(
        &self,
        ui: &Ui,
        id: Id,
        grip: Option<Grip<K>>,
        response: &Response,
        transform: &PlotTransform,
    ) -> Option<Drag<K>> {
        let grip = grip?;
        let ended = !ui.input(|i| i.pointer.primary_down());
        if ended {
            ui.data_mut(|data| data.remove::<Grip<K>>(id));
        }
        if grip.given_up {
            return None;
        }
        if ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape)) {
            let given_up = Grip {
                given_up: true,
                ..grip
            };
            if !ended {
                ui.data_mut(|data| data.insert_temp(id, given_up));
            }
            return grip.wanted.map(|at| Drag {
                target: grip.key,
                at,
                phase: Phase::GivenUp,
            });
        }
        let moved = response
            .dragged_by(PointerButton::Primary)
            .then(|| response.interact_pointer_pos())
            .flatten()
            .map(|at| {
                let held = point(transform, at);
                self.snapped(Point::new(held.x + grip.offset[0], held.y + grip.offset[1]))
            });
        let (at, phase) = match (moved.or(grip.wanted), ended) {
            (Some(at), true) if grip.wanted.is_some() => (at, Phase::Done),
            (Some(at), false) if grip.wanted.is_some() => (at, Phase::Moving),
            (Some(at), false) => (at, Phase::Started),
            // pressed and let go without a move: a click
            _ => return None,
        };
        if !ended {
            let wanted = Some(at);
            ui.data_mut(|data| data.insert_temp(id, Grip { wanted, ..grip }));
        }
        Some(Drag {
            target: grip.key,
            at,
            phase,
        })
    }

    fn snapped(&self, p: Point) -> Point {
        match self.snap {
            Some(mesh) if mesh.is_finite() && mesh > 0.0 => {
                Point::new((p.x / mesh).round() * mesh, (p.y / mesh).round() * mesh)
            }
            _ => p,
        }
    }

    /// The move of the chosen handle by arrow keys while the view has the focus.
    fn nudge(&self, ui: &Ui, response: &Response) -> Option<Drag<K>> {
        let handle = self.chosen.and_then(|key| self.handle(key))?;
        if !response.has_focus() {
            return None;
        }
        ui.memory_mut(|memory| {
            memory.set_focus_lock_filter(
                response.id,
                EventFilter {
                    horizontal_arrows: true,
                    vertical_arrows: true,
                    ..EventFilter::default()
                },
            );
        });
        let (mut dx, mut dy) = (0.0, 0.0);
        ui.input(|i| {
            for event in &i.events {
                let Event::Key {
                    key,
                    pressed: true,
                    modifiers,
                    ..
                } = event
                else {
                    continue;
                };
                let step = if modifiers.shift { 10.0 } else { 1.0 };
                match key {
                    Key::ArrowLeft => dx -= step,
                    Key::ArrowRight => dx += step,
                    Key::ArrowDown => dy -= step,
                    Key::ArrowUp => dy += step,
                    _ => {}
                }
            }
        });
        (dx != 0.0 || dy != 0.0).then(|| Drag {
            target: handle.key,
            at: Point::new(handle.at.x + dx, handle.at.y + dy),
            phase: Phase::ByKey,
        })
    }
}

/// Enlarges about the pointer by wheel or pinch, about the middle by plus and minus keys.
fn zoom(plot: &mut PlotUi<'_>) {
    let bounds = plot.plot_bounds();
    let mut factor = 1.0;
    let mut centre = bounds.center();
    if plot.response().contains_pointer() {
        let (pinch, wheel) = plot
            .ctx()
            .input(|i| (i.zoom_delta(), i.smooth_scroll_delta.y));
        factor *= pinch * (wheel / 240.0).exp();
        if let Some(at) = plot.pointer_coordinate() {
            centre = at;
        }
    }
    if plot.response().has_focus() {
        let (nearer, farther) = plot.ctx().input(|i| {
            (
                i.key_pressed(Key::Plus) || i.key_pressed(Key::Equals),
                i.key_pressed(Key::Minus),
            )
        });
        if nearer != farther {
            factor *= if nearer { 1.25 } else { 0.8 };
            centre = bounds.center();
        }
    }
    let width = bounds.width() / f64::from(factor);
    if factor != 1.0 && (WIDTHS[0]..=WIDTHS[1]).contains(&width) {
        plot.zoom_bounds(Vec2::splat(factor), centre);
    }
}

/// Whether the whole drawing is shown: then there is nothing to fit, and no button lies over its corner.
fn is_whole(ui: &Ui, id: Id) -> bool {
    PlotMemory::load(ui.ctx(), id).is_none_or(|memory| memory.auto_bounds.any())
}

/// A button in the upper right corner that shows the whole drawing again.
fn fit_button(ui: &mut Ui, frame: Rect) -> bool {
    let size = vec2(36.0, 22.0);
    if frame.width() < 3.0 * size.x || frame.height() < 3.0 * size.y {
        return false;
    }
    let rect = Rect::from_min_size(pos2(frame.right() - size.x - 6.0, frame.top() + 6.0), size);
    ui.put(rect, Button::new("Fit"))
        .on_hover_text("Show the whole fixture")
        .clicked()
}

fn fit_all(ui: &Ui, id: Id) {
    if let Some(mut memory) = PlotMemory::load(ui.ctx(), id) {
        memory.auto_bounds = true.into();
        memory.store(ui.ctx(), id);
        ui.ctx().request_repaint();
    }
}

fn place(transform: &PlotTransform, p: Point) -> Pos2 {
    transform.position_from_point(&PlotPoint::new(p.x, p.y))
}

fn point(transform: &PlotTransform, at: Pos2) -> Point {
    let value = transform.value_from_position(at);
    Point::new(value.x, value.y)
}
