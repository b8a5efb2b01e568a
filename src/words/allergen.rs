//! The name of an allergen as the law of a site's region wants it.

use crate::book::Bar;

/// The name of an allergen in a language: the one that the site's region requires, with the word
/// that it wants beside it; else the book's; else its id.
pub fn allergen(bar: &Bar, lang: &str, id: &str) -> String {
    let table = bar.allergen_table();
    let summary = table.and_then(|table| table.row(id)).and_then(|row| row.summary.as_ref());
    let name = table.and_then(|table| table.name(id));
    let name = name.or_else(|| bar.allergen(id).map(|one| &one.names));
    let name = name.map_or(id, |words| words.in_lang(lang));
    summary.map_or_else(|| name.to_owned(), |words| format!("{name} ({})", words.in_lang(lang)))
}
