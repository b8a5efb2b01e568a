//! `table`: the book's drinks, cups, parts and ingredients as CSV files, and back.

use std::{
    fmt::Write as _,
    fs,
    io::{self, Write as _},
    path::Path,
};

use anstream::{eprintln, println};
use serde_json::Value;

use super::{
    Outcome,
    layout::{counted, json},
    load::{Files, complain, source},
    writing::{replace, unwritten},
};
use crate::{
    book::BookDocument,
    in_force::Source,
    json::{Complaints, Limits, read},
    tables::{self, Changes, Merged, Table, TableComplaint, TableText},
};

/// Writes the tables of the book into `folder`.
pub(super) fn export(files: &Files, folder: &Path) -> Outcome {
    exported(files, folder).unwrap_or_else(|outcome| outcome)
}

fn exported(files: &Files, folder: &Path) -> Result<Outcome, Outcome> {
    let book = files.book()?;
    let value = value_of(&book)?;
    // A book with faults may have values that no column can hold.
    BookDocument::read(&book.name, &book.text).map_err(|faulty| complain(&[faulty]))?;
    fs::create_dir_all(folder).map_err(|fault| unwritten(folder, &fault))?;
    for TableText { name, text, .. } in tables::export(&value) {
        let path = folder.join(name);
        replace(&path, &text).map_err(|fault| unwritten(&path, &fault))?;
        println!("Wrote {}", path.display());
    }
    Ok(Outcome::Done)
}

/// Reads the tables in `folder` over the book.
///
/// * `out`: the file of the new book; without it the book is printed.
pub(super) fn import(files: &Files, folder: &Path, out: Option<&Path>) -> Outcome {
    imported(files, folder, out).unwrap_or_else(|outcome| outcome)
}

fn imported(files: &Files, folder: &Path, out: Option<&Path>) -> Result<Outcome, Outcome> {
    let book = files.book()?;
    let value = value_of(&book)?;
    let table = |table: Table| {
        let Source { name, text } = source(&folder.join(table.file()))?;
        Ok(TableText { table, name, text })
    };
    let [drinks, cups, parts, ingredients] = Table::ALL;
    let texts = [table(drinks)?, table(cups)?, table(parts)?, table(ingredients)?];
    let merged = tables::merge(&value, texts).map_err(|faults| told(&faults))?;
    let text = format!("{}\n", json(&merged.book));
    let name = out.map_or_else(|| book.name.clone(), |path| path.display().to_string());
    merged.judge(&name, &text).map_err(|faults| told(&faults))?;
    match out {
        Some(path) => replace(path, &text).map_err(|fault| unwritten(path, &fault))?,
        None => print(&text)?,
    }
    summary(&merged);
    if let Some(path) = out {
        eprintln!("Wrote {0}; next: cupwright --book {0} check", path.display());
    }
    Ok(Outcome::Done)
}

/// The book's JSON as it is written, fields of somebody's own among it.
fn value_of(book: &Source) -> Result<Value, Outcome> {
    let told = |all| complain(&[Complaints::placed(&book.name, &book.text, all)]);
    let read = read(&book.text, Limits::DOCUMENT).map_err(|one| told(vec![one]))?;
    if !read.complaints.is_empty() {
        return Err(told(read.complaints));
    }
    // Parsed once more, so that `1.0` stays as it is written.
    Ok(serde_json::from_str(&book.text).unwrap_or(read.value))
}

/// Prints the book byte for byte; a reader that went away is no failure.
fn print(text: &str) -> Result<(), Outcome> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(fault) if fault.kind() != io::ErrorKind::BrokenPipe => {
            Err(unwritten(Path::new("-"), &fault))
        }
        Ok(()) | Err(_) => Ok(()),
    }
}

fn told(faults: &[TableComplaint]) -> Outcome {
    for fault in faults {
        eprintln!("{fault}");
    }
    eprintln!("{}. Nothing was written.", counted(faults.len(), "complaint", "complaints"));
    Outcome::Complaints
}

/// Says what was read and what is different.
fn summary(merged: &Merged) {
    let read = |table: Table| {
        let (one, many) = nouns(table);
        counted(merged.rows(table), one, many)
    };
    let [drinks, cups, parts, ingredients] = Table::ALL.map(read);
    eprintln!("Read {drinks}, {cups}, {parts} and {ingredients}.");
    let Changes { fields, added, removed, moved } = merged.changes;
    let mut said = format!("{} changed", counted(fields, "field", "fields"));
    for (count, what) in [(added, "added"), (removed, "removed"), (moved, "moved")] {
        if count > 0 {
            let _ = write!(said, ", {} {what}", counted(count, "row", "rows"));
        }
    }
    eprintln!("{said}.");
}

const fn nouns(table: Table) -> (&'static str, &'static str) {
    match table {
        Table::Drinks => ("drink", "drinks"),
        Table::Cups => ("cup", "cups"),
        Table::Parts => ("part", "parts"),
        Table::Ingredients => ("ingredient", "ingredients"),
    }
}
