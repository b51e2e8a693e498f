//! Matter that runs down a page and on to the next: each page gets the title block at its top, whole on the first and in
//! short on the others, and "page x of y" at its foot.

use super::cautions::{CAUTIONS, RESPONSIBILITY, TITLE};
use super::page::{Align, Frame, Page, PageItem, PaperSize};
use super::table::Table;
use super::text;
use super::title::Title;

const MARGIN: f64 = 15.0;
const FOOT: f64 = 14.0;
const SIZE: f64 = 3.0;
const LINE: f64 = 4.1;
/// What a heading takes.
pub(super) const HEADING: f64 = 8.0;
/// Below a paragraph.
const AFTER: f64 = 0.8;
/// From the dash before a point to its text.
const INDENT: f64 = 4.0;
const BEFORE_BOX: f64 = 1.5;
const AFTER_BOX: f64 = 2.5;

/// From one block of a table to the one beside it.
const BETWEEN: f64 = 5.0;
/// Rows of a table that stand with its heading at least.
const TOGETHER: usize = 3;

/// A figure that waits for a page with room.
type Waiting<'a> = (f64, Box<dyn FnOnce(&mut Flow<'a>) + 'a>);

pub(super) struct Flow<'a> {
    paper: PaperSize,
    title: &'a Title,
    version: &'a str,
    pages: Vec<Page>,
    page: Page,
    /// Left and right edge of what is written, mm.
    edges: (f64, f64),
    /// Where the next thing may begin, mm.
    pub(super) y: f64,
    /// Where matter begins on this page.
    top: f64,
    /// In their order.
    waiting: Vec<Waiting<'a>>,
    /// Which part of each page before this one is filled.
    filled: Vec<f64>,
}

impl<'a> Flow<'a> {
    pub(super) fn new(paper: PaperSize, title: &'a Title, version: &'a str) -> Self {
        let mut flow = Self {
            paper,
            title,
            version,
            pages: Vec::new(),
            edges: (MARGIN, Page::new(paper).width - MARGIN),
            page: Page::new(paper),
            y: 0.0,
            top: 0.0,
            waiting: Vec::new(),
            filled: Vec::new(),
        };
        flow.begin();
        flow
    }

    fn begin(&mut self) {
        let (left, right) = (self.left(), self.right());
        let bottom = if self.pages.is_empty() {
            self.title.put(&mut self.page, left, right, 10.0)
        } else {
            self.title.put_later(&mut self.page, left, right, 10.0)
        };
        self.top = bottom + 3.0;
        self.y = self.top;
    }

    pub(super) fn left(&self) -> f64 {
        self.edges.0
    }

    pub(super) fn right(&self) -> f64 {
        self.edges.1
    }

    /// What `matter` writes, between two edges, mm: beside something else.
    pub(super) fn within(&mut self, edges: (f64, f64), matter: impl FnOnce(&mut Self)) {
        let all = std::mem::replace(&mut self.edges, edges);
        matter(self);
        self.edges = all;
    }

    /// Height that is left on this page, mm.
    pub(super) fn room(&self) -> f64 {
        self.page.height - FOOT - self.y
    }

    /// The page being written, for things that place themselves.
    pub(super) fn page(&mut self) -> &mut Page {
        &mut self.page
    }

    /// Goes on to the next page, with what was begun.
    fn turn_page(&mut self) {
        self.filled.push(self.share());
        self.pages
            .push(std::mem::replace(&mut self.page, Page::new(self.paper)));
        self.begin();
    }

    /// Goes on to the next page, where figures that waited come first.
    pub(super) fn next_page(&mut self) {
        self.turn_page();
        while let Some((height, _)) = self.waiting.first()
            && (self.room() >= *height || self.y == self.top)
        {
            let (_, matter) = self.waiting.remove(0);
            matter(self);
        }
    }

    /// Which part of this page is filled.
    fn share(&self) -> f64 {
        (self.y - self.top) / (self.page.height - FOOT - self.top)
    }

    /// How full the emptiest page is, from 0 to 1, once all is written.
    pub(super) fn emptiest(&self) -> f64 {
        self.filled.iter().copied().fold(self.share(), f64::min)
    }

    /// Height of matter on a further page, mm.
    pub(super) fn empty_page(&self) -> f64 {
        // its short title is lower than any whole one
        self.page.height - FOOT - self.top
    }

