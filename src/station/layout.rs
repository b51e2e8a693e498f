//! Rows and columns written out: sites and positions with their names.

use super::numbers::MOST_IN_A_ROW;
use super::{Plan, PlanLayout, Position, SiteGroup, SiteLayout, Station};
use crate::geometry::{Footprint, Place, Point, Shape};

/// One part's place, written out of its [`SiteGroup`].
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Such as D1.
    pub name: String,
    /// The part's outline on the plan.
    pub footprint: Footprint,
    /// Of the bond line above the fixture's base, mm.
    pub height: f64,
    /// Which group of the station it comes from.
    pub group: usize,
}

/// The letters of a row, counted from 0: A to Z, then AA, AB ...
pub fn row_letters(mut row: u32) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(b'A' + (row % 26) as u8);
        if row < 26 {
            break;
        }
        row = row / 26 - 1;
    }
    letters.reverse();
    letters.into_iter().map(char::from).collect()
}

impl SiteGroup {
    /// Centre of the group's only or first part: where the group is taken hold of.
    pub fn first_centre(&self) -> Point {
        match self.layout {
            SiteLayout::Single { centre } => centre,
            SiteLayout::Grid { first, .. } => first,
            SiteLayout::Ring {
                centre,
                radius,
                from,
                ..
            } => on_circle(centre, radius, from),
        }
    }

    /// What the part in a row and column is called, both counted from 0: `S-A1`, and with a blank where name and letter
    /// would run into one another, `Holder A1`.
    pub fn name_in(&self, row: u32, column: u32) -> String {
        let cell = cell(row, column);
        let prefix = self.name.as_str();
        let runs_on = prefix.ends_with(char::is_alphanumeric);
        format!("{prefix}{}{cell}", if runs_on { " " } else { "" })
    }

    /// What the part of a ring is called, counted from 0: `S-1`, and with a blank as in [`name_in`](Self::name_in).
    pub fn name_on_ring(&self, index: u32) -> String {
        let runs_on = self.name.ends_with(char::is_alphanumeric);
        let blank = if runs_on { " " } else { "" };
        format!("{}{blank}{}", self.name, index.saturating_add(1))
    }

    /// Moves the whole group, mm.
    pub fn move_by(&mut self, x: f64, y: f64) {
        let (SiteLayout::Single { centre: at }
        | SiteLayout::Grid { first: at, .. }
        | SiteLayout::Ring { centre: at, .. }) = &mut self.layout;
        *at = Point::new(at.x + x, at.y + y);
    }

    /// The group's sites; `group` is its index in the station.
    pub fn written_out(&self, group: usize) -> Vec<Site> {
        let site = |name: String, centre: Point| Site {
            name,
            footprint: Footprint {
                shape: self.shape.clone(),
                centre,
                turn: self.turn,
            },
            height: self.height,
            group,
        };
        match self.layout {
            SiteLayout::Single { centre } => vec![site(self.name.clone(), centre)],
            SiteLayout::Grid {
                first,
                columns,
                rows,
                pitch_x,
                pitch_y,
            } => grid(columns, rows)
                .map(|(column, row)| {
                    site(
                        self.name_in(row, column),
                        Point::new(
                            first.x + f64::from(column) * pitch_x,
                            first.y + f64::from(row) * pitch_y,
                        ),
                    )
                })
                .collect(),
            SiteLayout::Ring {
                centre,
                radius,
                count,
                from,
                turned,
            } => (0..count.min(MOST_IN_A_ROW))
                .map(|i| {
                    let angle = from + 360.0 * f64::from(i) / f64::from(count.max(1));
                    let at = on_circle(centre, radius, angle);
                    let mut site = site(self.name_on_ring(i), at);
                    if turned {
                        site.footprint.turn += angle;
                    }
                    site
                })
                .collect(),
        }
    }
}

/// The point of a circle at an angle, degrees counter-clockwise from the x axis.
fn on_circle(centre: Point, radius: f64, angle: f64) -> Point {
    let (sin, cos) = angle.to_radians().sin_cos();
    Point::new(centre.x + radius * cos, centre.y + radius * sin)
}

