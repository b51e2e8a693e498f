//! Text in rows and cells: readings files and pasted blocks.

/// A cell, and where it begins: in a text the character, in a sheet the column, counted from 1.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    pub text: String,
    pub column: usize,
    /// What a spreadsheet keeps as a number.
    pub number: Option<f64>,
}

impl Cell {
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// A row of cells and the line on which it begins, counted from 1.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub line: usize,
    pub cells: Vec<Cell>,
}

impl Row {
    pub fn is_blank(&self) -> bool {
        self.cells.iter().all(Cell::is_blank)
    }
}

/// A quoted cell that never ends: line and column of its quote.
pub(super) struct Unclosed {
    pub line: usize,
    pub column: usize,
}

/// The rows of a text, blank ones included, the last line end being no row of its own. A cell that
/// begins with a quote runs to the next single quote; quotes within it are doubled. An unclosed one
/// is reported beside what was read.
pub(super) fn rows(text: &str, separator: char) -> (Vec<Row>, Option<Unclosed>) {
    let mut rows = Vec::new();
    let mut unclosed = None;
    let mut chars = text.chars().peekable();
    let (mut line, mut column) = (1, 1);
    while chars.peek().is_some() {
        let mut row = Row {
            line,
            cells: Vec::new(),
        };
        loop {
            let begin = (line, column);
            let mut cell = String::new();
            let mut quoted = chars.next_if_eq(&'"').is_some();
            if quoted {
                column += 1;
                loop {
                    let Some(c) = chars.next() else {
                        unclosed.get_or_insert(Unclosed {
                            line: begin.0,
                            column: begin.1,
                        });
                        break;
                    };
                    column += 1;
                    if c == '"' {
                        if chars.next_if_eq(&'"').is_none() {
                            quoted = false;
                            break;
                        }
                        column += 1;
                    } else if c == '\n' {
                        (line, column) = (line + 1, 1);
                    }
                    cell.push(c);
                }
            }
            while let Some(c) = chars.next_if(|&c| c != separator && c != '\n' && c != '\r') {
                column += 1;
                cell.push(c);
            }
            if quoted {
                // unclosed: the quote is part of the text
                cell.insert(0, '"');
            }
            row.cells.push(Cell {
                text: cell,
                column: begin.1,
                number: None,
            });
            if chars.next_if_eq(&separator).is_none() {
                break;
            }
            column += 1;
        }
        rows.push(row);
        chars.next_if_eq(&'\r');
        chars.next_if_eq(&'\n');
        (line, column) = (line + 1, 1);
    }
    (rows, unclosed)
}

/// The cells of a block as spreadsheets put it on the clipboard: tabs between cells, line ends
/// between rows, quotes around cells that hold either. The last line end is no row of its own.
pub fn parse_block(text: &str) -> Vec<Vec<String>> {
    let (rows, _) = rows(text, '\t');
    rows.into_iter()
        .map(|row| row.cells.into_iter().map(|cell| cell.text).collect())
        .collect()
}

/// The text of a block for the clipboard; [`parse_block`] reads it back.
pub fn block_text(rows: &[Vec<String>]) -> String {
    let lines: Vec<String> = rows
        .iter()
        .map(|row| {
            let cells: Vec<String> = row.iter().map(|cell| block_cell(cell)).collect();
            cells.join("\t")
        })
        .collect();
    let mut text = lines.join("\n");
    if lines.last().is_some_and(String::is_empty) {
        // or the last row, which is empty, would be taken for the end of the one before
        text.push('\n');
    }
    text
}

fn block_cell(cell: &str) -> String {
    if cell.starts_with('"') || cell.contains(['\t', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn blocks_as_spreadsheets_give_them() {
        let block = |text| parse_block(text);
        assert_eq!(block("1\t2\n3\t4\n"), [["1", "2"], ["3", "4"]]);
        assert_eq!(block("1\t\t3\r\n"), [["1", "", "3"]]);
        assert_eq!(
            block("\"two\nlines\"\tsay \"so\"\n"),
            [["two\nlines", "say \"so\""]]
        );
        assert_eq!(block("\"24\"\" wide\""), [["24\" wide"]]);
        assert_eq!(block("\"open\tx"), [["\"open\tx"]]);
        assert_eq!(block("\n"), [[""]]);
        assert!(block("").is_empty());
    }

    #[test]
    fn a_cell_knows_where_it_begins() {
        let (rows, unclosed) = rows("a;bc;d\n\n\"e\nf\";g\nh", ';');
        assert!(unclosed.is_none());
        let lines: Vec<usize> = rows.iter().map(|r| r.line).collect();
        assert_eq!(lines, [1, 2, 3, 5]);
        let columns: Vec<usize> = rows[0].cells.iter().map(|c| c.column).collect();
        assert_eq!(columns, [1, 3, 6]);
    }

    proptest! {
        #[test]
        fn what_is_copied_is_what_is_pasted(
            rows in prop::collection::vec(
                prop::collection::vec("[a-c0-9\"\t\n\r ,;é]{0,6}", 1..5), 1..6)
        ) {
            prop_assert_eq!(parse_block(&block_text(&rows)), rows);
        }
    }
}
