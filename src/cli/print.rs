//! `print`: a ticket's stickers to the site's printer, followed to their end.

use std::{path::PathBuf, thread::sleep, time::Duration};

use anstream::{eprintln, println};
use uuid::Uuid;

use super::{
    Outcome,
    load::Files,
    stickers::base,
    ticket::{Given, given, tell},
};
use crate::{
    answering::{PrintAsked, not_taken, print_answer, print_order},
    config::Settings,
    in_force::InForce,
    print::{Pace, Prints, View},
    wire::{PrintAnswer, PrintedSticker},
};

/// How often it is looked how the stickers stand.
const LOOK: Duration = Duration::from_millis(50);

/// Which stickers, and on which printer.
#[derive(Debug, clap::Args)]
pub(super) struct PrintArgs {
    /// The ticket; standard input if not given or `-`.
    #[arg(value_name = "FILE")]
    ticket: Option<PathBuf>,
    /// The site's printer, by id; its first that has an address if not given.
    #[arg(long)]
    printer: Option<String>,
    /// They were printed before, and say so.
    #[arg(long)]
    reprint: bool,
    /// Where builds can be asked for by their 2-D codes, for sites that want them; without it no
    /// sticker has one.
    #[arg(long, value_name = "URL", env = "CUPWRIGHT_PUBLIC_BASE", value_parser = base)]
    public_base: Option<String>,
    /// Print the outcome as JSON; progress goes to standard error.
    #[arg(long)]
    json: bool,
}

/// Prints the stickers, says how they stand, and ends when nothing more will happen.
pub(super) fn print(files: &Files, args: PrintArgs) -> Outcome {
    let PrintArgs { ticket, printer, reprint, public_base, json } = args;
    let Given { editions, sent, ticket } = match given(files, ticket.as_deref()) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let asked = PrintAsked { printer, reprint, public_base, key: None, asked: [0; 32] };
    let within = Settings::default().prints.within;
    let prints = Prints::new(usize::MAX, Pace::usual(within), |_, _| {});
    let taken = ticket
        .and_then(|ticket| print_order(&editions, ticket, &sent, &asked))
        .and_then(|order| prints.take(order).map_err(not_taken));
    let id = match taken {
        Ok(taken) => taken.view.id,
        Err(problem) => {
            tell(&problem, "ticket");
            return Outcome::Complaints;
        }
    };
    let show = |line: String| if json { eprintln!("{line}") } else { println!("{line}") };
    let Some(answer) = followed(&editions.now().held, &prints, &id, show) else {
        return Outcome::Failed;
    };
    if json {
        match serde_json::to_string_pretty(&answer) {
            Ok(text) => println!("{text}"),
            Err(fault) => {
                eprintln!("The outcome cannot be written: {fault}");
                return Outcome::Failed;
            }
        }
    }
    outcome(&answer)
}

/// How the stickers end; each change on the way is shown.
fn followed(
    held: &InForce,
    prints: &Prints,
    id: &Uuid,
    show: impl Fn(String),
) -> Option<PrintAnswer> {
    let mut before: Vec<String> = Vec::new();
    loop {
        let view: View = prints.view(id)?;
        let answer = print_answer(held, view);
        let lines: Vec<String> = answer.stickers.iter().map(line).collect();
        for (at, line) in lines.iter().enumerate() {
            if before.get(at) != Some(line) {
                show(line.clone());
            }
        }
        if answer.over {
            return Some(answer);
        }
        before = lines;
        sleep(LOOK);
    }
}

/// One sticker in one line.
fn line(sticker: &PrintedSticker) -> String {
    let PrintedSticker { line, n, of, part, parts, state, printer, text, passed_over, .. } =
        sticker;
    let mut out = format!("Line {line}, cup {n} of {of}");
    if *parts > 1 {
        out = format!("{out}, sticker {part} of {parts}");
    }
    out = format!("{out}: {state}");
    if let Some(printer) = printer {
        out = format!("{out} at {printer}");
    }
    if let Some(text) = text {
        out = format!("{out}. {text}");
    }
    for one in passed_over {
        out = format!("{out} ({}: {})", one.printer, one.text);
    }
    out
}

fn outcome(answer: &PrintAnswer) -> Outcome {
    let not_printed = || answer.stickers.iter().filter(|one| one.state != "printed");
    if not_printed().next().is_none() {
        return Outcome::Done;
    }
    let is_unreachable = |one: &PrintedSticker| one.reason == Some("unreachable");
    if not_printed().all(is_unreachable) { Outcome::Failed } else { Outcome::NotAllAccepted }
}
