//! Where the texts of a picture stand, so that none covers another.
//!
//! They stand off marks, names and readings where there is room; a painter puts each on a plate and leaves out names and
//! values that would still cover another.

use crate::field::Contour;
use crate::geometry::{Bounds, Point};
use crate::sheet::drawing::{Anchor, Item, Role};
use crate::sheet::text;

pub(in crate::sheet) mod names;

/// Font sizes, the rim of a text's plate, and from a spot's point to the plate of its word: shares of
/// the picture's extent. Painters choose their own sizes; these are what they take on a page that the
/// picture fills.
const SIZE: f64 = 0.021;
const WORD_SIZE: f64 = 0.0255;
const PLATE: f64 = 0.004;
const GAP: f64 = 0.02;

/// A plate's height, in font sizes.
const LINE: f64 = 1.0;

/// What a text that stands on a name, and one that stands on a reading, has against it: as many steps
/// away from the best place.
const ON_NAME: usize = 1000;
const ON_READING: usize = 30;
/// The same for each point that is to stay visible: a plate covers some twenty.
const ON_KEPT: usize = 40;

/// A window's texts are larger beside its picture than a page's: how much wider and higher what they may cover is taken.
const LARGER: f64 = 1.5;

/// With more readings than this they are everywhere, and there is no getting out of their way.
const MOST_READINGS: usize = 400;

/// The room for texts within a picture.
pub(super) struct Room {
    within: Bounds,
    extent: f64,
    /// Marks of spots and texts at their places: nothing stands there.
    taken: Vec<Bounds>,
    /// Names, which stay where they are.
    names: Vec<Bounds>,
    readings: Vec<Point>,
    /// Points of small areas that are to stay visible.
    kept: Vec<Point>,
}

impl Room {
    /// An empty room.
    pub(super) fn new(within: Bounds) -> Self {
        Self {
            within,
            extent: within.width().max(within.depth()),
            taken: Vec::new(),
            names: Vec::new(),
            readings: Vec::new(),
            kept: Vec::new(),
        }
    }

    /// Where a name hangs from the back edge of its site: in the middle, or beside it where it would
    /// cover readings there.
    pub(super) fn name(&mut self, site: Bounds, name: &str) -> Point {
        let (half, line) = self.plate(name, SIZE);
        let hung = |share: f64| {
            let from = Point::new(site.centre().x + share * site.width(), site.max.y);
            // from the painters' gap on
            let middle = Point::new(from.x, from.y - 0.5 * line - 0.01 * self.extent);
            (from, around(middle, half, line))
        };
        let middle = hung(0.0);
        let aside = [-0.2, 0.2, -0.3, 0.3]
            .map(hung)
            .into_iter()
            .filter(|(_, plate)| plate.min.x >= site.min.x && plate.max.x <= site.max.x);
        // further down in the site only off what is to stay visible
        let lower = [0.35, 0.7]
            .into_iter()
            .filter(|_| self.kept_at(&middle.1) > 0)
            .map(|share| {
                let down = share * (site.depth() - line);
                let moved = |p: Point| Point::new(p.x, p.y - down);
                let (from, plate) = middle;
                let plate = Bounds {
                    min: moved(plate.min),
                    max: moved(plate.max),
                };
                (moved(from), plate)
            });
        let (from, plate) = std::iter::once(middle)
            .chain(aside)
            .chain(lower)
            .min_by_key(|(_, plate)| self.readings_at(plate) + self.kept_at(plate))
            .unwrap_or(middle);
        self.names.push(plate);
        from
    }

    fn readings_at(&self, plate: &Bounds) -> usize {
        let near = plate.grown(0.004 * self.extent);
        let on = |&&r: &&Point| overlap(&near, &Bounds { min: r, max: r });
        self.readings.iter().filter(on).count()
    }

    /// What is to stay visible here, and how much of it a plate there would cover.
    fn kept_at(&self, plate: &Bounds) -> usize {
        let (centre, wide, deep) = (plate.centre(), plate.width(), plate.depth());
        let plate = around(centre, 0.5 * LARGER * wide, LARGER * deep);
        let on = |&&p: &&Point| overlap(&plate, &Bounds { min: p, max: p });
        self.kept.iter().filter(on).count()
    }

    /// These points are to stay visible where that is possible.
    pub(super) fn keep_off(&mut self, points: Vec<Point>) {
        self.kept = points;
    }

    /// A spot's mark is here.
    pub(super) fn mark(&mut self, at: Point) {
        let reach = 0.75 * GAP * self.extent;
        self.taken.push(Bounds { min: at, max: at }.grown(reach));
    }

    /// Readings are here.
    pub(super) fn readings(&mut self, at: impl IntoIterator<Item = Point>) {
        self.readings.extend(at);
        if self.readings.len() > MOST_READINGS {
            self.readings.clear();
        }
    }

