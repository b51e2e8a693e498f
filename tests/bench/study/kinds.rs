//! Which lamps the study draws. None is made of what a fitted field assumes: emitters off any lattice,
//! tabulated lobes, traced mirrors, images.

use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::lamps::{
    AnyLamp, Arc, Axis, BetweenWalls, Emitters, Housing, HousingLamp, Lamps, LineLamp, Lobe,
    Reflector, ReflectorLamp, SideReflectors, Wall, Worn, WornMirror,
};

use crate::chance::Chance;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    LedMany,
    LedFew,
    LedDead,
    BowlWorn,
    SquareWorn,
    Linear,
    TwoLamps,
    Walls,
}

/// A drawn lamp and its face.
pub struct Lit {
    pub lamp: AnyLamp,
    pub face: Footprint,
    /// Whether somebody describing the station would say that it is an arc lamp in a reflector.
    pub mirrors: bool,
}

impl Kind {
    pub const ALL: [Self; 8] = [
        Self::LedMany,
        Self::LedFew,
        Self::LedDead,
        Self::BowlWorn,
        Self::SquareWorn,
        Self::Linear,
        Self::TwoLamps,
        Self::Walls,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::LedMany => "led_many",
            Self::LedFew => "led_few",
            Self::LedDead => "led_dead",
            Self::BowlWorn => "bowl_worn",
            Self::SquareWorn => "square_worn",
            Self::Linear => "linear",
            Self::TwoLamps => "two_lamps",
            Self::Walls => "walls",
        }
    }

    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// Kept out of all tuning, so that the report shows how methods do on lamps that nobody looked at.
    pub fn is_untouched(self) -> bool {
        self == Self::Walls
    }

    /// A lamp of this kind over a fixture; `None` for a draw that cannot be built.
    pub fn draw(self, chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
        let face = rectangle_over(chance, fixture);
        match self {
            Self::LedMany => {
                let (columns, rows) = (chance.whole(9, 14), chance.whole(6, 9));
                Some(lit(
                    panel(chance, &face, face_height, (columns, rows)),
                    face,
                ))
            }
            Self::LedFew => {
                let (columns, rows) = (chance.whole(3, 5), chance.whole(2, 4));
                Some(lit(
                    panel(chance, &face, face_height, (columns, rows)),
                    face,
                ))
            }
            Self::LedDead => {
                let (columns, rows) = (chance.whole(4, 12), chance.whole(3, 8));
                let whole = panel(chance, &face, face_height, (columns, rows));
                let dead = dead(chance, columns as usize, rows as usize);
                Some(lit(whole.with_dead(&dead), face))
            }
            Self::BowlWorn => bowl(chance, fixture, face_height),
            Self::SquareWorn => housing(chance, fixture, face_height),
            Self::Linear => linear(chance, fixture, face_height),
            Self::TwoLamps => two_lamps(chance, &face, face_height),
            Self::Walls => {
                let inner = if chance.happens(0.5) {
                    let (columns, rows) = (chance.whole(4, 14), chance.whole(3, 9));
                    lit(panel(chance, &face, face_height, (columns, rows)), face)
                } else {
                    bowl(chance, fixture, face_height)?
                };
                Some(walled(chance, fixture, inner))
            }
        }
    }
}

fn lit(lamp: impl evenfield::lamps::Lamp + Send + Sync + 'static, face: Footprint) -> Lit {
    Lit {
        lamp: Box::new(lamp),
        face,
        mirrors: false,
    }
}

fn mirrored(lit: Lit) -> Lit {
    Lit {
        mirrors: true,
        ..lit
    }
}

/// The face's share of the fixture along one side.
fn share(chance: &mut Chance) -> f64 {
    chance.between(0.75, 1.3)
}

/// A few millimetres off the fixture's middle.
fn about(chance: &mut Chance, fixture: &Footprint) -> Point {
    let Point { x, y } = fixture.centre;
    Point::new(x + chance.between(-5.0, 5.0), y + chance.between(-5.0, 5.0))
}

fn rectangle_over(chance: &mut Chance, fixture: &Footprint) -> Footprint {
    let (width, depth) = fixture.shape.size();
    let (width, depth) = (width * share(chance), depth * share(chance));
    Footprint {
        shape: Shape::Rectangle { width, depth },
        centre: about(chance, fixture),
        turn: chance.between(-1.0, 1.0),
    }
}

