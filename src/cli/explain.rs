//! `explain`: where the figures of a ticket's builds come from.

use std::{fmt::Write as _, path::Path};

use anstream::println;

use super::{
    Outcome,
    layout::hang,
    load::Files,
    ticket::{Given, given, tell},
};
use crate::{
    answering::explained,
    wire::{ExplainedLine, FactorView, FigureView},
};

/// Explains the figures and prints them.
pub(super) fn explain(files: &Files, file: Option<&Path>, only: &[String], json: bool) -> Outcome {
    let Given { editions, sent, ticket } = match given(files, file) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let explanation = match ticket.and_then(|ticket| explained(&editions, ticket, only, &sent)) {
        Ok(explanation) => explanation,
        Err(problem) => {
            tell(&problem, "ticket");
            return Outcome::Complaints;
        }
    };
    if json {
        println!("{:#}", serde_json::to_value(&explanation).unwrap_or_default());
    } else {
        let lines: Vec<String> = explanation.lines.iter().map(line).collect();
        println!("{}", lines.join("\n").trim_end());
    }
    if explanation.lines.iter().all(|line| line.verdict == "accept") {
        Outcome::Done
    } else {
        Outcome::NotAllAccepted
    }
}

fn line(line: &ExplainedLine) -> String {
    let mut out = format!("{}  {}\n", line.line, line.verdict);
    for figure in &line.figures {
        let FigureView { figure: at, value, unit, terms, over, rounded_to, rounded, law } = figure;
        let value = plain(*value);
        let by = if law.is_empty() { String::new() } else { format!(": {law}") };
        hang(&mut out, "   ", &format!("{at} = {value} {unit}{by}"));
        for (sign, all) in [("+", terms), ("÷", over)] {
            for term in all {
                hang(&mut out, &format!("      {sign} "), &product(term));
            }
        }
        if *rounded_to > 0.0 {
            let _ = writeln!(out, "      rounded to {} ({rounded})", plain(*rounded_to));
        }
    }
    out
}

fn product(factors: &[FactorView]) -> String {
    let mut out = String::new();
    for (n, factor) in factors.iter().enumerate() {
        let FactorView { what, value, unit, divides, from } = factor;
        if n > 0 {
            out.push_str(if *divides { " ÷ " } else { " × " });
        } else if *divides {
            out.push_str("1 ÷ ");
        }
        let _ = write!(out, "{what} {} {unit}", plain(*value));
        out.truncate(out.trim_end().len());
        let layer = from.layer.filter(|layer| *layer != "book");
        match (&from.at, layer) {
            (Some(at), Some(layer)) => {
                let _ = write!(out, " [{} {at}, by {layer}]", from.kind);
            }
            (Some(at), None) => {
                let _ = write!(out, " [{} {at}]", from.kind);
            }
            (None, _) => {}
        }
    }
    out
}

/// A number with as many places as it needs, at most four.
fn plain(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
