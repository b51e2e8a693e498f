//! Looking at a picture, pointing at it, moving things in it.

mod beside;
mod colours;

use std::sync::Arc;
use std::time::Instant;

use eframe::egui::{
    Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, Pos2, TouchPhase, Ui, vec2,
};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use egui_plot::{PlotPoint, PlotTransform};
use evenfield::field::Raster;
use evenfield::geometry::{Bounds, Footprint, Point, Shape};
use evenfield::gui::widgets::plan_view::{Drag, Handle, Phase, PlanView};
use evenfield::sheet::colour::{ColourMap, ColourScale};
use evenfield::sheet::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use evenfield::units::LengthUnit;

const SCALE: ColourScale = ColourScale {
    low: 60.0,
    high: 100.0,
    map: ColourMap::Cividis,
};

/// A map over 180 x 120 mm that is lighter to the back, hottest in the middle of x.
fn raster(columns: usize, rows: usize) -> Raster {
    let (step_x, step_y) = (180.0 / (columns - 1) as f64, 120.0 / (rows - 1) as f64);
    let places = (0..rows).flat_map(|r| (0..columns).map(move |c| (c, r)));
    let value = |(c, r): (usize, usize)| {
        let (x, y) = (c as f64 * step_x / 90.0 - 1.0, r as f64 * step_y / 120.0);
        64.0 + 30.0 * y - 3.0 * x * x
    };
    Raster {
        columns,
        rows,
        origin: Point::new(0.0, 0.0),
        step_x,
        step_y,
        height: 3.0,
        irradiance: places.clone().map(value).collect(),
        uncertainty: vec![1.0; columns * rows],
        extrapolated: places
            .map(|(c, r)| c as f64 * step_x > 150.0 && r as f64 * step_y > 80.0)
            .collect(),
    }
}

fn drawing(items: Vec<Item>) -> Drawing {
    Drawing {
        bounds: Bounds {
            min: Point::new(0.0, 0.0),
            max: Point::new(180.0, 120.0),
        },
        items,
    }
}

fn outline(footprint: Footprint, role: Role) -> Item {
    Item::Path {
        points: footprint.outline(),
        closed: true,
        role,
    }
}

fn rectangle(x: f64, y: f64, width: f64, depth: f64) -> Footprint {
    Footprint::new(Shape::Rectangle { width, depth }, Point::new(x, y))
}

fn label(x: f64, y: f64, text: impl ToString, anchor: Anchor, role: Role) -> Item {
    Item::Label {
        at: Point::new(x, y),
        text: text.to_string(),
        anchor,
        role,
    }
}

/// What a busy station shows: a 200 x 150 map, 8 contours, 12 sites, 49 positions.
fn busy() -> Drawing {
    let mut items = vec![Item::Field {
        raster: Arc::new(raster(200, 150)),
        scale: SCALE,
    }];
    for i in 0..8 {
        let level = 66.0 + 3.5 * f64::from(i);
        let points: Vec<Point> = (0..=120)
            .map(|j| 1.5 * f64::from(j))
            .map(|x| Point::new(x, (level - 64.0 + 3.0 * (x / 90.0 - 1.0).powi(2)) * 4.0))
            .collect();
        let middle = points[60 - i as usize * 5];
        items.push(Item::Path {
            points,
            closed: false,
            role: Role::Contour,
        });
        items.push(label(
            middle.x,
            middle.y,
            level,
            Anchor::Centre,
            Role::Contour,
        ));
    }
    items.push(outline(rectangle(90.0, 60.0, 180.0, 120.0), Role::Fixture));
    items.push(outline(rectangle(90.0, 60.0, 100.0, 100.0), Role::Face));
    items.push(outline(rectangle(168.0, 14.0, 20.0, 24.0), Role::KeepOut));
    for i in 0..12 {
        let (x, y) = (
            24.0 + 44.0 * f64::from(i % 4),
            20.0 + 40.0 * f64::from(i / 4),
        );
        let name = format!("{}{}", ['A', 'B', 'C'][i as usize / 4], i % 4 + 1);
        items.push(outline(rectangle(x, y, 24.0, 16.0), Role::Site));
        items.push(label(x, y - 8.0, name, Anchor::Below, Role::Site));
    }
    for i in 0..49 {
        let at = Point::new(
            12.0 + 26.0 * f64::from(i % 7),
            9.0 + 17.0 * f64::from(i / 7),
        );
        items.push(Item::Mark {
            at,
            form: MarkForm::Ring,
            role: Role::Position,
        });
        items.push(label(
            at.x,
            at.y,
            format!("P{}", i + 1),
            Anchor::Left,
            Role::Position,
        ));
    }
    items.push(outline(
        Footprint::new(Shape::Circle { diameter: 14.0 }, Point::new(64.0, 43.0)),
        Role::Body,
    ));
    for (x, y, form, role, text) in [
        (4.0, 3.0, MarkForm::TriangleDown, Role::Coldest, "61.0"),
        (90.0, 118.0, MarkForm::TriangleUp, Role::Hottest, "94.0"),
    ] {
        items.push(Item::Mark {
            at: Point::new(x, y),
            form,
            role,
        });
        items.push(label(x, y, text, Anchor::Left, role));
    }
    drawing(items)
}

