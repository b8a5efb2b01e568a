//! The matrix as plain text: a row for each drink, the allergens by what is recorded of them.

use textwrap::wrap;

use super::Matrix;
use crate::{
    engine::phrase::Phrase,
    wire::{AllergenMatrix, MatrixDrink, Recorded},
};

/// Widths of the columns, in characters; with two blanks between them a line has 98.
const WIDTHS: [usize; 4] = [22, 22, 24, 24];
/// Columns that a sentence takes at most.
const COLUMNS: usize = 98;

/// The matrix as a table of four columns: the drink, and the allergens that are contained, that may
/// be contained, and that are on shared equipment.
pub fn text(matrix: &Matrix<'_>) -> String {
    let AllergenMatrix { allergens, drinks, not_made, legend, notes, .. } = &matrix.view;
    let mut out = format!("{}\n\n", matrix.say(Phrase::MatrixTitle));
    for stamp in matrix.stamps() {
        sentence(&mut out, &stamp);
    }
    out.push('\n');
    let heads = [Recorded::Contained, Recorded::MayBeContained, Recorded::SharedEquipment];
    let head = [
        matrix.say(Phrase::MatrixDrink),
        matrix.word(heads[0]),
        matrix.word(heads[1]),
        matrix.word(heads[2]),
    ];
    cells(&mut out, &head);
    cells(&mut out, &WIDTHS.map(|width| "-".repeat(width)));
    for MatrixDrink { name, recorded, .. } in drinks {
        let of = |wanted: Recorded| {
            let those = allergens.iter().filter(|one| recorded.get(one.id) == Some(&wanted));
            let names = those.map(|one| &*one.name).collect::<Vec<_>>().join(", ");
            // A place without a word would be read as a word.
            if names.is_empty() { matrix.word(Recorded::NothingRecorded) } else { names }
        };
        cells(&mut out, &[(*name).to_owned(), of(heads[0]), of(heads[1]), of(heads[2])]);
    }
    out.push('\n');
    for row in legend {
        sentence(&mut out, &format!("{}: {}", row.word, row.text));
    }
    let names: Vec<&str> = allergens.iter().map(|one| &*one.name).collect();
    sentence(&mut out, &matrix.told(Phrase::MatrixLookedAt, &names.join(", ")));
    if !not_made.is_empty() {
        let names: Vec<&str> = not_made.iter().map(|one| one.name).collect();
        sentence(&mut out, &matrix.told(Phrase::MatrixNotMade, &names.join(", ")));
    }
    for note in notes {
        sentence(&mut out, note);
    }
    out
}

fn sentence(out: &mut String, text: &str) {
    for line in wrap(text, COLUMNS) {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

/// One row: what does not fit into a cell goes on under it.
fn cells(out: &mut String, row: &[String; 4]) {
    let wrapped: Vec<_> = row.iter().zip(WIDTHS).map(|(text, width)| wrap(text, width)).collect();
    let height = wrapped.iter().map(Vec::len).max().unwrap_or_default();
    for at in 0..height {
        let mut line = String::with_capacity(COLUMNS);
        for (cell, width) in wrapped.iter().zip(WIDTHS) {
            let text = cell.get(at).map_or("", |text| text);
            line.push_str(text);
            line.push_str(&" ".repeat((width + 2).saturating_sub(text.chars().count())));
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}
