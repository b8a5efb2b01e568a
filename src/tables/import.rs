//! A book with its tables read back into it.

use serde_json::Value;

use super::{
    Changes, TableComplaint, TableText,
    assemble::{Sheets, orphans},
    locate::cell_of,
    rows::{self, Rows},
    table::Table,
};
use crate::{book::BookDocument, json::Complaint};

/// A book that tables make, not yet judged.
#[derive(Debug)]
pub struct Merged {
    /// The book as a document.
    pub book: Value,
    /// What is different in it against the book that the tables were read over.
    pub changes: Changes,
    sheets: Sheets,
    /// The names of the tables.
    files: [String; 4],
}

/// Reads tables over `base`, a book: the rows of the tables are its drinks, cups, parts and
/// ingredients, and everything else of it stays as it is.
///
/// * `tables`: one text for each of [`Table::ALL`], in any order.
/// * Errors: every fault of the tables, by cell. Whether what they make is a right book is judged
///   by [`Merged::judge`].
pub fn merge(base: &Value, mut tables: [TableText; 4]) -> Result<Merged, Vec<TableComplaint>> {
    if !base.is_object() {
        let whole = Complaint::at("", "no object", "a book, which is an object");
        return Err(vec![TableComplaint::of_book(whole, None)]);
    }
    tables.sort_by_key(|text| text.table);
    let files = tables.each_ref().map(|text| text.name.clone());
    let (mut read, mut faults): (Vec<Rows>, Vec<TableComplaint>) = Default::default();
    for text in &tables {
        let (rows, told) = rows::read(text);
        read.extend(rows);
        faults.extend(told);
    }
    let of = |table: Table| read.iter().find(|rows| rows.table == table);
    for table in [Table::Cups, Table::Parts] {
        if let Some((drinks, rows)) = of(Table::Drinks).zip(of(table)) {
            faults.extend(orphans(drinks, rows));
        }
    }
    match read.try_into() {
        Ok(rows) if faults.is_empty() => {
            let sheets = Sheets(rows);
            let book = sheets.over(base);
            let changes = Changes::between(base, &book);
            Ok(Merged { book, changes, sheets, files })
        }
        Ok(_) | Err(_) => Err(sorted(faults, &files)),
    }
}

/// The faults in the order of the tables and of their cells; those that are in no table come last.
fn sorted(mut faults: Vec<TableComplaint>, files: &[String; 4]) -> Vec<TableComplaint> {
    let rank = |one: &TableComplaint| {
        let cell = one.cell.as_ref();
        let file = cell.and_then(|cell| files.iter().position(|file| *file == cell.file));
        (file.unwrap_or(files.len()), cell.map(|cell| (cell.row, cell.column)))
    };
    faults.sort_by_key(rank);
    faults
}

impl Merged {
    /// How many rows a table has.
    pub fn rows(&self, table: Table) -> usize {
        self.sheets.of(table).records.len()
    }

    /// Judges the book as any book is judged when it is read.
    ///
    /// * `name`, `text`: the document as it is to be written.
    /// * Errors: every complaint, those about what is in a table with the cell that it comes from,
    ///   in the order of the tables; then the others.
    pub fn judge(&self, name: &str, text: &str) -> Result<(), Vec<TableComplaint>> {
        let Err(faulty) = BookDocument::read(name, text) else { return Ok(()) };
        let told = faulty.all.into_iter().map(|one| {
            let cell = cell_of(&self.sheets, &one.pointer);
            TableComplaint::of_book(one, cell)
        });
        Err(sorted(told.collect(), &self.files))
    }
}