/// `A1`
fn cell(row: u32, column: u32) -> String {
    format!("{}{}", row_letters(row), column.saturating_add(1))
}

/// The radius of the outermost ring within a rim: as far out as the detector's body (half its larger side) and a margin
/// allow.
fn within(radius: f64, body: f64) -> f64 {
    const MARGIN: f64 = 10.0;
    // rounding moves a place by less than that
    const ROUNDED: f64 = 0.5;
    (radius - body.max(MARGIN) - ROUNDED).max(0.25 * radius)
}

/// A middle position and two rings of a round plan.
fn rings(centre: Point, outermost: f64) -> PlanLayout {
    const FIRST: u32 = 8;
    let ring = |ring: u32| {
        let (count, r) = (FIRST * ring, 0.5 * outermost * f64::from(ring));
        (0..count).map(move |i| {
            let angle = std::f64::consts::TAU * f64::from(i) / f64::from(count);
            // whole half millimetres are found on a plate
            let half = |v: f64| (2.0 * v).round() / 2.0;
            Position {
                name: format!("P-{}", cell(ring, i)),
                at: Point::new(
                    half(centre.x + r * angle.cos()),
                    half(centre.y + r * angle.sin()),
                ),
            }
        })
    };
    let middle = Position {
        name: format!("P-{}", cell(0, 0)),
        at: centre,
    };
    PlanLayout::ByHand([middle].into_iter().chain(ring(1)).chain(ring(2)).collect())
}

/// Column and row of each cell, row by row from the front left.
fn grid(columns: u32, rows: u32) -> impl Iterator<Item = (u32, u32)> {
    let (columns, rows) = (columns.min(MOST_IN_A_ROW), rows.min(MOST_IN_A_ROW));
    (0..rows).flat_map(move |row| (0..columns).map(move |column| (column, row)))
}

impl Plan {
    /// The positions with their names, row by row from the front left for rows and columns. A
    /// position keeps its row and column in its name when others are left out.
    pub fn positions(&self, fixture: &Footprint) -> Vec<Position> {
        match &self.layout {
            PlanLayout::ByHand(positions) => positions.clone(),
            &PlanLayout::Grid {
                columns,
                rows,
                margin,
            } => {
                let bounds = fixture.bounds().grown(-margin);
                let along = |i: u32, n: u32, from: f64, extent: f64| {
                    if n < 2 {
                        from + 0.5 * extent
                    } else {
                        from + extent * f64::from(i) / f64::from(n - 1)
                    }
                };
                grid(columns, rows)
                    .map(|(column, row)| Position {
                        name: cell(row, column),
                        at: Point::new(
                            along(column, columns, bounds.min.x, bounds.width()),
                            along(row, rows, bounds.min.y, bounds.depth()),
                        ),
                    })
                    .filter(|p| self.plate.is_some() || fixture.contains(p.at))
                    .collect()
            }
        }
    }
}

impl Station {
    /// All sites, written out.
    pub fn all_sites(&self) -> Vec<Site> {
        self.sites
            .iter()
            .enumerate()
            .flat_map(|(i, group)| group.written_out(i))
            .collect()
    }

    /// The plan's positions on this fixture.
    pub fn positions(&self) -> Vec<Position> {
        self.plan.positions(&self.fixture.footprint())
    }

    /// Every position at every height, heights in the plan's order: the places of a full round.
    pub fn planned_places(&self) -> Vec<(String, Place)> {
        let positions = self.positions();
        self.plan
            .heights
            .iter()
            .flat_map(|&h| {
                positions
                    .iter()
                    .map(move |p| (p.name.clone(), p.at.at_height(h)))
            })
            .collect()
    }
}

