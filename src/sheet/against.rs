//! The map drawn against the limits: four classes of place, told apart by lightness, by pattern and by word,
//! so that neither a copier nor an eye that sees no colours loses them.

use std::sync::Arc;

use super::colour::{ColourMap, ColourScale};
use super::drawing::{Anchor, Item, Role};
use super::text;
use crate::assess::limits::{Class, Terms, against};
use crate::field::{Contour, Raster, contours};
use crate::geometry::Point;

/// A map with the class of each place.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    /// The number of each node's class, in the order of [`Class::ALL`]; NaN outside the outline.
    pub raster: Arc<Raster>,
    /// Where the field itself equals a limit.
    pub lines: Vec<Contour>,
}

/// What the patterns mean, for people.
pub const LEGEND: &str = "Against the limits, each place by itself with 95 % confidence. Level strokes: below the lower limit; slanting strokes: not proven; clear: inside; crossed strokes: above the upper limit; lines: where the field itself equals a limit.";

/// Font size of a class's word, a share of the picture's extent, as large as a window makes it.
const WORD: f64 = 0.03;

/// A class with a smaller share of the map is a small area.
const SMALL: f64 = 0.15;

fn number(class: Class) -> f64 {
    Class::ALL.iter().position(|c| *c == class).unwrap_or(0) as f64
}

impl Against {
    /// From a map with its uncertainties; `calibration` is the relative standard uncertainty of the scale.
    pub fn new(raster: &Raster, terms: &Terms, calibration: Option<f64>) -> Self {
        let classes = against(raster, terms, calibration);
        let numbers = classes.iter().map(|c| c.map_or(f64::NAN, number)).collect();
        let mut levels = vec![terms.lower.value];
        levels.extend(terms.upper.as_ref().map(|u| u.value));
        Self {
            lines: contours(raster, &levels),
            raster: Arc::new(Raster {
                irradiance: numbers,
                uncertainty: vec![f64::NAN; raster.irradiance.len()],
                extrapolated: vec![false; raster.irradiance.len()],
                ..raster.clone()
            }),
        }
    }

    /// The four lightnesses of the classes.
    pub fn scale() -> ColourScale {
        ColourScale {
            low: number(Class::Below),
            high: number(Class::Above),
            map: ColourMap::Cividis,
        }
    }

    /// Whether some place has the class.
    pub fn has(&self, class: Class) -> bool {
        self.raster.irradiance.contains(&number(class))
    }

    /// Class of the node nearest to a point.
    pub fn at(&self, p: Point) -> Option<Class> {
        let r = &self.raster;
        let node = |v: f64, from: f64, step: f64, n: usize| {
            let i = if step > 0.0 {
                ((v - from) / step).round()
            } else {
                0.0
            };
            (i >= 0.0 && i < n as f64).then_some(i as usize)
        };
        let column = node(p.x, r.origin.x, r.step_x, r.columns)?;
        let row = node(p.y, r.origin.y, r.step_y, r.rows)?;
        let value = r.irradiance.get(row * r.columns + column)?;
        value.is_finite().then(|| Class::ALL[*value as usize])
    }

    /// The nodes of classes that take up little of the map: what texts should not cover.
    pub(super) fn small(&self) -> Vec<Point> {
        let r = &self.raster;
        let of = |class| {
            let n = number(class);
            let own = (0..r.irradiance.len()).filter(move |&i| r.irradiance[i] == n);
            own.map(|i| {
                let (column, row) = ((i % r.columns) as f64, (i / r.columns) as f64);
                Point::new(r.origin.x + column * r.step_x, r.origin.y + row * r.step_y)
            })
            .collect::<Vec<_>>()
        };
        let most = SMALL * r.irradiance.iter().filter(|v| v.is_finite()).count() as f64;
        let each = Class::ALL.into_iter().map(of);
        each.filter(|own| (own.len() as f64) < most)
            .flatten()
            .collect()
    }