    /// Half the width and the height of a text's plate, mm.
    fn plate(&self, text: &str, size: f64) -> (f64, f64) {
        let half = 0.5 * size * text::width(text, 1.0) + PLATE;
        (
            half * self.extent,
            (size * LINE + 2.0 * PLATE) * self.extent,
        )
    }

    /// What stands against a text there; `None` where it can't stand.
    fn against(&self, plate: &Bounds) -> Option<usize> {
        if !inside(plate, &self.within) || self.taken.iter().any(|t| overlap(t, plate)) {
            return None;
        }
        let names = self.names.iter().filter(|n| overlap(n, plate)).count();
        let kept = ON_KEPT * self.kept_at(plate);
        Some(ON_NAME * names + ON_READING * self.readings_at(plate) + kept)
    }

    /// Where the word of a spot stands: below its mark or above it, else beside it, higher or lower.
    pub(super) fn word(&mut self, spot: Point, word: &str) -> (Point, Anchor) {
        let (half, line) = self.plate(word, WORD_SIZE);
        let gap = GAP * self.extent;
        let middle = |at: Point, anchor| match anchor {
            Anchor::Centre => at,
            Anchor::Left => Point::new(at.x + gap + half, at.y),
            Anchor::Right => Point::new(at.x - gap - half, at.y),
            Anchor::Above => Point::new(at.x, at.y + gap + 0.5 * line),
            Anchor::Below => Point::new(at.x, at.y - gap - 0.5 * line),
        };
        // not over the rim to the side
        let most = (self.within.max.x - half).max(self.within.min.x);
        let inward = Point::new(spot.x.max(self.within.min.x + half).min(most), spot.y);
        let beside = [0.0, -0.6, 0.6, -1.0, 1.0, -2.0, 2.0, -3.0, 3.0].map(|lines| {
            let at = Point::new(spot.x, spot.y + lines * line);
            [(at, Anchor::Left), (at, Anchor::Right)]
        });
        let best = [(inward, Anchor::Below), (inward, Anchor::Above)]
            .into_iter()
            .chain(beside.into_iter().flatten())
            .enumerate()
            .filter_map(|(i, (at, anchor))| {
                let plate = around(middle(at, anchor), half, line);
                Some((self.against(&plate)? + i, at, anchor, plate))
            })
            .min_by_key(|(against, ..)| *against);
        match best {
            Some((_, at, anchor, plate)) => {
                self.taken.push(plate);
                (at, anchor)
            }
            None => (spot, Anchor::Below),
        }
    }

    /// Labels on the lines, one a line, two on a long one, none on a loop too small to read or where
    /// there is no room. They keep away from each other and from spots and their words; from names and
    /// readings where that is possible.
    pub(super) fn on_contours(
        &mut self,
        contours: &[Contour],
        level_text: &dyn Fn(f64) -> String,
    ) -> Vec<Item> {
        let mut labels = Vec::new();
        for contour in contours {
            let text = level_text(contour.level);
            let (half, line) = self.plate(&text, SIZE);
            let length: f64 = contour.points.windows(2).map(|w| w[0].distance(w[1])).sum();
            if length < 6.0 * half {
                continue;
            }
            let (wanted, reach): (&[f64], _) = if length > 1.3 * self.extent {
                (&[0.25, 0.75], 0.22)
            } else {
                (&[0.5], 0.42)
            };
            for &middle in wanted {
                // from the wanted place outwards
                let best = (0..=20)
                    .flat_map(|i| [1.0, -1.0].map(|side| (i, side * reach * i as f64 / 20.0)))
                    .filter_map(|(i, off)| {
                        let at = along(&contour.points, (middle + off) * length)?;
                        let plate = around(at, half, line);
                        Some((self.against(&plate)? + i, at, plate))
                    })
                    .min_by_key(|(against, ..)| *against);
                if let Some((_, at, plate)) = best {
                    self.taken.push(plate);
                    labels.push(Item::Label {
                        at,
                        text: text.clone(),
                        anchor: Anchor::Centre,
                        role: Role::Contour,
                    });
                }
            }
        }
        labels
    }
}

fn around(middle: Point, half_width: f64, line: f64) -> Bounds {
    Bounds {
        min: Point::new(middle.x - half_width, middle.y - 0.5 * line),
        max: Point::new(middle.x + half_width, middle.y + 0.5 * line),
    }
}

fn inside(inner: &Bounds, outer: &Bounds) -> bool {
    inner.min.x >= outer.min.x
        && inner.max.x <= outer.max.x
        && inner.min.y >= outer.min.y
        && inner.max.y <= outer.max.y
}

fn overlap(a: &Bounds, b: &Bounds) -> bool {
    a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
}

