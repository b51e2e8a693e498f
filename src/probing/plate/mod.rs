//! The plate that locates the detector: a bore for its body at each position, shared out over several plates where bores
//! would overlap or leave too little between them.
//!
//! With the pallet in place it lies on the pallet and has its outline, with openings for what stands up from it; with the
//! pallet out it is the plan's plate in the pallet's place.

mod engraved;
mod sharing;

pub use engraved::Engraved;
use engraved::Named;

use crate::geometry::{Footprint, Point, Shape};
use crate::station::{Bars, Bores, LocatedBy, Position, Station};

/// What openings for keep-outs are wider than these, all around, mm (common practice, no source).
const AROUND_KEEP_OUT: f64 = 1.0;

/// Positions that are shared out, at most.
pub const MOST: usize = 400;

/// Why there is no plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPlate {
    /// The plan has no positions.
    NoPositions,
    /// The plan is made for no radiometer, so the detector's body is not known.
    NoBody,
    /// There are more than [`MOST`] positions.
    TooMany(usize),
}

impl std::fmt::Display for NoPlate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoPositions => {
                f.write_str("the plan has no positions to bore; add some in the step Plan")
            }
            Self::NoBody => f.write_str(
                "no radiometer is chosen for the plan, so the width of the bores is not known; choose one in the step Plan",
            ),
            Self::TooMany(n) => write!(
                f,
                "a plate for {n} positions is not drawn; plan {MOST} at most"
            ),
        }
    }
}

impl std::error::Error for NoPlate {}

/// What is wrong with a plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trouble {
    /// So much is left between the bore of a position and the plate's edge, mm: less than the least web; below zero where
    /// the bore is open there.
    Edge(usize, f64),
    /// The same to the opening for a keep-out, by its index.
    KeepOut(usize, usize, f64),
    /// The same to a pin's bore, 0 or 1.
    Pin(usize, usize, f64),
    /// A pin lies outside the plate.
    PinOutside(usize),
    /// There is no room on its plate to engrave the name of a position.
    NoName(usize),
}

/// The plates of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plates {
    /// The rim of each of them, where it lies on the pallet or in its place.
    pub outline: Footprint,
    /// How they are made.
    pub bores: Bores,
    /// The plan's positions, as written out.
    pub positions: Vec<Position>,
    /// For each position its bore.
    pub openings: Vec<Footprint>,
    /// Openings for what stands up through the plate.
    pub cut_outs: Vec<Footprint>,
    /// Bores of the pins; empty where the edges locate it.
    pub pins: Vec<Footprint>,
    /// Where what is wrong is.
    pub troubles: Vec<Trouble>,
    /// Pairs of positions that can't be on one plate.
    pub too_near: Vec<(usize, usize)>,
    /// Whether fewer plates would not do, for sure.
    pub fewest: bool,
    /// For each plate the positions that are read on it.
    shared: Vec<Vec<usize>>,
    /// Has a bore on every plate that has room for it.
    reference: Option<usize>,
    /// For each plate what is engraved.
    engraved: Vec<Vec<Engraved>>,
}

impl Plates {
    /// Of a station's plan, made as it says or as is usual.
    ///
    /// # Errors
    /// [`NoPlate`].
    pub fn of(station: &Station) -> Result<Self, NoPlate> {
        let positions = station.positions();
        let body = &station.plan_radiometer().ok_or(NoPlate::NoBody)?.body;
        match positions.len() {
            0 => return Err(NoPlate::NoPositions),
            n if n > MOST => return Err(NoPlate::TooMany(n)),
            _ => {}
        }
        let bores = station.plan.bores.unwrap_or_default();
        let openings: Vec<Footprint> = positions
            .iter()
            .map(|p| grown(&Footprint::new(body.clone(), p.at), 0.5 * bores.clearance))
            .collect();
        let against = against(&openings, bores.web);
        let (plate_of, fewest) = sharing::shared_out(&against);
        let reference = station.plan.reference.as_ref();
        let reference = reference.and_then(|r| positions.iter().position(|p| p.name == r.position));
        let mut plates = Self {
            outline: outline(station),
            pins: pins(bores.located),
            cut_outs: cut_outs(station),
            too_near: pairs(&against),
            shared: in_order(&plate_of, reference),
            bores,
            positions,
            openings,
            troubles: Vec::new(),
            fewest,
            reference,
            engraved: Vec::new(),
        };
        plates.troubles = plates.look_for_trouble(station);
        for plate in 0..plates.shared.len() {
            let (engraved, without) = plates.engrave(plate);
            plates.engraved.push(engraved);
            let without = without.into_iter().map(Trouble::NoName);
            plates.troubles.extend(without);
        }
        Ok(plates)
    }

