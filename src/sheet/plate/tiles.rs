//! A drawing at true scale over sheets of paper that are put together.

use crate::geometry::{Bounds, Point};
use crate::sheet::drawing::{Drawing, Item};
use crate::sheet::page::{Align, Frame, Page, PageItem, PaperSize, Placed};

/// From the paper's edge to what is drawn: printers leave so much white at most, and the marks need room, mm.
const BESIDE: f64 = 12.0;
const ABOVE: f64 = 27.0;
const BELOW: f64 = 19.0;
/// So much of a sheet is drawn on the next one too, mm.
const OVERLAP: f64 = 10.0;
/// The bar that is measured to see that the printer keeps the scale, mm.
const BAR: f64 = 100.0;
const MARK: f64 = 5.0;

/// One sheet of a template.
pub(super) struct Tile {
    /// What is on it, mm from the datum; so much is on no other one, but for the strip along the right and the back.
    drawing: Drawing,
    /// What is left of it when it is cut along its marks.
    pub(super) trimmed: Bounds,
    column: usize,
    row: usize,
    columns: usize,
    rows: usize,
}

/// Cuts a drawing into sheets, row by row from the front left.
pub(super) fn cut(drawing: &Drawing, paper: PaperSize) -> Vec<Tile> {
    let (width, height) = paper.size();
    let room = (width - 2.0 * BESIDE, height - ABOVE - BELOW);
    let all = drawing.bounds;
    let (columns, rows) = (many(all.width(), room.0), many(all.depth(), room.1));
    let end = |index: usize, count: usize, from: f64, room: f64, to: f64, more: f64| {
        if index + 1 == count {
            to
        } else {
            from + (index + 1) as f64 * (room - OVERLAP) + more
        }
    };
    let sheet = |column: usize, row: usize| {
        let min = Point::new(
            all.min.x + column as f64 * (room.0 - OVERLAP),
            all.min.y + row as f64 * (room.1 - OVERLAP),
        );
        let max = |more| {
            Point::new(
                end(column, columns, all.min.x, room.0, all.max.x, more),
                end(row, rows, all.min.y, room.1, all.max.y, more),
            )
        };
        let bounds = Bounds {
            min,
            max: max(OVERLAP),
        };
        Tile {
            drawing: within(drawing, bounds),
            trimmed: Bounds { min, max: max(0.0) },
            column,
            row,
            columns,
            rows,
        }
    };
    (0..rows)
        .flat_map(|row| (0..columns).map(move |column| (column, row)))
        .map(|(column, row)| sheet(column, row))
        .collect()
}

/// How many sheets cover an extent.
fn many(extent: f64, room: f64) -> usize {
    (((extent - OVERLAP) / (room - OVERLAP)).ceil()).clamp(1.0, 100.0) as usize
}

/// The part of a drawing within bounds; lines are clipped when they are painted.
fn within(drawing: &Drawing, bounds: Bounds) -> Drawing {
    let inside = |p: &Point| {
        (bounds.min.x..=bounds.max.x).contains(&p.x) && (bounds.min.y..=bounds.max.y).contains(&p.y)
    };
    let items = drawing.items.iter().filter(|item| match item {
        Item::Mark { at, .. } | Item::Label { at, .. } => inside(at),
        Item::Field { .. } | Item::Path { .. } => true,
    });
    Drawing {
        bounds,
        items: items.cloned().collect(),
    }
}

impl Tile {
    /// The sheet.
    pub(super) fn page(&self, heading: &str, paper: PaperSize) -> Page {
        let mut page = Page::new(paper);
        let (width, height) = paper.size();
        page.heavy(BESIDE, 12.0, heading, 3.5);
        let which = format!(
            "sheet {} of {} from the left, {} of {} from the front",
            self.column + 1,
            self.columns,
            self.row + 1,
            self.rows
        );
        page.text(width - BESIDE, 12.0, which, 2.7, Align::Right);
        page.items.push(PageItem::Rectangle {
            frame: Frame {
                x: BESIDE,
                y: 15.5,
                width: BAR,
                height: 1.5,
            },
            rim: None,
            fill: Some([0, 0, 0]),
        });
        page.text(
            BESIDE + BAR + 2.0,
            17.0,
            "must measure 100 mm: print at 100 %",
            2.7,
            Align::Left,
        );
        let bounds = self.drawing.bounds;
        let frame = Frame {
            x: BESIDE,
            y: height - BELOW - bounds.depth(),
            width: bounds.width(),
            height: bounds.depth(),
        };
        self.marks(&mut page, frame);
        page.items.push(PageItem::Drawing(Placed {
            drawing: self.drawing.clone(),
            frame,
            scale: 1.0,
        }));
        page
    }

