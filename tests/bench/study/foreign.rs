//! Stations that somebody else simulated, read from a folder: one JSON file a station.
//!
//! Lengths in mm from the fixture's front left corner, irradiance in mW/cm². Nothing of how they were made is known here.

use std::path::Path;

use evenfield::field::{Face, Sample};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::station::SourceKind;
use serde::Deserialize;

use crate::chance::Chance;
use crate::station::{Plan, Station, Wrong};

#[derive(Deserialize)]
struct File {
    group: u32,
    told_kind: SourceKind,
    width_mm: f64,
    depth_mm: f64,
    face_height_mm: f64,
    face: Outline,
    assessed_height_mm: f64,
    columns: usize,
    rows: usize,
    coldest: Spot,
    map: Map,
    readings: Readings,
}

#[derive(Deserialize)]
struct Outline {
    width_mm: f64,
    depth_mm: f64,
    centre_mm: (f64, f64),
}

#[derive(Deserialize)]
struct Spot {
    x_mm: f64,
    y_mm: f64,
    irradiance_mw_cm2: f64,
}

#[derive(Deserialize)]
struct Map {
    x_mm: Vec<f64>,
    y_mm: Vec<f64>,
    irradiance_mw_cm2: Vec<Vec<f64>>,
}

/// Rows of x, y, height, what was read and what an errorless detector in the right place reads.
#[derive(Deserialize)]
struct Readings {
    inside: Vec<[f64; 5]>,
    rim: Vec<[f64; 5]>,
    beyond: Vec<[f64; 5]>,
}

/// A station as somebody else simulated it.
pub struct Foreign {
    /// The file's name without its ending, as a number where it is one.
    pub seed: u64,
    file: File,
}

/// What their detector averages over, mm.
const APERTURE: f64 = 8.0;

/// All files of a folder, in the order of their names.
///
/// # Errors
/// In words: what can't be read and why.
pub fn read(folder: &Path) -> Result<Vec<Foreign>, String> {
    let failed = |path: &Path, why: String| format!("{}: {why}", path.display());
    let entries = std::fs::read_dir(folder).map_err(|e| failed(folder, e.to_string()))?;
    let mut paths: Vec<_> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    paths.sort();
    let each = paths.iter().enumerate().map(|(i, path)| {
        let text = std::fs::read_to_string(path).map_err(|e| failed(path, e.to_string()))?;
        let file: File = serde_json::from_str(&text).map_err(|e| failed(path, e.to_string()))?;
        let name = path.file_stem().and_then(|s| s.to_str());
        let seed = name.and_then(|s| s.parse().ok()).unwrap_or(i as u64);
        Ok(Foreign { seed, file })
    });
    let all: Vec<Foreign> = each.collect::<Result<_, String>>()?;
    if all.is_empty() {
        return Err(failed(folder, "no JSON file is in it".into()));
    }
    Ok(all)
}

impl Foreign {
    /// The group as a kind.
    pub fn kind(&self) -> String {
        format!("foreign_{}", self.file.group)
    }

    /// As read by a plan, with one thing wrong.
    ///
    /// # Errors
    /// What can't be done to readings that were taken before.
    pub fn station(&self, plan: Plan, wrong: Wrong) -> Result<Station, String> {
        let file = &self.file;
        if !wrong.is_afterwards() && wrong != Wrong::Clean {
            return Err(format!("{} takes a lamp to read", wrong.name()));
        }
        let rectangle =
            |width, depth, centre| Footprint::new(Shape::Rectangle { width, depth }, centre);
        let middle = Point::new(0.5 * file.width_mm, 0.5 * file.depth_mm);
        let rows = match plan {
            Plan::Inside => &file.readings.inside,
            Plan::Rim => &file.readings.rim,
            Plan::Around => &file.readings.beyond,
        };
        let mut chance = Chance::new(self.seed, 0xc1ea);
        let mut heights: Vec<f64> = rows.iter().map(|r| r[2]).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        let mut positions: Vec<(f64, f64)> = rows.iter().map(|r| (r[1], r[0])).collect();
        positions.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        positions.dedup();
        if positions.len() != file.columns * file.rows {
            return Err(format!(
                "{} positions in place of {} x {}",
                positions.len(),
                file.columns,
                file.rows
            ));
        }
        let position = |row: &[f64; 5]| {
            let here = positions.iter().position(|p| *p == (row[1], row[0]));
            here.expect("each row was listed")
        };
        let samples = rows.iter().map(|row| Sample {
            at: Place::new(row[0], row[1], row[2]),
            irradiance: match wrong {
                Wrong::Clean => row[4] * (1.0 + 0.002 * chance.normal()),
                _ => row[3],
            },
            position: position(row),
            minute: None,
        });
        let samples = samples.collect();
        let map = file.map.y_mm.iter().zip(&file.map.irradiance_mw_cm2);
        let map: Vec<(Place, f64)> = map
            .flat_map(|(&y, row)| {
                let at = move |x: f64| Place::new(x, y, file.assessed_height_mm);
                file.map
                    .x_mm
                    .iter()
                    .zip(row)
                    .map(move |(&x, &e)| (at(x), e))
            })
            .collect();
        let mean = map.iter().map(|m| m.1).sum::<f64>() / map.len() as f64;
        let face = &file.face;
        let centre = Point::new(face.centre_mm.0, face.centre_mm.1);
        let mut station = Station {
            seed: self.seed,
            plan,
            fixture: rectangle(file.width_mm, file.depth_mm, middle),
            columns: file.columns,
            rows: file.rows,
            heights,
            samples,
            face: Face {
                height: file.face_height_mm,
                outline: Some(rectangle(face.width_mm, face.depth_mm, centre)),
            },
            aperture: APERTURE,
            told: file.told_kind,
            assessed: file.assessed_height_mm,
            map,
            coldest: file.coldest.irradiance_mw_cm2,
            coldest_at: Point::new(file.coldest.x_mm, file.coldest.y_mm),
            rim_percent: 100.0 * file.coldest.irradiance_mw_cm2 / mean,
            further: None,
        };
        wrong.spoil(&mut station);
        Ok(station)
    }
}
