//! The sheet as CSV (RFC 4180): `code,label,drink,modifiers`, the last as `milk=oat-drink; shots=+1`.

use super::map::{Button, TillMap};
use crate::{
    book::{ExampleModifier, ExampleValue},
    json::{Complaint, Complaints, Place},
    units::Figure,
};

const COLUMNS: [&str; 4] = ["code", "label", "drink", "modifiers"];

impl TillMap {
    pub(super) fn from_csv(name: &str, text: &str, site: &str) -> Result<Self, Complaints> {
        let text = text.trim_start_matches('\u{feff}');
        let first = text.lines().next().unwrap_or_default();
        let delimiter = if first.contains(';') && !first.contains(',') { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            .from_reader(text.as_bytes());
        let (mut buttons, mut all) = (Vec::new(), Vec::new());
        for (at, row) in reader.records().enumerate() {
            let row = match row {
                Ok(row) => row,
                Err(fault) => {
                    all.push(Complaint::at("", fault.to_string(), "a table (RFC 4180) in UTF-8"));
                    break;
                }
            };
            let line = row
                .position()
                .map_or(at + 1, |place| usize::try_from(place.line()).unwrap_or(at + 1));
            let cells: Vec<&str> = row.iter().map(str::trim).collect();
            if at == 0 {
                all.extend(header(&cells));
            } else if cells.iter().any(|cell| !cell.is_empty()) {
                match button(&cells, buttons.len()) {
                    Ok(button) => buttons.push(button),
                    Err(faults) => all.extend(faults.into_iter().map(|(column, mut one)| {
                        one.place = Some(Place { line, column });
                        one
                    })),
                }
            }
        }
        if all.is_empty() {
            return Ok(Self { site: site.into(), buttons });
        }
        Err(Complaints { document: name.to_owned(), all })
    }
}

fn header(cells: &[&str]) -> Option<Complaint> {
    let right = cells.iter().map(|cell| cell.to_lowercase()).eq(COLUMNS);
    (!right).then(|| Complaint {
        place: Some(Place { line: 1, column: 1 }),
        ..Complaint::at("/columns", cells.join(","), COLUMNS.join(","))
    })
}

/// The button of a row, or each cell at fault with its column from 1.
fn button(cells: &[&str], at: usize) -> Result<Button, Vec<(usize, Complaint)>> {
    let cell = |n: usize| cells.get(n).copied().unwrap_or_default();
    let here = |field: &str| format!("/buttons/{at}/{field}");
    let mut faults = Vec::new();
    if cells.len() > COLUMNS.len() {
        let found = format!("{} cells", cells.len());
        faults.push((COLUMNS.len() + 1, Complaint::at(here(""), found, "4 cells in a row")));
    }
    if cell(0).is_empty() || cell(0).chars().count() > 64 {
        let expected = "the till's own code, at most 64 characters";
        faults.push((1, Complaint::at(here("code"), format!("`{}`", cell(0)), expected)));
    }
    let texts = cell(3).split(';').map(str::trim).filter(|text| !text.is_empty());
    let mut modifiers = Vec::new();
    for text in texts {
        if let Some(modifier) = modifier(text) {
            modifiers.push(modifier);
            continue;
        }
        let expected = "`id=value`, `id=+1` or `id`, apart by `;`";
        faults.push((4, Complaint::at(here("modifiers"), format!("`{text}`"), expected)));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let drink = Some(cell(2)).filter(|drink| !drink.is_empty()).map(str::to_owned);
    Ok(Button { code: cell(0).to_owned(), label: cell(1).to_owned(), drink, modifiers })
}

/// A modifier as a cell writes it: a sign makes a count, digits a number.
fn modifier(text: &str) -> Option<ExampleModifier> {
    let Some((id, value)) = text.split_once('=') else {
        return is_id(text).then(|| ExampleModifier {
            id: text.to_owned(),
            value: None,
            count: None,
        });
    };
    let (id, value) = (id.trim().to_owned(), value.trim());
    if !is_id(&id) || value.is_empty() {
        return None;
    }
    if value.starts_with(['+', '-', '−']) {
        let count = value.replace('−', "-").parse().ok()?;
        return Some(ExampleModifier { id, value: None, count: Some(count) });
    }
    let number = value.parse::<i64>().ok().map(|n| Figure::from_thousandths(n * 1_000));
    let value = match number {
        Some(number) => ExampleValue::Number(number),
        None => ExampleValue::Id(is_id(value).then(|| value.into())?),
    };
    Some(ExampleModifier { id, value: Some(value), count: None })
}

fn is_id(text: &str) -> bool {
    let right = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    !text.is_empty() && text.len() <= 64 && text.chars().all(right)
}

/// The buttons as CSV; reading it again gives the same buttons.
///
/// A label that a spreadsheet would take for a formula is set off by a blank, which readers trim.
pub fn csv_of(buttons: &[Button]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory cannot fail, and what is written is text.
    let _ = writer.write_record(COLUMNS);
    for Button { code, label, drink, modifiers } in buttons {
        let drink = drink.clone().unwrap_or_default();
        let texts: Vec<String> = modifiers.iter().map(written).collect();
        let safe = |text: &str| {
            let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
            if formula { format!(" {text}") } else { text.to_owned() }
        };
        let _ = writer.write_record([safe(code), safe(label), drink, texts.join("; ")]);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn written(modifier: &ExampleModifier) -> String {
    let ExampleModifier { id, value, count } = modifier;
    match (value, count) {
        (Some(ExampleValue::Id(value)), _) => format!("{id}={value}"),
        (Some(ExampleValue::Number(n)), _) => format!("{id}={}", n.thousandths() / 1_000),
        (None, Some(n)) => format!("{id}={n:+}"),
        (None, None) => id.clone(),
    }
}
