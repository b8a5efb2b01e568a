//! Ids that stand once, and versions that can be read.

use super::Notes;
use crate::book::types::{Book, Modifier};

/// The contract that this program reads, as documents state it in `min_reader`.
const READER: &str = "0.1.0";

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    notes.once("/allergens", book.allergens.iter().map(|one| &one.id));
    notes.once("/diets", book.diets.iter().map(|one| &one.id));
    notes.once("/sizes", book.sizes.iter().map(|one| &one.id));
    notes.once("/materials", book.materials.iter().map(|one| &one.id));
    notes.once("/textures", book.textures.iter().map(|one| &one.id));
    notes.once("/ingredients", book.ingredients.iter().map(|one| &one.id));
    notes.once("/beans", book.beans.iter().map(|one| &one.id));
    notes.once("/pulls", book.pulls.iter().map(|one| &one.id));
    notes.once("/extractions", book.extractions.iter().map(|one| &one.id));
    notes.once("/vessels", book.vessels.iter().map(|one| &one.id));
    notes.once("/jugs", book.jugs.iter().map(|one| &one.id));
    notes.once("/drinks", book.drinks.iter().map(|one| &one.id));
    notes.once("/modifiers", book.modifiers.iter().map(Modifier::id));
    notes.once("/regions", book.regions.iter().map(|one| &one.id));
    for (at, row) in book.services.iter().enumerate() {
        if book.services[..at].iter().any(|before| before.id == row.id) {
            let found = format!("`{}` a second time", row.id.as_str());
            notes.note(&format!("/services/{at}/id"), found, "each way of serving once");
        }
    }
    readable(notes, "/min_reader", book.min_reader.as_deref());
}

/// Complains about a document that only a newer program can read.
pub(super) fn readable(notes: &mut Notes<'_>, pointer: &str, min_reader: Option<&str>) {
    let version = |text: &str| semver::Version::parse(text).ok();
    if let Some(wanted) = min_reader.and_then(version)
        && version(READER).is_some_and(|ours| wanted > ours)
    {
        notes.note(pointer, wanted, format!("at most {READER}; a newer program reads this"));
    }
}