/// A window with nothing but a plan view, and what came out of it.
struct Seen {
    drawing: Drawing,
    handles: Vec<Handle<u8>>,
    chosen: Option<u8>,
    snap: Option<f64>,
    hover: Option<Point>,
    clicks: Vec<Point>,
    drags: Vec<Drag<u8>>,
    transform: Option<PlotTransform>,
}

impl Seen {
    fn of(drawing: Drawing) -> Self {
        Self {
            drawing,
            handles: vec![
                Handle {
                    key: 1,
                    at: Point::new(40.0, 30.0),
                    body: Default::default(),
                },
                Handle {
                    key: 2,
                    at: Point::new(140.0, 90.0),
                    body: Default::default(),
                },
            ],
            chosen: None,
            snap: None,
            hover: None,
            clicks: Vec::new(),
            drags: Vec::new(),
            transform: None,
        }
    }

    fn ui(ui: &mut Ui, seen: &mut Self) {
        let out = PlanView {
            name: "Plan view",
            id_salt: "plan",
            drawing: &seen.drawing,
            unit: LengthUnit::Mm,
            description: "A fixture of 180 by 120 mm",
            handles: &seen.handles,
            chosen: seen.chosen,
            snap: seen.snap,
            fit: false,
        }
        .show(ui);
        seen.hover = out.hover;
        seen.clicks.extend(out.clicked);
        seen.drags.extend(out.drag);
        seen.transform = Some(out.transform);
        if let Some(drag) = out.drag {
            for handle in &mut seen.handles {
                if handle.key == drag.target {
                    handle.at = drag.at;
                }
            }
        }
    }

    fn place(&self, x: f64, y: f64) -> Pos2 {
        self.transform
            .expect("shown")
            .position_from_point(&PlotPoint::new(x, y))
    }
}

fn window(seen: Seen) -> Harness<'static, Seen> {
    let mut window = Harness::builder()
        .with_size(vec2(900.0, 640.0))
        .build_ui_state(Seen::ui, seen);
    window.run();
    window
}

fn near(a: Point, b: Point) -> bool {
    a.distance(b) < 0.01
}

#[test]
fn the_pointer_is_read_in_true_millimetres_and_y_is_up() {
    let mut window = window(Seen::of(busy()));
    let frame = *window.state().transform.expect("shown").frame();
    // the whole fixture is in view, its front below its back, as many points a mm along x as along y
    let (front, back) = (
        window.state().place(0.0, 0.0),
        window.state().place(180.0, 120.0),
    );
    assert!(frame.contains(front) && frame.contains(back));
    assert!(front.y > back.y && front.x < back.x);
    let scale = (back.x - front.x) / 180.0;
    assert!(((front.y - back.y) / 120.0 - scale).abs() < 1e-3);
    // halfway between the corners is the middle; a third of the way a third
    for (t, wanted) in [
        (0.5, Point::new(90.0, 60.0)),
        (1.0 / 3.0, Point::new(60.0, 40.0)),
    ] {
        window.hover_at(front + (back - front) * t);
        window.run();
        let hover = window.state().hover.expect("over the view");
        assert!(near(hover, wanted), "{hover:?} is not {wanted:?}");
    }
    window.remove_cursor();
    window.run();
    assert_eq!(window.state().hover, None);
}

#[test]
fn the_view_has_a_name_and_a_description() {
    let window = window(Seen::of(busy()));
    let view = window.get_by_label("Plan view");
    let description = view.accesskit_node().description();
    assert_eq!(description.as_deref(), Some("A fixture of 180 by 120 mm"));
}

