//! All documents of a station bound into one.

use super::answered::{Answered, reviewed};
use super::pages::{LOG, PLAN, SHEET, log, map, plan, sheet};
use super::sheets::Sheets;
use super::wanted::Bundle;
use crate::change::usual_pair;
use crate::export::change::{ChangeBundle, Compared};
use crate::export::no_bundle::NoBundle;
use crate::files::{Digest, Trail};
use crate::progress::Progress;
use crate::proof::examples;
use crate::record::PlanRecord;
use crate::sheet::page::Page;
use crate::sheet::report::{MadeFrom, Part, Report, proof_pages};

/// All documents of the station in one: whatever can't be made is named.
pub(super) fn report(
    bundle: &Bundle<'_>,
    answered: Option<&Answered>,
    progress: &Progress,
) -> Result<Vec<Page>, NoBundle> {
    let station = bundle.station;
    let wanted = Bundle {
        sheets: Sheets::ALL,
        ..*bundle
    };
    let (mut parts, mut missing) = (Vec::new(), Vec::new());
    let mut add = |name: &str, pages: Vec<Page>| {
        parts.push(Part {
            name: name.to_owned(),
            pages,
        });
    };
    if station.positions().is_empty() {
        missing.push("There is no station sheet and no plan: no position is planned".to_owned());
    } else {
        add(SHEET, sheet(&wanted, answered));
    }
    match answered {
        Some(answered) => add(
            "Map of irradiance, limits with their origin, verdict",
            map(&wanted, answered, progress)?,
        ),
        None => missing.push("There is no map: no survey makes a field yet".to_owned()),
    }
    if !station.positions().is_empty() {
        add(PLAN, plan(&wanted, &PlanRecord::new(station)));
    }
    match usual_pair(station) {
        Some(surveys) => {
            let wanted = ChangeBundle {
                station,
                surveys,
                length: bundle.length,
                irradiance: bundle.irradiance,
                paper: bundle.paper,
                // the report marks all of its pages
                made_from: None,
            };
            match Compared::of(station, surveys, progress) {
                Ok(compared) => add("Change", compared.pages(&wanted, progress)?.0),
                Err(NoBundle::Cancelled) => return Err(NoBundle::Cancelled),
                Err(why) => missing.push(format!("There is no change: {why}")),
            }
        }
        None => missing.push("There is no change: it takes two surveys".to_owned()),
    }
    match reviewed(&wanted, answered, progress)? {
        Some(review) => add(LOG, log(bundle, &review)),
        None => missing.push("There is no irradiance log yet".to_owned()),
    }
    let on = bundle.made.today.to_string();
    let version = env!("CARGO_PKG_VERSION");
    let examples = examples(progress)?;
    add(
        "Self-check of the program",
        proof_pages(&examples, &on, bundle.paper, version),
    );
    let trail = bundle.made.trail;
    let report = Report {
        station,
        parts,
        missing,
        trail: trail_rows(trail),
        gaps: gaps_in_words(trail),
        on,
        made_from: (bundle.made.made_from(station)).unwrap_or_else(|| MadeFrom {
            revision: 0,
            is_changed: false,
            digits: Digest::of(station).on_page(),
        }),
        paper: bundle.paper,
        version,
    };
    Ok(report.pages())
}

/// The last entries of a trail, the newest first.
pub(super) fn trail_rows(trail: &Trail) -> Vec<[String; 4]> {
    /// So many are shown.
    const SHOWN: usize = 24;
    let entries = trail.entries().iter().enumerate().rev().take(SHOWN);
    entries
        .map(|(i, saved)| {
            [
                (i + 1).to_string(),
                saved.at_in_words(),
                saved.by.clone(),
                saved.what.join(", "),
            ]
        })
        .collect()
}

/// What is wrong with the list itself: whether the document is the one of the last entry is said with the revision.
pub(super) fn gaps_in_words(trail: &Trail) -> Vec<String> {
    let broken = trail.broken();
    broken
        .map(|revision| {
            format!(
                "Revision {revision} of the trail is not as it was written: it was changed by other means than Evenfield"
            )
        })
        .collect()
}
