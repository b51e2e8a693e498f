//! What is odd about a station, and where.

mod fixture;
mod limits;
mod overlap;
mod plan;
mod survey;

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use super::sound::Unsound;
use super::{Bars, KeepOut, Pallet, Shared, Station, Survey};
use crate::geometry::{Bounds, Footprint, Point, Shape};
use crate::units::{IrradianceUnit, LengthUnit};

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth a look; the answer stands.
    Note,
    /// The answer may be wrong until this is mended.
    Warning,
}

/// Where a finding points to, so that a click can go there. Field names are the labels of the forms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Where {
    /// A field of the source's form.
    Source(&'static str),
    /// A field of the fixture's form.
    Fixture(&'static str),
    /// A group of sites, by index.
    Sites(usize),
    /// A keep-out, by index.
    KeepOut(usize),
    /// A field of a radiometer's form, by index in the station.
    Radiometer(usize, &'static str),
    /// A field of the plan's form.
    Plan(&'static str),
    /// A planned position, by index in [`Station::positions`].
    Position(usize),
    /// A field of the form of limits.
    Limits(&'static str),
    /// A field of a survey's form, by index.
    Survey(usize, &'static str),
    /// A reading, by survey and row.
    Reading(usize, usize),
    /// A field of the form of the cure trials.
    Trials(&'static str),
    /// A part of the cure trials, by row.
    Trial(usize),
    /// A field of the exposure's form.
    Exposure(&'static str),
}

/// One thing that is odd: where it is, what it is, what to do. Each a plain sentence without a full
/// stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Where.
    pub place: Where,
    /// How much it matters.
    pub severity: Severity,
    /// What is odd.
    pub what: String,
    /// What to do.
    pub mend: String,
}

/// Findings that one mistake makes many of: of the same kind, to be mended in the same way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike<'a> {
    /// All of them, in their order; at least one.
    pub findings: Vec<&'a Finding>,
}

impl<'a> Alike<'a> {
    /// Findings by what they have in common, in the order of the first of each.
    pub fn groups(findings: impl IntoIterator<Item = &'a Finding>) -> Vec<Self> {
        let mut groups: Vec<Self> = Vec::new();
        let mut known: HashMap<_, usize> = HashMap::new();
        for finding in findings {
            // what to do says what is odd; only the name and the place differ
            let survey = match finding.place {
                Where::Survey(survey, _) | Where::Reading(survey, _) => Some(survey),
                _ => None,
            };
            let kind = std::mem::discriminant(&finding.place);
            let key = (kind, survey, finding.severity, finding.mend.as_str());
            match known.entry(key) {
                Entry::Occupied(at) => groups[*at.get()].findings.push(finding),
                Entry::Vacant(free) => {
                    free.insert(groups.len());
                    groups.push(Self {
                        findings: vec![finding],
                    });
                }
            }
        }
        groups
    }

    /// The first of them.
    pub fn first(&self) -> &'a Finding {
        self.findings[0]
    }

    /// What is odd about the first, and how many more there are.
    pub fn what(&self) -> String {
        let what = &self.first().what;
        match self.findings.len() {
            1 => what.clone(),
            n => format!("{what} (and {} more)", n - 1),
        }
    }
}

impl Station {
    /// Everything odd about the station, in the order of the steps. Fast enough to run after each
    /// edit: no part is held against every other one. When a number can't be
    /// ([`unsound`](Self::unsound)), only such numbers are said: what hangs on them would mislead.
    pub fn check(&self) -> Vec<Finding> {
        Checked::default().again(self)
    }
}

/// What was found last, to look only at those surveys again of which something changed.
#[derive(Debug, Default)]
pub struct Checked {
    surveys: Vec<OfSurvey>,
}

#[derive(Debug)]
struct OfSurvey {
    survey: Shared<Survey>,
    unsound: Vec<Unsound>,
    found: Option<(survey::Beside, Vec<Finding>)>,
}

impl Checked {
    /// Everything odd about a station, as [`Station::check`] says it.
    pub fn again(&mut self, station: &Station) -> Vec<Finding> {
        self.take(station);
        let mut found: Vec<Finding> = station
            .unsound_with(|survey| self.surveys[survey].unsound.clone())
            .into_iter()
            .map(|unsound| Finding {
                place: unsound.place,
                severity: Severity::Warning,
                what: unsound.what,
                mend: unsound.mend,
            })
            .collect();
        if found.is_empty() {
            fixture::check(station, &mut found);
            plan::check(station, &mut found);
            for (index, of) in self.surveys.iter_mut().enumerate() {
                of.look(station, index, &mut found);
            }
            limits::check(station, &mut found);
        }
        found
    }

    /// The surveys of a station, with what is known of those that it shares with the last one.
    fn take(&mut self, station: &Station) {
        self.surveys.truncate(station.surveys.len());
        for (index, survey) in station.surveys.iter().enumerate() {
            if self
                .surveys
                .get(index)
                .is_some_and(|of| of.survey.is(survey))
            {
                continue;
            }
            let of = OfSurvey {
                survey: survey.clone(),
                unsound: survey.unsound(index),
                found: None,
            };
            self.surveys
                .splice(index..(index + 1).min(self.surveys.len()), [of]);
        }
    }
}

impl OfSurvey {
    fn look(&mut self, station: &Station, index: usize, found: &mut Vec<Finding>) {
        let beside = survey::Beside::of(station, index);
        let known = self.found.take().filter(|known| known.0 == beside);
        let (_, here) = self.found.insert(known.unwrap_or_else(|| {
            let here = survey::check(&self.survey, index, &beside);
            (beside, here)
        }));
        found.extend_from_slice(here);
    }
}

fn note(place: Where, what: String, mend: impl Into<String>) -> Finding {
    Finding {
        place,
        severity: Severity::Note,
        what,
        mend: mend.into(),
    }
}

fn warning(place: Where, what: String, mend: impl Into<String>) -> Finding {
    Finding {
        severity: Severity::Warning,
        ..note(place, what, mend)
    }
}

fn mm(length: f64) -> String {
    LengthUnit::Mm.show_with_unit(length)
}

/// `12.5, 40 mm`
fn at(point: Point) -> String {
    format!("{}, {}", LengthUnit::Mm.show(point.x), mm(point.y))
}

fn irradiance(mw_cm2: f64) -> String {
    IrradianceUnit::MilliwattPerCm2.show_with_unit(mw_cm2, None)
}

/// A word with a name, where there is one: `site D1`; a name that begins with the word says it already.
fn called(what: &str, name: &str) -> String {
    if name.is_empty() {
        format!("a {what} without a name")
    } else {
        super::named(what, name)
    }
}

/// For each item whose key stood before: its index and that of the first one.
fn repeated<K: std::hash::Hash + Eq>(keys: impl Iterator<Item = K>) -> Vec<(usize, usize)> {
    let mut first = HashMap::with_capacity(keys.size_hint().0);
    keys.enumerate()
        .filter_map(|(i, key)| {
            let j = *first.entry(key).or_insert(i);
            (i != j).then_some((i, j))
        })
        .collect()
}

/// Why no detector can sit somewhere.
enum Seat<'a> {
    OutsideFixture,
    OutsidePlate,
    InKeepOut(&'a KeepOut),
    BodyOverRim,
    BodyOverPlate,
    BodyOverKeepOut(&'a KeepOut),
}

impl Seat<'_> {
    /// What follows the name of the position or reading.
    fn what(&self, point: Point) -> String {
        let point = at(point);
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
    pub fn no_seat(&self, point: Point) -> Option<String> {
        let body = self.plan_radiometer().map(|r| &r.body);
        let seats = self.seats_on_pallet();
        seats.wrong(point, body).map(|seat| seat.what(point))
    }
}

/// What a detector stands on.
#[derive(Debug, Clone, PartialEq)]
enum Stand {
    /// The pallet, in place.
    Pallet(Footprint),
    /// A plate, with the pallet out.
    Plate(Footprint),
    /// The pallet is out, and of a plate nothing is known.
    Anything,
}

impl Stand {
    fn of_plan(station: &Station) -> Self {
        match &station.plan.plate {
            Some(plate) => Self::Plate(plate.footprint()),
            None => Self::Pallet(station.fixture.footprint()),
        }
    }

    /// During a survey: as it says or, where it does not, as the plan is read.
    fn during(station: &Station, pallet: Pallet) -> Self {
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
    fn of(stand: Stand, keep_outs: &'a [KeepOut]) -> Self {
        let on_pallet = matches!(stand, Stand::Pallet(_));
        let bars =
            |k: &&KeepOut| matches!(k.bars, Bars::Both | Bars::Detector) && (on_pallet || k.stays);
        Self {
            barred: keep_outs.iter().filter(bars).collect(),
            stand,
        }
    }

    /// Nothing is known of it with the pallet out and no plate.
    fn outline(&self) -> Option<&Footprint> {
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
    fn wrong(&self, point: Point, body: Option<&Shape>) -> Option<Seat<'a>> {
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