    /// The patterns, and a word in the middle of the largest piece of each class.
    pub(super) fn items(&self, extent: f64) -> Vec<Item> {
        let mut items = Vec::new();
        let spacing = extent / 42.0;
        for (class, role, slants) in [
            (Class::Below, Role::Below, &[0.0][..]),
            (Class::NotProven, Role::NotProven, &[45.0][..]),
            (Class::Above, Role::Above, &[45.0, -45.0][..]),
        ] {
            for slant in slants {
                items.extend(self.strokes(class, role, *slant, spacing));
            }
        }
        for class in Class::ALL {
            let role = match class {
                Class::Below => Role::Below,
                Class::NotProven => Role::NotProven,
                Class::Inside => Role::Inside,
                Class::Above => Role::Above,
            };
            // a word only where its plate leaves enough of the area to be seen
            let half = 0.5 * WORD * text::width(class.words(), 1.0) + WORD;
            if let Some(at) = self.middle(class, half * extent) {
                items.push(Item::Label {
                    at,
                    text: class.words().to_owned(),
                    anchor: Anchor::Centre,
                    role,
                });
            }
        }
        items
    }

    /// Strokes over a class, at an angle in degrees, `spacing` mm apart.
    fn strokes(&self, class: Class, role: Role, slant: f64, spacing: f64) -> Vec<Item> {
        if spacing.is_nan() || spacing <= 0.0 || !self.has(class) {
            return Vec::new();
        }
        let bounds = self.raster.bounds();
        let (sin, cos) = slant.to_radians().sin_cos();
        let centre = bounds.centre();
        let reach = 0.5 * bounds.width().hypot(bounds.depth());
        let step = 0.2 * spacing;
        let lines = (reach / spacing).ceil() as i64;
        let steps = (reach / step).ceil() as i64;
        let mut out = Vec::new();
        for line in -lines..=lines {
            let off = (line as f64 + 0.5) * spacing;
            let mut run: Option<(Point, Point)> = None;
            for k in -steps..=steps {
                let along = k as f64 * step;
                let p = Point::new(
                    centre.x + along * cos - off * sin,
                    centre.y + along * sin + off * cos,
                );
                if self.at(p) == Some(class) {
                    run = Some((run.map_or(p, |(from, _)| from), p));
                } else {
                    out.extend(run.take());
                }
            }
            out.extend(run);
        }
        out.into_iter()
            .filter(|(from, to)| from != to)
            .map(|(from, to)| Item::Path {
                points: vec![from, to],
                closed: false,
                role,
            })
            .collect()
    }

