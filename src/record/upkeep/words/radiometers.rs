//! Radiometers side by side, and what a recalibration touches.

use super::figures::percent_between;
use crate::station::{Station, named};
use crate::units::{Units, fixed};
use crate::upkeep::beside::{NoComparison, Shift};
use crate::upkeep::{Again, Comparison, Touched};

/// Why nothing can be said of two radiometers.
pub fn no_comparison_words(why: NoComparison) -> String {
    match why {
        NoComparison::FewPairs(n) => {
            format!("{n} pairs of readings are too few: two are needed, at three levels or more")
        }
        NoComparison::NotPositive(i) => format!("pair {} is not above zero", i + 1),
        NoComparison::BadCertificate => {
            "a certificate's uncertainty can't be, or what both have in common is more than one of them".to_owned()
        }
    }
}

/// What two radiometers side by side tell.
pub fn comparison_words(comparison: &Comparison, units: Units) -> Vec<String> {
    let compared = match comparison {
        Ok(compared) => compared,
        Err(why) => return vec![no_comparison_words(*why)],
    };
    let ratio = compared.ratio;
    let mut all = vec![format!(
        "Main over stand-in {} ({} to {} with 95 % confidence), {} levels, {} pairs; a converted reading gains {} % (k = 1)",
        fixed(ratio.value, 4),
        fixed(ratio.low, 4),
        fixed(ratio.high, 4),
        compared.counts.0,
        compared.counts.1,
        fixed(100.0 * compared.uncertainty, 2)
    )];
    all.push(match &compared.dependence {
        None => "Whether the ratio depends on the level is not known: read at three levels or more, a tenth apart".to_owned(),
        Some(of) if of.depends => format!(
            "It depends on the level: main = {} + {} times stand-in; readings are converted by that line",
            units.irradiance.show_with_unit(of.intercept.value, None),
            fixed(of.factor.value, 4)
        ),
        Some(of) => format!(
            "That it depends on the level is not proven (p = {})",
            fixed(of.p, 2)
        ),
    });
    all.push(match &compared.agreement {
        None => "The certificates are not told: whether they explain the difference can't be said"
            .to_owned(),
        Some(agreement) => format!(
            "En {}: {} the certificates (up to {} % allowed)",
            fixed(agreement.en, 2),
            if agreement.agrees {
                "within"
            } else {
                "more than is explained by"
            },
            fixed(100.0 * agreement.allowed, 1)
        ),
    });
    all
}

/// What a calibration changed.
pub fn shift_words(shift: Option<&Result<Shift, NoComparison>>) -> String {
    match shift {
        None => {
            "how the radiometer was found is not told; ask the laboratory for the figure as found"
                .to_owned()
        }
        Some(Err(why)) => no_comparison_words(*why),
        Some(Ok(shift)) => {
            let agreement = shift.agreement.map_or(String::new(), |a| {
                let how = if a.agrees {
                    "within what the certificates allow"
                } else {
                    "more than the certificates allow"
                };
                format!(", {how} (En {})", fixed(a.en, 2))
            });
            format!(
                "it reads {} since{agreement}",
                percent_between(shift.shift, 1)
            )
        }
    }
}

/// What a calibration touches.
pub fn touched_words(
    touched: &Touched,
    entries: usize,
    station: &Station,
    units: Units,
) -> Vec<String> {
    let mut all = vec![shift_words(touched.shift.as_ref())];
    let log = match entries {
        0 => "no entry of the log".to_owned(),
        1 => "one entry of the log".to_owned(),
        n => format!("{n} entries of the log"),
    };
    all.push(format!(
        "read with it since the calibration before: {log}, {} surveys",
        touched.surveys.len()
    ));
    for (survey, again) in &touched.surveys {
        let name = station.surveys.get(*survey).map_or("", |s| s.name.as_str());
        all.push(match again {
            None => format!("{}: nothing to judge again", named("survey", name)),
            Some(again) => again_words(name, again, units),
        });
    }
    all
}

fn again_words(name: &str, again: &Again, units: Units) -> String {
    let show = |e: Option<f64>| {
        e.map_or_else(
            || "no bound".to_owned(),
            |e| units.irradiance.show_with_unit(e, None),
        )
    };
    format!(
        "{}: {} as read (assured {}); {} with the radiometer as it was found all along (assured {})",
        named("survey", name),
        again.was.words(),
        show(again.judged.0),
        again.now.words(),
        show(again.judged.1)
    )
}