    /// Where the sheet is cut, and where the next one is laid on.
    fn marks(&self, page: &mut Page, frame: Frame) {
        let (from, to) = (self.trimmed.min, self.trimmed.max);
        let x = |mm: f64| frame.x + mm - from.x;
        let y = |mm: f64| frame.bottom() - (mm - from.y);
        for at in [from.x, to.x] {
            let x = x(at);
            page.line([x, frame.y - 1.0], [x, frame.y - 1.0 - MARK], 0.15);
            page.line(
                [x, frame.bottom() + 1.0],
                [x, frame.bottom() + 1.0 + MARK],
                0.15,
            );
        }
        for at in [from.y, to.y] {
            let y = y(at);
            page.line([frame.x - 1.0, y], [frame.x - 1.0 - MARK, y], 0.15);
            page.line(
                [frame.right() + 1.0, y],
                [frame.right() + 1.0 + MARK, y],
                0.15,
            );
        }
        let mut said = Vec::new();
        if self.column > 0 || self.row > 0 {
            said.push("cut off what lies left of and below the marks");
        }
        if self.column + 1 < self.columns || self.row + 1 < self.rows {
            said.push(
                "lay the next sheets on the strips beyond the marks at the right and the top",
            );
        }
        if !said.is_empty() {
            let mut text = said.join("; ");
            if let Some(first) = text.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            page.text(BESIDE, frame.y - 1.0 - MARK - 1.2, text, 2.4, Align::Left);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(width: f64, depth: f64) -> Drawing {
        Drawing {
            bounds: Bounds {
                min: Point::new(-25.0, -20.0),
                max: Point::new(width - 25.0, depth - 20.0),
            },
            items: Vec::new(),
        }
    }

    #[test]
    fn sheets_cover_all_once_and_overlap_by_10_mm() {
        for (width, depth, columns, rows) in [
            (186.0, 251.0, 1, 1),
            (187.0, 100.0, 2, 1),
            (420.0, 300.0, 3, 2),
        ] {
            let drawing = drawing(width, depth);
            let tiles = cut(&drawing, PaperSize::A4);
            assert_eq!(tiles.len(), columns * rows);
            let area: f64 = (tiles.iter())
                .map(|t| t.trimmed.width() * t.trimmed.depth())
                .sum();
            assert!((area - width * depth).abs() < 1e-6);
            for tile in &tiles {
                let whole = tile.drawing.bounds;
                assert!(whole.width() <= 186.0 + 1e-9 && whole.depth() <= 251.0 + 1e-9);
                let more = whole.max.x - tile.trimmed.max.x;
                let last = tile.column + 1 == columns;
                assert!((more - if last { 0.0 } else { 10.0 }).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_sheet_is_at_true_scale_and_its_bar_is_100_mm() {
        for paper in [PaperSize::A4, PaperSize::Letter] {
            for tile in cut(&drawing(420.0, 300.0), paper) {
                let page = tile.page("T", paper);
                let inside = |frame: &Frame| {
                    frame.x > 5.0
                        && frame.y > 5.0
                        && frame.right() < page.width - 5.0
                        && frame.bottom() < page.height - 5.0
                };
                let mut bars = 0;
                for item in &page.items {
                    match item {
                        PageItem::Drawing(placed) => {
                            assert!(placed.scale == 1.0 && inside(&placed.frame));
                            let at = placed.on_page(tile.trimmed.min);
                            let beside = tile.trimmed.min;
                            let further = placed.on_page(Point::new(beside.x + 50.0, beside.y));
                            assert!((further[0] - at[0] - 50.0).abs() < 1e-9);
                        }
                        PageItem::Rectangle { frame, .. } => {
                            assert_eq!(frame.width, 100.0);
                            bars += 1;
                        }
                        _ => {}
                    }
                }
                assert_eq!(bars, 1);
            }
        }
    }
}
