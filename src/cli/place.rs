//! `evenfield place`: where parts may lie, and how many.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::ValueEnum;

use super::common::{Choice, Failure, load, parse_length, parse_shape, print, watched};
use crate::assess::limits::limits_of;
use crate::assess::{NoAnswer, fit_survey};
use crate::geometry::Shape;
use crate::placement::{
    Asked, Best, Kind, Part, Placed, ToEven, ToLookAt, ToScan, Unplaceable, Wanted, Wish, asked,
};
use crate::progress::Progress;
use crate::record::{PlacedRecord, PlacementRecord, PresentRecord};
use crate::station::Station;
use crate::units::{Units, fixed};

/// Arguments of `place`.
#[derive(Debug, clap::Args)]
pub struct Place {
    /// The station file.
    station: PathBuf,
    /// The part: width x depth in mm such as 24x18, or d and a diameter such as d20.
    #[arg(long, value_parser = parse_shape)]
    part: Shape,
    /// Between parts, and to what stands on the fixture, mm.
    #[arg(long, value_name = "MM", default_value_t = 2.0, value_parser = parse_length)]
    clearance: f64,
    /// So far a part may be off its place in the nest, mm.
    #[arg(long, value_name = "MM", default_value_t = 0.0, value_parser = parse_length)]
    tolerance: f64,
    /// From the fixture's outline inwards no part lies, mm.
    #[arg(long, value_name = "MM", default_value_t = 0.0, value_parser = parse_length)]
    rim: f64,
    /// Parts may be turned by 90 degrees.
    #[arg(long)]
    turn: bool,
    /// So many, placed best; as many as fit when it is left out.
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=2000))]
    count: Option<u16>,
    /// What is best of so many.
    #[arg(long, value_enum, default_value = "coldest", requires = "count")]
    best: Better,
    /// Lower limit, mW/cm²; the station's when it is left out.
    #[arg(long, value_name = "MW/CM2", allow_negative_numbers = true, value_parser = parse_length)]
    lower: Option<f64>,
    /// Upper limit, mW/cm²; the station's when it is left out.
    #[arg(long, value_name = "MW/CM2", allow_negative_numbers = true, value_parser = parse_length)]
    upper: Option<f64>,
    /// Rows and columns, or any positions.
    #[arg(long, value_enum, default_value = "rows")]
    arrangement: Arrangement,
    /// Every other row may be shifted by half a pitch.
    #[arg(long)]
    shifted: bool,
    /// How many times as long as usual is searched for more parts in any positions.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=100))]
    effort: u8,
    /// Of the bond line above the fixture's base, mm; that of the sites when it is left out.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length)]
    height: Option<f64>,
    /// Names of sites that stay where they are, with commas between.
    #[arg(long, value_delimiter = ',')]
    lock: Vec<String>,
    /// Say the same of other working distances, over the measured heights.
    #[arg(long)]
    distances: bool,
    /// Say what simple remedies for an uneven field would give.
    #[arg(long)]
    remedies: bool,
    /// Say which of the present sites fall short, and whether moving them helps.
    #[arg(long)]
    present: bool,
    #[command(flatten)]
    choice: Choice,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
}

/// How parts are arranged, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Arrangement {
    /// A regular array.
    Rows,
    /// Any positions.
    Free,
}

/// Which arrangement of as many parts is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Better {
    /// The highest coldest part.
    Coldest,
    /// The least range from coldest to hottest.
    Range,
}