impl Station {
    /// The positions that a plan begins with: rows and columns, and on a round fixture rings, for its rim leaves the corners
    /// of rows no room. On a plate the outermost lie on the rim, for there the coldest spot mostly is.
    pub fn layout_to_begin_with(&self) -> PlanLayout {
        let on_plate = self.plan.plate.is_some();
        let Shape::Circle { diameter } = self.fixture.shape else {
            return match Plan::begin().layout {
                PlanLayout::Grid { columns, rows, .. } if on_plate => PlanLayout::Grid {
                    columns,
                    rows,
                    margin: 0.0,
                },
                layout => layout,
            };
        };
        let centre = self.fixture.footprint().centre;
        if on_plate {
            return rings(centre, 0.5 * diameter);
        }
        let body = self.plan_radiometer().map_or(0.0, |r| {
            let (width, depth) = r.body.size();
            0.5 * width.max(depth)
        });
        rings(centre, within(0.5 * diameter, body))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_have_letters_like_a_spreadsheet() {
        let names = [0, 1, 25, 26, 27, 701, 702].map(row_letters);
        assert_eq!(names, ["A", "B", "Z", "AA", "AB", "ZZ", "AAA"]);
    }

    #[test]
    fn a_ring_has_its_parts_evenly_around_its_centre() {
        let mut group = SiteGroup {
            name: "S-".into(),
            shape: Shape::Rectangle {
                width: 20.0,
                depth: 10.0,
            },
            turn: 5.0,
            height: 0.0,
            top: None,
            bond: None,
            layout: SiteLayout::Ring {
                centre: Point::new(100.0, 80.0),
                radius: 40.0,
                count: 6,
                from: 90.0,
                turned: true,
            },
        };
        let sites = group.written_out(0);
        let names: Vec<_> = sites.iter().map(|s| s.name.as_str()).collect();
        assert_eq!(names, ["S-1", "S-2", "S-3", "S-4", "S-5", "S-6"]);
        assert!(sites[0].footprint.centre.distance(Point::new(100.0, 120.0)) < 1e-9);
        assert!(sites[3].footprint.centre.distance(Point::new(100.0, 40.0)) < 1e-9);
        assert_eq!(group.first_centre(), sites[0].footprint.centre);
        let turns: Vec<f64> = sites.iter().map(|s| s.footprint.turn).collect();
        assert_eq!(turns[..2], [95.0, 155.0]);
        // neighbours of six lie as far from each other as from the centre
        let apart = sites[0]
            .footprint
            .centre
            .distance(sites[1].footprint.centre);
        assert!((apart - 40.0).abs() < 1e-9);
        group.move_by(10.0, -5.0);
        let moved = &group.written_out(0)[3].footprint.centre;
        assert!(moved.distance(Point::new(110.0, 35.0)) < 1e-9);
    }

    #[test]
    fn a_grid_plan_keeps_its_margin() {
        let station = Station::new(
            "s",
            Shape::Rectangle {
                width: 180.0,
                depth: 120.0,
            },
            75.0,
        );
        let positions = station.positions();
        assert_eq!(positions.len(), 25);
        assert_eq!(
            (positions[0].name.as_str(), positions[0].at),
            ("A1", Point::new(10.0, 10.0))
        );
        assert_eq!(positions[24].at, Point::new(170.0, 110.0));
    }

    #[test]
    fn corners_of_a_round_fixture_are_left_out() {
        let mut station = Station::new("s", Shape::Circle { diameter: 100.0 }, 75.0);
        station.plan.layout = Plan::begin().layout;
        let names: Vec<_> = station.positions().into_iter().map(|p| p.name).collect();
        assert!(!names.contains(&"A1".to_owned()));
        assert!(names.contains(&"A3".to_owned()));
    }

    #[test]
    fn a_round_plan_begins_with_rings_that_leave_the_body_room() {
        let mut station = Station::new("s", Shape::Circle { diameter: 180.0 }, 75.0);
        let body = Shape::Circle { diameter: 30.0 };
        station
            .radiometers
            .push(crate::station::Radiometer::new("R", body));
        station.plan.radiometer = Some("R".into());
        station.plan.layout = station.layout_to_begin_with();
        let positions = station.positions();
        assert_eq!(positions.len(), 1 + 8 + 16);
        assert!(
            positions.iter().all(|p| station.can_sit(p.at)),
            "{positions:?}"
        );
        assert_eq!(positions[24].name, "P-C16");
        let far = positions.iter().map(|p| p.at.distance(positions[0].at));
        let far = far.fold(0.0, f64::max);
        assert!((74.0..=75.0).contains(&far), "{far}");
    }
}