    /// Whether a plan with positions has the detector, and no more positions, than plates are drawn for: without writing the
    /// positions out.
    pub fn are_drawn_of(station: &Station) -> bool {
        station.plan_radiometer().is_some() && station.plan.most_positions() <= MOST
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.shared.len()
    }

    /// For each plate the positions that are read on it, by their indices in the plan.
    pub fn shared(&self) -> &[Vec<usize>] {
        &self.shared
    }

    /// The plate on which a position is read, from 0.
    pub fn of_position(&self, position: usize) -> usize {
        let on = self.shared.iter().position(|on| on.contains(&position));
        on.unwrap_or(0)
    }

    /// The positions for which a plate has bores: those that are read on it, and the reference where there is room.
    pub fn bored(&self, plate: usize) -> Vec<usize> {
        let Some(on) = self.shared.get(plate) else {
            return Vec::new();
        };
        let more = self.reference.filter(|reference| {
            let apart = |i: &usize| apart(&self.openings[*i], &self.openings[*reference]);
            !on.contains(reference) && on.iter().all(|i| apart(i) >= self.bores.web)
        });
        on.iter().copied().chain(more).collect()
    }

    /// Whether a plate has a bore for a position.
    pub fn holds(&self, plate: usize, position: usize) -> bool {
        self.bored(plate).contains(&position)
    }

    /// What is engraved on a plate.
    pub fn engraved(&self, plate: usize) -> &[Engraved] {
        self.engraved.get(plate).map_or(&[], Vec::as_slice)
    }

    fn engrave(&self, plate: usize) -> (Vec<Engraved>, Vec<usize>) {
        let bored = self.bored(plate).into_iter();
        let bores: Vec<Named<'_>> = bored
            .map(|position| Named {
                position,
                name: &self.positions[position].name,
                opening: &self.openings[position],
            })
            .collect();
        let open = [&self.cut_outs[..], &self.pins[..]].concat();
        let title = format!("Plate {} of {}", plate + 1, self.count());
        engraved::engrave(&self.outline, &bores, &open, title)
    }

    fn look_for_trouble(&self, station: &Station) -> Vec<Trouble> {
        let mut troubles = Vec::new();
        let least = self.bores.web - 1e-6;
        for (i, opening) in self.openings.iter().enumerate() {
            let left = inside(opening, &self.outline);
            if left < least {
                troubles.push(Trouble::Edge(i, left));
            }
            for (k, cut_out) in through(station).zip(&self.cut_outs) {
                let left = apart(opening, cut_out);
                if left < least {
                    troubles.push(Trouble::KeepOut(i, k, left));
                }
            }
            for (pin, bore) in self.pins.iter().enumerate() {
                let left = apart(opening, bore);
                if left < least {
                    troubles.push(Trouble::Pin(i, pin, left));
                }
            }
        }
        for (pin, bore) in self.pins.iter().enumerate() {
            if inside(bore, &self.outline) < least {
                troubles.push(Trouble::PinOutside(pin));
            }
        }
        troubles
    }
}

fn outline(station: &Station) -> Footprint {
    match &station.plan.plate {
        Some(plate) => plate.footprint(),
        None => station.fixture.footprint(),
    }
}