impl Place {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let request = self.choice.request(&station, self.height, None)?;
        self.in_range()?;
        if let Some(name) = self
            .lock
            .iter()
            .find(|n| !station.all_sites().iter().any(|s| s.name == **n))
        {
            return Err(Failure(format!(
                "--lock: there is no site '{name}'; name sites of the station"
            )));
        }
        let wanted = self.wanted();
        let work = |progress: &Progress| -> Result<PlacementRecord, Failure> {
            let at = |error: NoAnswer| Failure::of(&self.station, error);
            let fit = fit_survey(&station, &request, progress).map_err(at)?;
            let limits = limits_of(&station, Units::default());
            let asked = asked(&station, &fit, limits.as_ref(), &wanted, Units::default());
            let placed = asked.ask.place(&mut |_| {}, progress).map_err(why)?;
            let record = PlacementRecord::new(&station, fit.survey, &asked, &placed);
            self.further(&station, &fit.heights, &asked, placed, record, progress)
        };
        let record = watched(work)?;
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
        } else {
            print(&said(&record))?;
        }
        Ok(ExitCode::SUCCESS)
    }

    fn in_range(&self) -> Result<(), Failure> {
        for (flag, value) in [
            ("--clearance", self.clearance),
            ("--tolerance", self.tolerance),
            ("--rim", self.rim),
        ] {
            if !(0.0..=1e4).contains(&value) {
                return Err(Failure(format!("{flag} {value}: give mm from 0 up")));
            }
        }
        for (flag, value) in [("--lower", self.lower), ("--upper", self.upper)] {
            if value.is_some_and(|v| !(v > 0.0 && v <= 1e9)) {
                return Err(Failure(format!(
                    "{flag}: give an irradiance above 0 mW/cm²"
                )));
            }
        }
        Ok(())
    }

    fn wanted(&self) -> Wanted {
        let best = match self.best {
            Better::Coldest => Best::Coldest,
            Better::Range => Best::LeastRange,
        };
        Wanted {
            part: Some(Part {
                shape: self.part.clone(),
                may_turn: self.turn,
                clearance: self.clearance,
                tolerance: self.tolerance,
            }),
            rim: self.rim,
            kind: match self.arrangement {
                Arrangement::Rows => Kind::Rows {
                    shifted: self.shifted,
                },
                Arrangement::Free => Kind::Free,
            },
            wish: self
                .count
                .map_or(Wish::Most, |n| Wish::Count(usize::from(n), best)),
            height: self.height,
            instead: [self.lower, self.upper],
            effort: usize::from(self.effort),
            locked: self.lock.clone(),
        }
    }

    /// What was asked for beside it.
    fn further(
        &self,
        station: &Station,
        heights: &[f64],
        asked: &Asked,
        placed: Placed,
        mut record: PlacementRecord,
        progress: &Progress,
    ) -> Result<PlacementRecord, Failure> {
        if self.distances {
            let scan = ToScan {
                ask: asked.ask.clone(),
                heights: heights.to_vec(),
                face_height: asked.face_height,
            };
            record = record.with_heights(&scan.scan(progress).map_err(why)?);
        }
        if self.present {
            let look = ToLookAt::of(station, &asked.ask, &self.lock);
            record = record.with_present(&look.look(progress).map_err(why)?);
        }
        if self.remedies {
            let leds = station.source.array.map(|a| (a.pitch_x, a.pitch_y));
            let even = ToEven {
                ask: asked.ask.clone(),
                before: placed,
                leds,
            };
            record = record.with_remedies(&even.even(progress).map_err(why)?);
        }
        Ok(record)
    }
}

fn why(why: Unplaceable) -> Failure {
    Failure(why.words().to_owned())
}

