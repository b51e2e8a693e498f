//! The map drawn against the limits: four classes of place, told apart by lightness, by pattern and by word,
//! so that neither a copier nor an eye that sees no colours loses them.
//!
//! Texts keep off classes with less than 15 % of the map; readings are not drawn there.

use std::sync::Arc;

use super::colour::{ColourMap, ColourScale};
use super::drawing::{Anchor, Drawing, Item, Role};
use super::text;
use crate::assess::limits::{Class, Margins, Terms, against};
use crate::field::{Contour, Raster, contours};
use crate::geometry::{Bounds, Footprint, Point};

/// A map with the class of each place.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    /// The number of each node's class, in the order of [`Class::ALL`]; NaN outside the outline.
    pub raster: Arc<Raster>,
    /// Where the field itself equals a limit.
    pub lines: Vec<Contour>,
    /// Where one class ends and another begins.
    pub borders: Vec<Vec<Point>>,
}

/// Nodes along the longer side between which classes are told apart: finer than a line on the screen or on paper is wide.
const FINE: usize = 600;

/// Font size of a class's word, a share of the picture's extent, as large as a window makes it.
const WORD: f64 = 0.03;

/// Points along the longer side of which small areas are made.
const KEPT: usize = 150;

/// A class with a smaller share of the map is a small area.
const SMALL: f64 = 0.15;

fn number(class: Class) -> f64 {
    Class::ALL.iter().position(|c| *c == class).unwrap_or(0) as f64
}

fn role_of(class: Class) -> Role {
    match class {
        Class::Below => Role::Below,
        Class::NotProven => Role::NotProven,
        Class::Inside => Role::Inside,
        Class::Above => Role::Above,
    }
}

/// Other values on the nodes of a raster.
fn with(raster: &Raster, values: Vec<f64>) -> Raster {
    Raster {
        uncertainty: vec![f64::NAN; values.len()],
        extrapolated: vec![false; values.len()],
        irradiance: values,
        ..*raster
    }
}

/// The classes on a finer raster, from margins that change evenly from node to node; at the rim, where a node is missing,
/// from those that are there.
fn finer(raster: &Raster, outline: &Footprint, margins: &[Option<Margins>]) -> Raster {
    let cells = (raster.columns.max(raster.rows) - 1).max(1);
    let parts = FINE.div_ceil(cells).max(1);
    let along = |nodes: usize| (nodes.max(1) - 1) * parts + 1;
    let (columns, rows) = (along(raster.columns), along(raster.rows));
    let mut fine = Raster {
        columns,
        rows,
        step_x: raster.step_x / parts as f64,
        step_y: raster.step_y / parts as f64,
        ..with(raster, vec![f64::NAN; columns * rows])
    };
    // node before, share of the way to the next, and the next
    let between = |i: usize, nodes: usize| {
        let node = i / parts;
        let share = (i % parts) as f64 / parts as f64;
        (node, share, (node + 1).min(nodes - 1))
    };
    for row in 0..rows {
        let (front, up, back) = between(row, raster.rows);
        for column in 0..columns {
            let at = fine.node(column, row);
            if outline.signed_distance(at) > 1e-6 {
                continue;
            }
            let (left, over, right) = between(column, raster.columns);
            let corners = [
                (left, front, (1.0 - over) * (1.0 - up)),
                (right, front, over * (1.0 - up)),
                (left, back, (1.0 - over) * up),
                (right, back, over * up),
            ];
            let mut sum = (0.0, [0.0; 3]);
            for (c, r, weight) in corners {
                let Some(m) = margins[r * raster.columns + c].filter(|_| weight > 0.0) else {
                    continue;
                };
                sum.0 += weight;
                for (sum, margin) in sum.1.iter_mut().zip([m.below, m.inside, m.above]) {
                    *sum += weight * margin;
                }
            }
            if sum.0 > 0.0 {
                let [below, inside, above] = sum.1.map(|s| s / sum.0);
                let class = Margins {
                    below,
                    inside,
                    above,
                }
                .class();
                fine.irradiance[row * columns + column] = number(class);
            }
        }
    }
    fine
}

