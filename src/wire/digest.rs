//! The digest of a build: of what it was worked from, never of who ordered it.

use std::sync::LazyLock;

use uuid::Uuid;

use super::CONTRACT;
use crate::{
    book::Bar,
    engine::{Given, What},
    json::Digest,
    units::write_thousandths,
};

/// Digest over book, overlay, site, drink with its modifiers in normal form, language and contract.
///
/// Line id, quantity, allergies, diets, confirmations, overrides and notes are not in it.
pub fn build_digest(bar: &Bar, drink: &str, modifiers: &[Given], lang: &str) -> Digest {
    Digest::of_bytes(&digested(bar, drink, modifiers, lang))
}

/// What is digested, in the canonical form of RFC 8785, written straight down: a tree of it, sorted
/// and written by a library, costs ten times the build. `tests/it/standards.rs` holds the two equal.
pub fn digested(bar: &Bar, drink: &str, modifiers: &[Given], lang: &str) -> Vec<u8> {
    let mut out = String::with_capacity(512);
    out.push_str("{\"book\":");
    push_digest(&mut out, &bar.book_digest);
    out.push_str(",\"contract\":");
    push_text(&mut out, CONTRACT);
    out.push_str(",\"lang\":");
    push_text(&mut out, lang);
    out.push_str(",\"line\":{\"drink\":");
    push_text(&mut out, drink);
    out.push_str(",\"modifiers\":[");
    for (at, given) in modifiers.iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        push_given(&mut out, given);
    }
    out.push_str("]},\"overlay\":");
    match &bar.overlay_digest {
        Some(digest) => push_digest(&mut out, digest),
        None => out.push_str("null"),
    }
    out.push_str(",\"site\":");
    push_digest(&mut out, &bar.site_digest);
    out.push('}');
    out.into_bytes()
}

/// A modifier, its members in the order of their names.
fn push_given(out: &mut String, given: &Given) {
    out.push('{');
    if let What::Count(count) = given.what {
        out.push_str("\"count\":");
        write_thousandths(out, i64::from(count) * 1_000, 3, '.');
        out.push(',');
    }
    out.push_str("\"id\":");
    push_text(out, &given.id);
    match &given.what {
        What::Value(value) => {
            out.push_str(",\"value\":");
            push_text(out, value);
        }
        What::Number(number) => {
            out.push_str(",\"value\":");
            write_thousandths(out, number.thousandths(), 3, '.');
        }
        What::Count(_) | What::Flag => {}
    }
    out.push('}');
}

fn push_digest(out: &mut String, digest: &Digest) {
    out.push('"');
    out.push_str(std::str::from_utf8(&digest.text()).unwrap_or_default());
    out.push('"');
}

/// A text with its escapes, which are those of the JSON library (RFC 8785, section 3.2.2.2).
fn push_text(out: &mut String, text: &str) {
    let plain = |c: u8| c >= 0x20 && c != b'"' && c != b'\\';
    if text.bytes().all(plain) {
        out.push('"');
        out.push_str(text);
        out.push('"');
    } else {
        out.push_str(&serde_json::to_string(text).unwrap_or_default());
    }
}

/// The space of names in which builds have theirs.
static SPACE: LazyLock<Uuid> =
    LazyLock::new(|| Uuid::new_v5(&Uuid::NAMESPACE_URL, b"urn:cupwright:drink-build"));

/// The name-based UUID (version 5) of a digest.
pub fn build_id(digest: &Digest) -> Uuid {
    Uuid::new_v5(&SPACE, &digest.text())
}