fn drag(window: &mut Harness<'_, Seen>, from: (f64, f64), to: (f64, f64)) {
    let (start, end) = (
        window.state().place(from.0, from.1),
        window.state().place(to.0, to.1),
    );
    window.hover_at(start);
    window.run();
    window.drag_at(start);
    window.run();
    for t in [0.25, 0.5, 0.75, 1.0] {
        window.hover_at(start + (end - start) * t);
        window.run();
    }
    window.drop_at(end);
    window.run();
}

#[test]
fn a_dragged_handle_says_where_it_is_and_the_picture_stays() {
    let mut window = window(Seen::of(busy()));
    let corner = window.state().place(0.0, 0.0);
    drag(&mut window, (40.0, 30.0), (70.0, 55.0));
    let seen = window.state();
    let phases: Vec<Phase> = seen.drags.iter().map(|d| d.phase).collect();
    assert_eq!(phases.first(), Some(&Phase::Started));
    assert_eq!(phases.last(), Some(&Phase::Done));
    assert!(phases.len() > 2);
    assert!(
        phases[1..phases.len() - 1]
            .iter()
            .all(|p| *p == Phase::Moving)
    );
    assert!(seen.drags.iter().all(|d| d.target == 1));
    assert!(near(seen.drags[0].at, Point::new(47.5, 36.25)));
    assert!(near(seen.handles[0].at, Point::new(70.0, 55.0)));
    assert_eq!(corner, seen.place(0.0, 0.0));
    assert!(seen.clicks.is_empty());
}

#[test]
fn escape_gives_a_drag_up_and_nothing_moves_until_the_next_one() {
    let mut window = window(Seen::of(busy()));
    let corner = window.state().place(0.0, 0.0);
    let (start, end) = (
        window.state().place(40.0, 30.0),
        window.state().place(70.0, 55.0),
    );
    window.hover_at(start);
    window.drag_at(start);
    window.run();
    window.hover_at(end);
    window.run();
    window.key_press(Key::Escape);
    window.run();
    let last = window.state().drags.last().map(|d| (d.target, d.phase));
    assert_eq!(last, Some((1, Phase::GivenUp)));
    let so_far = window.state().drags.len();
    window.hover_at(start);
    window.run();
    window.drop_at(start);
    window.run();
    assert_eq!(window.state().drags.len(), so_far);
    assert_eq!(corner, window.state().place(0.0, 0.0), "the picture stays");
    drag(&mut window, (140.0, 90.0), (120.0, 70.0));
    let phase = window.state().drags.last().map(|d| d.phase);
    assert_eq!(phase, Some(Phase::Done));
}

#[test]
fn a_handle_held_beside_its_middle_does_not_jump_and_comes_to_lie_on_the_grid() {
    let mut window = window(Seen::of(busy()));
    window.state_mut().snap = Some(5.0);
    drag(&mut window, (141.5, 89.0), (121.0, 70.2));
    // held 1.5, -1 mm beside: wanted at 119.5, 71.2
    let last = *window.state().drags.last().expect("a drag");
    assert_eq!((last.target, last.at), (2, Point::new(120.0, 70.0)));
    assert!(window.state().drags.iter().all(|d| d.at.x % 5.0 == 0.0));
}

#[test]
fn beside_the_handles_the_picture_moves() {
    let mut window = window(Seen::of(busy()));
    let before = window.state().place(0.0, 0.0);
    drag(&mut window, (90.0, 60.0), (100.0, 60.0));
    let seen = window.state();
    assert!(seen.drags.is_empty());
    assert!(seen.place(0.0, 0.0).x > before.x + 10.0);
}

#[test]
fn a_click_says_where_and_moves_nothing() {
    let mut window = window(Seen::of(busy()));
    let at = window.state().place(40.0, 30.0);
    window.hover_at(at);
    window.run();
    window.drag_at(at);
    window.run();
    window.drop_at(at);
    window.run();
    let seen = window.state();
    assert_eq!(seen.clicks.len(), 1);
    assert!(near(seen.clicks[0], Point::new(40.0, 30.0)));
    assert!(seen.drags.is_empty());
}

#[test]
fn arrow_keys_move_the_chosen_handle() {
    let mut window = window(Seen::of(busy()));
    window.state_mut().chosen = Some(2);
    window.get_by_label("Plan view").focus();
    window.run();
    for key in [Key::ArrowRight, Key::ArrowRight, Key::ArrowUp] {
        window.key_press(key);
        window.run();
    }
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowDown);
    window.run();
    assert_eq!(window.state().handles[1].at, Point::new(142.0, 81.0));
    let mut drags = window.state().drags.iter();
    assert!(drags.all(|d| d.phase == Phase::ByKey));
    assert_eq!(window.state().drags.len(), 4);
}

