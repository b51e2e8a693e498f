//! One simulated station held against limits whose truth is known.

use evenfield::assess::limits::{Bounded, Verdict, verdict};
use evenfield::assess::{Request, answer_with, fit_survey};
use evenfield::progress::Progress;
use evenfield::station::limits::{Allowances, Figure, Least, Limits, Origin, Upper};
use evenfield::station::{GoverningRule, Station};

use crate::chance::Chance;
use crate::kinds::Kind;
use crate::study_station::{Condition, Drawn, Plan, Seeds, Station as Read, Wrong};

/// What came of one station.
#[derive(Debug, Clone, Copy)]
pub struct Outcome {
    /// The verdict against limits drawn around the truth.
    pub said: Verdict,
    /// Whether the truth lies inside those limits.
    pub inside: bool,
    /// Whether the relative assured minimum is at or below the truth.
    #[allow(dead_code)] // the tests have rates of their own
    pub holds: bool,
    /// Whether `meets` was said of a lower limit a hair above the truth, the upper one far away: the hardest
    /// question there is.
    pub met_at_the_limit: bool,
    /// Whether `fails` was said of a lower limit a hair below the truth.
    pub failed_at_the_limit: bool,
}

/// The station of a kind and number read inside, and what is said of it.
///
/// # Errors
/// As [`judged`].
#[allow(dead_code)] // the bench asks for what is said with it
pub fn outcome(kind: Kind, index: usize) -> Result<Outcome, String> {
    let seed = Seeds::Report.seed(index);
    let drawn = Drawn::new(kind, Condition::Main, seed)?.station(Plan::Inside, Wrong::Nothing);
    Ok(judged(&drawn, 0x11_417 + kind as u64)?.0)
}

/// What is said of a station, and its warnings. Limits are drawn, by a stream of the station's seed, from 15 % below to
/// 10 % above the true coldest spot, and from 10 % below to 20 % above the true hottest.
///
/// # Errors
/// In words, when there is no answer, or when the whole way through the document says otherwise than the rule
/// by itself.
pub fn judged(drawn: &Read, stream: u64) -> Result<(Outcome, Vec<String>), String> {
    let hottest = drawn.map.iter().map(|m| m.1).fold(0.0, f64::max);
    let mut chance = Chance::new(drawn.seed, stream);
    let lower = drawn.coldest * chance.between(0.85, 1.10);
    let upper = hottest * chance.between(0.90, 1.20);

    let station = document(drawn, lower, upper);
    let request = Request {
        survey: Some(0),
        height: Some(drawn.assessed),
        family: None,
    };
    let progress = Progress::new();
    let fit = fit_survey(&station, &request, &progress).map_err(|e| e.to_string())?;
    let answer = answer_with(&fit, &station, &request, &progress).map_err(|e| e.to_string())?;
    let judged = answer
        .judged
        .as_ref()
        .ok_or("no limits")?
        .as_ref()
        .map_err(Clone::clone)?;
    let cold = Bounded {
        at_least: answer.coldest.at_least,
        at_most: answer.coldest.at_most,
    };
    let hot = Bounded {
        at_least: answer.hottest.at_least,
        at_most: answer.hottest.at_most,
    };
    let by_rule = |lower: f64, upper: f64| {
        let rule = GoverningRule::AssuredMinimum;
        verdict(rule, cold, hot, lower, Some(upper), Allowances::default())
    };
    if by_rule(lower, upper) != judged.verdict {
        return Err("the document's verdict is not that of the rule".into());
    }
    let far = 1e6;
    let outcome = Outcome {
        said: judged.verdict,
        inside: drawn.coldest >= lower && hottest <= upper,
        holds: cold.at_least.is_some_and(|bound| bound <= drawn.coldest),
        met_at_the_limit: by_rule(drawn.coldest * (1.0 + 1e-9), far) == Verdict::Meets,
        failed_at_the_limit: by_rule(drawn.coldest * (1.0 - 1e-9), far) == Verdict::Fails,
    };
    Ok((outcome, answer.warnings))
}

/// The station as a document, with these limits.
pub fn document(drawn: &Read, lower: f64, upper: f64) -> Station {
    let mut station = drawn.document();
    let figure = |irradiance| Figure {
        irradiance: Some(irradiance),
        origin: Origin::SamePair,
        ..Figure::default()
    };
    station.limits = Some(Box::new(Limits {
        least: Least::Typed(figure(lower)),
        upper: Some(Upper {
            figure: figure(upper),
            ..Upper::default()
        }),
        ..Limits::default()
    }));
    station
}