fn pins(located: LocatedBy) -> Vec<Footprint> {
    match located {
        LocatedBy::Edges => Vec::new(),
        LocatedBy::Pins { diameter, at } => [at.0, at.1]
            .map(|at| Footprint::new(Shape::Circle { diameter }, at))
            .to_vec(),
    }
}

/// Indices of the keep-outs that stand up through the plate.
fn through(station: &Station) -> impl Iterator<Item = usize> {
    let pallet_out = station.plan.plate.is_some();
    let keep_outs = station.keep_outs.iter().enumerate();
    keep_outs
        .filter(move |(_, k)| k.bars != Bars::Parts && (k.stays || !pallet_out))
        .map(|(i, _)| i)
}

fn cut_outs(station: &Station) -> Vec<Footprint> {
    through(station)
        .map(|i| grown(&station.keep_outs[i].footprint, AROUND_KEEP_OUT))
        .collect()
}

/// An outline with a margin all around, mm; of a polygon the rectangle around it, along its own axes.
fn grown(footprint: &Footprint, margin: f64) -> Footprint {
    let shape = match &footprint.shape {
        Shape::Circle { diameter } => Shape::Circle {
            diameter: diameter + 2.0 * margin,
        },
        Shape::Rectangle { .. } | Shape::Polygon { .. } => {
            let (width, depth) = footprint.shape.size();
            Shape::Rectangle {
                width: width + 2.0 * margin,
                depth: depth + 2.0 * margin,
            }
        }
    };
    Footprint {
        shape,
        centre: footprint.middle(),
        turn: footprint.turn,
    }
}

/// How far two outlines are from each other, mm; zero or below where they meet.
fn apart(a: &Footprint, b: &Footprint) -> f64 {
    match (&a.shape, &b.shape) {
        (Shape::Circle { diameter }, _) => b.signed_distance(a.centre) - 0.5 * diameter,
        (_, Shape::Circle { .. }) => apart(b, a),
        _ if a.overlaps(b) => 0.0,
        _ => {
            let least = |of: &Footprint, from: &Footprint| {
                let corners = of.outline().into_iter();
                let far = corners.map(|corner| from.signed_distance(corner));
                far.fold(f64::INFINITY, f64::min)
            };
            least(a, b).min(least(b, a))
        }
    }
}

/// How much is left between an opening and the rim around it, mm; below zero where it reaches over the rim.
fn inside(opening: &Footprint, rim: &Footprint) -> f64 {
    if let Shape::Circle { diameter } = opening.shape {
        return -rim.signed_distance(opening.centre) - 0.5 * diameter;
    }
    let left = |p: Point| -rim.signed_distance(p);
    let corners = opening.outline().into_iter().map(left);
    corners.fold(f64::INFINITY, f64::min)
}

/// For each opening those that can't be on one plate with it.
fn against(openings: &[Footprint], web: f64) -> Vec<Vec<usize>> {
    let mut against = vec![Vec::new(); openings.len()];
    for i in 0..openings.len() {
        for j in i + 1..openings.len() {
            if apart(&openings[i], &openings[j]) < web - 1e-6 {
                against[i].push(j);
                against[j].push(i);
            }
        }
    }
    against
}

fn pairs(against: &[Vec<usize>]) -> Vec<(usize, usize)> {
    let each = against.iter().enumerate();
    each.flat_map(|(i, others)| {
        let later = others.iter().filter(move |j| **j > i);
        later.map(move |j| (i, *j))
    })
    .collect()
}

/// Positions by plate; the reference's plate comes first, so that the round begins on it.
fn in_order(plate_of: &[usize], reference: Option<usize>) -> Vec<Vec<usize>> {
    let count = plate_of.iter().max().map_or(0, |most| most + 1);
    let mut shared = vec![Vec::new(); count];
    for (position, &plate) in plate_of.iter().enumerate() {
        shared[plate].push(position);
    }
    if let Some(reference) = reference {
        let first = plate_of[reference];
        let on = shared.remove(first);
        shared.insert(0, on);
    }
    shared
}

#[cfg(test)]
mod tests;
