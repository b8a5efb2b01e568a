//! A sheet read by the schema: columns found, cells turned into values, rows told apart.

use std::collections::{HashMap, HashSet};

use serde_json::Value;

use super::{
    TableComplaint, TableText, cell,
    columns::Columns,
    complaint::{Cell, quoted},
    path::Path,
    shape::Shape,
    sheet::{self, Row, Sheet},
    table::Table,
};

/// A column whose cells are fields of records.
#[derive(Debug)]
pub(super) struct Column {
    /// Which column of the sheet it is, from 0.
    pub(super) at: usize,
    /// The field.
    pub(super) path: Path,
    /// What may stand there.
    pub(super) shape: Shape<'static>,
}

/// A row as read.
#[derive(Debug)]
pub(super) struct Record {
    /// Which row it is, from 1.
    pub(super) number: usize,
    /// What tells it from every other row of its table.
    pub(super) key: Vec<String>,
    /// For each column its text and the value that it says, in the order of the columns.
    pub(super) cells: Vec<(String, Option<Value>)>,
}

/// A table as read.
#[derive(Debug)]
pub(super) struct Rows {
    /// Which table it is.
    pub(super) table: Table,
    /// The name by which people know it.
    pub(super) file: String,
    /// Names of the sheet's columns.
    pub(super) names: Vec<String>,
    /// The columns with fields, those of whole objects before those inside them.
    pub(super) columns: Vec<Column>,
    /// For each word of a key, which column of the sheet it stands in, from 0.
    pub(super) key: Vec<usize>,
    /// The rows.
    pub(super) records: Vec<Record>,
}

/// Reads a table.
///
/// * Result: its rows, where its cells can be read and told apart; beside them every fault of its
///   columns and cells. A column and a cell with a fault count as not there.
pub(super) fn read(source: &TableText) -> (Option<Rows>, Vec<TableComplaint>) {
    let Sheet { head, names, rows } = match sheet::read(source) {
        Ok(sheet) => sheet,
        Err(faults) => return (None, faults),
    };
    let (table, file) = (source.table, source.name.clone());
    let mut read =
        Rows { table, file, names, columns: Vec::new(), key: Vec::new(), records: vec![] };
    let mut faults = read.find_columns(head, &rows);
    if read.key.len() < table.key().len() {
        return (None, faults);
    }
    faults.extend(read.find_records(rows));
    (Some(read), faults)
}

impl Rows {
    /// The cell in a row; `column` counts from 0.
    pub(super) fn cell(&self, row: usize, column: usize) -> Cell {
        let name = self.names.get(column).cloned().unwrap_or_default();
        Cell { file: self.file.clone(), row, column: column + 1, name }
    }

    fn find_columns(&mut self, head: usize, rows: &[Row]) -> Vec<TableComplaint> {
        let mut faults = Vec::new();
        let mut seen = HashSet::new();
        let whole = self.table.shape();
        for (at, name) in self.names.iter().enumerate() {
            let here = self.cell(head, at);
            let name = self.plain(name);
            if name.is_empty() {
                if rows.iter().any(|row| !row.cells[at].is_empty()) {
                    let expected = "a name, since the column is not empty";
                    faults.push(TableComplaint::at(here, "no name of a column", expected));
                }
                continue;
            }
            if !seen.insert(name) {
                let found = format!("{} a second time", quoted(name));
                faults.push(TableComplaint::at(here, found, "each column once"));
                continue;
            }
            if self.table.place().contains(&name) {
                continue;
            }
            let path = Path::of_name(name);
            let apart = self.table.apart().contains(&path.0[0].as_str());
            match shape_at(&whole, &path).filter(|_| !apart) {
                Some(shape) => self.columns.push(Column { at, path, shape }),
                None => faults.push(TableComplaint::at(here, quoted(name), self.a_column(name))),
            }
        }
        for name in self.table.key() {
            let known = self.names.iter().position(|known| self.plain(known) == *name);
            self.key.extend(known);
            if known.is_none() {
                let end = self.cell(head, self.names.len());
                let found = format!("no column `{name}`");
                let expected = "it, since it tells the rows apart";
                faults.push(TableComplaint::at(end, found, expected));
            }
        }
        self.columns.sort_by_key(|column| column.path.0.len());
        faults
    }

    /// The name of a column without the space around it, unless that belongs to its field.
    fn plain<'n>(&self, name: &'n str) -> &'n str {
        let whole = self.table.shape();
        let known = shape_at(&whole, &Path::of_name(name)).is_some();
        if known { name } else { name.trim() }
    }

    /// What the name of a column may be, with one that is like `name`.
    fn a_column(&self, name: &str) -> String {
        let known = Columns::of_schema(self.table).paths().into_iter().map(|path| path.to_string());
        let known = known.chain(self.table.place().iter().map(ToString::to_string));
        let like = known.map(|known| (strsim::jaro_winkler(&known, name), known));
        let near = like.filter(|(likeness, _)| *likeness > 0.8).max_by(|a, b| a.0.total_cmp(&b.0));
        let near = near.map(|(_, known)| format!(", such as `{known}`")).unwrap_or_default();
        format!("the path of a field of {}{near}", self.table.row())
    }

    fn find_records(&mut self, rows: Vec<Row>) -> Vec<TableComplaint> {
        let mut faults = Vec::new();
        let mut seen: HashMap<Vec<String>, usize> = HashMap::new();
        for Row { number, mut cells } in rows {
            let key = self.key_of(number, &cells, &mut faults);
            if let Some(first) = seen.get(&key).filter(|_| key.iter().all(|word| !word.is_empty()))
            {
                let last = self.key.last().copied().unwrap_or_default();
                let found = format!("{} a second time, after row {first}", quoted(&key.join(" ")));
                let expected = format!("{} once", self.table.row());
                faults.push(TableComplaint::at(self.cell(number, last), found, expected));
            }
            seen.entry(key.clone()).or_insert(number);
            let mut values = Vec::new();
            for column in &self.columns {
                let text = std::mem::take(&mut cells[column.at]);
                let value = cell::read(&text, &column.shape).unwrap_or_else(|expected| {
                    let here = self.cell(number, column.at);
                    faults.push(TableComplaint::at(here, quoted(&text), expected));
                    None
                });
                values.push((text, value));
            }
            self.records.push(Record { number, key, cells: values });
        }
        faults
    }

    /// The words that tell a row apart; one that is missing or not among those allowed is a fault.
    fn key_of(
        &self,
        number: usize,
        cells: &[String],
        faults: &mut Vec<TableComplaint>,
    ) -> Vec<String> {
        let mut key = Vec::new();
        for (name, at) in self.table.key().iter().zip(&self.key) {
            let read = cell::read(&cells[*at], &Shape::text()).ok().flatten();
            let word = read.as_ref().and_then(Value::as_str).unwrap_or_default();
            let allowed = self.table.words(name);
            let expected = if !allowed.is_empty() && !allowed.contains(&word) {
                Some(format!("one of {}", allowed.join(", ")))
            } else if word.is_empty() {
                Some(format!("a text, since `{name}` tells the rows apart"))
            } else {
                None
            };
            if let Some(expected) = expected {
                let here = self.cell(number, *at);
                faults.push(TableComplaint::at(here, quoted(&cells[*at]), expected));
            }
            key.push(word.to_owned());
        }
        key
    }
}

/// What may stand at the end of a path.
fn shape_at(whole: &Shape<'static>, path: &Path) -> Option<Shape<'static>> {
    let mut fields = path.0.iter();
    let first = whole.field(fields.next()?)?;
    fields.try_fold(first, |shape, field| shape.field(field))
}
