//! The matrix as CSV (RFC 4180): a row for each drink, what it was worked from in each.

use csv::{Terminator, WriterBuilder};

use super::Matrix;
use crate::{
    engine::phrase::Phrase,
    wire::{AllergenMatrix, MatrixDrink, Recorded, TableStamp},
};

/// The matrix as CSV, in UTF-8, with lines that end in CRLF.
///
/// The cells are words, as in every other form. A text that a spreadsheet would take for a formula
/// is set off by a blank.
pub fn csv(matrix: &Matrix<'_>) -> String {
    let AllergenMatrix { book, site, at, region, table, allergens, drinks, .. } = &matrix.view;
    let mut builder = WriterBuilder::new();
    let mut writer = builder.terminator(Terminator::CRLF).from_writer(Vec::new());
    let mut write = |cells: Vec<String>| {
        // Writing to memory cannot fail, and every row has as many cells.
        let _ = writer.write_record(cells.iter().map(|text| plain(text)));
    };
    let say = |phrase| matrix.say(phrase);
    let stamps = [
        Phrase::MatrixDay,
        Phrase::MatrixSite,
        Phrase::MatrixSheet,
        Phrase::MatrixRegion,
        Phrase::MatrixSource,
        Phrase::MatrixInForce,
        Phrase::MatrixReviewer,
        Phrase::MatrixBook,
        Phrase::MatrixVersion,
        Phrase::MatrixDigest,
    ];
    let mut head = vec![say(Phrase::MatrixDrink)];
    head.extend(allergens.iter().map(|one| one.name.clone()));
    head.extend(stamps.map(say));
    write(head);
    let (source, in_force, reviewer) = match table {
        Some(TableStamp { source, in_force, reviewer, reviewed }) => {
            ((*source).to_owned(), (*in_force).to_owned(), format!("{reviewer}, {reviewed}"))
        }
        None => (say(Phrase::MatrixNoTable), String::new(), String::new()),
    };
    for MatrixDrink { name, recorded, .. } in drinks {
        let cell = |id: &str| recorded.get(id).copied().unwrap_or(Recorded::NothingRecorded);
        let mut row = vec![(*name).to_owned()];
        row.extend(allergens.iter().map(|one| matrix.word(cell(one.id))));
        row.extend([at.clone(), site.id.clone(), site.digest.clone(), (*region).to_owned()]);
        row.extend([source.clone(), in_force.clone(), reviewer.clone()]);
        row.extend([book.id.clone(), book.version.clone(), book.digest.clone()]);
        write(row);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn plain(text: &str) -> String {
    let is_formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if is_formula { format!(" {text}") } else { text.to_owned() }
}
