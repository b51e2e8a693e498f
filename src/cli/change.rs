//! `evenfield change`: one survey against another.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, Model, load, print, watched};
use crate::assess::{Assessment, NoAnswer, Request, SurveyFit};
use crate::change::{Bars, Change as Changed, Harm, History, ShortCheck, ToCompare, ToShorten};
use crate::progress::Progress;
use crate::record::{
    ChangeRecord, HistoryRecord, ShortCheckRecord, change_words, history_rows, short_check_words,
};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// Arguments of `change`.
#[derive(Debug, clap::Args)]
pub struct Change {
    /// The station file.
    station: PathBuf,
    /// Name of the earlier survey, usually the baseline.
    #[arg(long, value_name = "SURVEY")]
    from: String,
    /// Name of the later survey.
    #[arg(long, value_name = "SURVEY")]
    to: String,
    /// A local change of less than this many percent is no zone.
    #[arg(long, value_name = "PERCENT", default_value = "5", value_parser = super::common::parse_length)]
    threshold: f64,
    /// How the field of the earlier survey is made; the station's setting when it is left out.
    #[arg(long, value_enum)]
    model: Option<Model>,
    /// Print the short check of the earlier survey too: the fewest positions that catch what harms.
    #[arg(long)]
    short_check: bool,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
}

/// What was found, and the verdicts of both surveys.
struct Found {
    change: Changed,
    verdicts: [Option<&'static str>; 2],
    short: Option<ShortCheck>,
    /// Of all surveys, where there are more than two.
    history: Option<History>,
}

impl Change {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        if !(self.threshold > 0.0 && self.threshold < 50.0) {
            return Err(Failure(format!(
                "--threshold {}: give percent above 0 and below 50",
                self.threshold
            )));
        }
        let survey = |flag: &str, name: &str| {
            let choice = Choice {
                survey: Some(name.to_owned()),
                model: self.model,
            };
            let request = choice.request(&station, None, None);
            request.map_err(|Failure(why)| Failure(why.replace("--survey", flag)))
        };
        let (from, to) = (survey("--from", &self.from)?, survey("--to", &self.to)?);
        let bars = Bars {
            worth: 0.01 * self.threshold,
            ..Bars::default()
        };
        let found = watched(|progress| self.found(&station, &from, &to, bars, progress))
            .map_err(|error| Failure::of(&self.station, error))?;
        let record = ChangeRecord {
            history: (found.history.as_ref()).map(|h| HistoryRecord::new(&station, h)),
            short_check: found.short.as_ref().map(ShortCheckRecord::from),
            ..ChangeRecord::new(&station, &found.change, found.verdicts, LengthUnit::Mm)
        };
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
            return Ok(ExitCode::SUCCESS);
        }
        print(&words(&station, &found, &record))?;
        Ok(ExitCode::SUCCESS)
    }

    fn found(
        &self,
        station: &Station,
        from: &Request,
        to: &Request,
        bars: Bars,
        progress: &Progress,
    ) -> Result<Found, NoAnswer> {
        let index = |r: &Request| r.survey.unwrap_or(usize::MAX);
        let asked = ToCompare::of(station, index(from), index(to), bars)?;
        let first = Assessment::of(station, from, progress)?;
        let change = asked.compare(&first.fit, progress)?;
        let second = (station.limits.is_some())
            .then(|| Assessment::of(station, to, progress))
            .transpose()?;
        let verdict = |a: &Assessment| a.answer.judged().map(|j| j.verdict.words());
        let verdicts = match &second {
            Some(second) => [&first, second].map(verdict),
            None => [None, None],
        };
        let fits = [Some(&first), second.as_ref()].into_iter().flatten();
        let fits: Vec<SurveyFit> = fits.map(|a| a.fit.clone()).collect();
        let history = (station.surveys.len() > 2)
            .then(|| History::of(station, index(from), bars, &fits, progress))
            .transpose()?;
        let short = self.short_check.then(|| {
            ToShorten::of(station, index(from), Harm::default(), bars)?
                .shorten(&first.fit, progress)
        });
        Ok(Found {
            change,
            verdicts,
            short: short.transpose()?,
            history,
        })
    }
}

fn words(station: &Station, found: &Found, record: &ChangeRecord) -> String {
    let mut text = String::new();
    // Writing to a String can't fail.
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    let said = change_words::Said {
        station,
        change: &found.change,
        length: LengthUnit::Mm,
    };
    line(format!(
        "{}: {} against {}",
        record.station, record.to, record.from
    ));
    line(format!("{}.", record.judgement));
    for zone in &found.change.cold {
        said.face(zone).into_iter().for_each(&mut line);
    }
    said.may_be().into_iter().for_each(&mut line);
    said.typical().into_iter().for_each(&mut line);
    if let (Some(before), Some(after)) = (record.verdict_from, record.verdict_to) {
        line(format!("Verdict: {after}, before {before}"));
    }
    if let Some(f) = &record.fading {
        let [low, high] = f.interval_percent_per_100_h;
        line(format!(
            "Fading: {} % per 100 h ({} to {} with 95 % confidence) over {} h",
            fixed(f.percent_per_100_h, 2),
            fixed(low, 2),
            fixed(high, 2),
            fixed(f.hours, 0)
        ));
    }
    if let Some(s) = &found.change.smallest {
        line(format!("At this noise {}", said.smallest(s)));
    }
    line("Next:".into());
    record
        .next_steps
        .iter()
        .for_each(|s| line(format!("  {s}")));
    record
        .warnings
        .iter()
        .for_each(|s| line(format!("Note: {s}")));
    line(format!(
        "{:<10} {:>8} {:>8} {:>8} {:>9} {:>9}",
        "position", "x mm", "y mm", "height", "change %", "local %"
    ));
    for p in &record.positions {
        line(format!(
            "{:<10} {:>8} {:>8} {:>8} {:>9} {:>9}{}",
            p.position,
            fixed(p.x_mm, 1),
            fixed(p.y_mm, 1),
            fixed(p.height_mm, 1),
            fixed(p.change_percent, 1),
            fixed(p.local_percent, 1),
            if p.significant { " significant" } else { "" }
        ));
    }
    if let Some(history) = &record.history {
        line("All surveys against the earlier one:".into());
        for row in history_rows(history, IrradianceUnit::MilliwattPerCm2) {
            line(format!("  {}", row.join("  ")));
        }
        line(history.trend_words());
        history
            .left_out
            .iter()
            .for_each(|why| line(format!("Note: {why}")));
    }
    if let Some(short) = &found.short {
        line("Short check:".into());
        for sentence in short_check_words(short, LengthUnit::Mm) {
            line(format!("  {sentence}"));
        }
        for (name, at) in &short.positions {
            line(format!(
                "  {name} at {}, {}, height {} mm",
                fixed(at.x, 1),
                fixed(at.y, 1),
                fixed(at.height, 1)
            ));
        }
    }
    text
}