impl Against {
    /// From a map with its uncertainties over an outline; `calibration` is the relative standard uncertainty of the scale.
    /// The field is smooth, so between nodes the margins of the classes are, too, and the classes end where they say.
    pub fn new(
        raster: &Raster,
        outline: &Footprint,
        terms: &Terms,
        calibration: Option<f64>,
    ) -> Self {
        let margins = against(raster, terms, calibration);
        let mut levels = vec![terms.lower.value];
        levels.extend(terms.upper.as_ref().map(|u| u.value));
        let lines = contours(raster, &levels);
        Self::of_margins(raster, outline, &margins, lines)
    }

    /// From the margins of each node of a raster.
    pub(super) fn of_margins(
        raster: &Raster,
        outline: &Footprint,
        margins: &[Option<Margins>],
        lines: Vec<Contour>,
    ) -> Self {
        let of: [fn(&Margins) -> f64; 3] = [|m| m.below, |m| m.inside, |m| m.above];
        let borders = of.into_iter().flat_map(|of| {
            let values = margins.iter().map(|m| m.as_ref().map_or(f64::NAN, of));
            contours(&with(raster, values.collect()), &[0.0])
        });
        Self {
            lines,
            borders: borders.map(|line| line.points).collect(),
            raster: Arc::new(finer(raster, outline, margins)),
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

    /// Points of classes that take up little of the map, as many over its longer side as [`KEPT`]: what texts should not
    /// cover.
    pub(super) fn small(&self) -> Vec<Point> {
        let r = &self.raster;
        let every = (r.columns.max(r.rows) / KEPT).max(1);
        let places: Vec<(Point, f64)> = (0..r.rows)
            .step_by(every)
            .flat_map(|row| (0..r.columns).step_by(every).map(move |c| (c, row)))
            .map(|(c, row)| (r.node(c, row), r.irradiance[row * r.columns + c]))
            .collect();
        let of = |class| {
            let own = places.iter().filter(|(_, n)| *n == number(class));
            own.map(|(at, _)| *at).collect::<Vec<_>>()
        };
        let most = SMALL * places.iter().filter(|(_, n)| n.is_finite()).count() as f64;
        let each = Class::ALL.into_iter().map(of);
        each.filter(|own| (own.len() as f64) < most)
            .flatten()
            .collect()
    }

    /// The patterns, the borders, and a word in the middle of the largest piece of each class.
    pub(super) fn items(&self, extent: f64) -> Vec<Item> {
        let mut items = self.patterns(extent);
        items.extend(self.borders.iter().map(|border| {
            let closed = border.len() > 2 && border.first() == border.last();
            Item::Path {
                points: border[..border.len() - usize::from(closed)].to_vec(),
                closed,
                role: Role::Border,
            }
        }));
        for class in Class::ALL {
            let role = role_of(class);
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

    /// A piece of one class alone, `width` x `depth` mm, as it is drawn on a map of `extent` mm: for a key.
    pub(super) fn swatch(class: Class, width: f64, depth: f64, extent: f64) -> Drawing {
        let bounds = Bounds {
            min: Point::new(0.0, 0.0),
            max: Point::new(width, depth),
        };
        let nodes = 2 * 2;
        let piece = Self {
            raster: Arc::new(Raster {
                columns: 2,
                rows: 2,
                origin: bounds.min,
                step_x: width,
                step_y: depth,
                height: 0.0,
                irradiance: vec![number(class); nodes],
                uncertainty: vec![f64::NAN; nodes],
                extrapolated: vec![false; nodes],
            }),
            lines: Vec::new(),
            borders: Vec::new(),
        };
        let mut items = vec![Item::Field {
            raster: piece.raster.clone(),
            scale: Self::scale(),
        }];
        items.extend(piece.patterns(extent));
        Drawing { bounds, items }
    }

    /// The strokes of all classes.
    fn patterns(&self, extent: f64) -> Vec<Item> {
        let mut items = Vec::new();
        let spacing = extent / 42.0;
        for (class, slants) in [
            (Class::Below, &[0.0][..]),
            (Class::NotProven, &[45.0][..]),
            (Class::Above, &[45.0, -45.0][..]),
        ] {
            for slant in slants {
                items.extend(self.strokes(class, role_of(class), *slant, spacing));
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
            borders: Vec::new(),
        }
    }

    /// A field that grows along x by 1 mW/cm² a mm from 60, with bounds 1 mW/cm² away, on a disk.
    #[test]
    fn classes_end_in_lines_where_the_bounds_cross_the_limits() {
        use crate::assess::limits::{Line, Scale};
        use crate::geometry::Shape;
        let outline = Footprint::new(Shape::Circle { diameter: 60.0 }, Point::new(30.0, 30.0));
        let nodes = 31;
        let at = |i: usize| Point::new(2.0 * (i % nodes) as f64, 2.0 * (i / nodes) as f64);
        let irradiance: Vec<f64> = (0..nodes * nodes)
            .map(|i| match outline.contains(at(i)) {
                true => 60.0 + at(i).x,
                false => f64::NAN,
            })
            .collect();
        let raster = Raster {
            columns: nodes,
            rows: nodes,
            origin: Point::new(0.0, 0.0),
            step_x: 2.0,
            step_y: 2.0,
            height: 0.0,
            uncertainty: irradiance.iter().map(|e| 0.01 * e).collect(),
            extrapolated: vec![false; irradiance.len()],
            irradiance,
        };
        let limit = |value| Line {
            value,
            written: value,
            scale: Scale::Relative,
        };
        let terms = Terms {
            least: 80.0,
            least_from: String::new(),
            exposure_s: None,
            effective_s: None,
            safety_factor_percent: 0.0,
            lower: limit(80.0),
            upper: Some(limit(100.0)),
            warnings: Vec::new(),
        };
        let against = Against::new(&raster, &outline, &terms, None);
        // one-sided 95 %, 1.645 of one percent, beyond or within a limit
        let away = (1.644_853_6f64 * 0.01).exp();
        let wanted = [80.0 / away, 80.0 * away, 100.0 / away, 100.0 * away].map(|e| e - 60.0);
        assert_eq!(against.borders.len(), 4, "{:?}", against.borders);
        for x in wanted {
            let is_it = |line: &&Vec<Point>| line.iter().all(|p| (p.x - x).abs() < 0.05);
            let line = against.borders.iter().find(is_it);
            let ends = line.map(|l| (l[0].y - l[l.len() - 1].y).abs());
            // from rim to rim but for a mesh at either end
            let chord = 2.0 * (30.0f64.powi(2) - (x - 30.0).powi(2)).sqrt();
            assert!(ends.is_some_and(|e| e > chord - 8.0), "{x}: {ends:?}");
        }
        // what is painted ends in the same places, to a part of a line's width
        let fine = &against.raster;
        assert!(fine.step_x <= 0.11 && fine.columns >= FINE);
        for (x, before, after) in [
            (wanted[0], Class::Below, Class::NotProven),
            (wanted[1], Class::NotProven, Class::Inside),
            (wanted[3], Class::NotProven, Class::Above),
        ] {
            assert_eq!(against.at(Point::new(x - 0.15, 30.0)), Some(before));
            assert_eq!(against.at(Point::new(x + 0.15, 30.0)), Some(after));
        }
        // up to the rim, and not beyond it
        assert_eq!(against.at(Point::new(30.0, 59.9)), Some(Class::Inside));
        assert_eq!(against.at(Point::new(1.0, 50.0)), None);
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
