//! `evenfield plan`: the probe-position plan in the order of its route.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::ValueEnum;

use super::common::{Failure, load, parse_length, parse_percent, print};
use crate::probing::{Fewest, Pattern, room_for_rings};
use crate::progress::Progress;
use crate::record::{PlanRecord, RouteRecord, fewest_in_words};
use crate::station::{PlanLayout, Station};
use crate::units::fixed;

/// Arguments of `plan`.
#[derive(Debug, clap::Args)]
pub struct Plan {
    /// The station file.
    station: PathBuf,
    /// Print the plan as JSON.
    #[arg(long)]
    json: bool,
    /// Show what this pattern of positions would come to instead of the plan; the file stays as it is.
    #[arg(long, value_enum)]
    pattern: Option<PatternName>,
    /// Of rows: positions in the front row (5; around what is assessed, as many as its distance asks for).
    #[arg(long, requires = "pattern")]
    columns: Option<u32>,
    /// Of rows: how many (likewise).
    #[arg(long, requires = "pattern")]
    rows: Option<u32>,
    /// Around what is assessed: from its bounds out to the outermost positions, mm.
    #[arg(long, value_parser = parse_length, default_value = "0", requires = "pattern")]
    beyond: f64,
    /// Around what is assessed: as few positions as are expected to bring the bound no further below the coldest spot than
    /// this, percent; lamps of this kind are drawn for it, which takes a while.
    #[arg(long, value_parser = parse_percent, requires = "pattern", conflicts_with_all = ["columns", "rows", "rings", "first", "staggered"])]
    within: Option<f64>,
    /// Around what is assessed: every second row is moved by half a step.
    #[arg(long, requires = "pattern")]
    staggered: bool,
    /// Of staggered rows: from the outline's bounds to the outermost positions, mm.
    #[arg(long, value_parser = parse_length, default_value = "10", requires = "pattern")]
    margin: f64,
    /// Of rings: how many beside the middle position (3).
    #[arg(long, requires = "pattern")]
    rings: Option<u32>,
    /// Of rings: positions on the first one (6); each further ring has as many more.
    #[arg(long, requires = "pattern")]
    first: Option<u32>,
    /// Of rings: radius of the outermost, mm (as large as the detector's body allows when not given).
    #[arg(long, value_parser = parse_length, requires = "pattern")]
    radius: Option<f64>,
    /// Along the rim: from position to position, mm.
    #[arg(long, value_parser = parse_length, default_value = "20", requires = "pattern")]
    spacing: f64,
    /// Positions lie on whole multiples of it, mm; 0 for anywhere.
    #[arg(long, value_parser = parse_length, default_value = "0.5", requires = "pattern")]
    raster: f64,
}

/// A pattern of positions by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PatternName {
    /// Around what is assessed, the outermost on its bounds and corners; rings around a round fixture.
    Around,
    /// Staggered rows.
    Rows,
    /// A middle position and rings around it.
    Rings,
    /// One at each site.
    Sites,
    /// Around the rim, as near as the detector's body allows.
    Rim,
}

