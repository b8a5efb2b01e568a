//! `expand` and `validate`: a ticket from a file or standard input.

use std::{
    fs,
    io::{self, Read},
    path::Path,
};

use anstream::{eprintln, println};
use jiff::Timestamp;
use serde_json::Value;

use super::{Outcome, args::TicketArgs, load::Files, table};
use crate::{
    answering::{Asked, answer, read_ticket},
    wire::Problem,
};

/// Answers the ticket and prints the answer.
pub(super) fn answer_ticket(files: &Files, args: &TicketArgs, with_builds: bool) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
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
    let read = read_ticket(&body);
    let bytes = match read.and_then(|ticket| answer(&held, ticket, asked, Timestamp::now())) {
        Ok(bytes) => bytes,
        Err(problem) => {
            tell(&problem);
            return Outcome::Complaints;
        }
    };
    let answer: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    if args.json {
        println!("{answer:#}");
    } else {
        println!("{}", table::answer(&answer));
    }
    let lines = answer["lines"].as_array();
    let accepted = |line: &Value| line["verdict"] == "accept";
    match lines {
        Some(lines) if lines.iter().all(accepted) => Outcome::Done,
        _ => Outcome::NotAllAccepted,
    }
}

fn body(args: &TicketArgs) -> io::Result<Vec<u8>> {
    match &args.ticket {
        Some(path) if path.as_os_str() != "-" => fs::read(path),
        _ => {
            let mut body = Vec::new();
            io::stdin().lock().read_to_end(&mut body)?;
            Ok(body)
        }
    }
}

/// Prints a problem with each fault at its place.
fn tell(problem: &Problem) {
    eprintln!("{}: {}", problem.title, problem.detail);
    for fault in &problem.errors {
        let place = fault.line.zip(fault.column).map(|(line, column)| format!("{line}:{column}: "));
        let pointer = if fault.pointer.is_empty() { "(ticket)" } else { &fault.pointer };
        eprintln!("  {}{pointer}: {}", place.unwrap_or_default(), fault.detail);
    }
}
