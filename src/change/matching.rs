//! Which readings of two surveys belong together.

use std::collections::{BTreeMap, HashMap};

use crate::geometry::{Bounds, Place};
use crate::station::Survey;

/// Readings this near to each other are at one place, mm along each axis.
const SAME: f64 = 0.05;
/// Recorded places this near are the same position whatever it is called, mm.
const NEAR: f64 = 1.0;
/// Positions of the same name are the same up to here, mm; further off the name was given to another place.
const NAMED: f64 = 5.0;

/// What was read at a place in one survey: repeats taken together.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Name of the position; may be empty.
    pub position: String,
    /// Where.
    pub at: Place,
    /// Natural logarithm of the geometric mean, irradiance in mW/cm².
    pub log: f64,
    /// How many readings.
    pub count: usize,
    /// Mean of their minutes since the round began, where noted.
    pub minute: Option<f64>,
}

/// A place of the later survey, and what was read there before.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// In the later survey.
    pub to: Level,
    /// In the earlier one; `None`: nothing was read there, it is compared through the field.
    pub from: Option<Level>,
}

impl Pair {
    /// How far apart the two are recorded on the plan, mm.
    pub fn aside(&self) -> f64 {
        let from = self.from.as_ref();
        from.map_or(0.0, |f| f.at.point().distance(self.to.at.point()))
    }
}

/// For each place of the later survey what was read there in the earlier one, in the order of the later one.
pub fn pairs(from: &Survey, to: &Survey) -> Vec<Pair> {
    let before = levels(from);
    let mut named: HashMap<String, Vec<usize>> = HashMap::new();
    let mut cells: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let cell = |at: Place| ((at.x / NEAR).floor() as i64, (at.y / NEAR).floor() as i64);
    for (i, level) in before.iter().enumerate() {
        named.entry(key(&level.position)).or_default().push(i);
        cells.entry(cell(level.at)).or_default().push(i);
    }
    let mut taken = vec![false; before.len()];
    levels(to)
        .into_iter()
        .map(|to| {
            let (column, row) = cell(to.at);
            let around = (-1..=1).flat_map(|c| (-1..=1).map(move |r| (column + c, row + r)));
            let near = around
                .filter_map(|c| cells.get(&c))
                .flatten()
                .map(|&i| (i, NEAR));
            let name = key(&to.position);
            let alike = named.get(&name).filter(|_| !name.is_empty());
            let alike = alike.into_iter().flatten().map(|&i| (i, NAMED));
            let found = near
                .chain(alike)
                .filter(|&(i, reach)| {
                    let at = before[i].at;
                    !taken[i]
                        && (at.height - to.at.height).abs() <= NEAR
                        && at.point().distance(to.at.point()) <= reach
                })
                .map(|(i, _)| (i, distance(before[i].at, to.at)))
                .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
            let from = found.map(|(i, _)| {
                taken[i] = true;
                before[i].clone()
            });
            Pair { to, from }
        })
        .collect()
}

/// Of more than `most` pairs, as a machine's scan has them, those of a cell taken together, with equally large cells: the
/// equations grow with the cube of their number.
pub fn pooled(pairs: Vec<Pair>, most: usize) -> Vec<Pair> {
    let bounds = Bounds::around(pairs.iter().map(|p| p.to.at.point()));
    let Some(bounds) = bounds.filter(|_| pairs.len() > most) else {
        return pairs;
    };
    let least = (bounds.width() + bounds.depth()).max(1.0) / 1000.0;
    let mut side = (bounds.width() * bounds.depth() / most as f64)
        .sqrt()
        .max(least);
    loop {
        let cell = |v: f64| (v / side).floor() as i64;
        let mut cells: BTreeMap<(i64, i64, i64, bool), Vec<&Pair>> = BTreeMap::new();
        for pair in &pairs {
            let at = pair.to.at;
            // heights of one block are one layer
            let layer = (at.height / 2.0_f64.max(0.5 * side)).round() as i64;
            let key = (
                layer,
                cell(at.y - bounds.min.y),
                cell(at.x - bounds.min.x),
                pair.from.is_some(),
            );
            cells.entry(key).or_default().push(pair);
        }
        if cells.len() <= most {
            return cells
                .into_values()
                .filter_map(|cell| together(&cell))
                .collect();
        }
        side *= 1.1;
    }
}

fn together(cell: &[&Pair]) -> Option<Pair> {
    let to = mean(cell.iter().map(|p| Some(&p.to)))?;
    let from = mean(cell.iter().map(|p| p.from.as_ref()));
    Some(Pair { to, from })
}