impl Plan {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let mut station = load(&self.station)?;
        if let Some(name) = self.pattern {
            let raster = Some(self.raster).filter(|mesh| *mesh > 0.0);
            let pattern = match self.within {
                Some(below) => self.fewest(name, &station, below, raster)?,
                None => self.pattern(name, &station),
            };
            let made = pattern
                .make(&station, raster, &Progress::new())
                .map_err(|why| Failure::of(&self.station, why.to_string()))?;
            if made.left_out > 0 {
                eprintln!(
                    "{} places of the pattern are left out: no room of their own for the detector",
                    made.left_out
                );
            }
            station.plan.layout = PlanLayout::ByHand(made.positions);
        }
        let record = PlanRecord::new(&station);
        if record.positions.is_empty() {
            return Err(Failure::of(
                &self.station,
                "the plan has no positions on the fixture; add some in the step Plan",
            ));
        }
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
            return Ok(ExitCode::SUCCESS);
        }
        let mut text = String::new();
        // Writing to a String can't fail.
        let _ = writeln!(
            text,
            "{:>4} {:<9} {:>8} {:>8} {:>8} {:>9} {:>8}   mm",
            "no.", "position", "x", "y", "height", "distance", "spacer"
        );
        for p in &record.positions {
            let _ = writeln!(
                text,
                "{:>4} {:<9} {:>8} {:>8} {:>8} {:>9} {:>8}",
                p.number,
                match p.reference_visit {
                    Some(_) => format!("{} R", p.position),
                    None => p.position.clone(),
                },
                fixed(p.x_mm, 1),
                fixed(p.y_mm, 1),
                fixed(p.height_mm, 1),
                fixed(p.working_distance_mm, 1),
                p.spacer_mm.map_or_else(|| "-".into(), |s| fixed(s, 1))
            );
        }
        let _ = writeln!(text, "{}", round(&record.route));
        if let Some(plates) = record.plates.as_ref().filter(|plates| plates.used) {
            let plural = if plates.count == 1 { "" } else { "s" };
            let _ = writeln!(text, "Located by {} plate{plural}", plates.count);
            for trouble in &plates.troubles {
                let _ = writeln!(text, "Note: {trouble}");
            }
        }
        if let Some(gap) = &record.largest_gap {
            let [radius, x, y] = [gap.radius_mm, gap.x_mm, gap.y_mm].map(|v| fixed(v, 1));
            let _ = writeln!(text, "Largest gap: radius {radius} mm around {x}, {y}");
        }
        if let Some(can) = &record.prospect {
            let [beyond, apart, left] =
                [can.beyond_percent, can.apart_mm, can.pattern_left_percent].map(|v| fixed(v, 1));
            let _ = writeln!(
                text,
                "Read with the pallet {}. {beyond} % of the assessed area lies beyond the outermost positions.\nPositions lie up \
                 to {apart} mm apart; of a pattern on the face too fine for them {left} % is left at {} mm.",
                if record.pallet_out {
                    "out, on a plate"
                } else {
                    "in place"
                },
                fixed(can.working_distance_mm, 1),
            );
        }
        for low in &record.unreached {
            let more = low.more_percent.map_or_else(String::new, |percent| {
                format!(
                    "; {} % more is read there than lies at the bond, by the inverse square of the distance, an estimate",
                    fixed(percent, 0)
                )
            });
            let [height, lowest] = [low.height_mm, low.lowest_mm].map(|v| fixed(v, 1));
            let _ = writeln!(
                text,
                "Note: The sensing plane can't be brought to the bond line at {height} mm, only to {lowest} mm{more}"
            );
        }
        for warning in &record.warnings {
            let _ = writeln!(text, "Note: {warning}");
        }
        print(&text)?;
        Ok(ExitCode::SUCCESS)
    }

    /// The pattern with the fewest positions that is expected to keep the bound so near; says what is expected of it.
    fn fewest(
        &self,
        name: PatternName,
        station: &Station,
        below: f64,
        raster: Option<f64>,
    ) -> Result<Pattern, Failure> {
        let failed = |why: String| Failure::of(&self.station, why);
        if name != PatternName::Around {
            return Err(failed(
                "--within counts the positions around what is assessed; use it with --pattern around"
                    .into(),
            ));
        }
        let fewest = Fewest::of(station, below, raster, &Progress::new())
            .map_err(|why| failed(why.to_string()))?;
        eprintln!("{}", fewest_in_words(&fewest));
        Ok(fewest.pattern)
    }

    fn pattern(&self, name: PatternName, station: &Station) -> Pattern {
        match name {
            PatternName::Around => match Pattern::around(station) {
                Pattern::Around { columns, rows, .. } => Pattern::Around {
                    columns: self.columns.unwrap_or(columns),
                    rows: self.rows.unwrap_or(rows),
                    beyond: self.beyond,
                    staggered: self.staggered,
                },
                Pattern::Rings {
                    centre,
                    rings,
                    first,
                    radius,
                } => Pattern::Rings {
                    centre,
                    rings: self.rings.unwrap_or(rings),
                    first: self.first.unwrap_or(first),
                    radius: self.radius.unwrap_or(radius + self.beyond),
                },
                other => other,
            },
            PatternName::Rows => Pattern::Staggered {
                columns: self.columns.unwrap_or(5),
                rows: self.rows.unwrap_or(5),
                margin: self.margin,
            },
            PatternName::Rings => {
                let (centre, room) = room_for_rings(station);
                Pattern::Rings {
                    centre,
                    rings: self.rings.unwrap_or(3),
                    first: self.first.unwrap_or(6),
                    radius: self.radius.unwrap_or(room),
                }
            }
            PatternName::Sites => Pattern::Sites,
            PatternName::Rim => Pattern::Rim {
                spacing: self.spacing,
            },
        }
    }
}

/// How many readings the round has, and how long it takes.
fn round(route: &RouteRecord) -> String {
    let reference = route.reference.as_ref().map_or_else(String::new, |r| {
        format!(
            ", {} of them visits of the reference {} at {} mm (R)",
            r.visits,
            r.position,
            fixed(r.height_mm, 1)
        )
    });
    format!(
        "Round: {} readings{reference}; about {} min, {} m from position to position",
        route.readings,
        fixed(route.minutes.ceil(), 0),
        fixed(0.001 * route.length_mm, 1)
    )
}