/// The record as text.
fn said(record: &PlacementRecord) -> String {
    let mut text = String::new();
    // Writing to a String can't fail.
    let bound = match (record.upper_bound, &record.upper_bound_method) {
        (Some(bound), _) if record.optimal => format!(", the most there can be ({bound})"),
        (Some(bound), Some(method)) => format!(", at most {bound} ({method})"),
        _ => String::new(),
    };
    let _ = writeln!(
        text,
        "{} parts in {}{bound}",
        record.count, record.arrangement
    );
    if let Some(verdict) = record.verdict {
        let share = record.confidence_percent.map_or_else(
            || "no confidence can be said".to_owned(),
            |c| format!("{} % confidence", fixed(c, 1)),
        );
        let _ = writeln!(text, "All inside the limits at once: {verdict}, {share}");
    }
    if let (Some(alone), Some(plain)) = (record.count_each_alone, record.count_plain_field) {
        let _ = writeln!(
            text,
            "Each alone with 95 %: {alone}; by the plain field: {plain}"
        );
    }
    if let Some(l) = &record.lattice {
        let shift = match l.shifted {
            "no" => String::new(),
            other => format!(", every other of the {other} shifted by half a pitch"),
        };
        let _ = writeln!(
            text,
            "First at {}, {} mm, pitch {} x {} mm{shift}",
            fixed(l.x_mm, 2),
            fixed(l.y_mm, 2),
            fixed(l.pitch_x_mm, 2),
            fixed(l.pitch_y_mm, 2)
        );
    }
    if let Some(n) = record.parts_per_hour {
        let _ = writeln!(text, "{} parts in an hour at most", fixed(n, 0));
    }
    if !record.sites.is_empty() {
        let _ = writeln!(
            text,
            "Best places first, middle of each part from the datum:"
        );
    }
    let mut sites: Vec<&PlacedRecord> = record.sites.iter().collect();
    sites.sort_by_key(|s| s.rank);
    for s in sites {
        let assured = s
            .assured_mw_cm2
            .map_or_else(String::new, |a| format!(", assured {}", fixed(a, 1)));
        let turned = if s.turned { ", turned" } else { "" };
        let _ = writeln!(
            text,
            "{:>4}  {:>8}, {:>8} mm{turned}: coldest {}{assured}, hottest {} mW/cm²",
            s.rank,
            fixed(s.x_mm, 2),
            fixed(s.y_mm, 2),
            fixed(s.coldest_mw_cm2, 1),
            fixed(s.hottest_mw_cm2, 1)
        );
    }
    for row in record.distances.iter().flatten() {
        let mark = if row.best {
            ", the best"
        } else if row.in_use {
            ", in use"
        } else {
            ""
        };
        let window = row
            .window
            .map_or_else(String::new, |w| format!(", window {}", fixed(w, 3)));
        let ends = (row.coldest_mw_cm2.zip(row.hottest_mw_cm2))
            .map_or_else(String::new, |(c, h)| {
                format!(", coldest {}, hottest {} mW/cm²", fixed(c, 1), fixed(h, 1))
            });
        let _ = writeln!(
            text,
            "Working distance {} mm: {} parts{ends}{window}{mark}",
            fixed(row.working_distance_mm, 1),
            row.count
        );
    }
    if let Some(remedies) = &record.remedies {
        let bounds = |low: Option<f64>, high: Option<f64>| {
            low.zip(high).map_or_else(String::new, |(low, high)| {
                format!(
                    ", at least {} and at most {} mW/cm² with 95 %",
                    fixed(low, 1),
                    fixed(high, 1)
                )
            })
        };
        let now = bounds(record.assured_mw_cm2, record.at_most_mw_cm2);
        let _ = writeln!(text, "Without a remedy: {} parts{now}", record.count);
        for r in remedies {
            let then = bounds(r.assured_mw_cm2, r.at_most_mw_cm2);
            let _ = writeln!(text, "Remedy, {}: {} parts{then}", r.remedy, r.count);
        }
    }
    if let Some(present) = &record.present {
        text += &of_present(present);
    }
    for warning in &record.warnings {
        let _ = writeln!(text, "{warning}");
    }
    text
}

/// What is said of the sites as they are.
fn of_present(present: &PresentRecord) -> String {
    if present.sites.is_empty() {
        return "No present site has this part's size and bond line\n".to_owned();
    }
    let together = |confidence: Option<f64>| {
        confidence.map_or_else(String::new, |c| {
            format!("; all at once with {} % confidence", fixed(c, 1))
        })
    };
    let now = together(present.confidence_percent);
    let short: Vec<&str> = (present.sites.iter())
        .filter(|s| !s.holds)
        .map(|s| s.site.as_str())
        .collect();
    if short.is_empty() {
        return format!("No present site falls short{now}\n");
    }
    let mut text = format!("Present sites that fall short: {}{now}\n", short.join(", "));
    if let Some(moved) = &present.moved {
        text += &format!(
            "{} of them have a place beside the others{}\n",
            moved.sites.len(),
            together(moved.confidence_percent)
        );
        for s in &moved.sites {
            text += &format!(
                "      {:>8}, {:>8} mm: coldest {}, hottest {} mW/cm²\n",
                fixed(s.x_mm, 2),
                fixed(s.y_mm, 2),
                fixed(s.coldest_mw_cm2, 1),
                fixed(s.hottest_mw_cm2, 1)
            );
        }
    }
    text
}
