//! Reading a body by the schema of its type: every fault at once, each with its pointer and place.

use serde::de::DeserializeOwned;

use crate::{
    json::{Limits, SchemaCheck, Unread, read_request},
    wire::{Fault, Kind, Problem},
};

/// Most faults that a problem names; a body can hold half a million.
const NAMED: usize = 100;

/// Reads a body.
///
/// * `what`: what it is called in problems, such as `shot`.
/// * Errors: a problem for a body that is not UTF-8 JSON, is over the limits, or does not follow
///   the contract, with each fault.
pub(super) fn read_body<T: DeserializeOwned>(
    body: &[u8],
    schema: &SchemaCheck,
    what: &str,
) -> Result<T, Problem> {
    let text = std::str::from_utf8(body).map_err(|fault| {
        let at = fault.valid_up_to();
        Kind::MalformedBody.with(format_args!("The body is not UTF-8 from byte {at} on."))
    })?;
    if text.len() > Limits::TICKET.bytes {
        let most = Limits::TICKET.bytes;
        return Err(Kind::BodyTooLarge.with(format_args!("A {what} has at most {most} bytes.")));
    }
    read_request(text, Limits::TICKET, schema).map_err(|unread| match unread {
        Unread::NotJson(complaint) => Kind::MalformedBody
            .with("The body cannot be read as JSON.")
            .about([Fault::from(complaint)]),
        Unread::Wrong(complaints) => {
            let count = complaints.len();
            let faults = complaints.into_iter().take(NAMED).map(Fault::from);
            let named = if count > NAMED { "the first 100 are" } else { "each is" };
            let detail = format!("The {what} has {count} fault(s); {named} named below.");
            Kind::InvalidBody.with(detail).about(faults)
        }
    })
}

/// The fault of an id that the book does not have, with those that it has.
pub(super) fn unknown<'a>(
    pointer: impl Into<String>,
    found: &str,
    known: impl Iterator<Item = &'a str>,
) -> Fault {
    // A long list helps nobody.
    let shown: Vec<&str> = known.take(21).collect();
    let expected = if shown.is_empty() || shown.len() > 20 {
        "an id of the book".to_owned()
    } else {
        format!("one of {}", shown.join(", "))
    };
    Fault::at(pointer, format!("found `{found}`; expected {expected}"))
}
