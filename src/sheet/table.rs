//! Tables on paper: a heading row, rows that wrap inside their cells, numbers aligned on their
//! decimal point.

use super::page::{Align, Page};
use super::text;

/// How the cells of a column stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stand {
    /// To the left, wrapped.
    Left,
    /// By the decimal point.
    Point,
}

/// One column.
pub(super) struct Column {
    /// Its heading; wraps.
    pub(super) heading: String,
    /// Its share of the table's width.
    pub(super) share: f64,
    /// How its cells stand.
    pub(super) stand: Stand,
}

/// A table.
pub(super) struct Table {
    pub(super) columns: Vec<Column>,
    pub(super) rows: Vec<Vec<String>>,
    /// Least height of a row, mm: more than its text needs where people write by hand.
    pub(super) row_height: f64,
    /// Upright lines between the columns.
    pub(super) ruled: bool,
}

pub(super) const SIZE: f64 = 2.9;
const HEADING: f64 = 2.5;
const LINE: f64 = 3.7;
const PAD: f64 = 1.6;

/// A table fitted to a width: columns placed, ready to be written row by row.
pub(super) struct Fitted<'a> {
    table: &'a Table,
    /// Left edges, and the right edge of the last.
    edges: Vec<f64>,
    /// For columns by the point: the widest text from the point on.
    tails: Vec<f64>,
}

impl Table {
    /// A table to be read: its headings, the columns' shares of the width, those that stand by the decimal point.
    pub(super) fn to_read(
        headings: &[impl AsRef<str>],
        shares: &[f64],
        by_point: &[usize],
        row_height: f64,
        rows: Vec<Vec<String>>,
    ) -> Self {
        let columns = headings.iter().zip(shares).enumerate();
        Self {
            columns: columns
                .map(|(i, (heading, share))| Column {
                    heading: heading.as_ref().to_owned(),
                    share: *share,
                    stand: if by_point.contains(&i) {
                        Stand::Point
                    } else {
                        Stand::Left
                    },
                })
                .collect(),
            rows,
            row_height,
            ruled: false,
        }
    }

    pub(super) fn fitted(&self, left: f64, right: f64) -> Fitted<'_> {
        let all: f64 = self.columns.iter().map(|c| c.share).sum();
        let mut edges = vec![left];
        for column in &self.columns {
            edges.push(edges[edges.len() - 1] + (right - left) * column.share / all);
        }
        let tails = (0..self.columns.len())
            .map(|i| {
                self.rows
                    .iter()
                    .filter_map(|row| row.get(i))
                    .map(|cell| text::width(from_point(cell), SIZE))
                    .fold(0.0, f64::max)
            })
            .collect();
        Fitted {
            table: self,
            edges,
            tails,
        }
    }
}

/// What stands from the first decimal point, or the end of the first number, on.
fn from_point(cell: &str) -> &str {
    let end = cell
        .find(|c: char| !c.is_ascii_digit() && c != '-')
        .unwrap_or(cell.len());
    &cell[end..]
}

impl Fitted<'_> {
    fn lines(&self, column: usize, cell: &str, size: f64) -> Vec<String> {
        text::wrap(
            cell,
            size,
            self.edges[column + 1] - self.edges[column] - 2.0 * PAD,
        )
    }

    /// Height of the heading row, mm.
    pub(super) fn heading_height(&self) -> f64 {
        let most = self
            .table
            .columns
            .iter()
            .enumerate()
            .map(|(i, c)| self.lines(i, &c.heading, HEADING).len())
            .max()
            .unwrap_or(1);
        most as f64 * 3.2 + 2.0
    }

    /// Height of a row, mm.
    pub(super) fn row_height(&self, row: usize) -> f64 {
        let most = self.table.rows[row]
            .iter()
            .enumerate()
            .map(|(i, cell)| match self.table.columns[i].stand {
                Stand::Left => self.lines(i, cell, SIZE).len(),
                Stand::Point => 1,
            })
            .max()
            .unwrap_or(1);
        (most as f64 * LINE + 1.0).max(self.table.row_height)
    }

    /// Writes the heading from `top` down; returns its lower edge.
    pub(super) fn put_heading(&self, page: &mut Page, top: f64) -> f64 {
        for (i, column) in self.table.columns.iter().enumerate() {
            for (k, line) in self
                .lines(i, &column.heading, HEADING)
                .into_iter()
                .enumerate()
            {
                let y = top + 3.0 + 3.2 * k as f64;
                match column.stand {
                    Stand::Left => page.text(self.edges[i] + PAD, y, line, HEADING, Align::Left),
                    Stand::Point => {
                        page.text(self.edges[i + 1] - PAD, y, line, HEADING, Align::Right);
                    }
                }
            }
        }
        if self.table.ruled {
            page.line([self.edges[0], top], [self.right(), top], 0.1);
        }
        let bottom = top + self.heading_height();
        page.line([self.edges[0], bottom], [self.right(), bottom], 0.3);
        self.rule(page, top, bottom);
        bottom
    }

    /// Writes a row from `top` down; returns its lower edge.
    pub(super) fn put_row(&self, page: &mut Page, row: usize, top: f64) -> f64 {
        let bottom = top + self.row_height(row);
        let baseline = if self.table.ruled {
            0.5 * (top + bottom) + 0.5 * text::CAPITAL * SIZE
        } else {
            top + 3.3
        };
        for (i, cell) in self.table.rows[row].iter().enumerate() {
            let lines = match self.table.columns[i].stand {
                Stand::Left => self.lines(i, cell, SIZE),
                Stand::Point => vec![cell.clone()],
            };
            let first = if self.table.ruled {
                baseline - 0.5 * LINE * (lines.len() as f64 - 1.0)
            } else {
                baseline
            };
            for (k, line) in lines.into_iter().enumerate() {
                let y = first + LINE * k as f64;
                match self.table.columns[i].stand {
                    Stand::Left => page.text(self.edges[i] + PAD, y, line, SIZE, Align::Left),
                    Stand::Point => {
                        let tail = from_point(&line);
                        let after = self.tails[i] - text::width(tail, SIZE);
                        page.text(self.edges[i + 1] - PAD - after, y, line, SIZE, Align::Right);
                    }
                }
            }
        }
        page.line([self.edges[0], bottom], [self.right(), bottom], 0.1);
        self.rule(page, top, bottom);
        bottom
    }

    fn right(&self) -> f64 {
        self.edges[self.edges.len() - 1]
    }

    fn rule(&self, page: &mut Page, top: f64, bottom: f64) {
        if self.table.ruled {
            for &x in &self.edges {
                page.line([x, top], [x, bottom], 0.1);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_point_ends_the_first_number() {
        assert_eq!(from_point("81.2 ± 1.1"), ".2 ± 1.1");
        assert_eq!(from_point("-3"), "");
        assert_eq!(from_point("none"), "none");
    }
}
