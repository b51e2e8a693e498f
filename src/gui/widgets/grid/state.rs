//! What a grid remembers from one frame to the next.

use std::ops::Range;

use eframe::egui::{Rangef, Rect};

/// A cell: its row and its column, both from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct At {
    /// The row.
    pub row: usize,
    /// The column.
    pub column: usize,
}

impl At {
    /// The cell in this row and column.
    pub fn new(row: usize, column: usize) -> Self {
        Self { row, column }
    }
}

/// A cell with the keyboard in its text.
#[derive(Debug)]
pub(super) struct Edit {
    pub(super) at: At,
    pub(super) text: String,
    /// Why the owner did not take the text.
    pub(super) message: Option<String>,
    /// Not on the screen yet: the caret goes to the end of the text.
    pub(super) fresh: bool,
    /// The keyboard has been in it. Losing the keyboard then ends the edit; a refused text that never
    /// had it again is not offered a second time.
    pub(super) had_focus: bool,
}

/// What a grid remembers from one frame to the next: what is selected, and what is being typed.
#[derive(Debug, Default)]
pub struct GridState {
    /// The corner of the selection that stays.
    pub(super) anchor: At,
    /// The corner of the selection that moves; the cell that keys act on.
    pub(super) cursor: At,
    pub(super) edit: Option<Edit>,
    /// The row of the cursor is kept in view, whatever comes and goes around it: from a key on until somebody scrolls.
    pub(super) follow: bool,
    /// The part of all rows that the table showed in the last frame, in points from the first row's top.
    pub(super) seen: Option<Rangef>,
    /// Row and part in view when the table was last asked to bring the row of the cursor into it, and how often.
    pub(super) asked: (Option<(usize, Option<Rangef>)>, u8),
    /// Where the row of the cursor and what can be seen around the table were when it was last brought into view.
    pub(super) brought: Option<[Rect; 2]>,
    /// The keyboard is wanted.
    pub(super) take_focus: bool,
    /// The keyboard is here.
    pub(super) focused: bool,
    /// The column in which a run of Tab keys began; Enter returns to it.
    pub(super) tab_from: Option<usize>,
    /// Rows in view in the last frame.
    pub(super) visible: Range<usize>,
    /// A drag is going on; true when it is over the row numbers.
    pub(super) drag: Option<bool>,
    /// The cell whose menu was asked for last.
    pub(super) menu_at: Option<At>,
}

impl GridState {
    /// The cell that keys act on.
    pub fn cursor(&self) -> At {
        self.cursor
    }

    /// The selected rows and columns; always at least one cell. The rows may hold the new row.
    pub fn selection(&self) -> (Range<usize>, Range<usize>) {
        let span = |a: usize, b: usize| a.min(b)..a.max(b) + 1;
        (
            span(self.anchor.row, self.cursor.row),
            span(self.anchor.column, self.cursor.column),
        )
    }

    /// Whether a cell is being edited; undo and redo then belong to its text.
    pub fn is_editing(&self) -> bool {
        self.edit.is_some()
    }

    /// Selects one cell, scrolls it into view and brings the keyboard there.
    pub fn go_to(&mut self, row: usize, column: usize) {
        self.select(At::new(row, column), false);
        self.follow = true;
        self.take_focus = true;
    }

    /// Refuses what was typed into a cell: the text stays in it, open for editing, with a sentence of
    /// what is wrong below. The keyboard stays where it is when the person has gone elsewhere.
    pub fn refuse(
        &mut self,
        row: usize,
        column: usize,
        text: impl Into<String>,
        message: impl Into<String>,
    ) {
        let at = At::new(row, column);
        self.select(at, false);
        self.take_focus |= self.focused;
        self.follow |= self.focused;
        self.edit = Some(Edit {
            at,
            text: text.into(),
            message: Some(message.into()),
            fresh: true,
            had_focus: false,
        });
    }

    /// Opens a cell for editing with this text in it.
    pub(super) fn open(&mut self, at: At, text: String) {
        self.select(at, false);
        self.follow = true;
        self.edit = Some(Edit {
            at,
            text,
            message: None,
            fresh: true,
            had_focus: false,
        });
    }

    /// Moves the cursor; the anchor follows unless the selection is being extended.
    pub(super) fn select(&mut self, at: At, extend: bool) {
        self.cursor = at;
        if !extend {
            self.anchor = at;
        }
    }

    pub(super) fn is_selected(&self, at: At) -> bool {
        let (rows, columns) = self.selection();
        rows.contains(&at.row) && columns.contains(&at.column)
    }

    /// Keeps to the cells there are: the owner may have taken rows or columns away.
    pub(super) fn settle(&mut self, rows: usize, columns: usize) {
        for at in [&mut self.anchor, &mut self.cursor] {
            at.row = at.row.min(rows.saturating_sub(1));
            at.column = at.column.min(columns.saturating_sub(1));
        }
        if (self.edit.as_ref()).is_some_and(|e| e.at.row >= rows || e.at.column >= columns) {
            self.edit = None;
        }
    }
}
