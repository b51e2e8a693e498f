//! Cure trials, a part of the document: which parts were cured how and what came of it; and how one
//! exposure runs in time. What follows from them is worked out in [`crate::trials`].

use serde::{Deserialize, Serialize};

use super::Radiometer;
use super::numbers::{self, Fault};

/// One ladder of cure trials.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Trials {
    /// The adhesive or coating.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub adhesive: String,
    /// Its lot.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub adhesive_lot: String,
    /// What it cures on, or through.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub substrate: String,
    /// Its lot.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub substrate_lot: String,
    /// Where the irradiance of the trials was measured: at the bond line, at the monitor position.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub measured_at: String,
    /// The radiometer with the calibration that counted then: a copy, as in a survey.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub radiometer: Option<Radiometer>,
    /// What was measured or judged on the cured parts.
    pub property: Property,
    /// The parts had cooled to room temperature before that.
    pub cooled: bool,
    /// What was varied; the other of irradiance and exposure was chosen first.
    pub varied: Varied,
    /// What was chosen first: exposure in s where the irradiance is varied, irradiance in mW/cm²
    /// where the time is. `None`: the one value that all parts have.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held: Option<f64>,
    /// How long the slowest other step of the line takes for as many parts as are cured at once, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slowest_step: Option<f64>,
    /// How far below the plateau a level may lie and still be full cure; set before the trials.
    pub margin: Margin,
    /// Confidence of the bound on the least level, percent, one-sided.
    pub confidence_percent: f64,
    /// Where parts pass or fail: how many of all parts must pass, percent.
    pub reliability_percent: f64,
    /// The parts, one row each.
    pub parts: Vec<Trial>,
    /// Parts cured at the chosen level, apart from those by which it was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub confirmation: Option<Confirmation>,
    /// Anything worth keeping.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub notes: String,
}

/// What is measured or judged on a cured part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Property {
    /// Bond strength, hardness, tack, anything.
    pub name: String,
    /// Its unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// Which way is better.
    #[serde(default)]
    pub better: Better,
}

/// Which way a property is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Better {
    /// Strength, hardness: it rises to its plateau.
    #[default]
    Larger,
    /// Tack, extractables: it falls to its plateau.
    Smaller,
    /// A part passes or fails.
    Pass,
}

/// What was varied from level to level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Varied {
    /// The exposure time was chosen first.
    #[default]
    Irradiance,
    /// The irradiance was chosen first.
    Time,
}

/// How far short of the plateau is still full cure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Margin {
    /// Percent of the plateau.
    Percent(f64),
    /// In the property's unit.
    Absolute(f64),
}

/// One part of a trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// mW/cm².
    pub irradiance: f64,
    /// s.
    pub exposure: f64,
    /// In the property's unit; 1 for a pass and 0 for a fail. `None`: not judged yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<f64>,
    /// Temperature of the part during the exposure, °C, where it was taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_temperature: Option<f64>,
    /// Why it does not count; `None`: it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub excluded: Option<String>,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// Parts cured at one level to confirm it, each of which passed or failed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirmation {
    /// mW/cm².
    pub irradiance: f64,
    /// s.
    pub exposure: f64,
    /// Parts that passed.
    pub passed: u32,
    /// Parts that failed.
    pub failed: u32,
}

/// How the irradiance runs during one exposure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Exposure {
    /// Read against time.
    Measured {
        /// Ascending in time: s, and irradiance in mW/cm² or any unit of its own.
        points: Vec<(f64, f64)>,
        /// What the radiometer calls the irradiance of this exposure, in the same unit; `None`: the
        /// median of the points above half of the highest.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reference: Option<f64>,
    },
    /// From what is known of shutter and lamp.
    Model(ExposureModel),
}

/// A simple exposure: a shutter that opens and closes evenly, a lamp that comes up, droops and ripples.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ExposureModel {
    /// From the command to open to the command to close, s.
    pub time: f64,
    /// Standard uncertainty of that time, s.
    pub time_uncertainty: f64,
    /// How long the shutter takes to open, s.
    pub opening: f64,
    /// How long it takes to close, s.
    pub closing: f64,
    /// Standard uncertainty of either, s.
    pub travel_uncertainty: f64,
    /// Time constant with which the lamp comes up after it is switched on, s; 0 where it burns all
    /// the time.
    pub switch_on: f64,
    /// By how much the irradiance has fallen at the end of the exposure, percent of full.
    pub droop_percent: f64,
    /// Amplitude of the ripple, percent of the mean.
    pub ripple_percent: f64,
    /// Its frequency, Hz.
    pub ripple_hz: f64,
}

