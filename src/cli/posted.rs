//! What commands share that read one JSON text and answer it as the service does.

use std::{
    fs::File,
    io,
    path::{Path, PathBuf},
};

use anstream::{eprintln, println};
use serde_json::Value;

use super::{
    Outcome,
    load::{Files, within},
};
use crate::{
    in_force::InForce,
    json::Limits,
    wire::{Kind, Problem},
};

/// A JSON text, and how to show the answer.
#[derive(Debug, clap::Args)]
pub(super) struct PostedArgs {
    /// The JSON text, as the service takes it; standard input if not given or `-`.
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
    /// Print the answer as JSON.
    #[arg(long)]
    json: bool,
}

/// Reads the text, has it answered, and prints the answer.
///
/// * `answer`: the service's own way from a body to the bytes of an answer.
/// * `show`: the answer as lines that a person reads.
pub(super) fn answer_posted(
    files: &Files,
    args: &PostedArgs,
    answer: impl FnOnce(&InForce, &[u8]) -> Result<Vec<u8>, Problem>,
    show: fn(&Value) -> String,
) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let read = match &args.file {
        Some(path) if path.as_os_str() != "-" => {
            File::open(path).and_then(|file| within(file, Limits::TICKET))
        }
        _ => within(io::stdin().lock(), Limits::TICKET),
    };
    let body = match read {
        Ok(body) => body,
        Err(fault) => {
            let file = args.file.as_deref().unwrap_or(Path::new("-"));
            eprintln!("Cannot read {}: {fault}", file.display());
            return Outcome::Failed;
        }
    };
    let most = Limits::TICKET.bytes;
    let answered = if body.len() > most {
        Err(Kind::BodyTooLarge.with(format_args!("At most {most} bytes are read.")))
    } else {
        answer(&held, &body)
    };
    match answered {
        Ok(bytes) => {
            let value: Value = serde_json::from_slice(&bytes).unwrap_or_default();
            if args.json {
                println!("{value:#}");
            } else {
                println!("{}", show(&value));
            }
            Outcome::Done
        }
        Err(problem) => {
            tell(&problem);
            Outcome::Complaints
        }
    }
}

/// Prints a problem with each fault at its place.
fn tell(problem: &Problem) {
    eprintln!("{}: {}", problem.title, problem.detail);
    for fault in &problem.errors {
        let place = fault.line.zip(fault.column).map(|(line, column)| format!("{line}:{column}: "));
        let pointer = if fault.pointer.is_empty() { "(all of it)" } else { &fault.pointer };
        eprintln!("  {}{pointer}: {}", place.unwrap_or_default(), fault.detail);
    }
}
