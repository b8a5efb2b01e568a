//! `expand` and `validate`: a ticket from a file or standard input.

use std::{fs::File, io, path::Path, sync::Arc};

use anstream::{eprintln, print, println};
use jiff::Timestamp;
use serde_json::Value;

use super::{
    Outcome,
    args::TicketArgs,
    load::{Files, within},
    table,
};
use crate::{
    answering::{Asked, Sent, answer, answer_text, read_ticket},
    in_force::Editions,
    json::Limits,
    wire::{Kind, Problem, Ticket},
};

/// What a command about a ticket works with.
pub(super) struct Given {
    pub(super) editions: Editions,
    pub(super) sent: Sent,
    /// The ticket, or what is wrong with it.
    pub(super) ticket: Result<Ticket, Problem>,
}

/// Loads the book and reads the ticket.
///
/// * `file`: standard input if not given or `-`.
/// * Errors: how the run ends; why has been printed.
pub(super) fn given(files: &Files, file: Option<&Path>) -> Result<Given, Outcome> {
    let now = Timestamp::now();
    let editions = Editions::of(Arc::new(files.load()?), now);
    let body = body(file).map_err(|fault| {
        let file = file.unwrap_or(Path::new("-"));
        eprintln!("Cannot read the ticket {}: {fault}", file.display());
        Outcome::Failed
    })?;
    let ticket =
        if body.len() > Limits::TICKET.bytes { Err(too_large()) } else { read_ticket(&body) };
    Ok(Given { editions, sent: Sent { now, ..Sent::default() }, ticket })
}

/// Answers the ticket and prints the answer.
pub(super) fn answer_ticket(files: &Files, args: &TicketArgs, with_builds: bool) -> Outcome {
    let Given { editions, sent, ticket: read } = match given(files, args.ticket.as_deref()) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let asked = if with_builds { Asked::Builds } else { Asked::Verdicts };
    if args.text {
        return match read.and_then(|ticket| answer_text(&editions, ticket, asked, &sent)) {
            Ok(answer) => {
                print!("{}", answer.text);
                if answer.tally.all_accepted() { Outcome::Done } else { Outcome::NotAllAccepted }
            }
            Err(problem) => {
                tell(&problem, "ticket");
                Outcome::Complaints
            }
        };
    }
    let answered = match read.and_then(|ticket| answer(&editions, ticket, asked, &sent, None)) {
        Ok(answered) => answered,
        Err(problem) => {
            tell(&problem, "ticket");
            return Outcome::Complaints;
        }
    };
    let answer: Value = serde_json::from_slice(&answered.bytes).unwrap_or_default();
    if args.json {
        println!("{answer:#}");
    } else {
        let held = &editions.now().held;
        let bar = answer["site"]["id"].as_str().and_then(|id| held.bar(id));
        println!("{}", table::answer(&answer, bar.map(|bar| &**bar)));
    }
    if answered.tally.all_accepted() { Outcome::Done } else { Outcome::NotAllAccepted }
}

/// The ticket's bytes; of one over the limit, one byte more than the limit.
fn body(file: Option<&Path>) -> io::Result<Vec<u8>> {
    match file {
        Some(path) if path.as_os_str() != "-" => within(File::open(path)?, Limits::TICKET),
        _ => within(io::stdin().lock(), Limits::TICKET),
    }
}

fn too_large() -> Problem {
    let most = Limits::TICKET.bytes;
    Kind::BodyTooLarge.with(format_args!("A ticket has at most {most} bytes."))
}

/// Prints a problem with each fault at its place.
///
/// * `what`: what was read.
pub(super) fn tell(problem: &Problem, what: &str) {
    eprintln!("{}: {}", problem.title, problem.detail);
    for fault in &problem.errors {
        let place = fault.line.zip(fault.column).map(|(line, column)| format!("{line}:{column}: "));
        let whole = format!("({what})");
        let pointer = if fault.pointer.is_empty() { &whole } else { &fault.pointer };
        eprintln!("  {}{pointer}: {}", place.unwrap_or_default(), fault.detail);
    }
}