    /// The node that is furthest from any other class; `None` where the class has no room for a word.
    fn middle(&self, class: Class, room: f64) -> Option<Point> {
        let r = &self.raster;
        let (columns, rows) = (r.columns, r.rows);
        let is = |c: usize, row: usize| r.irradiance[row * columns + c] == number(class);
        // steps to the nearest node of another class, the rim counted as one (two passes)
        let mut away = vec![0.0_f64; columns * rows];
        let step = r.step_x.max(r.step_y);
        for row in 0..rows {
            for c in 0..columns {
                if is(c, row) {
                    let left = if c > 0 {
                        away[row * columns + c - 1]
                    } else {
                        0.0
                    };
                    let front = if row > 0 {
                        away[(row - 1) * columns + c]
                    } else {
                        0.0
                    };
                    away[row * columns + c] = left.min(front) + step;
                }
            }
        }
        let mut best: Option<(f64, usize)> = None;
        for row in (0..rows).rev() {
            for c in (0..columns).rev() {
                let i = row * columns + c;
                if away[i] == 0.0 {
                    continue;
                }
                let right = if c + 1 < columns { away[i + 1] } else { 0.0 };
                let back = if row + 1 < rows {
                    away[i + columns]
                } else {
                    0.0
                };
                away[i] = away[i].min(right.min(back) + step);
                if best.is_none_or(|(most, _)| away[i] > most) {
                    best = Some((away[i], i));
                }
            }
        }
        let (most, i) = best?;
        (most >= room).then(|| {
            Point::new(
                r.origin.x + (i % columns) as f64 * r.step_x,
                r.origin.y + (i / columns) as f64 * r.step_y,
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three columns of classes: below, inside, above; a node outside.
    fn three() -> Against {
        let columns = 30;
        let mut irradiance: Vec<f64> = (0..columns * 20)
            .map(|i| match i % columns {
                0..10 => 0.0,
                10..20 => 2.0,
                _ => 3.0,
            })
            .collect();
        irradiance[0] = f64::NAN;
        let n = irradiance.len();
        Against {
            raster: Arc::new(Raster {
                columns,
                rows: 20,
                origin: Point::new(0.0, 0.0),
                step_x: 2.0,
                step_y: 2.0,
                height: 0.0,
                irradiance,
                uncertainty: vec![f64::NAN; n],
                extrapolated: vec![false; n],
            }),
            lines: Vec::new(),
        }
    }

    #[test]
    fn classes_differ_by_pattern_and_word_without_any_colour() {
        let items = three().items(60.0);
        let strokes = |role: Role| -> Vec<(Point, Point)> {
            items
                .iter()
                .filter_map(|item| match item {
                    Item::Path {
                        points, role: r, ..
                    } if *r == role => Some((points[0], points[1])),
                    _ => None,
                })
                .collect()
        };
        let level = strokes(Role::Below);
        assert!(!level.is_empty() && level.iter().all(|(a, b)| a.y == b.y && b.x <= 19.0));
        let crossed = strokes(Role::Above);
        assert!(crossed.iter().any(|(a, b)| (b.x - a.x) * (b.y - a.y) > 0.0));
        assert!(crossed.iter().any(|(a, b)| (b.x - a.x) * (b.y - a.y) < 0.0));
        assert!(crossed.iter().all(|(a, _)| a.x >= 39.0));
        assert!(strokes(Role::NotProven).is_empty() && strokes(Role::Inside).is_empty());
        let words: Vec<&str> = items
            .iter()
            .filter_map(|item| match item {
                Item::Label { text, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(words, ["below", "inside", "above"]);
    }

    #[test]
    fn a_small_area_is_kept_free_and_has_no_word_that_would_cover_it() {
        let mut against = three();
        assert_eq!(against.small(), []);
        let raster = Arc::make_mut(&mut against.raster);
        let corner = |i: usize| i % 30 < 5 && i / 30 >= 16;
        for i in (0..600).filter(|&i| corner(i)) {
            raster.irradiance[i] = 1.0;
        }
        let small = against.small();
        assert_eq!(small.len(), 20);
        assert!(small.iter().all(|p| p.x <= 8.0 && p.y >= 32.0));
        let items = against.items(60.0);
        let is = |role: Role| move |item: &&Item| matches!(item, Item::Label { role: r, .. } if *r == role);
        assert_eq!(items.iter().filter(is(Role::NotProven)).count(), 0);
        assert_eq!(items.iter().filter(is(Role::Below)).count(), 1);
        let has = |item: &Item| {
            matches!(
                item,
                Item::Path {
                    role: Role::NotProven,
                    ..
                }
            )
        };
        assert!(items.iter().any(has), "its pattern is seen");
    }

    #[test]
    fn a_place_is_found_and_what_lies_outside_is_none() {
        let against = three();
        assert_eq!(against.at(Point::new(10.2, 9.0)), Some(Class::Below));
        assert_eq!(against.at(Point::new(30.0, 9.0)), Some(Class::Inside));
        assert_eq!(against.at(Point::new(0.0, 0.0)), None);
        assert_eq!(against.at(Point::new(-5.0, 3.0)), None);
        assert!(against.has(Class::Above) && !against.has(Class::NotProven));
    }
}
