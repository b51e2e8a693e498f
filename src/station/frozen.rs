//! What freezing the limits holds fast, and how a change of it is put on record.

use jiff::civil::Date;

use super::limits::{Allowances, Change, Figure, Least, Limits};
use super::{AssessedArea, GoverningRule, Station, Trials};

/// What freezing holds fast.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Terms {
    rule: GoverningRule,
    area: AssessedArea,
    limits: Limits,
    /// Where the least irradiance comes from them.
    trials: Option<Trials>,
}

impl Terms {
    /// Of a station whose limits are frozen.
    pub(super) fn frozen(station: &Station) -> Option<Self> {
        let limits = station.limits.as_ref()?;
        limits.frozen?;
        Some(Self {
            rule: station.settings.rule,
            area: station.settings.area,
            limits: Limits::clone(limits),
            trials: station.trials.clone(),
        })
    }

    /// What another station says otherwise, in words.
    fn changes(&self, now: &Station) -> Vec<String> {
        let mut said = Vec::new();
        if self.rule != now.settings.rule {
            said.push("governing rule".to_owned());
        }
        if self.area != now.settings.area {
            said.push("assessed area".to_owned());
        }
        let Some(new) = now.limits.as_deref() else {
            return said;
        };
        let old = &self.limits;
        if new.least == Least::FromTrials && old.least == new.least && self.trials != now.trials {
            said.push("cure trials".to_owned());
        }
        if old.least != new.least {
            said.push(from_to("least irradiance", least(old), least(new)));
        }
        let percent = |p: f64| format!("{p} %");
        if old.safety_factor_percent != new.safety_factor_percent {
            said.push(from_to(
                "safety factor",
                percent(old.safety_factor_percent),
                percent(new.safety_factor_percent),
            ));
        }
        if old.upper != new.upper {
            said.push(from_to("upper limit", upper(old), upper(new)));
        }
        if old.exposure_s != new.exposure_s {
            let say = |s: Option<f64>| s.map_or_else(|| "none".to_owned(), |s| format!("{s} s"));
            said.push(from_to(
                "exposure time",
                say(old.exposure_s),
                say(new.exposure_s),
            ));
        }
        if old.allowances != new.allowances {
            let say =
                |a: Allowances| format!("{} % and {} %", a.until_check_percent, a.reload_percent);
            said.push(from_to(
                "allowances",
                say(old.allowances),
                say(new.allowances),
            ));
        }
        if old.transmission != new.transmission {
            said.push("transmission of substrates".to_owned());
        }
        said
    }
}

fn from_to(what: &str, old: String, new: String) -> String {
    if old == new {
        format!("origin of the {what}")
    } else {
        format!("{what} from {old} to {new}")
    }
}

fn figure(figure: &Figure) -> String {
    figure
        .irradiance
        .map_or_else(|| "none".to_owned(), |e| format!("{e} mW/cm²"))
}

fn least(limits: &Limits) -> String {
    match &limits.least {
        Least::FromTrials => "the cure trials".to_owned(),
        Least::Typed(typed) => figure(typed),
    }
}

fn upper(limits: &Limits) -> String {
    (limits.upper.as_ref()).map_or_else(|| "none".to_owned(), |upper| figure(&upper.figure))
}

impl Station {
    /// Puts on record what has changed of frozen terms.
    pub(super) fn put_on_record(&mut self, before: &Terms, on: Option<Date>) {
        let said = before.changes(self);
        if let Some(limits) = self.limits.as_deref_mut() {
            let changes = said.into_iter().map(|what| Change { on, what });
            limits.record.extend(changes);
        }
    }

    /// Readings with an irradiance, over all surveys.
    pub(super) fn readings_entered(&self) -> usize {
        let all = self.surveys.iter().flat_map(|s| &s.readings);
        all.filter(|r| r.irradiance.is_some()).count()
    }
}