/// The point at a distance along a line.
fn along(points: &[Point], mut distance: f64) -> Option<Point> {
    for pair in points.windows(2) {
        let step = pair[0].distance(pair[1]);
        if distance <= step && step > 0.0 {
            let t = distance / step;
            return Some(Point::new(
                pair[0].x + t * (pair[1].x - pair[0].x),
                pair[0].y + t * (pair[1].y - pair[0].y),
            ));
        }
        distance -= step;
    }
    points.last().copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(level: f64, y: f64, to: f64) -> Contour {
        Contour {
            level,
            points: (0..=20)
                .map(|i| Point::new(to * f64::from(i) / 20.0, y))
                .collect(),
        }
    }

    const BOUNDS: Bounds = Bounds {
        min: Point::new(0.0, 0.0),
        max: Point::new(100.0, 100.0),
    };

    fn values(room: &mut Room, contours: &[Contour]) -> Vec<Point> {
        room.on_contours(contours, &|e| format!("{e}"))
            .into_iter()
            .map(|item| match item {
                Item::Label { at, .. } => at,
                other => panic!("{other:?}"),
            })
            .collect()
    }

    /// 30 mm x 20 mm, its back edge's middle there.
    fn site(x: f64, y: f64) -> Bounds {
        Bounds {
            min: Point::new(x - 15.0, y - 20.0),
            max: Point::new(x + 15.0, y),
        }
    }

    #[test]
    fn a_name_covers_no_reading_where_there_is_room_beside_it() {
        let mut room = Room::new(BOUNDS);
        assert_eq!(room.name(site(50.0, 52.0), "B2"), Point::new(50.0, 52.0));
        room.readings([Point::new(50.0, 50.0)]);
        let at = room.name(site(50.0, 52.0), "B2");
        assert!((at.x - 50.0).abs() > 3.0 && at.y == 52.0, "{at:?}");
    }

    #[test]
    fn names_and_words_keep_off_a_small_area() {
        let small: Vec<Point> = (0..60)
            .map(|i| Point::new(40.0 + f64::from(i % 20), 44.0 + f64::from(i / 20)))
            .collect();
        let on = |plate: &Bounds| {
            let each = small.iter();
            each.filter(|&&p| overlap(plate, &Bounds { min: p, max: p }))
                .count()
        };
        let mut room = Room::new(BOUNDS);
        room.name(site(50.0, 48.0), "B2");
        assert!(on(&room.names[0]) > 0, "else nothing is shown by this");
        let mut room = Room::new(BOUNDS);
        room.keep_off(small.clone());
        room.name(site(50.0, 48.0), "B2");
        assert_eq!(on(&room.names[0]), 0);
        let spot = Point::new(50.0, 48.5);
        room.mark(spot);
        room.word(spot, "coldest");
        assert_eq!(on(&room.taken[1]), 0);
        let at = values(&mut room, &[line(80.0, 45.0, 100.0)]);
        assert!(at.iter().all(|p| !(38.0..62.0).contains(&p.x)), "{at:?}");
    }

    #[test]
    fn one_label_in_the_middle_and_none_on_a_speck() {
        let alone = |contour| values(&mut Room::new(BOUNDS), &[contour]);
        assert_eq!(alone(line(80.0, 50.0, 100.0)), [Point::new(50.0, 50.0)]);
        assert_eq!(alone(line(80.0, 50.0, 3.0)), []);
        let empty = Contour {
            level: 1.0,
            points: vec![],
        };
        assert_eq!(alone(empty), []);
    }

    #[test]
    fn values_keep_away_from_each_other_and_from_what_is_there() {
        let close = [line(80.0, 50.0, 100.0), line(81.0, 51.0, 100.0)];
        let at = values(&mut Room::new(BOUNDS), &close);
        assert_eq!(at.len(), 2);
        assert!((at[0].x - at[1].x).abs() > 3.0, "{at:?}");

        let middle = Point::new(50.0, 50.0);
        let mut with_mark = Room::new(BOUNDS);
        with_mark.mark(middle);
        let mut with_reading = Room::new(BOUNDS);
        with_reading.readings([middle]);
        let mut with_name = Room::new(BOUNDS);
        with_name.name(site(50.0, 52.0), "B2");
        for mut room in [with_mark, with_reading, with_name] {
            let at = values(&mut room, &close[..1]);
            assert!((at[0].x - 50.0).abs() > 2.0, "{at:?}");
        }
        // a value on a name is better than none
        let mut full = Room::new(BOUNDS);
        full.name(site(50.0, 52.0), &"a long name".repeat(9));
        assert_eq!(values(&mut full, &close[..1]), [middle]);
    }

    #[test]
    fn a_word_stays_inside_and_off_names() {
        let corner = Point::new(100.0, 100.0);
        let mut room = Room::new(BOUNDS);
        room.mark(corner);
        let (at, anchor) = room.word(corner, "coldest");
        assert_eq!(anchor, Anchor::Below);
        assert!(at.x < 97.0 && at.y == 100.0, "{at:?}");

        let mut room = Room::new(BOUNDS);
        room.mark(corner);
        room.name(site(90.0, 98.0), "a name");
        let (at, anchor) = room.word(corner, "coldest");
        assert!(anchor == Anchor::Right && at.y < 98.0, "{at:?} {anchor:?}");
        // the same place is not given twice
        assert_ne!(room.word(corner, "coldest"), (at, anchor));
    }
}
