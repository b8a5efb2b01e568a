//! A sales mix as CSV: `drink,modifiers,count`, and `mean,standard_deviation` for a forecast.

use serde_json::{Map, Value, json};

use crate::{
    json::{Complaint, Complaints, Place},
    till::{modifier_of, rows_of},
};

/// The columns; the last two may be left out together.
const COLUMNS: [&str; 5] = ["drink", "modifiers", "count", "mean", "standard_deviation"];
/// How many must be there.
const NEEDED: usize = 3;

/// The lines of a mix, as a body of the service has them; each gets the number of its row as its id.
///
/// * Errors: every cell at fault, with the line of the text and the number of the cell.
pub(super) fn lines(name: &str, text: &str) -> Result<Vec<Value>, Complaints> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (rows, mut faults) = rows_of(text);
    let mut filled = rows.into_iter().filter(|(_, cells)| cells.iter().any(|one| !one.is_empty()));
    let (first, head) = filled.next().unwrap_or((1, Vec::new()));
    let columns: Vec<String> = head.iter().map(|cell| cell.to_lowercase()).collect();
    let right = columns == COLUMNS[..NEEDED] || columns == COLUMNS;
    if !right {
        let found = if head.is_empty() { "nothing".to_owned() } else { head.join(",") };
        let expected = format!("{}, or {}", COLUMNS[..NEEDED].join(","), COLUMNS.join(","));
        faults.push(placed(first, 1, found, &expected));
        return Err(Complaints { document: name.to_owned(), all: faults });
    }
    let mut lines = Vec::new();
    for (at, cells) in filled {
        lines.push(line(at, &cells, columns.len(), &mut faults));
    }
    faults.sort_by_key(|one| one.place);
    if faults.is_empty() {
        Ok(lines)
    } else {
        Err(Complaints { document: name.to_owned(), all: faults })
    }
}

fn placed(line: usize, column: usize, found: String, expected: &str) -> Complaint {
    Complaint { place: Some(Place { line, column }), ..Complaint::at("", found, expected) }
}

/// The line of a row, and each cell of it that is at fault.
fn line(at: usize, cells: &[String], columns: usize, faults: &mut Vec<Complaint>) -> Value {
    let cell = |n: usize| cells.get(n).map(String::as_str).unwrap_or_default();
    let mut wrong = |n: usize, expected: &str| {
        let found =
            if cell(n).is_empty() { "nothing".to_owned() } else { format!("`{}`", cell(n)) };
        faults.push(placed(at, n + 1, found, expected));
    };
    let mut line = Map::new();
    line.insert("line".to_owned(), at.to_string().into());
    line.insert("drink".to_owned(), cell(0).into());
    if cell(0).is_empty() {
        wrong(0, "the id of a drink");
    }
    let mut modifiers = Vec::new();
    for text in cell(1).split(';').map(str::trim).filter(|text| !text.is_empty()) {
        match modifier_of(text).map(serde_json::to_value) {
            Some(Ok(modifier)) => modifiers.push(modifier),
            Some(Err(_)) | None => wrong(1, "`id=value`, `id=+1` or `id`, apart by `;`"),
        }
    }
    line.insert("modifiers".to_owned(), modifiers.into());
    match cell(2).parse::<u32>() {
        Ok(count) if (1..=100_000).contains(&count) => {
            line.insert("count".to_owned(), count.into());
        }
        Ok(_) | Err(_) => wrong(2, "a whole number from 1 to 100000"),
    }
    if columns > NEEDED {
        let number = |n: usize| cell(n).parse::<f64>().ok().filter(|number| number.is_finite());
        match (number(3), number(4)) {
            (Some(mean), Some(deviation)) => {
                let day = json!({ "mean": mean, "standard_deviation": deviation });
                line.insert("per_day".to_owned(), day);
            }
            (mean, deviation) => {
                let missing = [(3, mean), (4, deviation)];
                for (n, _) in missing.into_iter().filter(|(_, number)| number.is_none()) {
                    wrong(n, "a number of cups, its decimals behind a point");
                }
            }
        }
    }
    if cells.iter().skip(columns).any(|cell| !cell.is_empty()) {
        wrong(columns, "no more cells than columns");
    }
    line.into()
}
