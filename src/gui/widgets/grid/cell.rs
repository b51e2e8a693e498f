//! Columns and cells, as their owner says them.

use std::borrow::Cow;

/// What stands over a column, and how its cells are shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its title; also its name for a screen reader.
    pub title: String,
    /// The unit of its numbers, shown under the title.
    pub unit: Option<String>,
    /// Its width in points. Where the panel is narrower than all of them, columns are narrowed together,
    /// none below its head as long as there is room for all heads; the last column that is not
    /// right-aligned takes what is left over.
    pub width: f32,
    /// Right-aligned in tabular figures, as numbers are.
    pub align_right: bool,
    /// Typing into its cells has a meaning.
    pub editable: bool,
}

/// How a cell is to be seen, beyond its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Look {
    /// As it is.
    #[default]
    Normal,
    /// It does not count: struck through.
    Muted,
    /// Something about it needs attention: a marked corner.
    Flagged,
    /// A value is expected here: a dashed line.
    Missing,
}

/// What the owner says about one cell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cell<'c> {
    /// The text shown, copied and put up for editing.
    pub text: Cow<'c, str>,
    /// How it is seen.
    pub look: Look,
    /// A sentence shown while the pointer rests on it.
    pub hover: Option<Cow<'c, str>>,
}

impl<'c> Cell<'c> {
    /// A cell with this text and nothing special about it.
    pub fn new(text: impl Into<Cow<'c, str>>) -> Self {
        Self {
            text: text.into(),
            ..Self::default()
        }
    }
}
