//! The sheet as CSV (RFC 4180): `code,label,drink,modifiers`, the last as `milk=oat-drink; shots=+1`.

use std::collections::HashSet;

use super::map::{Button, TillMap};
use crate::{
    book::{ExampleModifier, ExampleValue, Id},
    json::{Complaint, Complaints, Place},
    tables::scan::{Fault, delimiter, scan},
    units::{Figure, decimal_places, write_thousandths},
};

const COLUMNS: [&str; 4] = ["code", "label", "drink", "modifiers"];

/// Most characters of a cell and most modifiers of a button, as the JSON form has them too.
pub(super) const LONGEST: usize = 64;
const MOST_MODIFIERS: usize = 32;
const MOST_BUTTONS: usize = 5_000;

/// A row with the line of the text in which it begins, from 1.
type Row = (usize, Vec<String>);

/// A fault with the number of its cell, from 1.
type InCell = (usize, Complaint);

impl TillMap {
    /// Reads a sheet of commas, semicolons or tabs, as its first row shows; a place is the line of
    /// the text and the number of the cell.
    pub(super) fn from_csv(name: &str, text: &str, site: &str) -> Result<Self, Complaints> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let (rows, mut all) = rows_of(text);
        let mut filled =
            rows.into_iter().filter(|(_, cells)| cells.iter().any(|one| !one.is_empty()));
        let (line, head) = filled.next().unwrap_or((1, Vec::new()));
        all.extend(header(&head).map(|fault| placed(line, (1, fault))));
        let (mut buttons, mut seen) = (Vec::new(), HashSet::new());
        for (at, (line, cells)) in filled.enumerate() {
            let (button, mut faults) = button(&cells, at);
            if !seen.insert(button.code.clone()) && !button.code.is_empty() {
                faults.insert(0, (1, twice(&button.code, at)));
            }
            if at == MOST_BUTTONS {
                let expected = format!("at most {MOST_BUTTONS} buttons");
                faults.push((1, Complaint::at("/buttons", "one more button", expected)));
            }
            all.extend(faults.into_iter().map(|fault| placed(line, fault)));
            buttons.push(button);
        }
        if all.is_empty() {
            return Ok(Self { site: site.into(), buttons });
        }
        all.sort_by_key(|one| one.place);
        Err(Complaints { document: name.to_owned(), all })
    }
}

/// The complaint about a code that another button has.
pub(super) fn twice(code: &str, at: usize) -> Complaint {
    let found = format!("the code `{code}` a second time");
    Complaint::at(format!("/buttons/{at}/code"), found, "each code once")
}

fn placed(line: usize, (column, fault): InCell) -> Complaint {
    Complaint { place: Some(Place { line, column }), ..fault }
}

/// The rows of a text, blank ones too where anything delimits them, and the faults of its quotes.
pub fn rows_of(text: &str) -> (Vec<Row>, Vec<Complaint>) {
    let delimiter = delimiter(text);
    let mut reader = csv::ReaderBuilder::new();
    let reader = reader.has_headers(false).flexible(true).delimiter(delimiter);
    let (mut rows, mut line, mut from) = (Vec::new(), 1, 0);
    // The text is UTF-8 and in memory, so no record can fail.
    for record in reader.from_reader(text.as_bytes()).into_records().flatten() {
        let at = record.position().and_then(|place| usize::try_from(place.byte()).ok());
        // The reader counts blank lines, and the second half of CRLF, to the record behind them.
        let rest = text.get(at.unwrap_or(from)..).unwrap_or_default();
        let begin = text.len() - rest.trim_start_matches(['\r', '\n']).len();
        line += line_ends(text.get(from..begin).unwrap_or_default());
        from = begin;
        rows.push((line, record.iter().map(|cell| cell.trim().to_owned()).collect()));
    }
    let scanned = scan(text, delimiter);
    let line_of = |row: usize| {
        let record = scanned.rows.iter().position(|one| *one == row);
        record.and_then(|at| rows.get(at)).map_or(row, |(line, _)| *line)
    };
    let faults = scanned.faults.iter().map(|(row, column, fault)| {
        let (found, expected) = match fault {
            Fault::Unended => ("a quote that nothing ends", "a second quote behind the cell"),
            Fault::AfterEnd => {
                ("text behind the quote that ends the cell", "each quote inside a cell doubled")
            }
        };
        placed(line_of(*row), (*column, Complaint::at("", found, expected)))
    });
    let faults = faults.collect();
    (rows, faults)
}

/// Ends of lines: CRLF, or either of the two alone.
fn line_ends(text: &str) -> usize {
    text.matches(['\r', '\n']).count() - text.matches("\r\n").count()
}

fn header(cells: &[String]) -> Option<Complaint> {
    let right = cells.iter().map(|cell| cell.to_lowercase()).eq(COLUMNS);
    let found = if cells.is_empty() { "nothing".to_owned() } else { cells.join(",") };
    (!right).then(|| Complaint::at("/columns", found, COLUMNS.join(",")))
}

