//! The book as tables and back: nothing lost, nothing changed unasked, every fault at its cell.
//!
//! The format is that of RFC 4180; the reader of it in this file shares no code with the program.

mod cells;
mod lossless;
mod program;

use cupwright::tables::{Changes, Merged, Table, TableComplaint, TableText, export, merge};
use serde_json::Value;

use crate::changed::demo_book;

/// A table as rows of cells, the names of its columns first.
pub(crate) type Cells = Vec<Vec<String>>;

/// Reads a text by the grammar of RFC 4180, section 2, and nothing else: records end with CRLF, and
/// have as many fields as the first; a field with a quote, a comma or a line end is in quotes.
pub(crate) fn rfc_4180(text: &str) -> Cells {
    let (mut rows, mut row): (Cells, Vec<String>) = Default::default();
    let mut rest = text;
    while !rest.is_empty() {
        let mut field = String::new();
        if let Some(quoted) = rest.strip_prefix('"') {
            rest = quoted;
            loop {
                let (part, after) = rest.split_once('"').expect("a quote ends the field");
                field.push_str(part);
                rest = after;
                let Some(more) = rest.strip_prefix('"') else { break };
                field.push('"');
                rest = more;
            }
        } else {
            let end = rest.find([',', '\r', '\n', '"']).expect("the last record ends with CRLF");
            assert!(!rest[end..].starts_with('"'), "a quote in a field without quotes: {rest}");
            field.push_str(&rest[..end]);
            rest = &rest[end..];
        }
        row.push(field);
        rest = if let Some(next) = rest.strip_prefix(',') {
            next
        } else {
            rows.push(std::mem::take(&mut row));
            rest.strip_prefix("\r\n").expect("a record ends with CRLF")
        };
    }
    assert!(rows.iter().all(|row| row.len() == rows[0].len()), "as many fields in every record");
    rows
}

/// Cells as a text that some spreadsheet may write.
pub(crate) fn text_of(cells: &Cells, delimiter: char, line_end: &str) -> String {
    let mut text = String::new();
    for row in cells {
        let fields = row.iter().map(|cell| {
            let plain = !cell.contains([delimiter, '"', '\r', '\n']);
            if plain { cell.clone() } else { format!("\"{}\"", cell.replace('"', "\"\"")) }
        });
        text.push_str(&fields.collect::<Vec<_>>().join(&delimiter.to_string()));
        text.push_str(line_end);
    }
    text
}

/// The tables of a book, open for changes.
struct Open {
    base: Value,
    tables: Vec<(Table, Cells)>,
}

impl Open {
    fn of(base: Value) -> Self {
        let tables = export(&base).into_iter().map(|one| (one.table, rfc_4180(&one.text)));
        let tables = tables.collect();
        Self { base, tables }
    }

    fn demo() -> Self {
        Self::of(demo_book())
    }

    fn table(&mut self, table: Table) -> &mut Cells {
        &mut self.tables.iter_mut().find(|(one, _)| *one == table).expect("a table").1
    }

    /// The position of the column `name`, from 0.
    fn column(&mut self, table: Table, name: &str) -> usize {
        let names = self.table(table)[0].clone();
        names.iter().position(|one| one == name).unwrap_or_else(|| panic!("no column {name}"))
    }

    /// The position of the first row that begins with `key`.
    fn row(&mut self, table: Table, key: &[&str]) -> usize {
        let cells = self.table(table);
        let found =
            cells.iter().position(|row| key.iter().zip(row).all(|(word, cell)| word == cell));
        found.unwrap_or_else(|| panic!("no row {key:?}"))
    }

    /// The cell of the row that begins with `key`, in the column `name`.
    fn cell(&mut self, table: Table, key: &[&str], name: &str) -> &mut String {
        let (row, column) = (self.row(table, key), self.column(table, name));
        &mut self.table(table)[row][column]
    }

    /// The tables as texts, each by `text`.
    fn texts(&self, text: impl Fn(&Cells) -> String) -> [TableText; 4] {
        let all = self.tables.iter().map(|(table, cells)| TableText {
            table: *table,
            name: table.file().to_owned(),
            text: text(cells),
        });
        all.collect::<Vec<_>>().try_into().expect("four tables")
    }

    fn merge(&self) -> Result<Merged, Vec<TableComplaint>> {
        merge(&self.base, self.texts(|cells| text_of(cells, ',', "\r\n")))
    }

    /// The book that the tables make, and what changed.
    #[track_caller]
    fn merged(&self) -> (Value, Changes) {
        let merged = self.merge().unwrap_or_else(|faults| panic!("{}", lines(&faults).join("\n")));
        (merged.book, merged.changes)
    }

    /// Everything that is complained about, the book that the tables make included.
    fn complaints(&self) -> Vec<String> {
        match self.merge() {
            Err(faults) => lines(&faults),
            Ok(merged) => {
                let text = merged.book.to_string();
                lines(&merged.judge("book.json", &text).err().unwrap_or_default())
            }
        }
    }
}

fn lines(faults: &[TableComplaint]) -> Vec<String> {
    faults.iter().map(ToString::to_string).collect()
}

/// The letters of a column, counted from 1, as a spreadsheet shows them: A to Z, then AA to ZZ.
fn letters(column: usize) -> String {
    let alphabet = || ('A'..='Z').map(String::from);
    let two = alphabet().flat_map(|first| alphabet().map(move |second| first.clone() + &second));
    alphabet().chain(two).nth(column - 1).expect("at most 702 columns")
}

/// A complaint about a table of the demo whose `?` stands for the letters of the column named
/// behind it.
fn lettered(complaint: &str) -> String {
    let Some((before, after)) = complaint.split_once("column ? (") else {
        return complaint.to_owned();
    };
    let (name, _) = after.split_once(')').expect("the name of a column");
    let of_file = |table: &Table| before.contains(table.file());
    let table = Table::ALL.into_iter().find(of_file).expect("the file of a table");
    let column = Open::demo().column(table, name);
    format!("{before}column {} ({after}", letters(column + 1))
}

/// The pointers at which two values differ; objects are compared field by field.
fn different(old: &Value, new: &Value, at: &str) -> Vec<String> {
    match (old, new) {
        (Value::Object(before), Value::Object(after)) => {
            let names =
                before.keys().chain(after.keys().filter(|name| !before.contains_key(*name)));
            let field = |name: &String| different(&old[name], &new[name], &format!("{at}/{name}"));
            names.flat_map(field).collect()
        }
        (Value::Array(before), Value::Array(after))
            if before.len() == after.len() && before.iter().all(Value::is_object) =>
        {
            let both = before.iter().zip(after).enumerate();
            both.flat_map(|(n, (old, new))| different(old, new, &format!("{at}/{n}"))).collect()
        }
        _ if old == new => Vec::new(),
        _ => vec![at.to_owned()],
    }
}
