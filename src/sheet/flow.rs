//! Matter that runs down a page and on to the next: each page gets the title block at its top and
//! "page x of y" at its foot.

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
const HEADING: f64 = 8.0;
/// Below a paragraph.
const AFTER: f64 = 0.8;
/// From the dash before a point to its text.
const INDENT: f64 = 4.0;
const BEFORE_BOX: f64 = 1.5;
const AFTER_BOX: f64 = 2.5;

pub(super) struct Flow<'a> {
    paper: PaperSize,
    title: &'a Title,
    version: &'a str,
    pages: Vec<Page>,
    page: Page,
    /// Where the next thing may begin, mm.
    pub(super) y: f64,
    /// Where matter begins on each page.
    top: f64,
}

impl<'a> Flow<'a> {
    pub(super) fn new(paper: PaperSize, title: &'a Title, version: &'a str) -> Self {
        let mut flow = Self {
            paper,
            title,
            version,
            pages: Vec::new(),
            page: Page::new(paper),
            y: 0.0,
            top: 0.0,
        };
        flow.begin();
        flow
    }

    fn begin(&mut self) {
        let (left, right) = (self.left(), self.right());
        self.top = self.title.put(&mut self.page, left, right, 10.0) + 3.0;
        self.y = self.top;
    }

    pub(super) fn left(&self) -> f64 {
        MARGIN
    }

    pub(super) fn right(&self) -> f64 {
        self.page.width - MARGIN
    }

    /// Height that is left on this page, mm.
    pub(super) fn room(&self) -> f64 {
        self.page.height - FOOT - self.y
    }

    /// The page being written, for things that place themselves.
    pub(super) fn page(&mut self) -> &mut Page {
        &mut self.page
    }

    /// Goes on to the next page.
    pub(super) fn next_page(&mut self) {
        self.pages
            .push(std::mem::replace(&mut self.page, Page::new(self.paper)));
        self.begin();
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
        let fitted = table.fitted(self.left(), self.right());
        self.y += 1.0;
        for row in 0..table.rows.len() {
            let heading = fitted.heading_height();
            let height = fitted.row_height(row);
            self.need(if row == 0 { heading + height } else { height });
            if row == 0 || self.y == self.top {
                self.y = fitted.put_heading(&mut self.page, self.y);
            }
            self.y = fitted.put_row(&mut self.page, row, self.y);
        }
        self.y += 1.0;
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
    pub(super) fn finish(mut self) -> Vec<Page> {
        let (left, right) = (self.left(), self.right());
        self.pages.push(self.page);
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
