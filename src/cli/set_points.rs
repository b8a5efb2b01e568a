//! `set-point`: how hot to steam for a wanted temperature of the drink.

use std::path::Path;

use anstream::println;

use super::{
    Outcome,
    load::Files,
    ticket::{Given, given, tell},
};
use crate::{answering::set_points, units::Temperature};

/// Finds the set-points and prints them.
pub(super) fn find(files: &Files, file: Option<&Path>, serve_c: f64, json: bool) -> Outcome {
    let Given { editions, sent, ticket } = match given(files, file) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let wanted = Temperature::from_c(serve_c);
    let found = match ticket.and_then(|ticket| set_points(&editions, ticket, wanted, &sent)) {
        Ok(found) => found,
        Err(problem) => {
            tell(&problem, "ticket");
            return Outcome::Complaints;
        }
    };
    if json {
        println!("{:#}", serde_json::to_value(&found).unwrap_or_default());
    } else {
        for line in &found.lines {
            println!("{}  {}: {}", line.line, line.outcome, line.text);
        }
    }
    if found.lines.iter().all(|line| line.outcome == "reached") {
        Outcome::Done
    } else {
        Outcome::NotAllAccepted
    }
}
