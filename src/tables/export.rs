//! A book laid out as tables.

use std::collections::HashMap;

use serde_json::Value;

use super::{
    cell,
    columns::{Columns, cells_of},
    path::Path,
    shape::Shape,
    sheet,
    table::{Table, TableText},
};

/// A record with the cells that say where it belongs.
type Placed<'b> = (Vec<&'b str>, &'b Value);

/// The four tables of `book`, a document that follows the schema of books. Each is named by its file.
///
/// Reading them over the same book gives the same book.
pub fn export(book: &Value) -> Vec<TableText> {
    let text = |table: Table| {
        let text = laid_out(table, &records(book, table));
        TableText { table, name: table.file().to_owned(), text }
    };
    Table::ALL.into_iter().map(text).collect()
}

/// The records of one table in the order of the book.
pub(super) fn records(book: &Value, table: Table) -> Vec<Placed<'_>> {
    let list = |name: &str| book[name].as_array().into_iter().flatten();
    match table {
        Table::Drinks => list("drinks").map(|drink| (Vec::new(), drink)).collect(),
        Table::Ingredients => list("ingredients").map(|one| (Vec::new(), one)).collect(),
        Table::Parts => list("drinks").flat_map(parts).collect(),
        Table::Cups => list("drinks").flat_map(cups).collect(),
    }
}

fn id(drink: &Value) -> &str {
    drink["id"].as_str().unwrap_or_default()
}

fn parts(drink: &Value) -> Vec<Placed<'_>> {
    let parts = drink["parts"].as_array().into_iter().flatten();
    parts.map(|part| (vec![id(drink)], part)).collect()
}

fn cups(drink: &Value) -> Vec<Placed<'_>> {
    let mut all = Vec::new();
    for (service, sizes) in drink["cups"].as_object().into_iter().flatten() {
        for (size, cup) in sizes.as_object().into_iter().flatten() {
            all.push((vec![id(drink), service.as_str(), size.as_str()], cup));
        }
    }
    all
}

fn laid_out(table: Table, records: &[Placed<'_>]) -> String {
    let mut columns = Columns::of_schema(table);
    let shape = table.shape();
    let cells: Vec<HashMap<Path, String>> = records
        .iter()
        .map(|(_, record)| {
            let cells = cells_of(record, table, &shape);
            for (path, _) in &cells {
                columns.add(path);
            }
            cells.into_iter().collect()
        })
        .collect();
    let paths = columns.paths();
    let place = table.place().iter().map(ToString::to_string);
    let mut rows: Vec<Vec<String>> =
        vec![place.chain(paths.iter().map(ToString::to_string)).collect()];
    for ((place, _), mut cells) in records.iter().zip(cells) {
        let place = place.iter().map(|text| cell::write(&Value::from(*text), &Shape::text()));
        let fields = paths.iter().map(|path| cells.remove(path).unwrap_or_default());
        rows.push(place.chain(fields).collect());
    }
    sheet::write(rows.iter().map(Vec::as_slice))
}
