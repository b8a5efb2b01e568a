//! `table export` and `table import` as commands: files, messages and how they end.

use std::{fs, path::Path};

use cupwright::tables::Table;
use serde_json::{Value, json};

use super::{lettered, rfc_4180, text_of};
use crate::{
    changed::{demo_book, pointer, put},
    cli::{complained, run, said, write},
};

/// The demo's tables in `folder`.
fn exported(folder: &Path) -> String {
    let tables = folder.join("tables").to_str().unwrap().to_owned();
    let output = run(&["table", "export", &tables], "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    for table in Table::ALL {
        let wrote = format!("Wrote {}\n", Path::new(&tables).join(table.file()).display());
        assert!(said(&output).contains(&wrote), "{}", said(&output));
    }
    tables
}

/// Changes the cell in the row that begins with `key`.
fn edit(tables: &str, table: Table, key: &[&str], name: &str, cell: &str) -> usize {
    let file = Path::new(tables).join(table.file());
    let mut cells = rfc_4180(&fs::read_to_string(&file).unwrap());
    let column = cells[0].iter().position(|one| one == name).unwrap();
    let begins = |row: &Vec<String>| key.iter().zip(row).all(|(word, cell)| word == cell);
    let row = cells.iter().position(begins).unwrap();
    cell.clone_into(&mut cells[row][column]);
    fs::write(&file, text_of(&cells, ';', "\n")).unwrap();
    row + 1
}

#[test]
fn tables_that_nobody_changed_give_the_same_book() {
    let folder = tempfile::tempdir().unwrap();
    let tables = exported(folder.path());
    let output = run(&["table", "import", &tables], "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let printed: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let book = demo_book();
    assert_eq!(printed, book);
    let count = |name: &str| book[name].as_array().map_or(0, Vec::len);
    let told = complained(&output);
    assert!(told.starts_with(&format!("Read {} drinks, ", count("drinks"))), "{told}");
    let ends = format!(" and {} ingredients.\n0 fields changed.\n", count("ingredients"));
    assert!(told.ends_with(&ends), "{told}");
}

#[test]
fn a_changed_cell_is_written_to_the_file_that_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let tables = exported(folder.path());
    edit(&tables, Table::Cups, &["latte", "here", "regular"], "price", "3.95");
    let text = format!("{:#}", demo_book());
    let book = write(folder.path(), "book.json", &text);
    let output = run(&["--book", &book, "table", "import", &tables, "--out", &book], "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    assert_eq!(said(&output), "");
    assert!(complained(&output).contains("\n1 field changed.\n"), "{}", complained(&output));
    let mut wanted = demo_book();
    put(&mut wanted, "/drinks/latte/cups/here/regular/price", json!("3.95"));
    let written = fs::read_to_string(&book).unwrap();
    assert_eq!(serde_json::from_str::<Value>(&written).unwrap().to_string(), wanted.to_string());
    assert!(written.lines().all(|line| line.chars().count() <= 100 || !line.contains("\": [")));
    let left = fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(left, 2, "the book and the tables, and nothing beside them");
    let check = run(&["--book", &book, "check"], "");
    assert_eq!(check.status.code(), Some(0), "{}", complained(&check));
}

#[test]
fn nothing_is_written_where_anything_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let tables = exported(folder.path());
    let out = write(folder.path(), "out.json", "kept");
    let import = || run(&["table", "import", &tables, "--out", &out], "");
    let row = edit(&tables, Table::Cups, &["latte", "here", "regular"], "vessel", "glass-26");
    let output = import();
    assert_eq!(output.status.code(), Some(3));
    let at = pointer(&demo_book(), "/drinks/latte/cups/here/regular/vessel");
    let wanted = format!(
        "{tables}/cups.csv: row {row}, column ? (vessel): {at}: found `glass-26`, which the book does not \
         have; expected the id of a vessel of the book, such as `glass-260`\n\
         1 complaint. Nothing was written.\n"
    );
    assert_eq!(complained(&output), lettered(&wanted));
    let row = edit(&tables, Table::Drinks, &["latte"], "envelope.fill_ml.max", "much");
    let output = import();
    assert_eq!(output.status.code(), Some(3));
    let wanted = format!(
        "{tables}/drinks.csv: row {row}, column ? (envelope.fill_ml.max): found `much`; expected a number \
         such as 12.5\n1 complaint. Nothing was written.\n"
    );
    assert_eq!(complained(&output), lettered(&wanted));
    assert_eq!(fs::read_to_string(&out).unwrap(), "kept");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn what_cannot_be_read_or_written_ends_with_4_and_a_wrong_book_with_3() {
    let folder = tempfile::tempdir().unwrap();
    let tables = exported(folder.path());
    let nowhere = folder.path().join("nowhere/out.json");
    let output = run(&["table", "import", &tables, "--out", nowhere.to_str().unwrap()], "");
    assert_eq!(output.status.code(), Some(4), "{}", complained(&output));
    let parts = Path::new(&tables).join("parts.csv");
    fs::write(&parts, b"drink,id\nlatte,\xff").unwrap();
    let latin = run(&["table", "import", &tables], "");
    fs::remove_file(&parts).unwrap();
    let missing = run(&["table", "import", &tables], "");
    for output in [latin, missing] {
        assert_eq!(output.status.code(), Some(4), "{}", complained(&output));
        let begin = format!("Cannot read {}: ", parts.display());
        assert!(complained(&output).starts_with(&begin), "{}", complained(&output));
        assert_eq!(said(&output), "");
    }
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/remainder", json!("tea"));
    let book = write(folder.path(), "book.json", &book.to_string());
    let other = folder.path().join("other");
    let output = run(&["--book", &book, "table", "export", other.to_str().unwrap()], "");
    assert_eq!(output.status.code(), Some(3));
    assert!(complained(&output).starts_with(&format!("{book}:1:")), "{}", complained(&output));
    assert!(!other.exists());
}