    /// A label with ruled lines to write on, so high.
    pub(super) fn line_to_write_on(&mut self, label: &str, height: f64) {
        self.need(height);
        let (left, right) = (self.left(), self.right());
        self.y += 6.5;
        let after = text::width(label, SIZE) + 3.0;
        let y = self.y;
        self.page.text(left, y, label, SIZE, Align::Left);
        self.page
            .line([left + after, y + 0.6], [right, y + 0.6], 0.15);
        let lines = ((height - 6.5) / 7.0).max(0.0) as usize;
        for _ in 0..lines {
            self.y += 7.0;
            let y = self.y + 0.6;
            self.page.line([left, y], [right, y], 0.15);
        }
        self.y += 2.0;
    }

    /// A figure of some height: here where there is room for it, else at the top of the next page that has, and what
    /// comes after it goes on here.
    pub(super) fn figure(&mut self, height: f64, matter: impl FnOnce(&mut Self) + 'a) {
        if self.waiting.is_empty() && (self.room() >= height || self.y == self.top) {
            matter(self);
        } else {
            self.waiting.push((height, Box::new(matter)));
        }
    }

    /// Pages for all figures that still wait.
    pub(super) fn place_figures(&mut self) {
        while !self.waiting.is_empty() {
            self.next_page();
        }
    }

    /// Goes on to the next page unless that much height is left or the page is still empty.
    pub(super) fn need(&mut self, height: f64) {
        if self.room() < height && self.y > self.top {
            self.next_page();
        }
    }

    /// A heading that stays with at least `follow` mm of what follows.
    pub(super) fn heading(&mut self, heading: &str, follow: f64) {
        self.need(HEADING + follow);
        self.y += HEADING;
        let (x, y) = (self.left(), self.y - 2.0);
        self.page.heavy(x, y, heading, 3.5);
    }

    pub(super) fn paragraph(&mut self, paragraph: &str) {
        self.lines(paragraph, 0.0);
        self.y += AFTER;
    }

    /// Height that a [`Self::paragraph`] takes, mm.
    pub(super) fn paragraph_height(&self, paragraph: &str) -> f64 {
        let lines = text::wrap(paragraph, SIZE, self.right() - self.left()).len();
        LINE * lines as f64 + AFTER
    }

    /// A paragraph with a dash before it.
    pub(super) fn point(&mut self, point: &str) {
        self.need(LINE);
        let (x, y) = (self.left(), self.y + LINE - 0.8);
        self.page.text(x, y, "–", SIZE, Align::Left);
        self.lines(point, INDENT);
    }

    fn lines(&mut self, paragraph: &str, indent: f64) {
        let (left, right) = (self.left() + indent, self.right());
        for line in text::wrap(paragraph, SIZE, right - left) {
            self.need(LINE);
            self.y += LINE;
            let y = self.y - 0.8;
            self.page.text(left, y, line, SIZE, Align::Left);
        }
    }

    /// Labels on the left, values on the right.
    pub(super) fn pairs(&mut self, pairs: &[(String, String)]) {
        let (left, right) = (self.left(), self.right());
        let labels = pairs
            .iter()
            .map(|(label, _)| text::width(label, SIZE))
            .fold(0.0, f64::max)
            + 5.0;
        for (label, value) in pairs {
            let lines = text::wrap(value, SIZE, right - left - labels);
            self.need(LINE * lines.len() as f64);
            for (i, line) in lines.into_iter().enumerate() {
                self.y += LINE;
                let y = self.y - 0.8;
                if i == 0 {
                    self.page.text(left, y, label.as_str(), SIZE, Align::Left);
                }
                self.page.text(left + labels, y, line, SIZE, Align::Left);
            }
        }
        self.y += AFTER;
    }

    /// A table; its heading is written again on each page.
    pub(super) fn table(&mut self, table: &Table) {
        self.table_in(table, 1);
    }

