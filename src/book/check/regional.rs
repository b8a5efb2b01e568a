//! What the law of a region asks for: tables of allergens, amounts of them, cautions.

use jiff::civil::Date;

use super::{Notes, texts::Texts};
use crate::{
    book::types::{AllergenRow, AllergenTable, Book, Caution, Id},
    json::child,
    units::MassFraction,
};

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    for (at, region) in book.regions.iter().enumerate() {
        if let Some(one) = &region.allergen_table {
            table(notes, book, &format!("/regions/{at}/allergen_table"), one);
        }
    }
    for (at, ingredient) in book.ingredients.iter().enumerate() {
        for id in ingredient.allergen_mg_kg.keys() {
            if !ingredient.allergens.contains(id) {
                let here = format!("/ingredients/{at}/allergen_mg_kg/{id}");
                let expected = "one of the record's own `allergens`";
                notes.note(&here, format!("an amount of `{id}`"), expected);
            }
        }
    }
    notes.once("/cautions", book.cautions.iter().map(|one| &one.id));
    for (at, one) in book.cautions.iter().enumerate() {
        caution(notes, book, &format!("/cautions/{at}"), one);
    }
}

fn table(notes: &mut Notes<'_>, book: &Book, here: &str, table: &AllergenTable) {
    let AllergenTable { source: _, in_force, reviewer: _, reviewed, rows, groups } = table;
    for (field, text) in [("in_force", in_force), ("reviewed", reviewed)] {
        if text.parse::<Date>().is_err() {
            let at = child(here, field);
            notes.note(&at, format!("`{text}`"), "a day such as `2025-01-06`");
        }
    }
    let named = rows.iter().map(|row| &row.allergen);
    for (at, id) in named.clone().chain(groups.iter().map(|group| &group.allergen)).enumerate() {
        let (list, at) = at.checked_sub(rows.len()).map_or(("rows", at), |at| ("groups", at));
        let pointer = format!("{here}/{list}/{at}/allergen");
        notes.refer(&pointer, id, |n| &n.allergens);
        covers(notes, book, &pointer, id, list == "groups");
    }
    for (at, row) in rows.iter().enumerate() {
        let pointer = format!("{here}/rows/{at}");
        if rows[..at].iter().any(|before| before.allergen == row.allergen) {
            let found = format!("`{}` a second time", row.allergen);
            notes.note(&child(&pointer, "allergen"), found, "each allergen once");
        }
        amount(notes, &pointer, row);
        Texts::of(notes, book).words(&child(&pointer, "name"), &row.name);
        if let Some(summary) = &row.summary {
            Texts::of(notes, book).words(&child(&pointer, "summary"), summary);
        }
    }
    for (at, group) in groups.iter().enumerate() {
        Texts::of(notes, book).words(&format!("{here}/groups/{at}/name"), &group.name);
    }
}

/// Complains about a group among rows, which would leave open what is required, and the reverse.
fn covers(notes: &mut Notes<'_>, book: &Book, here: &str, id: &Id, is_group: bool) {
    let known = book.allergens.iter().find(|one| one.id == *id);
    let expected = match known {
        Some(one) if one.covers.is_empty() && is_group => "an allergen that covers others",
        Some(one) if !one.covers.is_empty() && !is_group => {
            "an allergen that covers no others; give each that it covers a row, and it a group"
        }
        Some(_) | None => return,
    };
    notes.note(here, format!("`{id}`"), expected);
}

fn amount(notes: &mut Notes<'_>, here: &str, row: &AllergenRow) {
    match row.from_mg_kg {
        None if row.inclusive => {
            let expected = "`from_mg_kg`, the amount that it includes";
            notes.note(here, "`inclusive` without an amount", expected);
        }
        Some(MassFraction::ZERO) => {
            let at = child(here, "from_mg_kg");
            notes.note(&at, "no amount", "more than 0, or none where any amount counts");
        }
        Some(_) | None => {}
    }
}

fn caution(notes: &mut Notes<'_>, book: &Book, here: &str, caution: &Caution) {
    let Caution { id: _, text, source: _, regions, when } = caution;
    Texts::of(notes, book).words(&child(here, "text"), text);
    notes.refer_all(&child(here, "regions"), regions, |n| &n.regions);
    let at = child(here, "when");
    if when.count() != 1 {
        let expected = "exactly one of `hotter_than_c`, `contains`, `caffeine`, `for_drinks`, \
                        `always`, `bench`";
        notes.note(&at, format!("{} conditions", when.count()), expected);
    }
    notes.refer_all(&child(&at, "contains"), &when.contains, |n| &n.ingredients);
    notes.refer_all(&child(&at, "for_drinks"), &when.for_drinks, |n| &n.drinks);
}