/// The button of a row as far as it can be read, and each cell at fault.
fn button(cells: &[String], at: usize) -> (Button, Vec<InCell>) {
    let cell = |n: usize| cells.get(n).map(String::as_str).unwrap_or_default();
    let here = |field: &str| format!("/buttons/{at}/{field}");
    let long = |n: usize| cell(n).chars().count() > LONGEST;
    let mut faults = Vec::new();
    if cell(0).is_empty() || long(0) {
        let expected = "the till's own code, at most 64 characters";
        faults.push((1, Complaint::at(here("code"), format!("`{}`", cell(0)), expected)));
    }
    for n in [1, 2].into_iter().filter(|n| long(*n)) {
        let found = format!("{} characters", cell(n).chars().count());
        faults.push((n + 1, Complaint::at(here(COLUMNS[n]), found, "at most 64 characters")));
    }
    let texts = cell(3).split(';').map(str::trim).filter(|text| !text.is_empty());
    let mut modifiers = Vec::new();
    for text in texts {
        if let Some(modifier) = modifier_of(text) {
            modifiers.push(modifier);
            continue;
        }
        let expected = "`id=value`, `id=+1` or `id`, apart by `;`";
        faults.push((4, Complaint::at(here("modifiers"), format!("`{text}`"), expected)));
    }
    if modifiers.len() > MOST_MODIFIERS {
        let found = format!("{} modifiers", modifiers.len());
        faults.push((4, Complaint::at(here("modifiers"), found, "at most 32 modifiers")));
    }
    if cells.iter().skip(COLUMNS.len()).any(|cell| !cell.is_empty()) {
        let found = format!("{} cells", cells.len());
        let pointer = format!("/buttons/{at}");
        faults.push((COLUMNS.len() + 1, Complaint::at(pointer, found, "4 cells in a row")));
    }
    let drink = Some(cell(2)).filter(|drink| !drink.is_empty()).map(str::to_owned);
    (Button { code: cell(0).to_owned(), label: cell(1).to_owned(), drink, modifiers }, faults)
}

/// A modifier as a cell writes it: a sign makes a count, digits a number.
pub fn modifier_of(text: &str) -> Option<ExampleModifier> {
    let Some((id, value)) = text.split_once('=') else {
        return Id::fits(text).then(|| ExampleModifier {
            id: text.to_owned(),
            value: None,
            count: None,
        });
    };
    let (id, value) = (id.trim().to_owned(), value.trim());
    if !Id::fits(&id) || value.is_empty() {
        return None;
    }
    if value.starts_with(['+', '-', '−']) {
        let count: i32 = value.replace('−', "-").parse().ok()?;
        let count = Some(count).filter(|count| (-99..=99).contains(count))?;
        return Some(ExampleModifier { id, value: None, count: Some(count) });
    }
    let value = match number(value) {
        Some(number) => ExampleValue::Number(number),
        None => ExampleValue::Id(Id::fits(value).then(|| value.into())?),
    };
    Some(ExampleModifier { id, value: Some(value), count: None })
}

/// A number without a sign, with at most three places.
fn number(text: &str) -> Option<Figure> {
    let plain = text.starts_with(|c: char| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || c == '.')
        && decimal_places(text) <= 3;
    let number = Some(text).filter(|_| plain)?.parse::<f64>().ok()?;
    (number <= 10_000.0).then(|| Figure::from_value(number))
}

/// The buttons as CSV; reading it again gives the same buttons.
///
/// A label that a spreadsheet would take for a formula is set off by a blank, which readers trim.
pub fn csv_of(buttons: &[Button]) -> String {
    let mut builder = csv::WriterBuilder::new();
    let mut writer = builder.terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory cannot fail, and what is written is text.
    let _ = writer.write_record(COLUMNS);
    for Button { code, label, drink, modifiers } in buttons {
        let drink = drink.clone().unwrap_or_default();
        let texts: Vec<String> = modifiers.iter().map(written).collect();
        let safe = |text: &str| {
            let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
            if formula { format!(" {text}") } else { text.to_owned() }
        };
        let _ = writer.write_record([safe(code), safe(label), safe(&drink), texts.join("; ")]);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn written(modifier: &ExampleModifier) -> String {
    let ExampleModifier { id, value, count } = modifier;
    match (value, count) {
        (Some(ExampleValue::Id(value)), _) => format!("{id}={value}"),
        (Some(ExampleValue::Number(number)), _) => {
            let mut text = format!("{id}=");
            write_thousandths(&mut text, number.thousandths(), 3, '.');
            text
        }
        (None, Some(n)) => format!("{id}={n:+}"),
        (None, None) => id.clone(),
    }
}
