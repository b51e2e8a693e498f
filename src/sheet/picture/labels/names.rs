//! Names of sites and keep-outs on the plan, where numbers and names of stops come first.

use super::{GAP, PLATE, Room, around, inside, overlap};
use crate::geometry::{Bounds, Footprint, Point};
use crate::sheet::drawing::{Anchor, Item, Role};
use crate::station::Station;

/// Font size as a share of the fixture's extent: the cautions leave the plan's picture less than a page.
const SIZE: f64 = 0.027;

/// What is written at a stop.
pub(in crate::sheet) struct Stop<'a> {
    /// The middle of the aperture.
    pub(in crate::sheet) at: Point,
    /// Written above it.
    pub(in crate::sheet) number: String,
    /// Written to the right of it.
    pub(in crate::sheet) name: &'a str,
}

/// A label for each site and each keep-out that has room for its name: inside it or close beside
/// it. None covers a stop, what is written there, or another; what has no room has no label.
pub(in crate::sheet) fn beside_stops(station: &Station, stops: &[Stop<'_>]) -> Vec<Item> {
    let bounds = station.fixture.footprint().bounds();
    let mut room = Room::new(bounds);
    room.within = bounds.grown(0.04 * room.extent);
    let gap = GAP * room.extent;
    for stop in stops {
        let at = stop.at;
        room.taken
            .push(Bounds { min: at, max: at }.grown(0.6 * gap));
        let (half, line) = room.plate(&stop.number, SIZE);
        let above = Point::new(at.x, at.y + gap + 0.5 * line);
        room.taken.push(around(above, half, line));
        let (half, line) = room.plate(stop.name, SIZE);
        let right = Point::new(at.x + gap + half, at.y);
        room.taken.push(around(right, half, line));
    }
    let sites = station.all_sites();
    let sites = sites.iter().map(|s| (&s.footprint, &s.name, Role::Site));
    let keep_outs = station.keep_outs.iter();
    let keep_outs = keep_outs.map(|k| (&k.footprint, &k.name, Role::KeepOut));
    let mut items = Vec::new();
    for (footprint, name, role) in sites.chain(keep_outs) {
        let name = name.trim();
        if name.is_empty() {
            continue;
        }
        let (half, line) = room.plate(name, SIZE);
        let places = places(footprint, half, line, PLATE * room.extent);
        let free = places.into_iter().find(|at| {
            let plate = around(*at, half, line);
            inside(&plate, &room.within) && !room.taken.iter().any(|t| overlap(t, &plate))
        });
        if let Some(at) = free {
            room.taken.push(around(at, half, line));
            items.push(Item::Label {
                at,
                text: name.to_owned(),
                anchor: Anchor::Centre,
                role,
            });
        }
    }
    items
}

/// Middles of plates for a name, the best first: inside along the back, along the front, across the middle; then around
/// it.
fn places(footprint: &Footprint, half: f64, line: f64, rim: f64) -> Vec<Point> {
    let (bounds, middle) = (footprint.bounds(), footprint.bounds().centre());
    let free = Bounds {
        min: Point::new(bounds.min.x + half + rim, bounds.min.y + 0.5 * line + rim),
        max: Point::new(bounds.max.x - half - rim, bounds.max.y - 0.5 * line - rim),
    };
    let mut all = Vec::new();
    if free.min.x <= free.max.x && free.min.y <= free.max.y {
        for y in [free.max.y, free.min.y, middle.y] {
            all.extend([middle.x, free.min.x, free.max.x].map(|x| Point::new(x, y)));
        }
        // between stops, from the middle outwards
        let shares = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9];
        let along = |from: f64, to: f64| shares.map(|share| from + share * (to - from));
        for y in along(free.min.y, free.max.y) {
            all.extend(along(free.min.x, free.max.x).map(|x| Point::new(x, y)));
        }
        // the plate lies within the outline where its corners do
        all.retain(|&at| {
            let plate = around(at, half, line);
            let corners = [
                plate.min,
                plate.max,
                Point::new(plate.min.x, plate.max.y),
                Point::new(plate.max.x, plate.min.y),
            ];
            corners.iter().all(|p| footprint.contains(*p))
        });
    }
    let (up, side) = (0.5 * line + 2.0 * rim, half + 2.0 * rim);
    all.extend([
        Point::new(middle.x, bounds.max.y + up),
        Point::new(middle.x, bounds.min.y - up),
        Point::new(bounds.max.x + side, middle.y),
        Point::new(bounds.min.x - side, middle.y),
    ]);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;
    use crate::station::{Bars, KeepOut, SiteGroup, SiteLayout};

    fn at(items: &[Item], name: &str) -> Option<Point> {
        items.iter().find_map(|item| match item {
            Item::Label { at, text, .. } if text == name => Some(*at),
            _ => None,
        })
    }

    #[test]
    fn names_give_way_to_stops_and_are_left_out_without_room() {
        let rectangle = |width, depth| Shape::Rectangle { width, depth };
        let mut station = Station::new("s", rectangle(200.0, 200.0), 100.0);
        let site = |name: &str, shape, x, y| SiteGroup {
            name: name.into(),
            shape,
            turn: 0.0,
            height: 5.0,
            top: None,
            bond: None,
            layout: SiteLayout::Single {
                centre: Point::new(x, y),
            },
        };
        station.sites = vec![
            site("Tray", rectangle(60.0, 40.0), 50.0, 150.0),
            site("Chip", rectangle(6.0, 6.0), 150.0, 150.0),
        ];
        station.keep_outs.push(KeepOut {
            name: "Post".into(),
            footprint: Footprint::new(Shape::Circle { diameter: 8.0 }, Point::new(100.0, 50.0)),
            bars: Bars::Both,
            height: None,
            stays: false,
        });
        let free = beside_stops(&station, &[]);
        let (tray, post) = (at(&free, "Tray"), at(&free, "Post"));
        assert!(tray.is_some_and(|p| p.x == 50.0 && p.y > 160.0), "{tray:?}");
        assert!(post.is_some_and(|p| p.x == 100.0 && p.y > 54.0), "{post:?}");
        let chip = at(&free, "Chip");
        assert!(
            chip.is_some_and(|p| p.x == 150.0 && p.y > 153.0),
            "{chip:?}"
        );
        // a stop where each of the two names stood
        let stops = [tray, post].map(|p| Stop {
            at: p.unwrap_or_default(),
            number: "1".into(),
            name: "A1",
        });
        let moved = beside_stops(&station, &stops);
        assert!(at(&moved, "Tray").is_some_and(|p| Some(p) != tray));
        assert!(at(&moved, "Post").is_some_and(|p| p.y < 46.0));
        // stops everywhere
        let stops: Vec<Stop<'_>> = (0..400)
            .map(|i| Stop {
                at: Point::new(10.0 * f64::from(i % 20), 10.0 * f64::from(i / 20)),
                number: "1".into(),
                name: "A1",
            })
            .collect();
        assert_eq!(beside_stops(&station, &stops), []);
    }
}