/// Levels taken together, each as surely as it was read; `None` where one is not there.
fn mean<'a>(levels: impl Iterator<Item = Option<&'a Level>>) -> Option<Level> {
    let levels: Vec<&Level> = levels.collect::<Option<_>>()?;
    let first = levels.first()?;
    let n = levels.len() as f64;
    let of = |get: &dyn Fn(&Level) -> f64| levels.iter().map(|l| get(l)).sum::<f64>() / n;
    let minutes: Option<Vec<f64>> = levels.iter().map(|l| l.minute).collect();
    Some(Level {
        position: if levels.len() == 1 {
            first.position.clone()
        } else {
            String::new()
        },
        at: Place::new(of(&|l| l.at.x), of(&|l| l.at.y), of(&|l| l.at.height)),
        log: of(&|l| l.log),
        count: levels.iter().map(|l| l.count).sum(),
        minute: minutes.map(|m| m.iter().sum::<f64>() / n),
    })
}

fn distance(a: Place, b: Place) -> f64 {
    a.point().distance(b.point()).hypot(a.height - b.height)
}

fn key(name: &str) -> String {
    name.trim().to_lowercase()
}

/// The places of a survey at which something counts, in the order of their first reading.
pub fn levels(survey: &Survey) -> Vec<Level> {
    let mut index: HashMap<[i64; 3], usize> = HashMap::new();
    let mut out: Vec<Level> = Vec::new();
    let mut minutes: Vec<(f64, usize)> = Vec::new();
    for reading in &survey.readings {
        let Some(irradiance) = reading.counted().filter(|_| reading.place().is_finite()) else {
            continue;
        };
        let place = [reading.x, reading.y, reading.height].map(|v| (v / SAME).round() as i64);
        let i = *index.entry(place).or_insert(out.len());
        if i == out.len() {
            out.push(Level {
                position: reading.position.clone(),
                at: reading.place(),
                log: 0.0,
                count: 0,
                minute: None,
            });
            minutes.push((0.0, 0));
        }
        let level = &mut out[i];
        level.log += irradiance.ln();
        level.count += 1;
        if level.position.is_empty() {
            level.position.clone_from(&reading.position);
        }
        if let Some(minute) = reading.minute.filter(|m| m.is_finite()) {
            minutes[i] = (minutes[i].0 + minute, minutes[i].1 + 1);
        }
    }
    for (level, (sum, n)) in out.iter_mut().zip(minutes) {
        level.log /= level.count as f64;
        level.minute = (n > 0).then(|| sum / n as f64);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;
    use crate::station::{Reading, Station};

    fn survey(readings: &[(&str, f64, f64, f64)]) -> Survey {
        let station = Station::new("bench", Shape::Circle { diameter: 100.0 }, 80.0);
        let mut survey = station.new_survey("one", jiff::civil::date(2026, 3, 9));
        let each = readings.iter().map(|&(name, x, y, e)| Reading {
            position: name.into(),
            ..Reading::new(Place::new(x, y, 10.0), Some(e))
        });
        survey.readings = each.collect();
        survey
    }

    #[test]
    fn by_name_and_by_place() {
        let from = survey(&[
            ("A1", 10.0, 10.0, 100.0),
            ("A2", 40.0, 10.0, 90.0),
            ("", 70.0, 10.0, 80.0),
        ]);
        let to = survey(&[
            ("a1 ", 12.0, 10.5, 90.0),
            ("A2", 60.0, 60.0, 50.0),
            ("C9", 70.4, 10.0, 70.0),
            ("A2", 40.0, 10.0, 80.0),
        ]);
        let pairs = pairs(&from, &to);
        let before: Vec<Option<f64>> = pairs
            .iter()
            .map(|p| p.from.as_ref().map(|f| f.log.exp().round()))
            .collect();
        assert_eq!(before, [Some(100.0), None, Some(80.0), Some(90.0)]);
        assert!((pairs[0].aside() - 2.0616).abs() < 1e-3);
    }

    #[test]
    fn of_many_those_of_a_cell_are_taken_together() {
        let grid: Vec<(&str, f64, f64, f64)> = (0..2500)
            .map(|i| ("", f64::from(i % 50) * 2.0, f64::from(i / 50) * 2.0, 100.0))
            .collect();
        let survey = survey(&grid);
        let all = pairs(&survey, &survey);
        assert_eq!(all.len(), 2500);
        let few = pooled(all, 300);
        assert!(few.len() <= 300 && few.len() > 150, "{}", few.len());
        assert_eq!(few.iter().map(|p| p.to.count).sum::<usize>(), 2500);
        assert!(few.iter().all(|p| p.from.is_some()));
    }

    #[test]
    fn repeats_are_one_level() {
        let one = survey(&[("A1", 10.0, 10.0, 80.0), ("A1", 10.0, 10.0, 125.0)]);
        let all = levels(&one);
        assert_eq!(all.len(), 1);
        assert!((all[0].log.exp() - 100.0).abs() < 1e-9 && all[0].count == 2);
    }
}
