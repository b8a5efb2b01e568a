//! `strength`: each drink at each site beside the book's own bar, with a bar drawn in text.

use anstream::println;

use super::{
    Outcome,
    layout::counted,
    load::{Files, bar_of},
};
use crate::{
    answering::strength_table,
    book::Service,
    wire::{StrengthRow, StrengthTable},
};

/// Columns on either side of the standard.
const SIDE: usize = 12;
/// Hundredths of the standard that a column stands for.
const PER_COLUMN: f64 = 5.0;

/// Compares and prints.
///
/// * `all`: cups that do not differ too.
pub(super) fn strength(files: &Files, site: Option<&str>, all: bool, json: bool) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let Some(mut table) = strength_table(&held) else { return Outcome::Failed };
    if let Some(site) = site {
        if let Err(outcome) = bar_of(&held, site) {
            return outcome;
        }
        table.rows.retain(|row| row.site == site);
    }
    if json {
        println!("{:#}", serde_json::to_value(&table).unwrap_or_default());
    } else {
        println!("{}", text(&table, all));
    }
    Outcome::Done
}

fn text(table: &StrengthTable, all: bool) -> String {
    let differs = |row: &&StrengthRow| all || row.deviation_percent.thousandths() != 0;
    let rows: Vec<&StrengthRow> = table.rows.iter().filter(differs).collect();
    let wide = |of: fn(&StrengthRow) -> String| {
        rows.iter().map(|row| of(row).chars().count()).max().unwrap_or_default()
    };
    let (site, cup) = (wide(|row| row.site.clone()), wide(cup_of));
    let head = "dissolved coffee in 100 mL, here and at the book's own bar";
    let mut lines = vec![format!("{} {}: {head}", table.book.id, table.book.version)];
    for row in &rows {
        lines.push(format!(
            "{:<site$}  {:<cup$}  {:>5} g  {:>5} g  {}  {:>+6.1} %  {}",
            row.site,
            cup_of(row),
            row.solids_g_per_100ml.value(),
            row.standard_g_per_100ml.value(),
            bar(row.deviation_percent.value()),
            row.deviation_percent.value(),
            remedy(row),
        ));
    }
    let same = table.rows.len() - rows.len();
    if same > 0 {
        lines
            .push(format!("{same} cups are as strong as at the book's own bar; --all lists them."));
    }
    let lines: Vec<&str> = lines.iter().map(|line| line.trim_end()).collect();
    lines.join("\n")
}

fn cup_of(row: &StrengthRow) -> String {
    format!("{} {} {}", row.drink, row.service.as_str(), row.size)
}

/// A bar from the standard in the middle: weaker to the left, stronger to the right.
fn bar(percent: f64) -> String {
    let length = (percent.abs() / PER_COLUMN).ceil().min(100.0);
    let columns = (1..=SIDE).take_while(|n| f64::from(u32::try_from(*n).unwrap_or(0)) <= length);
    let filled = columns.count();
    let (left, right) = if percent < 0.0 { (filled, 0) } else { (0, filled) };
    let free = |used: usize| " ".repeat(SIDE - used);
    format!("{}{}|{}{}", free(left), "=".repeat(left), "=".repeat(right), free(right))
}

/// What would mend it, honestly: halves are whole.
fn remedy(row: &StrengthRow) -> String {
    let Some(fill) = row.fill_needed_ml else { return String::new() };
    let halves = if row.halves == row.standard_halves {
        String::new()
    } else {
        let halves = |n: i32| counted(usize::try_from(n).unwrap_or_default(), "half", "halves");
        format!("{} here, {} in the book; ", halves(row.halves), halves(row.standard_halves))
    };
    if row.service == Service::Own {
        return format!("{halves}as strong at {} mL in the customer's cup", fill.ml());
    }
    match &row.cup_that_fits {
        Some(cup) => format!("{halves}as strong at {} mL: {cup}", fill.ml()),
        None => format!("{halves}as strong at {} mL: no cup of the book", fill.ml()),
    }
}
