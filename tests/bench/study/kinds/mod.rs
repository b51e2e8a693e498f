//! Which lamps the study draws. None is made of what a fitted field assumes: emitters off any lattice,
//! tabulated lobes, traced mirrors, images.

mod leds;
mod mirrors;
mod several;
mod surroundings;

use evenfield::geometry::{Bounds, Footprint, Point, Shape};
use evenfield::lamps::AnyLamp;
use evenfield::station::SourceKind;

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
    /// Panels smaller than the fixture.
    LedSmall,
    /// Regular arrays with a pitch of half to one and a half working distances, off the positions' lines.
    LedSparse,
    /// Modules with gaps between them, some weaker.
    LedModules,
    /// Troughs that aim at a line.
    TroughEllipse,
    /// Troughs that send a band straight down, narrower than the fixture.
    TroughParabola,
    /// Either, worn on one side.
    TroughWorn,
    /// Rectangular reflectors of square facets.
    FacetsSquare,
    /// Round reflectors of disks.
    FacetsRound,
    /// Reflectors of hexagons that are out of focus and lean.
    FacetsHexagon,
    /// Two lamps of unequal make and power.
    UnequalTwo,
    /// Three.
    UnequalThree,
    /// A pallet that throws light back.
    Pallet,
}

/// Kinds that are alike: whatever is tuned for the report on one is tuned without all of its group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Panels that cover the fixture.
    Panels,
    /// Panels smaller than the fixture, or with gaps.
    SmallPanels,
    /// Sparse arrays.
    Arrays,
    /// Long arcs.
    Troughs,
    /// Smooth reflectors about a point.
    Reflectors,
    /// Reflectors of facets.
    Facets,
    /// More lamps than one.
    Several,
    /// What throws light back.
    Surroundings,
}

/// What a lamp is drawn over.
#[derive(Clone, Copy)]
pub struct Over<'a> {
    pub fixture: &'a Footprint,
    pub face_height: f64,
    /// The height that counts, mm.
    pub assessed: f64,
}

/// A drawn lamp and its face.
pub struct Lit {
    pub lamp: AnyLamp,
    pub face: Footprint,
    /// What somebody describing the station would say that it is.
    pub told: SourceKind,
    /// What shines when the pallet is out, where that is another field.
    pub pallet_out: Option<AnyLamp>,
}

impl Kind {
    pub const ALL: [Self; 20] = [
        Self::LedMany,
        Self::LedFew,
        Self::LedDead,
        Self::BowlWorn,
        Self::SquareWorn,
        Self::Linear,
        Self::TwoLamps,
        Self::Walls,
        Self::LedSmall,
        Self::LedSparse,
        Self::LedModules,
        Self::TroughEllipse,
        Self::TroughParabola,
        Self::TroughWorn,
        Self::FacetsSquare,
        Self::FacetsRound,
        Self::FacetsHexagon,
        Self::UnequalTwo,
        Self::UnequalThree,
        Self::Pallet,
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
            Self::LedSmall => "led_small",
            Self::LedSparse => "led_sparse",
            Self::LedModules => "led_modules",
            Self::TroughEllipse => "trough_ellipse",
            Self::TroughParabola => "trough_parabola",
            Self::TroughWorn => "trough_worn",
            Self::FacetsSquare => "facets_square",
            Self::FacetsRound => "facets_round",
            Self::FacetsHexagon => "facets_hexagon",
            Self::UnequalTwo => "unequal_two",
            Self::UnequalThree => "unequal_three",
            Self::Pallet => "pallet",
        }
    }

    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    pub fn group(self) -> Group {
        match self {
            Self::LedMany | Self::LedFew | Self::LedDead => Group::Panels,
            Self::LedSmall | Self::LedModules => Group::SmallPanels,
            Self::LedSparse => Group::Arrays,
            Self::Linear | Self::TroughEllipse | Self::TroughParabola | Self::TroughWorn => {
                Group::Troughs
            }
            Self::BowlWorn | Self::SquareWorn => Group::Reflectors,
            Self::FacetsSquare | Self::FacetsRound | Self::FacetsHexagon => Group::Facets,
            Self::TwoLamps | Self::UnequalTwo | Self::UnequalThree => Group::Several,
            Self::Walls | Self::Pallet => Group::Surroundings,
        }
    }

    /// A lamp of this kind; `None` for a draw that cannot be built.
    pub fn draw(self, chance: &mut Chance, over: Over<'_>) -> Option<Lit> {
        let face = rectangle_over(chance, over.fixture);
        let (fixture, face_height) = (over.fixture, over.face_height);
        match self {
            Self::LedMany => Some(leds::many(chance, face, face_height)),
            Self::LedFew => Some(leds::few(chance, face, face_height)),
            Self::LedDead => Some(leds::with_dead(chance, face, face_height)),
            Self::BowlWorn => mirrors::bowl(chance, fixture, face_height),
            Self::SquareWorn => mirrors::housing(chance, fixture, face_height),
            Self::Linear => mirrors::linear(chance, fixture, face_height),
            Self::TwoLamps => several::two_alike(chance, &face, face_height),
            Self::Walls => {
                let inner = if chance.happens(0.5) {
                    let counts = (chance.whole(4, 14), chance.whole(3, 9));
                    leds::lit(leds::panel(chance, &face, face_height, counts), face)
                } else {
                    mirrors::bowl(chance, fixture, face_height)?
                };
                Some(surroundings::walled(chance, fixture, inner))
            }
            Self::LedSmall => Some(leds::small(chance, fixture, face_height)),
            Self::LedSparse => leds::sparse(chance, over),
            Self::LedModules => leds::modules(chance, fixture, face_height),
            Self::TroughEllipse => mirrors::trough(chance, over, mirrors::Bend::Ellipse, false),
            Self::TroughParabola => mirrors::trough(chance, over, mirrors::Bend::Parabola, false),
            Self::TroughWorn => {
                let bend = if chance.happens(0.5) {
                    mirrors::Bend::Ellipse
                } else {
                    mirrors::Bend::Parabola
                };
                mirrors::trough(chance, over, bend, true)
            }
            Self::FacetsSquare => mirrors::facets(chance, over, mirrors::Laid::Square),
            Self::FacetsRound => mirrors::facets(chance, over, mirrors::Laid::Round),
            Self::FacetsHexagon => mirrors::facets(chance, over, mirrors::Laid::Leaning),
            Self::UnequalTwo => several::unequal(chance, over, 2),
            Self::UnequalThree => several::unequal(chance, over, 3),
            Self::Pallet => surroundings::pallet(chance, over),
        }
    }
}

impl Group {
    pub const ALL: [Self; 8] = [
        Self::Panels,
        Self::SmallPanels,
        Self::Arrays,
        Self::Troughs,
        Self::Reflectors,
        Self::Facets,
        Self::Several,
        Self::Surroundings,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Panels => "panels",
            Self::SmallPanels => "small_panels",
            Self::Arrays => "arrays",
            Self::Troughs => "troughs",
            Self::Reflectors => "reflectors",
            Self::Facets => "facets",
            Self::Several => "several",
            Self::Surroundings => "surroundings",
        }
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

fn rectangle(width: f64, depth: f64, centre: Point) -> Footprint {
    Footprint::new(Shape::Rectangle { width, depth }, centre)
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

fn around(bounds: Bounds) -> Footprint {
    rectangle(bounds.width(), bounds.depth(), bounds.centre())
}