    /// A table in blocks beside one another, each read from top to bottom before the next.
    pub(super) fn table_in(&mut self, table: &Table, blocks: usize) {
        let (left, right) = (self.left(), self.right());
        let n = blocks.max(1) as f64;
        let width = (right - left - BETWEEN * (n - 1.0)) / n;
        let fitted: Vec<_> = (0..blocks.max(1))
            .map(|block| left + block as f64 * (width + BETWEEN))
            .map(|x| table.fitted(x, x + width))
            .collect();
        let (all, heading) = (table.rows.len(), fitted[0].heading_height());
        self.y += 1.0;
        let mut from = 0;
        while from < all {
            let each = (all - from).div_ceil(fitted.len());
            let heights = (from..all).map(|row| fitted[0].row_height(row));
            let fits = if fitted.len() == 1 {
                let room = self.room() - heading;
                let ends = heights.scan(0.0, |end, height| {
                    *end += height;
                    Some(*end)
                });
                ends.take_while(|end| *end <= room).count()
            } else {
                ((self.room() - heading) / heights.fold(1.0, f64::max)).max(0.0) as usize
            };
            if fits < each.min(TOGETHER) && self.y > self.top {
                self.next_page();
                continue;
            }
            let each = each.min(fits.max(1));
            let top = self.y;
            for fitted in &fitted {
                let rows = from..(from + each).min(all);
                if rows.is_empty() {
                    break;
                }
                let mut y = fitted.put_heading(&mut self.page, top);
                from = rows.end;
                for row in rows {
                    y = fitted.put_row(&mut self.page, row, y);
                }
                self.y = self.y.max(y);
            }
            if from < all {
                self.turn_page();
            }
        }
        self.y += 1.0;
    }

    /// Height of a heading with the beginning of a table, or the whole of a short one, below it, mm.
    pub(super) fn beginning(&self, table: &Table, blocks: usize) -> f64 {
        let n = blocks.max(1) as f64;
        let width = (self.right() - self.left() - BETWEEN * (n - 1.0)) / n;
        let fitted = table.fitted(self.left(), self.left() + width);
        let rows = table.rows.len().div_ceil(blocks.max(1)).min(TOGETHER);
        let heights = |to: usize| (0..to).map(|row| fitted.row_height(row));
        let rows = if blocks > 1 {
            // rows of blocks stand beside one another, and so are as high as the highest
            rows as f64 * heights(table.rows.len()).fold(1.0, f64::max)
        } else {
            heights(rows).sum()
        };
        1.0 + fitted.heading_height() + rows
    }

    /// A heading with its table, the first rows on the same page.
    pub(super) fn titled_table(&mut self, heading: &str, table: &Table) {
        self.heading(heading, self.beginning(table, 1));
        self.table(table);
    }

    /// What `matter` writes, inside a rim, on one page where it fits on one.
    pub(super) fn boxed(&mut self, height: f64, matter: impl FnOnce(&mut Self)) {
        self.need(height);
        self.y += BEFORE_BOX;
        let (before, top) = (self.pages.len(), self.y);
        matter(self);
        if self.pages.len() == before {
            let frame = Frame {
                x: self.left() - 2.0,
                y: top,
                width: self.right() - self.left() + 4.0,
                height: self.y - top + BEFORE_BOX,
            };
            self.page.items.push(PageItem::Rectangle {
                frame,
                rim: Some(0.4),
                fill: None,
            });
        }
        self.y += AFTER_BOX;
    }

    /// All pages, numbered.
    pub(super) fn finish(self) -> Vec<Page> {
        self.finish_before(Vec::new())
    }

    /// All pages and further ones that were laid out elsewhere, numbered.
    pub(super) fn finish_before(mut self, further: Vec<Page>) -> Vec<Page> {
        let (left, right) = (self.left(), self.right());
        self.pages.push(self.page);
        self.pages.extend(further);
        let all = self.pages.len();
        for (i, page) in self.pages.iter_mut().enumerate() {
            let y = page.height - 8.0;
            page.line([left, y - 3.6], [right, y - 3.6], 0.15);
            let program = format!("Evenfield {}", self.version);
            page.text(left, y, program, 2.5, Align::Left);
            page.text(
                right,
                y,
                format!("page {} of {all}", i + 1),
                2.5,
                Align::Right,
            );
        }
        self.pages
    }
}

/// Height that [`cautions`] takes, mm.
pub(super) fn cautions_height(flow: &Flow<'_>) -> f64 {
    let room = flow.right() - flow.left();
    let lines = |text: &str, indent: f64| text::wrap(text, SIZE, room - indent).len();
    let points: usize = CAUTIONS.iter().map(|c| lines(c, INDENT)).sum();
    BEFORE_BOX + HEADING + LINE * (points + lines(RESPONSIBILITY, 0.0)) as f64 + AFTER + AFTER_BOX
}

/// The cautions, boxed.
pub(super) fn cautions(flow: &mut Flow<'_>) {
    flow.boxed(cautions_height(flow), |flow| {
        flow.heading(TITLE, 0.0);
        for caution in CAUTIONS {
            flow.point(caution);
        }
        flow.paragraph(RESPONSIBILITY);
    });
}
