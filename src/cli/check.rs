//! `evenfield check`: whether a file is as it was saved, what a page was made from, and whether this copy of the program still
//! computes the published examples.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::common::{Failure, Paper, load_whole, print, watched, write_new};
use crate::export::{PdfOptions, pdf};
use crate::files::{Digest, Opened, TrailGap};
use crate::proof::{Example, examples};
use crate::sheet::report::proof_pages;

/// Arguments of `check`.
#[derive(Debug, clap::Args)]
pub struct Check {
    /// The station file.
    station: PathBuf,
    /// Say which revision of the file a page was made from: the digits that stand after 'data' at its foot.
    #[arg(long, value_name = "DIGITS")]
    page: Option<String>,
    /// Write a page of the self-check to file.
    #[arg(long, value_name = "PDF")]
    out: Option<PathBuf>,
    /// Replace that file if it is there.
    #[arg(long, requires = "out")]
    force: bool,
    /// The paper of that page.
    #[arg(long, value_enum, default_value = "a4")]
    paper: Paper,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
}

/// What `check --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct CheckRecord {
    /// Name of the station.
    station: String,
    /// SHA-256 of the document.
    digest: String,
    /// Entries of the trail; 0: it keeps none.
    revision: usize,
    /// Whether trail and document are as they were saved.
    sound: bool,
    /// What is not: plain sentences.
    gaps: Vec<String>,
    /// The revisions that the page was made from; `null`: no page was asked about.
    page_revisions: Option<Vec<usize>>,
    /// Whether the page was made from the document as it is.
    page_is_of_now: Option<bool>,
    /// Published examples, and how many of them come out as published.
    examples: usize,
    /// Those that do.
    examples_held: usize,
}

impl Check {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let opened = load_whole(&self.station)?;
        let examples =
            watched(examples).map_err(|_| Failure("the self-check was stopped".to_owned()))?;
        if let Some(out) = &self.out {
            let today = jiff::ZonedDateTime::now().date().to_string();
            let version = env!("CARGO_PKG_VERSION");
            let pages = proof_pages(&examples, &today, self.paper.into(), version);
            let options = PdfOptions {
                title: "Self-check".to_owned(),
                creator: format!("Evenfield {version}"),
                date: None,
            };
            write_new(out, &pdf(&pages, &options)?, self.force)?;
        }
        let record = self.record(&opened, &examples);
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
        } else {
            print(&words(&record, &opened, &examples))?;
        }
        let page_is_known = record.page_is_of_now != Some(false)
            || record
                .page_revisions
                .as_ref()
                .is_some_and(|r| !r.is_empty());
        let holds = record.examples_held == record.examples;
        Ok(match record.sound && page_is_known && holds {
            true => ExitCode::SUCCESS,
            false => ExitCode::from(1),
        })
    }

    fn record(&self, opened: &Opened, examples: &[Example]) -> CheckRecord {
        let Opened { station, trail } = opened;
        let digest = Digest::of(station);
        let gaps = trail.gaps(station).into_iter().map(|gap| match gap {
            TrailGap::Entry(revision) => format!(
                "Revision {revision} of the trail is not as it was written, or one before it was taken out"
            ),
            TrailGap::Document => {
                "The document is not the one that was saved last: it was changed by other means than Evenfield".to_owned()
            }
        });
        let gaps: Vec<String> = gaps.collect();
        let page = self.page.as_deref();
        CheckRecord {
            station: station.name.clone(),
            digest: digest.to_string(),
            revision: trail.revision(),
            sound: gaps.is_empty(),
            gaps,
            page_revisions: page.map(|digits| trail.revisions_of(digits)),
            page_is_of_now: page.map(|digits| digest.begins_with(digits)),
            examples: examples.len(),
            examples_held: examples.iter().filter(|e| e.holds()).count(),
        }
    }
}

fn words(record: &CheckRecord, opened: &Opened, examples: &[Example]) -> String {
    let mut text = String::new();
    // Writing to a String can't fail.
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    line(format!("{}: data {}", record.station, record.digest));
    let trail = match record.revision {
        1 => "Trail of one revision".to_owned(),
        n => format!("Trail of {n} revisions"),
    };
    match (record.revision, record.sound) {
        (0, _) => line("It keeps no trail: that it is as it was saved is not proven; begin the record in the step Upkeep".to_owned()),
        (_, true) => line(format!("{trail}: every entry and the document are as they were saved")),
        (_, false) => line(format!("{trail}: NOT as it was saved")),
    }
    record.gaps.iter().for_each(|gap| line(format!("  {gap}")));
    if let (Some(revisions), Some(is_now)) = (&record.page_revisions, record.page_is_of_now) {
        if is_now {
            line("The page was made from the document as it is now".to_owned());
        }
        for revision in revisions {
            let saved = opened.trail.entries().get(revision - 1);
            let saved = saved.map_or_else(String::new, |s| format!(", saved {} by {}", s.at, s.by));
            line(format!("The page was made from revision {revision}{saved}"));
        }
        if revisions.is_empty() && !is_now {
            line("The page was made from no saved state of this file".to_owned());
        }
    }
    line(format!(
        "Self-check: {} of {} published examples come out as published",
        record.examples_held, record.examples
    ));
    for example in examples.iter().filter(|e| !e.holds()) {
        line(format!(
            "  {} ({}), {}: published {}, here {}",
            example.what, example.source, example.figure, example.published, example.computed
        ));
    }
    text
}
