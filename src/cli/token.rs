//! `token`: the line and the build behind a token, and the tokens of a ticket.

use std::{path::Path, sync::Arc};

use anstream::{eprintln, println};
use jiff::Timestamp;

use super::{
    Outcome,
    load::Files,
    table,
    ticket::{Given, given, tell},
};
use crate::{
    answering::{coded, tokens},
    in_force::Editions,
    wire::Problem,
};

/// Prints the token of each line of a ticket.
pub(super) fn write(files: &Files, file: &Path) -> Outcome {
    let Given { editions, sent, ticket } = match given(files, Some(file)) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let all = match ticket.and_then(|ticket| tokens(&editions, ticket, &sent)) {
        Ok(all) => all,
        Err(problem) => {
            tell(&problem, "ticket");
            return Outcome::Complaints;
        }
    };
    let mut outcome = Outcome::Done;
    for (line, token) in all {
        if let Some(token) = token {
            println!("{token}");
        } else {
            eprintln!("Line {line} has no token: it is not accepted, or is for an allergy.");
            outcome = Outcome::NotAllAccepted;
        }
    }
    outcome
}

/// Reads the token and prints what it stands for.
///
/// * `given`: the token, or the address that ends with it.
pub(super) fn read(files: &Files, given: &str, json: bool) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let editions = Editions::of(Arc::new(held), Timestamp::now());
    match shown(&editions, given.rsplit('/').next().unwrap_or_default(), json) {
        Ok(text) => {
            println!("{text}");
            Outcome::Done
        }
        Err(problem) => {
            tell(&problem, "token");
            for digest in &problem.held {
                eprintln!("  held: {digest}");
            }
            Outcome::Complaints
        }
    }
}

fn shown(editions: &Editions, token: &str, json: bool) -> Result<String, Problem> {
    let found = coded(editions, token)?;
    let view = found.view()?;
    if json {
        return Ok(format!("{:#}", serde_json::to_value(&view).unwrap_or_default()));
    }
    let line = serde_json::to_value(&view.canonical).unwrap_or_default();
    let answer = serde_json::to_value(found.answer()).unwrap_or_default();
    Ok(format!("{line}\n\n{}", table::answer(&answer, Some(found.bar()))))
}