fn panel(chance: &mut Chance, face: &Footprint, face_height: f64, counts: (u32, u32)) -> Emitters {
    let lobe = match chance.whole(0, 3) {
        0 => Lobe::lambertian(),
        1 => Lobe::flat_window(),
        2 => Lobe::domed(),
        _ => Lobe::batwing(),
    };
    let errors = (chance.between(0.05, 0.3), chance.between(0.02, 0.1));
    let panel = Emitters::scattered(
        face,
        face_height,
        counts,
        lobe,
        chance.between(15_000.0, 60_000.0),
        errors,
        chance.seed(),
    );
    // one side older than the other
    let (middle, (width, depth)) = (face.centre, face.shape.size());
    let (along_x, along_y) = (chance.between(-0.1, 0.1), chance.between(-0.1, 0.1));
    panel.dimmed(|p| 1.0 + along_x * (p.x - middle.x) / width + along_y * (p.y - middle.y) / depth)
}

/// One to four emitters anywhere, or a row or column of them.
fn dead(chance: &mut Chance, columns: usize, rows: usize) -> Vec<usize> {
    if chance.happens(0.3) {
        if chance.happens(0.5) {
            let row = chance.whole(0, rows as u32 - 1) as usize;
            (0..columns).map(|column| row * columns + column).collect()
        } else {
            let column = chance.whole(0, columns as u32 - 1) as usize;
            (0..rows).map(|row| row * columns + column).collect()
        }
    } else {
        let last = (columns * rows) as u32 - 1;
        (0..chance.whole(1, 4))
            .map(|_| chance.whole(0, last) as usize)
            .collect()
    }
}

fn bowl(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let rim_diameter = 0.5 * (width + depth) * share(chance);
    let centre = about(chance, fixture);
    let focal_length = rim_diameter * chance.between(0.15, 0.3);
    let lamp = ReflectorLamp::new(Reflector {
        centre,
        face_height,
        rim_diameter,
        focal_length,
        // a flood's arc sits above the focus, so that its beam spreads
        eccentricity: chance.between(0.7, 1.0),
        reflectance: chance.between(0.75, 0.9),
        arc: Arc {
            intensity: chance.between(1500.0, 5000.0),
            size: chance.between(8.0, 20.0),
            below_focus: focal_length * chance.between(-0.55, 0.0),
        },
        worn: (0..chance.whole(0, 3))
            .map(|_| {
                let angle = chance.between(0.0, std::f64::consts::TAU);
                let away = 0.5 * rim_diameter * chance.between(0.15, 1.0);
                Worn {
                    at: Point::new(centre.x + away * angle.cos(), centre.y + away * angle.sin()),
                    size: chance.between(8.0, 30.0),
                    loss: chance.between(0.2, 0.7),
                }
            })
            .collect(),
    })?;
    let face = Footprint::new(
        Shape::Circle {
            diameter: rim_diameter,
        },
        centre,
    );
    Some(mirrored(lit(lamp, face)))
}

fn housing(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let opening = if chance.happens(0.5) {
        let side = (width * depth).sqrt() * share(chance);
        (side, side)
    } else {
        (width * share(chance), depth * share(chance))
    };
    let up = chance.between(50.0, 110.0);
    let mut over = |extent: f64| extent - 2.0 * up * chance.between(8.0, 38.0).to_radians().tan();
    let roof = (over(opening.0), over(opening.1));
    let size = chance.between(8.0, 13.0);
    if roof.0.min(roof.1) < 4.0 * size {
        return None;
    }
    let worn = (0..chance.whole(0, 3))
        .map(|_| {
            // on a side or on the roof
            let part = chance.between(0.0, 1.0);
            let half = |opening: f64, roof: f64| 0.5 * (opening + part * (roof - opening));
            let (x, y) = (half(opening.0, roof.0), half(opening.1, roof.1));
            let at = match chance.whole(0, 4) {
                0 => [x, y * chance.between(-1.0, 1.0), part * up],
                1 => [-x, y * chance.between(-1.0, 1.0), part * up],
                2 => [x * chance.between(-1.0, 1.0), y, part * up],
                3 => [x * chance.between(-1.0, 1.0), -y, part * up],
                _ => [
                    0.5 * roof.0 * chance.between(-1.0, 1.0),
                    0.5 * roof.1 * chance.between(-1.0, 1.0),
                    up,
                ],
            };
            WornMirror {
                at,
                size: chance.between(10.0, 35.0),
                loss: chance.between(0.2, 0.7),
            }
        })
        .collect();
    let lamp = HousingLamp::new(Housing {
        centre: about(chance, fixture),
        face_height,
        opening,
        roof,
        depth: up,
        reflectance: chance.between(0.7, 0.9),
        roof_reflectance: chance.between(0.7, 0.9),
        seam: chance.between(3.0, 6.0),
        arc: Arc {
            intensity: chance.between(1500.0, 5000.0),
            size,
            below_focus: chance.between(-0.15, 0.15) * up,
        },
        arc_aside: (chance.between(-4.0, 4.0), chance.between(-4.0, 4.0)),
        worn,
    })?;
    let face = lamp.outline();
    Some(mirrored(lit(lamp, face)))
}

