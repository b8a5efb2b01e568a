//! Names of allergens: as the law of a site's region wants them, and as they were declared.

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

/// The name of what a guest declared, an allergen or an ingredient of the book, in a language; its id
/// if the book has neither.
pub fn declared<'a>(bar: &'a Bar, lang: &str, id: &'a str) -> &'a str {
    let allergen = bar.allergen(id).map(|one| &one.names);
    let names = allergen.or_else(|| bar.ingredient(id).map(|one| &one.names));
    names.map_or(id, |names| names.in_lang(lang))
}
