//! What regions and sites may replace: never an id, never an allergen.

use super::Notes;
use crate::{
    book::types::Book,
    json::{child, segments},
};

/// Fields that no region and no site may ever replace: ids hold the book together, and allergens
/// come only from ingredient records.
pub(in crate::book) const FIXED: [&str; 7] =
    ["id", "kind", "allergens", "allergen_mg_kg", "may_contain", "made_of", "steaming"];

/// Whole fields that may be replaced: a region has its own money.
const MONEY: [&str; 2] = ["/currency", "/currency_places"];

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    let lists = [
        ("/region_may_replace", &book.region_may_replace),
        ("/site_may_replace", &book.site_may_replace),
    ];
    for (pointer, patterns) in lists {
        for (at, pattern) in patterns.iter().enumerate() {
            let here = child(pointer, at);
            if MONEY.contains(&pattern.as_str()) {
                continue;
            }
            if !pattern.starts_with('/') || segments(pattern).count() < 2 {
                notes.note(&here, format!("`{pattern}`"), "a path such as `/drinks/*/names/*`");
            }
            let first = segments(pattern).next();
            let whole = ["drinks", "modifiers", "ingredients", "vessels", "jugs", "extractions"];
            if !first.is_some_and(|first| whole.contains(&first.as_ref())) {
                let expected = format!("a path into one of {}", whole.join(", "));
                notes.note(&here, format!("`{pattern}`"), expected);
            }
            if let Some(field) = segments(pattern).find(|field| FIXED.contains(&field.as_ref())) {
                let found = format!("`{pattern}`, which reaches `{field}`");
                notes.note(
                    &here,
                    found,
                    format!("a path that reaches none of {}", FIXED.join(", ")),
                );
            }
        }
    }
}
