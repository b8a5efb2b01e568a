//! A CSV text (RFC 4180) as rows of cells, and rows as a text.

use super::{
    TableComplaint, TableText,
    complaint::Cell,
    scan::{DELIMITERS, Fault, delimiter, scan},
    table::Table,
};

/// A row of a sheet.
#[derive(Debug)]
pub(super) struct Row {
    /// Which row it is, from 1.
    pub(super) number: usize,
    /// Its cells, as many as the sheet has names of columns.
    pub(super) cells: Vec<String>,
}

/// A table's cells, with the names of its columns.
#[derive(Debug)]
pub(super) struct Sheet {
    /// The row in which the names stand.
    pub(super) head: usize,
    /// The names of the columns.
    pub(super) names: Vec<String>,
    /// The rows in which anything stands.
    pub(super) rows: Vec<Row>,
}

/// Reads a table's text. The delimiter is a comma, a semicolon or a tab, as its first row shows; a
/// byte-order mark before it and either kind of line ends are taken.
///
/// * Errors: every fault of the quotes and of the rows' lengths.
pub(super) fn read(source: &TableText) -> Result<Sheet, Vec<TableComplaint>> {
    let text = source.text.strip_prefix('\u{feff}').unwrap_or(&source.text);
    let delimiter = delimiter_of(text, source.table);
    let scanned = scan(text, delimiter);
    let cell = |row, column, name: &str| Cell {
        file: source.name.clone(),
        row,
        column,
        name: name.to_owned(),
    };
    let mut reader = csv::ReaderBuilder::new();
    let reader = reader.delimiter(delimiter).has_headers(false).flexible(true);
    // The text is UTF-8 and in memory, so no record can fail.
    let records: Vec<_> = reader.from_reader(text.as_bytes()).into_records().flatten().collect();
    let mut numbered = scanned.rows.iter().copied().zip(&records);
    let Some((head, names)) = numbered.next() else {
        let expected = "the names of its columns in row 1";
        return Err(vec![TableComplaint::at(cell(1, 1, ""), "an empty table", expected)]);
    };
    let names: Vec<String> = names.iter().map(str::to_owned).collect();
    let name = |column: usize| names.get(column - 1).map_or("", String::as_str);
    let mut faults: Vec<TableComplaint> = Vec::new();
    for (row, column, fault) in scanned.faults {
        let (found, expected) = match fault {
            Fault::Unended => ("a quote that nothing ends", "a second quote behind the cell"),
            Fault::AfterEnd => {
                ("text behind the quote that ends the cell", "each quote inside a cell doubled")
            }
        };
        faults.push(TableComplaint::at(cell(row, column, name(column)), found, expected));
    }
    let mut rows = Vec::new();
    for (number, record) in numbered {
        let mut cells: Vec<String> = record.iter().map(str::to_owned).collect();
        if cells.iter().all(String::is_empty) {
            continue;
        }
        while cells.len() > names.len() && cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        if cells.len() != names.len() {
            // The first cell that is too many, or the first that is missing.
            let column = cells.len().min(names.len()) + 1;
            let found = format!("{} cells in the row", cells.len());
            let expected = format!("{}, one for each name in row {head}", names.len());
            let fault = TableComplaint::at(cell(number, column, name(column)), found, expected);
            faults.push(fault);
            continue;
        }
        rows.push(Row { number, cells });
    }
    if faults.is_empty() { Ok(Sheet { head, names, rows }) } else { Err(faults) }
}

/// The delimiter under which the first row names the columns that every such table has; where none
/// does, the one that is most often in it.
fn delimiter_of(text: &str, table: Table) -> u8 {
    let names_key = |delimiter: &u8| {
        let mut reader = csv::ReaderBuilder::new();
        let reader = reader.delimiter(*delimiter).has_headers(false);
        let first = reader.from_reader(text.as_bytes()).into_records().next();
        first.and_then(Result::ok).is_some_and(|names| {
            table.key().iter().all(|key| names.iter().any(|name| name.trim() == *key))
        })
    };
    let known = DELIMITERS.into_iter().find(names_key);
    known.unwrap_or_else(|| delimiter(text))
}

/// The CSV text of `rows`, the first of which has the names of the columns: commas, and every line
/// ended as RFC 4180 has it.
pub(super) fn write<'r>(rows: impl Iterator<Item = &'r [String]>) -> String {
    let mut builder = csv::WriterBuilder::new();
    let mut writer = builder.terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        // Writing into memory cannot fail, and every row has as many cells as the first.
        let _ = writer.write_record(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}
