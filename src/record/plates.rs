//! What `plan --json` says of the plates, and their troubles in words.

use serde::Serialize;

use crate::geometry::{Footprint, Shape};
use crate::probing::plate::{Plates, Trouble};
use crate::station::{LocatedBy, Station, named};
use crate::units::LengthUnit;

/// The plates that locate the detector.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlatesRecord {
    /// How many.
    pub count: usize,
    /// Whether fewer would not do, for sure.
    pub fewest: bool,
    /// Whether the round is made with them.
    pub used: bool,
    /// Pairs of positions whose bores would overlap or leave too little between them.
    pub too_near: Vec<(String, String)>,
    /// What a bore is wider than the detector's body.
    pub clearance_mm: f64,
    /// The least between two bores.
    pub web_mm: f64,
    /// `edges` or `pins`.
    pub located_by: &'static str,
    /// The smallest rectangle around its rim, from the datum.
    pub outline: OutlineRecord,
    /// Bores of the pins, from the datum.
    pub pins: Vec<PinRecord>,
    /// Every bore, plate by plate.
    pub bores: Vec<BoreRecord>,
    /// What is wrong, as sentences.
    pub troubles: Vec<String>,
}

/// A rectangle along the datum's axes.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // its front left corner, from the datum, and its sides
pub struct OutlineRecord {
    pub x_mm: f64,
    pub y_mm: f64,
    pub width_mm: f64,
    pub depth_mm: f64,
}

/// A pin's bore.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // from the datum
pub struct PinRecord {
    pub x_mm: f64,
    pub y_mm: f64,
    pub diameter_mm: f64,
}

/// A bore for the detector.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoreRecord {
    /// From 1.
    pub plate: usize,
    /// Name of the position.
    pub position: String,
    /// Its middle, to the right of the datum.
    pub x_mm: f64,
    /// Its middle, to the back of the datum.
    pub y_mm: f64,
    /// Of a round one; `null` of a rectangular one.
    pub diameter_mm: Option<f64>,
    /// Along x.
    pub width_mm: f64,
    /// Along y.
    pub depth_mm: f64,
}

impl PlatesRecord {
    /// Of a station's plates.
    pub fn new(station: &Station, plates: &Plates) -> Self {
        let bores = (0..plates.count()).flat_map(|plate| {
            let bored = plates.bored(plate).into_iter();
            bored.map(move |position| {
                let opening = &plates.openings[position];
                let (width_mm, depth_mm) = opening.shape.size();
                BoreRecord {
                    plate: plate + 1,
                    position: plates.positions[position].name.clone(),
                    x_mm: opening.centre.x,
                    y_mm: opening.centre.y,
                    diameter_mm: diameter(opening),
                    width_mm,
                    depth_mm,
                }
            })
        });
        let rim = plates.outline.bounds();
        Self {
            outline: OutlineRecord {
                x_mm: rim.min.x,
                y_mm: rim.min.y,
                width_mm: rim.width(),
                depth_mm: rim.depth(),
            },
            count: plates.count(),
            fewest: plates.fewest,
            used: station.plan.bores.is_some(),
            too_near: (plates.too_near.iter())
                .map(|(a, b)| (name(plates, *a).to_owned(), name(plates, *b).to_owned()))
                .collect(),
            clearance_mm: plates.bores.clearance,
            web_mm: plates.bores.web,
            located_by: match plates.bores.located {
                LocatedBy::Edges => "edges",
                LocatedBy::Pins { .. } => "pins",
            },
            pins: (plates.pins.iter())
                .map(|pin| PinRecord {
                    x_mm: pin.centre.x,
                    y_mm: pin.centre.y,
                    diameter_mm: pin.shape.size().0,
                })
                .collect(),
            bores: bores.collect(),
            troubles: troubles_in_words(station, plates, LengthUnit::Mm),
        }
    }
}

fn name(plates: &Plates, position: usize) -> &str {
    &plates.positions[position].name
}

/// Which neighbours can't be on one plate: `A1 and A2, B1 and B2`, of many the first ones and how many more.
pub fn too_near_in_words(plates: &Plates) -> String {
    const NAMED: usize = 4;
    let said = |(a, b): &(usize, usize)| format!("{} and {}", name(plates, *a), name(plates, *b));
    let first: Vec<String> = plates.too_near.iter().take(NAMED).map(said).collect();
    let more = match plates.too_near.len().saturating_sub(NAMED) {
        0 => String::new(),
        1 => ", and one pair more".to_owned(),
        n => format!(", and {n} pairs more"),
    };
    format!("{}{more}", first.join(", "))
}

fn diameter(opening: &Footprint) -> Option<f64> {
    match opening.shape {
        Shape::Circle { diameter } => Some(diameter),
        Shape::Rectangle { .. } | Shape::Polygon { .. } => None,
    }
}

/// What is wrong with the plates, one sentence a kind, without the last full stop.
pub fn troubles_in_words(station: &Station, plates: &Plates, unit: LengthUnit) -> Vec<String> {
    let names = |of: &dyn Fn(&Trouble) -> Option<usize>| {
        let names = plates.troubles.iter().filter_map(of);
        let names: Vec<&str> = names.map(|i| plates.positions[i].name.as_str()).collect();
        (!names.is_empty()).then(|| listed(&names))
    };
    let web = unit.show_with_unit(plates.bores.web);
    let open = names(&|t| match t {
        Trouble::Edge(i, left) if *left < 0.0 => Some(*i),
        _ => None,
    });
    let thin = names(&|t| match t {
        Trouble::Edge(i, left) if *left >= 0.0 => Some(*i),
        _ => None,
    });
    let pins = names(&|t| match t {
        Trouble::Pin(i, ..) => Some(*i),
        _ => None,
    });
    let unnamed = names(&|t| match t {
        Trouble::NoName(i) => Some(*i),
        _ => None,
    });
    let mut all = Vec::new();
    all.extend(open.map(|names| {
        format!("The bores of {names} are open at the plate's edge; make the plate larger, or move these positions inwards")
    }));
    all.extend(thin.map(|names| {
        format!("The bores of {names} leave less than {web} to the plate's edge; make the plate larger, or move these positions inwards")
    }));
    for (i, keep_out) in station.keep_outs.iter().enumerate() {
        let near = names(&|t| match t {
            Trouble::KeepOut(position, k, _) if *k == i => Some(*position),
            _ => None,
        });
        all.extend(near.map(|names| {
            format!(
                "The bores of {names} leave less than {web} to the opening for {}; move these positions away from it",
                named("keep-out", &keep_out.name)
            )
        }));
    }
    all.extend(pins.map(|names| {
        format!("The bores of {names} leave less than {web} to a pin; put the pins elsewhere")
    }));
    if (plates.troubles.iter()).any(|t| matches!(t, Trouble::PinOutside(_))) {
        all.push(format!(
            "A pin lies less than {web} inside the plate's edge, or outside it; put it elsewhere"
        ));
    }
    all.extend(unnamed.map(|names| {
        format!("There is no room to engrave the names of {names}; mark them by hand")
    }));
    all
}

/// `A1, A2 and B3`, of many the first ones and how many more.
fn listed(names: &[&str]) -> String {
    const NAMED: usize = 8;
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [some @ .., last] if names.len() <= NAMED => format!("{} and {last}", some.join(", ")),
        all => format!("{} and {} more", all[..NAMED].join(", "), all.len() - NAMED),
    }
}
