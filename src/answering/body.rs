//! Reading a body by the schema of its type: every fault at once, each with its pointer and place.

use serde::de::DeserializeOwned;

use crate::{
    json::{Complaint, Complaints, Limits, SchemaCheck, Unread, read_request},
    wire::{Fault, Kind, Problem},
};

/// Most faults that a problem names; a body can hold half a million.
pub(super) const NAMED: usize = 100;

/// A kind of body: how it is called in problems, its schema, and what that cannot say.
pub(super) struct BodyOf<'s, T> {
    /// What it is called, such as `ticket`.
    pub(super) what: &'s str,
    /// Its schema.
    pub(super) schema: &'s SchemaCheck,
    /// Faults that no schema can say, of a body that follows it.
    pub(super) beyond: fn(&T) -> Vec<Complaint>,
    /// Further faults of a body that does not follow it, read off its text.
    pub(super) besides: fn(&str) -> Vec<Complaint>,
}

impl<T: DeserializeOwned> BodyOf<'_, T> {
    /// Reads a body.
    ///
    /// * Errors: a problem for a body that is not UTF-8 JSON, is over the limits, or does not follow
    ///   the contract, with each fault.
    pub(super) fn read(&self, body: &[u8]) -> Result<T, Problem> {
        let text = self.text_of(body)?;
        let read: T =
            read_request(text, Limits::TICKET, self.schema).map_err(|unread| match unread {
                Unread::NotJson(complaint) => Kind::MalformedBody
                    .with("The body cannot be read as JSON.")
                    .about([Fault::from(complaint)]),
                Unread::Wrong(mut complaints) => {
                    complaints.extend((self.besides)(text));
                    self.invalid(complaints)
                }
            })?;
        let complaints = (self.beyond)(&read);
        if complaints.is_empty() {
            Ok(read)
        } else {
            Err(self.invalid(Complaints::placed("", text, complaints).all))
        }
    }

    fn text_of<'b>(&self, body: &'b [u8]) -> Result<&'b str, Problem> {
        let text = std::str::from_utf8(body).map_err(|fault| {
            let at = fault.valid_up_to();
            Kind::MalformedBody.with(format_args!("The body is not UTF-8 from byte {at} on."))
        })?;
        let (what, most) = (self.what, Limits::TICKET.bytes);
        if text.len() > most {
            return Err(Kind::BodyTooLarge.with(format_args!("A {what} has at most {most} bytes.")));
        }
        Ok(text)
    }

    /// The problem of a body with faults, the first of them named.
    fn invalid(&self, complaints: Vec<Complaint>) -> Problem {
        let (what, count) = (self.what, complaints.len());
        let faults: Vec<Fault> = complaints.into_iter().take(NAMED).map(Fault::from).collect();
        let named = if count > NAMED { "the first 100 are" } else { "each is" };
        let detail = format!("The {what} has {count} fault(s); {named} named below.");
        Kind::InvalidBody.with(detail).about(faults)
    }
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