impl Default for Trials {
    fn default() -> Self {
        Self {
            adhesive: String::new(),
            adhesive_lot: String::new(),
            substrate: String::new(),
            substrate_lot: String::new(),
            measured_at: String::new(),
            radiometer: None,
            property: Property::default(),
            cooled: false,
            varied: Varied::default(),
            held: None,
            slowest_step: None,
            margin: Margin::Percent(10.0),
            confidence_percent: 95.0,
            reliability_percent: 95.0,
            parts: Vec::new(),
            confirmation: None,
            notes: String::new(),
        }
    }
}

impl Default for Property {
    fn default() -> Self {
        Self {
            name: "Bond strength".into(),
            unit: "MPa".into(),
            better: Better::Larger,
        }
    }
}

impl Trial {
    /// A part with nothing but what counts.
    pub fn new(irradiance: f64, exposure: f64, result: f64) -> Self {
        Self {
            irradiance,
            exposure,
            result: Some(result),
            part_temperature: None,
            excluded: None,
            note: String::new(),
        }
    }

    /// The result, if it counts.
    pub fn counted(&self) -> Option<f64> {
        self.result.filter(|_| self.excluded.is_none())
    }
}

/// Parts in one ladder at most.
const MOST_PARTS: usize = 2_000;
/// Points in an exposure at most.
const MOST_POINTS: usize = 100_000;
/// No exposure is longer than a day, s.
const LONGEST: f64 = 86_400.0;

