//! Where a detector can sit: on the pallet or, with the pallet out, on a plate.

use super::words::{at, called};
use super::{Bars, KeepOut, Pallet, Station};
use crate::geometry::{Bounds, Footprint, Point, Shape};
use crate::units::LengthUnit;

impl Station {
    /// Where detectors can sit as the plan is read, to be asked for many points.
    pub fn seats(&self) -> Seats<'_> {
        Seats::of(Stand::of_plan(self), &self.keep_outs)
    }

    /// Where they can sit with the pallet in place, however the plan is read.
    pub fn seats_on_pallet(&self) -> Seats<'_> {
        Seats::of(Stand::Pallet(self.fixture.footprint()), &self.keep_outs)
    }

    /// Whether a detector can sit at a point as the plan is read: on the fixture or the plate, its body too where it is
    /// known, and clear of keep-outs.
    pub fn seats_detector(&self, point: Point, body: Option<&Shape>) -> bool {
        self.seats().wrong(point, body).is_none()
    }

    /// Why the detector of the plan can't sit at a point with the pallet in place, to stand behind what is there: "at
    /// 5, 5 mm is outside the fixture's outline". `None`: it can.
    pub fn no_seat(&self, point: Point, length: LengthUnit) -> Option<String> {
        let body = self.plan_radiometer().map(|r| &r.body);
        let seats = self.seats_on_pallet();
        seats
            .wrong(point, body)
            .map(|seat| seat.what(point, length))
    }
}

/// Why no detector can sit somewhere.
pub(super) enum Seat<'a> {
    OutsideFixture,
    OutsidePlate,
    InKeepOut(&'a KeepOut),
    BodyOverRim,
    BodyOverPlate,
    BodyOverKeepOut(&'a KeepOut),
}

impl Seat<'_> {
    /// What follows the name of the position or reading.
    pub(super) fn what(&self, point: Point, length: LengthUnit) -> String {
        let point = at(point, length);
        match self {
            Self::OutsideFixture => format!("at {point} is outside the fixture's outline"),
            Self::OutsidePlate => format!("at {point} is outside the plate"),
            Self::InKeepOut(k) => format!("at {point} is in {}", called("keep-out", &k.name)),
            Self::BodyOverRim => {
                format!("at {point} puts the detector's body over the fixture's rim")
            }
            Self::BodyOverPlate => {
                format!("at {point} puts the detector's body over the edge of the plate")
            }
            Self::BodyOverKeepOut(k) => format!(
                "at {point} puts the detector's body over {}",
                called("keep-out", &k.name)
            ),
        }
    }
}

/// What a detector stands on.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stand {
    /// The pallet, in place.
    Pallet(Footprint),
    /// A plate, with the pallet out.
    Plate(Footprint),
    /// The pallet is out, and of a plate nothing is known.
    Anything,
}

impl Stand {
    pub(super) fn of_plan(station: &Station) -> Self {
        match &station.plan.plate {
            Some(plate) => Self::Plate(plate.footprint()),
            None => Self::Pallet(station.fixture.footprint()),
        }
    }

    /// During a survey: as it says or, where it does not, as the plan is read.
    pub(super) fn during(station: &Station, pallet: Pallet) -> Self {
        match (pallet, &station.plan.plate) {
            (Pallet::Out, None) => Self::Anything,
            (Pallet::Out | Pallet::NotSaid, _) => Self::of_plan(station),
            (Pallet::Empty | Pallet::Loaded, _) => Self::Pallet(station.fixture.footprint()),
        }
    }
}

/// Where detectors can sit: what they stand on and the keep-outs that bar them, and their body when known. With the
/// pallet out only those keep-outs bar that stay.
#[derive(Debug)]
pub struct Seats<'a> {
    stand: Stand,
    barred: Vec<&'a KeepOut>,
}

impl<'a> Seats<'a> {
    pub(super) fn of(stand: Stand, keep_outs: &'a [KeepOut]) -> Self {
        let on_pallet = matches!(stand, Stand::Pallet(_));
        let bars =
            |k: &&KeepOut| matches!(k.bars, Bars::Both | Bars::Detector) && (on_pallet || k.stays);
        Self {
            barred: keep_outs.iter().filter(bars).collect(),
            stand,
        }
    }

    /// Nothing is known of it with the pallet out and no plate.
    pub(super) fn outline(&self) -> Option<&Footprint> {
        match &self.stand {
            Stand::Pallet(outline) | Stand::Plate(outline) => Some(outline),
            Stand::Anything => None,
        }
    }

    /// The bounds of what detectors stand on; of the fixture where nothing else is known.
    pub fn bounds(&self) -> Option<Bounds> {
        self.outline().map(Footprint::bounds)
    }

    /// Whether a detector can sit there; with its body where it is known.
    pub fn is_free(&self, point: Point, body: Option<&Shape>) -> bool {
        self.wrong(point, body).is_none()
    }

    /// How far a point is from whatever bars a detector, mm: from the rim of what it stands on and from keep-outs; below
    /// zero beyond them.
    pub fn clearance(&self, point: Point) -> f64 {
        let keep_outs = self.barred.iter().map(|k| &k.footprint);
        let apart = keep_outs.map(|footprint| footprint.signed_distance(point));
        let inside = self
            .outline()
            .map_or(f64::INFINITY, |o| -o.signed_distance(point));
        apart.fold(inside, f64::min)
    }

    /// What is wrong with a detector there, the worst first; `body` where it is known.
    pub(super) fn wrong(&self, point: Point, body: Option<&Shape>) -> Option<Seat<'a>> {
        if self
            .outline()
            .is_some_and(|outline| !outline.contains(point))
        {
            return Some(match self.stand {
                Stand::Plate(_) => Seat::OutsidePlate,
                Stand::Pallet(_) | Stand::Anything => Seat::OutsideFixture,
            });
        }
        if let Some(k) = self.barred.iter().find(|k| k.footprint.contains(point)) {
            return Some(Seat::InKeepOut(k));
        }
        let body = Footprint::new(body?.clone(), point);
        if self.outline().is_some_and(|outline| !outline.covers(&body)) {
            return Some(match self.stand {
                Stand::Plate(_) => Seat::BodyOverPlate,
                Stand::Pallet(_) | Stand::Anything => Seat::BodyOverRim,
            });
        }
        self.barred
            .iter()
            .find(|k| k.footprint.overlaps(&body))
            .map(|k| Seat::BodyOverKeepOut(k))
    }
}
