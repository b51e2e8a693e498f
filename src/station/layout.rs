//! Rows and columns written out: sites and positions with their names.

use super::{Plan, PlanLayout, Position, SiteGroup, SiteLayout, Station};
use crate::geometry::{Footprint, Place, Point};

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

/// More rows or columns than this are refused by [`super::Station::check`] and never written out.
pub(super) const MOST_IN_A_ROW: u32 = 400;

impl SiteGroup {
    /// Centre of the group's only or first part: where the group is taken hold of.
    pub fn first_centre(&self) -> Point {
        match self.layout {
            SiteLayout::Single { centre } => centre,
            SiteLayout::Grid { first, .. } => first,
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
        }
    }
}

/// `A1`
fn cell(row: u32, column: u32) -> String {
    format!("{}{}", row_letters(row), column.saturating_add(1))
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
                    .filter(|p| fixture.contains(p.at))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;

    #[test]
    fn rows_have_letters_like_a_spreadsheet() {
        let names = [0, 1, 25, 26, 27, 701, 702].map(row_letters);
        assert_eq!(names, ["A", "B", "Z", "AA", "AB", "ZZ", "AAA"]);
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
        let station = Station::new("s", Shape::Circle { diameter: 100.0 }, 75.0);
        let names: Vec<_> = station.positions().into_iter().map(|p| p.name).collect();
        assert!(!names.contains(&"A1".to_owned()));
        assert!(names.contains(&"A3".to_owned()));
    }
}
