//! Reading a ticket: every fault of the body at once, each with its pointer and place.

use std::{collections::HashSet, sync::LazyLock};

use serde_json::Value;

use super::{
    body::{BodyOf, NAMED},
    quick::read_quickly,
};
use crate::{
    json::{Complaint, Complaints, SchemaCheck},
    wire::{Problem, Ticket},
};

static SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<Ticket>(false));

/// The compiled schema of a ticket.
pub fn ticket_schema() -> &'static SchemaCheck {
    &SCHEMA
}

/// Reads a ticket.
///
/// * Errors: a problem for a body that is not UTF-8 JSON, is over the limits, or does not follow
///   the contract, with each fault.
pub fn read_ticket(body: &[u8]) -> Result<Ticket, Problem> {
    read_quickly(body).map_or_else(|| read_closely(body), Ok)
}

/// Reads a ticket by the schema, naming every fault.
pub fn read_closely(body: &[u8]) -> Result<Ticket, Problem> {
    let ticket = BodyOf {
        what: "ticket",
        schema: &SCHEMA,
        beyond: beyond_the_schema,
        besides: without_drink,
    };
    ticket.read(body)
}

/// Lines that name neither a drink nor buttons, of a body that has other faults too.
fn without_drink(text: &str) -> Vec<Complaint> {
    let body: Value = serde_json::from_str(text).unwrap_or_default();
    let lines = body["lines"].as_array().into_iter().flatten().enumerate();
    let bare = lines.filter(|(_, line)| {
        line.is_object() && line.get("drink").is_none() && line.get("codes").is_none()
    });
    let all: Vec<Complaint> = bare.take(NAMED).map(|(at, _)| no_drink(at)).collect();
    Complaints::placed("", text, all).all
}

fn no_drink(at: usize) -> Complaint {
    let found = "neither `drink` nor `codes`";
    Complaint::at(format!("/lines/{at}"), found, "a drink, or buttons of the site's till")
}

/// What a schema cannot say: line ids that differ, modifiers in one form, a time that is one.
fn beyond_the_schema(ticket: &Ticket) -> Vec<Complaint> {
    let mut complaints = Vec::new();
    let mut seen = HashSet::new();
    for (at, line) in ticket.lines.iter().enumerate() {
        if !seen.insert(&line.line) {
            let found = format!("the line id `{}` a second time", line.line);
            complaints.push(Complaint::at(format!("/lines/{at}/line"), found, "each line id once"));
        }
        if line.drink.is_empty() && line.codes.is_empty() {
            complaints.push(no_drink(at));
        }
        for (n, modifier) in line.modifiers.iter().enumerate() {
            if modifier.value.is_some() && modifier.count.is_some() {
                let here = format!("/lines/{at}/modifiers/{n}");
                let expected = "`value` for a slot, `count` for a counter, neither for a flag";
                complaints.push(Complaint::at(here, "both `value` and `count`", expected));
            }
        }
    }
    let at = ticket.order.as_ref().and_then(|order| order.at.as_deref());
    if let Some(text) = at.filter(|text| text.parse::<jiff::Timestamp>().is_err()) {
        let expected = "a time such as \"2026-11-25T14:05:00+01:00\" (RFC 3339)";
        complaints.push(Complaint::at("/order/at", format!("`{text}`"), expected));
    }
    complaints
}