/// With the label of the field that is wrong.
type Sound = Result<(), (&'static str, Fault)>;

fn seconds(label: &str, value: f64) -> Result<(), Fault> {
    numbers::above_zero(label, value, LONGEST)
}

fn confidence(label: &str, value: f64) -> Result<(), Fault> {
    numbers::number(label, value, 100.0)?;
    if (50.0..=99.9).contains(&value) {
        Ok(())
    } else {
        Err((
            format!("the {label} is {value} %"),
            "type a number between 50 and 99.9, such as 95".into(),
        ))
    }
}

impl Trial {
    /// Whether its numbers can be.
    pub(crate) fn sound(&self, better: Better) -> Result<(), Fault> {
        numbers::above_zero("irradiance", self.irradiance, numbers::BRIGHTEST)?;
        seconds("exposure", self.exposure)?;
        numbers::optional(self.part_temperature, |v| {
            numbers::number("part temperature", v, 1e4)
        })?;
        numbers::optional(self.result, |v| numbers::not_negative("result", v, 1e12))?;
        match (better, self.result) {
            (Better::Pass, Some(v)) if v != 0.0 && v != 1.0 => Err((
                format!("the result {v} is neither pass nor fail"),
                "type pass or fail, or choose a property that is measured".into(),
            )),
            _ => Ok(()),
        }
    }
}

impl Trials {
    /// All but the parts, with the label of the field that is wrong.
    pub(super) fn details_sound(&self) -> Sound {
        if let Some(radiometer) = &self.radiometer {
            (radiometer.sound()).map_err(|(_, fault)| ("Radiometer", fault))?;
        }
        match self.varied {
            Varied::Irradiance => numbers::optional(self.held, |v| seconds("chosen exposure", v))
                .map_err(|f| ("Chosen exposure", f)),
            Varied::Time => numbers::optional(self.held, |v| {
                numbers::above_zero("chosen irradiance", v, numbers::BRIGHTEST)
            })
            .map_err(|f| ("Chosen irradiance", f)),
        }?;
        numbers::optional(self.slowest_step, |v| seconds("slowest step", v))
            .map_err(|f| ("Slowest step", f))?;
        match self.margin {
            Margin::Percent(v) if !(v > 0.0 && v < 100.0) => Err((
                format!("the margin is {v} %"),
                "type a number above 0 and below 100, such as 10".into(),
            )),
            Margin::Percent(_) => Ok(()),
            Margin::Absolute(v) => numbers::above_zero("margin", v, 1e12),
        }
        .map_err(|f| ("Margin", f))?;
        confidence("confidence", self.confidence_percent).map_err(|f| ("Confidence", f))?;
        confidence("share of parts that must pass", self.reliability_percent)
            .map_err(|f| ("Must pass", f))?;
        if self.parts.len() > MOST_PARTS {
            let what = format!("there are {} parts", self.parts.len());
            return Err(("Parts", (what, format!("have at most {MOST_PARTS}"))));
        }
        if let Some(run) = self.confirmation {
            numbers::above_zero(
                "irradiance of the confirmation run",
                run.irradiance,
                numbers::BRIGHTEST,
            )
            .and_then(|()| seconds("exposure of the confirmation run", run.exposure))
            .map_err(|f| ("Confirmation run", f))?;
        }
        Ok(())
    }

    /// Everything, with the row of the part that is wrong where it is one.
    pub(super) fn sound(&self) -> Result<(), (Wrong, Fault)> {
        self.details_sound()
            .map_err(|(field, fault)| (Wrong::Field(field), fault))?;
        (self.parts.iter().enumerate()).try_for_each(|(row, part)| {
            part.sound(self.property.better)
                .map_err(|fault| (Wrong::Part(row), fault))
        })
    }
}

/// What of the trials is wrong.
pub(super) enum Wrong {
    /// A field of the form.
    Field(&'static str),
    /// A row of the parts.
    Part(usize),
}

impl Exposure {
    /// With the label of the field that is wrong.
    pub(crate) fn sound(&self) -> Sound {
        match self {
            Self::Measured { points, reference } => {
                measured(points).map_err(|f| ("Points", f))?;
                numbers::optional(*reference, |v| {
                    numbers::above_zero(
                        "irradiance that the radiometer reads",
                        v,
                        numbers::BRIGHTEST,
                    )
                })
                .map_err(|f| ("Reference", f))
            }
            Self::Model(model) => model.sound(),
        }
    }
}

fn measured(points: &[(f64, f64)]) -> Result<(), Fault> {
    if points.len() > MOST_POINTS {
        let what = format!("the exposure has {} points", points.len());
        return Err((what, format!("have at most {MOST_POINTS}")));
    }
    for &(time, irradiance) in points {
        numbers::number("time of the exposure", time, LONGEST)?;
        numbers::number("irradiance of the exposure", irradiance, numbers::BRIGHTEST)?;
    }
    match points.windows(2).find(|w| w[1].0 <= w[0].0) {
        Some(w) => Err((
            format!("the time {} s does not come after {} s", w[1].0, w[0].0),
            "put the points in the order of time, each time once".into(),
        )),
        None => Ok(()),
    }
}

impl ExposureModel {
    fn sound(&self) -> Sound {
        seconds("exposure time", self.time).map_err(|f| ("Time", f))?;
        let not_negative = [
            ("Time uncertainty", self.time_uncertainty),
            ("Opening", self.opening),
            ("Closing", self.closing),
            ("Travel uncertainty", self.travel_uncertainty),
            ("Switch-on", self.switch_on),
        ];
        for (field, value) in not_negative {
            numbers::not_negative(&field.to_lowercase(), value, LONGEST).map_err(|f| (field, f))?;
        }
        if self.opening > self.time {
            let what = format!(
                "the shutter takes {} s to open and is told to close after {} s",
                self.opening, self.time
            );
            let mend = "make the exposure longer, or measure its course".to_owned();
            return Err(("Opening", (what, mend)));
        }
        for (field, value) in [
            ("Droop", self.droop_percent),
            ("Ripple", self.ripple_percent),
        ] {
            numbers::not_negative(&field.to_lowercase(), value, 100.0).map_err(|f| (field, f))?;
        }
        let ripple = if self.ripple_percent > 0.0 {
            numbers::above_zero("frequency of the ripple", self.ripple_hz, 1e9)
        } else {
            numbers::not_negative("frequency of the ripple", self.ripple_hz, 1e9)
        };
        ripple.map_err(|f| ("Ripple frequency", f))
    }
}
