//! The digest of a build: of what it was worked from, never of who ordered it.

use serde_json::json;
use uuid::Uuid;

use super::{CONTRACT, TicketModifier};
use crate::{book::Bar, engine::Given, json::Digest};

/// Digest over book, overlay, site, drink with its modifiers in normal form, language and contract.
///
/// Line id, quantity, allergies, diets, confirmations, overrides and notes are not in it.
pub fn build_digest(bar: &Bar, drink: &str, modifiers: &[Given], lang: &str) -> Digest {
    let modifiers: Vec<TicketModifier> =
        modifiers.iter().cloned().map(TicketModifier::from).collect();
    Digest::of(&json!({
        "book": bar.book_digest,
        "overlay": bar.overlay_digest,
        "site": bar.site_digest,
        "line": { "drink": drink, "modifiers": modifiers },
        "lang": lang,
        "contract": CONTRACT,
    }))
}

/// The name-based UUID (version 5) of a digest.
pub fn build_id(digest: &Digest) -> Uuid {
    let space = Uuid::new_v5(&Uuid::NAMESPACE_URL, b"urn:cupwright:drink-build");
    Uuid::new_v5(&space, digest.to_string().as_bytes())
}
