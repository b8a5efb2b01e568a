//! Proof of a book: every drink can be made at the training bar, and every worked example holds.

use std::collections::BTreeMap;

use serde_json::Value;

use super::InForce;
use crate::{
    book::{Bar, Example, ExampleLine, Expected, Id, Near, Service, SetPoint},
    engine::{Given, Line, Moment, What, objection::Objection, verdict},
    json::{Complaint, child},
    wire::answer_line,
    words::{self, Catalogue},
};

/// Everything that the book promises and does not keep.
pub(super) fn complaints(held: &InForce) -> Vec<Complaint> {
    let Some(bar) = held.training_bar() else {
        return vec![Complaint::at("/training_bar", "no bar", "a bar")];
    };
    let Ok(catalogue) = held.catalogue(bar, None) else {
        return vec![Complaint::at("/training_bar/languages", "none", "a language")];
    };
    let mut all = Vec::new();
    for (at, drink) in bar.book.drinks.iter().enumerate() {
        for (service, sizes) in &drink.cups {
            for size in sizes.keys() {
                let line = standard_line(&drink.id, *service, size);
                if let Err(objections) = crate::engine::build_line(bar, &line, &Moment::default()) {
                    let pointer = format!("/drinks/{at}/cups/{}/{size}", service.as_str());
                    all.extend(objections.iter().map(|one| not_made(catalogue, &pointer, one)));
                }
            }
        }
    }
    for (at, example) in bar.book.examples.iter().enumerate() {
        check_example(bar, catalogue, &format!("/examples/{at}"), example, &mut all);
    }
    all
}

/// A drink as the book has it, in one of its cups.
fn standard_line(drink: &Id, service: Service, size: &Id) -> Line {
    let given =
        |id: &str, value: &str| Given { id: id.to_owned(), what: What::Value(value.to_owned()) };
    Line {
        id: "1".to_owned(),
        drink: drink.to_string(),
        quantity: 1,
        modifiers: vec![given("service", service.as_str()), given("size", size)],
        ..Line::default()
    }
}

fn not_made(catalogue: &Catalogue, pointer: &str, objection: &Objection) -> Complaint {
    let found = format!("{}: {}", objection.code.as_str(), words::objection(catalogue, objection));
    Complaint::at(pointer, found, "a cup that the training bar can make")
}

fn check_example(
    bar: &Bar,
    catalogue: &Catalogue,
    here: &str,
    example: &Example,
    all: &mut Vec<Complaint>,
) {
    let line = line_of(&example.line);
    let judged = verdict(bar, &line, &Moment::default());
    let view = answer_line(bar, &line.id, 0, &judged, catalogue, true);
    let answer = serde_json::to_value(view).unwrap_or_default();
    let accepted = answer["verdict"] == "accept";
    let root = if accepted { &answer["build"] } else { &answer };
    let wanted = match example.expect.get("verdict") {
        Some(Expected::Exact(Value::String(verdict))) => verdict.as_str(),
        _ => "accept",
    };
    if answer["verdict"] != wanted {
        let why = answer["refusals"][0]["text"].as_str().or(answer["question"].as_str());
        let found = format!("verdict {} ({})", answer["verdict"], why.unwrap_or("made as asked"));
        all.push(Complaint::at(child(here, "expect"), found, format!("verdict \"{wanted}\"")));
        return;
    }
    compare(root, &example.expect, here, all);
}

/// Compares what stands at each pointer with what is expected there.
fn compare(
    root: &Value,
    expect: &BTreeMap<String, Expected>,
    here: &str,
    all: &mut Vec<Complaint>,
) {
    for (pointer, expected) in expect.iter().filter(|(pointer, _)| *pointer != "verdict") {
        let place = child(&child(here, "expect"), pointer);
        let Some(found) = root.pointer(pointer) else {
            all.push(Complaint::at(place, "nothing there", "a pointer into the answer"));
            continue;
        };
        match expected {
            Expected::Near(Near { value, tolerance }) => {
                let near = found.as_f64().is_some_and(|found| (found - value).abs() <= *tolerance);
                if !near {
                    let wanted = format!("{value} give or take {tolerance}");
                    all.push(Complaint::at(place, found.to_string(), wanted));
                }
            }
            Expected::Exact(value) => {
                let same_number = found
                    .as_f64()
                    .zip(value.as_f64())
                    .is_some_and(|(a, b)| a.to_bits() == b.to_bits());
                if found != value && !same_number {
                    all.push(Complaint::at(place, found.to_string(), value.to_string()));
                }
            }
        }
    }
}

fn line_of(line: &ExampleLine) -> Line {
    let ExampleLine { drink, modifiers, confirmed } = line;
    let given = modifiers.iter().map(|one| Given {
        id: one.id.clone(),
        what: match (&one.value, one.count) {
            (Some(SetPoint::Named(value)), _) => What::Value(value.to_string()),
            (Some(SetPoint::Celsius(c)), _) => What::Celsius(*c),
            (None, Some(count)) => What::Count(count),
            (None, None) => What::Flag,
        },
    });
    Line {
        id: "1".to_owned(),
        drink: drink.clone(),
        quantity: 1,
        modifiers: given.collect(),
        confirmed: confirmed.iter().map(ToString::to_string).collect(),
        ..Line::default()
    }
}
