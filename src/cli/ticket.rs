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
    wire::{Kind, Problem},
};

/// Answers the ticket and prints the answer.
pub(super) fn answer_ticket(files: &Files, args: &TicketArgs, with_builds: bool) -> Outcome {
    let now = Timestamp::now();
    let editions = match files.load() {
        Ok(held) => Editions::of(Arc::new(held), now),
        Err(outcome) => return outcome,
    };
    let body = match body(args) {
        Ok(body) => body,
        Err(fault) => {
            let file = args.ticket.as_deref().unwrap_or(Path::new("-"));
            eprintln!("Cannot read the ticket {}: {fault}", file.display());
            return Outcome::Failed;
        }
    };
    let asked = if with_builds { Asked::Builds } else { Asked::Verdicts };
    let sent = Sent { now, ..Sent::default() };
    let read =
        if body.len() > Limits::TICKET.bytes { Err(too_large()) } else { read_ticket(&body) };
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
fn body(args: &TicketArgs) -> io::Result<Vec<u8>> {
    match &args.ticket {
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
