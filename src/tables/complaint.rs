//! What is wrong with a table, cell by cell.

use std::fmt;

use crate::json::Complaint;

/// A cell, as a spreadsheet shows where it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Which of the texts it is in, by the name that the reader gave to it.
    pub file: String,
    /// Row, from 1; the names of the columns stand in row 1.
    pub row: usize,
    /// Column, from 1.
    pub column: usize,
    /// Name of the column; empty where the row is longer than row 1.
    pub name: String,
}

impl Cell {
    /// The column's letters: A to Z, then AA.
    ///
    /// ```
    /// use cupwright::tables::Cell;
    ///
    /// let cell = |column| Cell { file: String::new(), row: 1, column, name: String::new() };
    /// assert_eq!([1, 26, 27, 702, 703].map(|n| cell(n).letters()), ["A", "Z", "AA", "ZZ", "AAA"]);
    /// ```
    pub fn letters(&self) -> String {
        let mut letters = Vec::new();
        let mut rest = self.column;
        while rest > 0 {
            letters.push(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ"[(rest - 1) % 26]);
            rest = (rest - 1) / 26;
        }
        letters.iter().rev().map(|letter| char::from(*letter)).collect()
    }
}

impl fmt::Display for Cell {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { file, row, column: _, name } = self;
        write!(out, "{file}: row {row}, column {}", self.letters())?;
        if name.is_empty() { Ok(()) } else { write!(out, " ({name})") }
    }
}

/// One fault of the tables, or of the book that they make.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableComplaint {
    /// The cell at fault; `None` where the fault is in no table.
    pub cell: Option<Cell>,
    /// JSON Pointer (RFC 6901) into the book that the tables make; `None` where the tables
    /// themselves are at fault.
    pub pointer: Option<String>,
    /// What stands there.
    pub found: String,
    /// What should stand there.
    pub expected: String,
}

impl TableComplaint {
    /// A complaint about a cell of a table.
    pub(super) fn at(cell: Cell, found: impl Into<String>, expected: impl Into<String>) -> Self {
        let (found, expected) = (found.into(), expected.into());
        Self { cell: Some(cell), pointer: None, found, expected }
    }

    /// A complaint about the book, with the cell that it comes from.
    pub(super) fn of_book(complaint: Complaint, cell: Option<Cell>) -> Self {
        let Complaint { pointer, place: _, found, expected } = complaint;
        Self { cell, pointer: Some(pointer), found, expected }
    }
}

impl fmt::Display for TableComplaint {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(cell) = &self.cell {
            write!(out, "{cell}: ")?;
        }
        if let Some(pointer) = &self.pointer {
            let pointer = if pointer.is_empty() { "(document)" } else { pointer };
            write!(out, "{pointer}: ")?;
        }
        write!(out, "found {}; expected {}", self.found, self.expected)
    }
}

/// Text of a cell as a complaint quotes it: whole if short, else its beginning.
pub(super) fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.is_empty() {
        return "nothing".to_owned();
    }
    if text.chars().count() <= LONGEST {
        return format!("`{text}`");
    }
    format!("`{}…`", text.chars().take(LONGEST).collect::<String>())
}
