//! One survey against another, in sentences.

use crate::change::{
    Calibration, Cause, Change, Mode, SetUp, Smallest, StateChange, Zone, days, state_changes,
};
use crate::geometry::{Bounds, Point};
use crate::station::{Pallet, Station, named};
use crate::units::{LengthUnit, fixed};

/// What sentences are said of.
#[derive(Debug, Clone, Copy)]
pub struct Said<'a> {
    /// The document.
    pub station: &'a Station,
    /// The change.
    pub change: &'a Change,
    /// For lengths.
    pub length: LengthUnit,
}

/// Matched places further apart than this are said, mm.
const ASIDE: f64 = 0.5;
/// A baseline older than this asks for a new survey, days (common practice, no source).
const OLD: i32 = 365;
/// Before somebody reaches into a lamp.
const BEFORE_TOUCHING: &str = "before touching reflector, window or lamp cut and lock out its supply and let it cool, never touch quartz with bare fingers, and wear eye protection when it is lit again";

/// A share as percent, without its sign.
pub(super) fn size(share: f64) -> String {
    format!("{} %", fixed(100.0 * share.abs(), 1))
}

/// An interval of shares with its signs.
fn plain_interval((low, high): (f64, f64)) -> String {
    format!("{} to {} %", fixed(100.0 * low, 1), fixed(100.0 * high, 1))
}

/// An interval of shares; what lies on both sides of none is said with its signs.
pub fn interval((low, high): (f64, f64)) -> String {
    if low < 0.0 && high <= 0.0 {
        plain_interval((-high, -low))
    } else {
        plain_interval((low, high))
    }
}

/// Where on a rectangle a point lies.
pub fn part_of(bounds: Bounds, p: Point) -> String {
    let third = |v: f64, from: f64, length: f64, words: [&'static str; 3]| {
        let part = (v - from) / length.max(1e-9);
        words[if part < 0.36 {
            0
        } else if part <= 0.64 {
            1
        } else {
            2
        }]
    };
    let along = third(p.x, bounds.min.x, bounds.width(), ["left", "", "right"]);
    let across = third(p.y, bounds.min.y, bounds.depth(), ["front", "", "back"]);
    match (across, along) {
        ("", "") => "in the middle".into(),
        ("", side) => format!("on the {side}"),
        (side, "") => format!("at the {side}"),
        (across, along) => format!("at the {across} {along}"),
    }
}

/// What a set-up error is, with its uncertainty.
pub fn set_up(s: &SetUp, length: LengthUnit) -> String {
    let by = |unit: &str, value: f64| {
        format!(
            "{} ± {}{unit}",
            fixed(value.abs(), 1),
            fixed(2.0 * s.uncertainty, 1)
        )
    };
    let mm = |value: f64| {
        format!(
            "{} ± {}",
            length.show(value.abs()),
            length.show_with_unit(2.0 * s.uncertainty)
        )
    };
    let way = |up: &'static str, down: &'static str| if s.by > 0.0 { up } else { down };
    let what = match s.mode {
        Mode::Height => format!(
            "{} {}",
            mm(s.by),
            way("higher, nearer to the lamp", "lower, further from the lamp")
        ),
        Mode::ShiftX => format!("{} further to the {}", mm(s.by), way("right", "left")),
        Mode::ShiftY => format!("{} further to the {}", mm(s.by), way("back", "front")),
        Mode::TiltX => format!(
            "tilted by {}, the {} side up",
            by("°", s.by),
            way("right", "left")
        ),
        Mode::TiltY => format!(
            "tilted by {}, the {} up",
            by("°", s.by),
            way("back", "front")
        ),
        Mode::Block(_) | Mode::Drift => mm(s.by),
    };
    let or = match s.or.filter(|_| !s.named) {
        None => "",
        Some(Mode::TiltX | Mode::TiltY) => ", or tilted, which can't be told apart here",
        Some(_) => ", or set down aside, which can't be told apart here",
    };
    format!("{what} (k = 2){or}")
}

/// The word of a mode in records.
pub(super) fn mode_word(mode: Mode) -> &'static str {
    match mode {
        Mode::Height => "height",
        Mode::ShiftX => "shift x",
        Mode::ShiftY => "shift y",
        Mode::TiltX => "tilt x",
        Mode::TiltY => "tilt y",
        Mode::Block(_) => "spacer",
        Mode::Drift => "drift",
    }
}