/// A trough along the fixture's longer side.
fn linear(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let along_x = width >= depth;
    let length = width.max(depth) * share(chance);
    let across = width.min(depth) * share(chance);
    let Point { x, y } = about(chance, fixture);
    let (ux, uy) = if along_x {
        (0.5 * length, 0.0)
    } else {
        (0.0, 0.5 * length)
    };
    let recess = chance.between(12.0, 45.0);
    let lean = chance.between(5.0, 35.0);
    // the mirrors reach from beside the line down and out to the trough's edge
    let gap = 0.5 * across - recess * lean.to_radians().tan();
    let lamp = LineLamp {
        from: Point::new(x - ux, y - uy),
        to: Point::new(x + ux, y + uy),
        height: face_height + recess,
        face_height,
        intensity_per_mm: chance.between(30.0, 90.0),
        sides: Some(SideReflectors {
            gap,
            lean,
            reflectance: chance.between(0.6, 0.9),
        }),
    };
    let (width, depth) = if along_x {
        (length, across)
    } else {
        (across, length)
    };
    let face = Footprint::new(Shape::Rectangle { width, depth }, Point::new(x, y));
    (gap > 8.0).then(|| lit(lamp, face))
}

/// Two panels or two bowls beside each other along x, one up to a fifth weaker, one a little higher.
fn two_lamps(chance: &mut Chance, face: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = face.shape.size();
    let gap = chance.between(0.0, 25.0);
    let half = 0.5 * (width - gap);
    let place = |side: f64| {
        let aside = side * 0.5 * (half + gap);
        Footprint::new(
            Shape::Rectangle { width: half, depth },
            Point::new(face.centre.x + aside, face.centre.y),
        )
    };
    let higher = face_height + chance.between(0.0, 3.0);
    if chance.happens(0.4) {
        let (first, second) = (
            bowl(chance, &place(-1.0), face_height)?,
            bowl(chance, &place(1.0), higher)?,
        );
        let bounds = first.face.bounds().union(second.face.bounds());
        let shape = Shape::Rectangle {
            width: bounds.width(),
            depth: bounds.depth(),
        };
        let outline = Footprint::new(shape, bounds.centre());
        let both = lit(Lamps(vec![first.lamp, second.lamp]), outline);
        return Some(mirrored(both));
    }
    let counts = (chance.whole(3, 7), chance.whole(3, 8));
    let first = panel(chance, &place(-1.0), face_height, counts);
    let second = panel(chance, &place(1.0), higher, counts);
    // both are driven alike, whatever they were drawn for, and one is older
    let matched = chance.between(0.8, 1.0) * total(&first) / total(&second);
    let second = second.dimmed(|_| matched);
    let outline = Footprint::new(face.shape.clone(), face.centre);
    let lamps: Vec<AnyLamp> = vec![Box::new(first), Box::new(second)];
    Some(lit(Lamps(lamps), outline))
}

fn total(panel: &Emitters) -> f64 {
    panel.emitters.iter().map(|e| e.power).sum()
}

/// Walls just outside both lamp and fixture: on one side, on two opposite ones, or all around.
fn walled(chance: &mut Chance, fixture: &Footprint, inner: Lit) -> Lit {
    let bounds = fixture.bounds().union(inner.face.bounds());
    let mut wall = |at: f64, outwards: f64| Wall {
        at: at + outwards * chance.between(3.0, 40.0),
        reflectance: chance.between(0.4, 0.85),
    };
    let left = wall(bounds.min.x, -1.0);
    let right = wall(bounds.max.x, 1.0);
    let front = wall(bounds.min.y, -1.0);
    let back = wall(bounds.max.y, 1.0);
    let form = chance.whole(0, 4);
    let mut lamp = inner.lamp;
    let mut stand = |axis, low, high| {
        let bare = std::mem::replace(&mut lamp, Box::new(Lamps(vec![])));
        lamp = Box::new(BetweenWalls {
            lamp: bare,
            axis,
            low,
            high,
        });
    };
    match form {
        0 => stand(Axis::X, Some(left), Some(right)),
        1 => stand(Axis::Y, Some(front), Some(back)),
        2 => stand(Axis::X, Some(left), None),
        3 => stand(Axis::Y, None, Some(back)),
        _ => {
            stand(Axis::X, Some(left), Some(right));
            stand(Axis::Y, Some(front), Some(back));
        }
    }
    Lit { lamp, ..inner }
}
