//! An arrangement as sites of the fixture.

use super::{Part, Placed, Shift};
use crate::geometry::Point;
use crate::station::{SiteGroup, SiteLayout};

/// Sites for an arrangement: rows and columns where it is a full array, else one by one, numbered by rank, so that a
/// part-filled pallet is filled from the first. `height` is that of the bond line, mm; `taken` says which names are in use.
pub fn site_groups(
    placed: &Placed,
    part: &Part,
    height: f64,
    taken: &dyn Fn(&str) -> bool,
) -> Vec<SiteGroup> {
    let group = |name: String, turned: bool, layout: SiteLayout| SiteGroup {
        name,
        shape: part.shape.clone(),
        turn: if turned { 90.0 } else { 0.0 },
        height,
        top: None,
        bond: None,
        layout,
    };
    if let Some((first, columns, rows, pitch, turned)) = full(placed) {
        // names as free as they come: A1, else P-A1, P2-A1
        let mut prefix = String::new();
        let mut n = 1;
        let grid = |prefix: &str| {
            let layout = SiteLayout::Grid {
                first,
                columns,
                rows,
                pitch_x: pitch.x,
                pitch_y: pitch.y,
            };
            group(prefix.to_owned(), turned, layout)
        };
        let clashes = |prefix: &str| {
            let sites = grid(prefix).written_out(0);
            sites.iter().any(|s| taken(&s.name))
        };
        while clashes(&prefix) {
            prefix = if n == 1 {
                "P-".into()
            } else {
                format!("P{n}-")
            };
            n += 1;
        }
        return vec![grid(&prefix)];
    }
    let mut sites: Vec<_> = placed.sites.iter().collect();
    sites.sort_by_key(|s| s.rank);
    let mut number = 0;
    sites
        .into_iter()
        .map(|site| {
            let name = loop {
                number += 1;
                let name = format!("P{number}");
                if !taken(&name) {
                    break name;
                }
            };
            group(
                name,
                site.turned,
                SiteLayout::Single {
                    centre: site.centre,
                },
            )
        })
        .collect()
}

/// The array, where no place of it is left out: front left centre, columns, rows, pitches, whether parts are turned.
fn full(placed: &Placed) -> Option<(Point, u32, u32, Point, bool)> {
    let lattice = placed.lattice.filter(|l| l.shifted == Shift::None)?;
    let (mut min, mut max) = (lattice.first, lattice.first);
    for site in &placed.sites {
        min = Point::new(min.x.min(site.centre.x), min.y.min(site.centre.y));
        max = Point::new(max.x.max(site.centre.x), max.y.max(site.centre.y));
    }
    let count = |from: f64, to: f64, pitch: f64| ((to - from) / pitch).round() as u32 + 1;
    let columns = count(min.x, max.x, lattice.pitch_x);
    let rows = count(min.y, max.y, lattice.pitch_y);
    let all = u64::from(columns) * u64::from(rows) == placed.sites.len() as u64;
    let pitch = Point::new(lattice.pitch_x, lattice.pitch_y);
    (all && placed.sites.len() > 1).then_some((min, columns, rows, pitch, lattice.turned))
}