/// What a common change may be.
pub fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::Lamp => "the lamp",
        Cause::Drive => "its drive",
        Cause::Distance => "the working distance",
        Cause::Window => "reflector or window, evenly dirty",
        Cause::Radiometer => "the radiometer",
        Cause::Pallet => "the pallet",
    }
}

/// Words in a row, the last with `or`.
pub(super) fn listed(words: &[&str], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

impl Said<'_> {
    fn name(&self, i: usize) -> String {
        let survey = self.station.surveys.get(i);
        survey.map_or_else(String::new, |s| format!("'{}'", s.name))
    }

    fn fixture(&self) -> Bounds {
        self.station.fixture.footprint().bounds()
    }

    /// A zone: where, how deep, how large, whom it touches.
    pub fn zone(&self, zone: &Zone) -> String {
        let side = if zone.depth < 0.0 { "colder" } else { "hotter" };
        let sites = match &zone.sites[..] {
            [] if self.change_has_sites() => ", no site in it".to_owned(),
            [] => String::new(),
            [one] => format!(", site {one}"),
            [first @ .., last] => format!(", sites {} and {last}", first.join(", ")),
        };
        format!(
            "{} ({}, {}): up to {} {side} than the rest ({} with 95 % confidence), {} cm²{sites}",
            part_of(self.fixture(), zone.centre),
            self.length.show(zone.centre.x),
            self.length.show_with_unit(zone.centre.y),
            size(zone.depth),
            interval(zone.interval),
            fixed(zone.area / 100.0, 1),
        )
    }

    fn change_has_sites(&self) -> bool {
        !self.station.sites.is_empty()
    }

    /// Which part of the lamp a zone points to.
    pub fn face(&self, zone: &Zone) -> Option<String> {
        let face = zone.face?;
        let bounds = self.station.source.face.as_ref().map(|f| f.bounds());
        let part = part_of(bounds.unwrap_or(self.fixture()), face.at);
        Some(format!(
            "It points to the lamp's face {part} ({}, {}), where about {} of the lamp's light is missing; behind mirrors look at the mirror that sends light there",
            self.length.show(face.at.x),
            self.length.show_with_unit(face.at.y),
            size(face.share)
        ))
    }

    /// The common change.
    pub fn common(&self) -> String {
        let common = &self.change.common;
        let within = interval(common.interval);
        let other_scale = common.calibration != Calibration::Cancels;
        if !self.change.is_common_proven() {
            let why = if other_scale {
                ", the calibrations of both radiometers in it"
            } else {
                ""
            };
            return format!(
                "No common change is proven: {} % ({within} with 95 % confidence{why})",
                fixed(100.0 * common.change, 1)
            );
        }
        let way = if common.change < 0.0 { "less" } else { "more" };
        let unsaid = if common.calibration == Calibration::NotKnown {
            ", without calibration, which is not known to be the same"
        } else {
            ""
        };
        format!(
            "{} {way} light everywhere ({within} with 95 % confidence{unsaid})",
            size(common.change)
        )
    }

    /// What most places changed by, without the model; nothing for few places.
    pub fn typical(&self) -> Option<String> {
        let (middle, within) = self.change.typical?;
        Some(format!(
            "Without any model, what most places changed by: {} % ({} with 95 % confidence)",
            fixed(100.0 * middle, 1),
            plain_interval(within)
        ))
    }

    /// What the common change may be; nothing where none is proven.
    pub fn may_be(&self) -> Option<String> {
        if !self.change.is_common_proven() && self.change.common.calibration == Calibration::Cancels
        {
            return None;
        }
        let open: Vec<&str> = self.change.may_be.iter().map(|c| cause(*c)).collect();
        (!open.is_empty()).then(|| format!("What is common may be {}", listed(&open, "or")))
    }

    /// What could have been seen.
    pub fn smallest(&self, s: &Smallest) -> String {
        format!(
            "a local loss of {} over {} anywhere within the outermost positions would have been found with {} % probability",
            size(s.loss),
            self.length.show_with_unit(s.diameter),
            fixed(100.0 * s.power, 0)
        )
    }

    /// One sentence.
    pub fn judgement(&self) -> String {
        let change = self.change;
        let mut parts = Vec::new();
        for state in &change.states {
            match state {
                StateChange::Lamp(a, b) => {
                    parts.push(format!("Another lamp was in ({b} instead of {a})"))
                }
                StateChange::Drive(a, b) => {
                    parts.push(format!("The drive was set otherwise ({b} instead of {a})"));
                }
                _ => {}
            }
        }
        let set_up: Vec<String> = change
            .named()
            .map(|s| self::set_up(s, self.length))
            .collect();
        if !set_up.is_empty() {
            parts.push(format!(
                "The readings look as if the second round was read {}",
                set_up.join(" and ")
            ));
        }
        parts.push(self.common());
        let zones = |zones: &[Zone], kind: &str| {
            let each: Vec<String> = zones.iter().map(|z| self.zone(z)).collect();
            match &each[..] {
                [] => None,
                [one] => Some(format!("a {kind} zone has appeared {one}")),
                several => Some(format!(
                    "{} {kind} zones have appeared {}",
                    several.len(),
                    several.join("; and ")
                )),
            }
        };
        let found: Vec<String> = [zones(&change.cold, "cold"), zones(&change.hot, "hot")]
            .into_iter()
            .flatten()
            .collect();
        if found.is_empty() {
            parts.push(match &change.smallest {
                Some(s) => format!("no cold zone was found, and {}", self.smallest(s)),
                None => "whether a cold zone has appeared can't be told from so few positions"
                    .to_owned(),
            });
        } else {
            parts.push(found.join("; "));
        }
        parts.join("; ")
    }

    /// What a technician does next.
    pub fn next_steps(&self) -> Vec<String> {
        let change = self.change;
        let mut steps = Vec::new();
        if change.named().next().is_some() {
            steps.push("Check working distance, levelling and where the plate or pallet stops, then read again the same way before judging the lamp".to_owned());
        }
        if let Some(zone) = change.cold.first() {
            let few = if zone.positions <= 1 {
                ": so far it rests on one position"
            } else {
                ""
            };
            steps.push(format!("Read the positions in the cold zone again{few}"));
            steps.push(format!(
                "If it stays, clean reflector and window and read again; if it still stays, have the reflector or the dark emitters changed, or turn the lamp; {BEFORE_TOUCHING}"
            ));
        }
        let scale = change.common.calibration != Calibration::Cancels;
        if scale {
            steps.push("Read both radiometers side by side at one position, or have them calibrated, before judging the lamp by the common change".to_owned());
        } else if change.is_common_proven()
            && change.common.change < 0.0
            && change.named().next().is_none()
        {
            steps.push(format!(
                "Clean the window, read the monitor position again and see in Limits whether distance, drive or the lamp has to change; {BEFORE_TOUCHING}"
            ));
        }
        if steps.is_empty() {
            steps.push(
                "Nothing to do but to read again at the next interval, the same way".to_owned(),
            );
        }
        steps
    }

    /// What is recorded and not the same.
    pub fn state(&self, state: &StateChange) -> String {
        let mm = self.length;
        match state {
            StateChange::Lamp(a, b) => format!("Another lamp: {b} instead of {a}"),
            StateChange::Drive(a, b) => format!("Another drive setting: {b} instead of {a}"),
            StateChange::FaceHeight(a, b) => format!(
                "The face stood at {} instead of {}: compared at the same distance from it",
                mm.show_with_unit(*b),
                mm.show_with_unit(*a)
            ),
            StateChange::InTheWay(a, b) => {
                let said = |s: &str| if s.is_empty() { "nothing noted".to_owned() } else { s.to_owned() };
                format!("In the light's way: {} instead of {}", said(b), said(a))
            }
            StateChange::Pallet(a, b) => {
                let word = |p: Pallet| match p {
                    Pallet::NotSaid => "not said",
                    Pallet::Empty => "in place, empty",
                    Pallet::Loaded => "in place, with parts",
                    Pallet::Out => "out",
                };
                format!("The pallet was {}, before {}: light thrown back is not the same", word(*b), word(*a))
            }
            StateChange::Pair(a, b) => format!("Another radiometer pair: {b} instead of {a}"),
            StateChange::Calibrated => "The radiometer pair was calibrated in between".to_owned(),
            StateChange::PairNotSaid => "The radiometer is not named in both surveys, so its calibration may not cancel".to_owned(),
            StateChange::BandNotSaid => "The band is not told in both surveys: readings of different bands can't be compared".to_owned(),
            StateChange::WarmUp(a, b) => format!("Warmed up for {} minutes, before for {}", fixed(*b, 0), fixed(*a, 0)),
        }
    }

    /// What to be careful about.
    pub fn warnings(&self) -> Vec<String> {
        let change = self.change;
        let mut out: Vec<String> = change.states.iter().map(|s| self.state(s)).collect();
        if change.through_field > 0 {
            out.push(format!(
                "{} of {} places were not read in {}; they are compared through its field",
                change.through_field,
                change.positions.len(),
                self.name(change.surveys.0)
            ));
        }
        if change.aside > ASIDE {
            out.push(format!(
                "Positions of one name are recorded up to {} apart; the field carries one to the other",
                self.length.show_with_unit(change.aside)
            ));
        }
        if change.common.calibration == Calibration::NotKnown {
            out.push("The scale may not be the same and its uncertainty is not known; the interval of the common change is without it".to_owned());
        }
        for zone in change
            .cold
            .iter()
            .chain(&change.hot)
            .filter(|z| z.positions <= 1)
        {
            out.push(format!(
                "The zone {} rests on {}; read it again",
                part_of(self.fixture(), zone.centre),
                if zone.positions == 1 {
                    "one position"
                } else {
                    "no position inside it"
                }
            ));
        }
        out.extend(self.triggers());
        out
    }

    /// What has happened since the baseline that asks for a new survey of the whole plan (common practice, no source: a new lamp,
    /// reflector or window, another height or pallet, another pair, and an interval).
    pub fn triggers(&self) -> Vec<String> {
        let (station, change) = (self.station, self.change);
        let surveys = (change.surveys.0, change.surveys.1);
        let (Some(from), Some(to)) = (
            station.surveys.get(surveys.0),
            station.surveys.get(surveys.1),
        ) else {
            return Vec::new();
        };
        // what was seen in the later survey, and in any since the baseline
        let since = station.surveys.iter().filter(|s| s.date > from.date);
        let states = since.flat_map(|s| state_changes(station, from, s));
        let mut happened: Vec<String> = Vec::new();
        for state in change.states.iter().cloned().chain(states) {
            happened.extend(match state {
                StateChange::Lamp(..) => Some("The lamp was changed".to_owned()),
                StateChange::InTheWay(..) => Some("Window or filter were changed".to_owned()),
                StateChange::FaceHeight(..) => Some("The lamp's height was changed".to_owned()),
                StateChange::Pallet(..) => Some("The pallet is not as it was".to_owned()),
                StateChange::Pair(..) => Some("The radiometer pair is another one".to_owned()),
                StateChange::Drive(..)
                | StateChange::Calibrated
                | StateChange::PairNotSaid
                | StateChange::BandNotSaid
                | StateChange::WarmUp(..) => None,
            });
        }
        if change.cold.iter().chain(&change.hot).next().is_some() {
            happened.push(
                "The pattern has changed, and will again once reflector or lamp have been seen to"
                    .to_owned(),
            );
        }
        let (now, then) = (station.source.face_height, from.face_height(station));
        if (now - then).abs() > 0.05 {
            happened.push(format!(
                "The station's lamp now stands at {}, in {} at {}",
                self.length.show_with_unit(now),
                named("survey", &from.name),
                self.length.show_with_unit(then)
            ));
        }
        let newest = station.surveys.iter().map(|s| s.date).max();
        let age = days(from.date, newest.unwrap_or(to.date));
        if age > OLD {
            happened.push(format!(
                "The baseline is {age} days older than the newest survey"
            ));
        }
        let mut out: Vec<String> = Vec::new();
        for what in happened {
            let asks = format!("{what}: take a whole survey as the new baseline");
            if !out.contains(&asks) {
                out.push(asks);
            }
        }
        out
    }
}
