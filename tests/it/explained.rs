//! Explanations: the terms of every figure come to it, for every drink, whatever is asked.

use std::collections::BTreeMap;

use cupwright::{
    engine::{Line, Moment, build_line, explain::explain},
    wire::{FigureView, TicketLine},
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    lines::{DEMO, Posted, answer_to, posted},
    support::chance::cases,
};

/// The explained figures of a line by their pointers, whatever the season.
fn figures(site: &str, line: &Value) -> BTreeMap<String, Value> {
    let bar = &DEMO.bars[site];
    let line: TicketLine = serde_json::from_value(line.clone()).unwrap();
    let build = build_line(bar, &Line::from(line), &Moment::default()).unwrap();
    let views = explain(bar, &build).iter().map(|one| FigureView::of(bar, one)).collect::<Vec<_>>();
    let by_pointer = |view: FigureView| (view.figure.clone(), serde_json::to_value(&view).unwrap());
    views.into_iter().map(by_pointer).collect()
}

/// Every number of a build, by its pointer; steps repeat what stands elsewhere.
fn numbers(value: &Value, here: &str, all: &mut BTreeMap<String, f64>) {
    match value {
        Value::Number(number) => {
            all.insert(here.to_owned(), number.as_f64().unwrap());
        }
        Value::Array(list) => {
            for (at, one) in list.iter().enumerate() {
                numbers(one, &format!("{here}/{at}"), all);
            }
        }
        Value::Object(members) => {
            for (key, one) in members.iter().filter(|(key, _)| here != "" || *key != "steps") {
                numbers(one, &format!("{here}/{key}"), all);
            }
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
}

/// What the terms come to: worked out here from the answer alone.
fn recombined(figure: &Value) -> f64 {
    let product = |factors: &Value| {
        factors.as_array().unwrap().iter().fold(1.0, |product, factor| {
            let value = factor["value"].as_f64().unwrap();
            if factor["divides"] == true { product / value } else { product * value }
        })
    };
    let sum = |terms: &Value| terms.as_array().unwrap().iter().map(product).sum::<f64>();
    let over =
        if figure["over"].as_array().unwrap().is_empty() { 1.0 } else { sum(&figure["over"]) };
    sum(&figure["terms"]) / over
}

/// Complaints about the figures of an accepted build.
fn complaints(site: &str, line: &Value, build: &Value) -> Vec<String> {
    let figures = figures(site, line);
    let mut all = BTreeMap::new();
    numbers(build, "", &mut all);
    let mut found = Vec::new();
    for (at, shown) in &all {
        let Some(figure) = figures.get(at) else {
            found.push(format!("{at} = {shown} is not explained"));
            continue;
        };
        let step = figure["rounded_to"].as_f64().unwrap();
        let up = if figure["rounded"] == "up" { step } else { step / 2.0 };
        // Quantities inside are whole thousandths, and some are quotients of those.
        let slack = up + 0.002 + shown.abs() * 2e-4;
        let worked = recombined(figure);
        if (worked - shown).abs() > slack {
            found.push(format!("{at}: {shown} in the build, {worked} by its terms"));
        }
        if figure["law"] == "" && figure["terms"].as_array().unwrap().is_empty() {
            found.push(format!("{at} has neither terms nor a reason"));
        }
    }
    for at in figures.keys().filter(|at| !all.contains_key(*at)) {
        found.push(format!("{at} is explained, but is no figure of the build"));
    }
    found
}

#[test]
fn every_figure_of_every_drink_at_every_site_comes_from_its_terms() {
    let mut seen = 0;
    let mut found = Vec::new();
    for (site, bar) in &DEMO.bars {
        for drink in &bar.book.drinks {
            for (service, sizes) in &drink.cups {
                for size in sizes.keys() {
                    let line = json!({ "line": "1", "drink": drink.id, "modifiers": [
                        { "id": "service", "value": service }, { "id": "size", "value": size } ] });
                    let answer = answer_to(site, &line);
                    if answer["verdict"] != "accept" {
                        continue;
                    }
                    seen += 1;
                    let faults = complaints(site, &line, &answer["build"]);
                    found.extend(faults.into_iter().map(|one| format!("{site} {line}: {one}")));
                }
            }
        }
    }
    assert!(seen > 300, "{seen} cups");
    assert!(
        found.is_empty(),
        "{} faults, such as\n{}",
        found.len(),
        found[..found.len().min(25)].join("\n")
    );
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn whatever_is_asked_every_figure_comes_from_its_terms(there in posted()) {
        let Posted { site, .. } = &there;
        let line = there.line();
        let answer = answer_to(site, &line);
        if answer["verdict"] == "accept" {
            let found = complaints(site, &line, &answer["build"]);
            prop_assert!(found.is_empty(), "{}: {}", line, found.join("\n"));
        }
    }
}
