//! Ids that stand once, and versions that can be read.

use super::Notes;
use crate::{
    book::types::{Book, Modifier},
    json::newer,
};

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
    readable(notes, "", book.min_reader.as_deref());
}

/// Complains about a document that only a newer program can read.
pub(super) fn readable(notes: &mut Notes<'_>, root: &str, min_reader: Option<&str>) {
    if let Some(mut complaint) = newer(min_reader) {
        complaint.pointer.insert_str(0, root);
        notes.complaints.push(complaint);
    }
}
