//! Paper: what stands where on a page, in millimetres from its upper left corner, y down. Grey and
//! black only, except where irradiance is shown as colour.

use serde::{Deserialize, Serialize};

use super::drawing::Drawing;
use crate::geometry::Point;

/// The paper in the printer, upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PaperSize {
    /// 210 mm x 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 in x 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

impl PaperSize {
    /// Width and height, mm.
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// A rectangle on paper, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// To the right.
    pub width: f64,
    /// Downwards.
    pub height: f64,
}

impl Frame {
    /// Right edge.
    pub fn right(&self) -> f64 {
        self.x + self.width
    }

    /// Lower edge.
    pub fn bottom(&self) -> f64 {
        self.y + self.height
    }
}

/// Which part of a text stands at its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Align {
    /// Its left end.
    #[default]
    Left,
    /// Its middle.
    Centre,
    /// Its right end.
    Right,
}

/// A drawing on paper: the front left corner of its bounds in the lower left corner of the frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// What is drawn.
    pub drawing: Drawing,
    /// Where; what lies beyond is clipped, texts are not.
    pub frame: Frame,
    /// Millimetres on paper for one true millimetre.
    pub scale: f64,
}

impl Placed {
    /// The place on paper of a point of the drawing, mm.
    pub fn on_page(&self, p: Point) -> [f64; 2] {
        let from = self.drawing.bounds.min;
        [
            self.frame.x + (p.x - from.x) * self.scale,
            self.frame.bottom() - (p.y - from.y) * self.scale,
        ]
    }
}

/// One thing on a page.
#[derive(Debug, Clone, PartialEq)]
pub enum PageItem {
    /// One line of text.
    Text {
        /// Where it stands, mm.
        x: f64,
        /// Its baseline, mm.
        y: f64,
        /// What it says.
        text: String,
        /// Font size, mm.
        size: f64,
        /// Heavier than the rest.
        heavy: bool,
        /// What of it stands at `x`.
        align: Align,
    },
    /// A straight line.
    Line {
        /// One end, mm.
        from: [f64; 2],
        /// The other end, mm.
        to: [f64; 2],
        /// mm.
        width: f64,
    },
    /// A line through points, or an area when closed: of a diagram.
    Path {
        /// mm.
        points: Vec<[f64; 2]>,
        /// Whether the last point joins the first.
        closed: bool,
        /// Width of the line, mm; `None`: none.
        line: Option<f64>,
        /// Stroke and gap of the line, mm; `None`: drawn through.
        dash: Option<(f64, f64)>,
        /// Grey of the inside, 0 black, 255 white; `None`: nothing.
        fill: Option<u8>,
    },
    /// A rectangle.
    Rectangle {
        /// Where, mm.
        frame: Frame,
        /// Width of its rim, mm; `None`: no rim.
        rim: Option<f64>,
        /// Red, green, blue inside; `None`: nothing.
        fill: Option<[u8; 3]>,
    },
    /// A drawing at a true scale.
    Drawing(Placed),
}

/// One sheet of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// mm.
    pub width: f64,
    /// mm.
    pub height: f64,
    /// In the order in which they are painted.
    pub items: Vec<PageItem>,
}

impl Page {
    /// An empty page.
    pub fn new(paper: PaperSize) -> Self {
        let (width, height) = paper.size();
        Self {
            width,
            height,
            items: Vec::new(),
        }
    }

    /// Writes a line of text.
    pub fn text(&mut self, x: f64, y: f64, text: impl Into<String>, size: f64, align: Align) {
        self.items.push(PageItem::Text {
            x,
            y,
            text: text.into(),
            size,
            heavy: false,
            align,
        });
    }

    /// Writes a line of heavier text, its left end at `x`.
    pub fn heavy(&mut self, x: f64, y: f64, text: impl Into<String>, size: f64) {
        self.items.push(PageItem::Text {
            x,
            y,
            text: text.into(),
            size,
            heavy: true,
            align: Align::Left,
        });
    }

    /// Draws a straight line.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2], width: f64) {
        self.items.push(PageItem::Line { from, to, width });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Bounds;

    #[test]
    fn a_drawing_stands_upright_at_its_scale() {
        let placed = Placed {
            drawing: Drawing {
                bounds: Bounds {
                    min: Point::new(-10.0, -10.0),
                    max: Point::new(90.0, 40.0),
                },
                items: Vec::new(),
            },
            frame: Frame {
                x: 20.0,
                y: 30.0,
                width: 50.0,
                height: 25.0,
            },
            scale: 0.5,
        };
        assert_eq!(placed.on_page(Point::new(-10.0, -10.0)), [20.0, 55.0]);
        assert_eq!(placed.on_page(Point::new(90.0, 40.0)), [70.0, 30.0]);
    }
}
