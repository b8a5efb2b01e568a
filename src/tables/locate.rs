//! From a JSON Pointer into the book that tables make to the cell that it comes from.

use super::{
    assemble::Sheets,
    complaint::Cell,
    rows::{Record, Rows},
    table::Table,
};
use crate::json::segments;

/// The cell that the value at `pointer` comes from; `None` if it is in no table.
///
/// A value that is missing, or is spread over columns, is told at the column nearest to it; one
/// that belongs to the record as a whole, at what the record is told apart by.
pub(super) fn cell_of(sheets: &Sheets, pointer: &str) -> Option<Cell> {
    let path: Vec<String> = segments(pointer).map(std::borrow::Cow::into_owned).collect();
    let (list, rest) = path.split_first()?;
    let (at, rest) = rest.split_first()?;
    let at: usize = at.parse().ok()?;
    match list.as_str() {
        "ingredients" => in_row(sheets.of(Table::Ingredients), at, rest),
        "drinks" => in_drink(sheets, at, rest),
        _ => None,
    }
}

fn in_drink(sheets: &Sheets, at: usize, rest: &[String]) -> Option<Cell> {
    let drinks = sheets.of(Table::Drinks);
    let id = drinks.records.get(at)?.key[0].as_str();
    let (field, inner) = rest.split_first().map_or(("", rest), |(one, rest)| (one.as_str(), rest));
    let found = match field {
        "cups" => {
            let rows = sheets.of(Table::Cups);
            // A way of serving alone is told at the first of its cups.
            let (key, inner) = inner.split_at(inner.len().min(2));
            let of = |row: &Record| row.key[0] == id && row.key[1..].starts_with(key);
            rows.records.iter().position(of).and_then(|at| in_row(rows, at, inner))
        }
        "parts" => {
            let rows = sheets.of(Table::Parts);
            let nth = inner.first().map_or(Some(0), |nth| nth.parse::<usize>().ok())?;
            let mut of = rows.records.iter().enumerate().filter(|(_, row)| row.key[0] == id);
            let inner = inner.get(1..).unwrap_or_default();
            of.nth(nth).and_then(|(at, _)| in_row(rows, at, inner))
        }
        _ => None,
    };
    found.or_else(|| in_row(drinks, at, rest))
}

/// The cell of the row at `at` that is nearest to the field at `path`.
fn in_row(rows: &Rows, at: usize, path: &[String]) -> Option<Cell> {
    let row = rows.records.get(at)?;
    let filled = |n: usize| row.cells.get(n).is_some_and(|(_, value)| value.is_some());
    let columns = || rows.columns.iter().enumerate();
    let exact = columns().find(|(_, column)| column.path.0 == path);
    let inside = |(_, column): &(usize, &super::rows::Column)| {
        !path.is_empty() && column.path.0.starts_with(path)
    };
    let around = columns().filter(|(_, column)| column.path.leads_to(path));
    let found = exact
        .filter(|(n, _)| filled(*n))
        .or_else(|| columns().find(|one| inside(one) && filled(one.0)))
        .or_else(|| around.max_by_key(|(_, column)| column.path.0.len()))
        .or_else(|| columns().find(inside));
    let key = rows.key.last().copied().unwrap_or_default();
    Some(rows.cell(row.number, found.map_or(key, |(_, column)| column.at)))
}
