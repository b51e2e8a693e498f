//! Findings of the repeat study.

use crate::station::Station;
use crate::station::finding::{Finding, Where, warning};
use crate::station::words::called;

pub(super) fn check(station: &Station, found: &mut Vec<Finding>) {
    let Some(study) = &station.repeat else {
        return;
    };
    for (i, round) in study.rounds.iter().enumerate() {
        let name = called("survey", &round.survey);
        if station.survey(&round.survey).is_none() {
            found.push(warning(
                Where::Repeat,
                format!("the repeat study names {name}, which is not there"),
                "choose its surveys again",
            ));
        } else if study.rounds[..i].iter().any(|r| r.survey == round.survey) {
            found.push(warning(
                Where::Repeat,
                format!("the repeat study names {name} twice"),
                "choose each survey once",
            ));
        }
    }
}