#[test]
fn the_wheel_enlarges_about_the_pointer_and_fit_shows_all_again() {
    let mut window = window(Seen::of(busy()));
    let (corner, at) = (
        window.state().place(0.0, 0.0),
        window.state().place(60.0, 80.0),
    );
    window.hover_at(at);
    window.run();
    window.event(Event::MouseWheel {
        unit: MouseWheelUnit::Point,
        source: MouseWheelSource::Wheel,
        delta: vec2(0.0, 120.0),
        phase: TouchPhase::Move,
        modifiers: Modifiers::NONE,
    });
    window.run_steps(30);
    let seen = window.state();
    let per_mm = |seen: &Seen| seen.place(1.0, 0.0).x - seen.place(0.0, 0.0).x;
    assert!(seen.place(60.0, 80.0).distance(at) < 0.5);
    let enlarged = per_mm(seen);
    window.get_by_label("Fit").click();
    window.run();
    assert!(per_mm(window.state()) < 0.8 * enlarged);
    assert!(window.state().place(0.0, 0.0).distance(corner) < 0.5);
}

#[test]
fn rasters_and_drawings_with_nothing_in_them_are_no_trouble() {
    let full = raster(5, 4);
    let nowhere = Raster {
        irradiance: vec![f64::NAN; 20],
        extrapolated: vec![true; 20],
        ..full.clone()
    };
    let constant = Raster {
        irradiance: vec![80.0; 20],
        ..full.clone()
    };
    let single = Raster {
        columns: 1,
        rows: 1,
        step_x: 0.0,
        step_y: 0.0,
        irradiance: vec![80.0],
        extrapolated: vec![true],
        ..full.clone()
    };
    let none = Raster {
        columns: 0,
        rows: 0,
        irradiance: vec![],
        extrapolated: vec![],
        ..full.clone()
    };
    let flat = ColourScale {
        low: 80.0,
        high: 80.0,
        map: ColourMap::Viridis,
    };
    let lost = ColourScale {
        low: f64::NAN,
        high: f64::NAN,
        map: ColourMap::Viridis,
    };
    for raster in [nowhere, constant, single, none] {
        let raster = Arc::new(raster);
        for scale in [SCALE, flat, lost] {
            let raster = Arc::clone(&raster);
            window(Seen::of(drawing(vec![Item::Field { raster, scale }])));
        }
    }
    let bad = Point::new(f64::NAN, f64::INFINITY);
    let mut lost = drawing(vec![
        Item::Path {
            points: vec![bad, Point::new(1.0, 1.0)],
            closed: true,
            role: Role::KeepOut,
        },
        Item::Path {
            points: vec![],
            closed: true,
            role: Role::Fixture,
        },
        Item::Mark {
            at: bad,
            form: MarkForm::Dot,
            role: Role::Reading,
        },
        label(f64::NAN, 0.0, "lost", Anchor::Above, Role::Reading),
        label(10.0, 10.0, "", Anchor::Above, Role::Reading),
    ]);
    for bounds in [
        Bounds { min: bad, max: bad },
        Bounds {
            min: Point::new(0.0, 0.0),
            max: Point::new(0.0, 0.0),
        },
    ] {
        lost.bounds = bounds;
        let window = window(Seen::of(lost.clone()));
        let bounds = *window.state().transform.expect("shown").bounds();
        assert!(bounds.is_valid(), "{bounds:?}");
    }
}

/// Prints what a frame costs; machines differ too much to hold it to a figure.
#[test]
fn frames_of_a_busy_drawing_are_timed() {
    let mut window = window(Seen::of(busy()));
    let frames: u32 = 60;
    let (mut laid_out, mut whole) = (0.0, 0.0);
    for i in 0..frames {
        window.hover_at(window.state().place(f64::from(i), 50.0));
        let start = Instant::now();
        window.step();
        laid_out += start.elapsed().as_secs_f64();
        let shapes = window.output().shapes.clone();
        let triangles = window.ctx.tessellate(shapes, 1.0);
        whole += start.elapsed().as_secs_f64();
        assert!(!triangles.is_empty());
    }
    let ms = |seconds: f64| 1e3 * seconds / f64::from(frames);
    println!(
        "{:.2} ms a frame, {:.2} ms with its triangles",
        ms(laid_out),
        ms(whole)
    );
}
