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
    let views =
        explain(bar, &build).iter().map(|one| FigureView::of(bar, one, None)).collect::<Vec<_>>();
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
            for (key, one) in members.iter().filter(|(key, _)| !here.is_empty() || *key != "steps")
            {
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

/// The value at a path of ids in the book as it holds at a bar; rows of recipes go by bean, pull and
/// halves.
fn at_path<'v>(book: &'v Value, path: &str) -> Option<&'v Value> {
    let mut here = book;
    let mut rest: Vec<&str> = path.split('/').skip(1).collect();
    rest.reverse();
    while let Some(name) = rest.pop() {
        here = match here {
            Value::Array(rows) if rows.iter().any(|row| row.get("dose_g").is_some()) => {
                let (pull, halves) = (rest.pop()?, rest.pop()?.parse::<u64>().ok()?);
                let is_it = |row: &&Value| {
                    row["bean"] == name && row["pull"] == pull && row["halves"] == halves
                };
                rows.iter().find(is_it)?
            }
            Value::Array(list) => list.iter().find(|one| one["id"] == name)?,
            other => other.get(name)?,
        };
    }
    Some(here)
}

#[test]
fn every_value_stands_where_its_explanation_says() {
    let (mut seen, mut wrong) = (0, Vec::<String>::new());
    for (site, bar) in &DEMO.bars {
        let book = serde_json::to_value(&*bar.book).unwrap();
        let sheet = serde_json::to_value(&*bar.site).unwrap();
        for drink in &bar.book.drinks {
            let line = json!({ "line": "1", "drink": drink.id });
            let answer = answer_to(site, &line);
            if answer["verdict"] != "accept" {
                continue;
            }
            // A cup or a jug of the site's own stands in for the book's.
            let own = |kind: &str, sheet: &Value| -> Vec<Value> {
                sheet[kind]
                    .as_array()
                    .unwrap()
                    .iter()
                    .filter_map(|one| {
                        let mut own = one.get("replaced_by")?.clone();
                        own["id"] = one["id"].clone();
                        Some(own)
                    })
                    .collect()
            };
            let replaced = [own("vessels", &sheet), own("jugs", &sheet)].concat();
            for figure in figures(site, &line).values() {
                let terms = ["terms", "over"].map(|key| figure[key].as_array().unwrap().clone());
                for factor in terms.concat().iter().flat_map(|term| term.as_array().unwrap()) {
                    let (from, value) = (&factor["from"], factor["value"].as_f64().unwrap());
                    let at = from["at"].as_str().unwrap_or_default();
                    let stands = match from["kind"].as_str().unwrap() {
                        "book" => at_path(&book, at).and_then(Value::as_f64),
                        "site" => at_path(&sheet, at).and_then(Value::as_f64),
                        "figure" => answer["build"].pointer(at).and_then(Value::as_f64),
                        _ => continue,
                    };
                    seen += 1;
                    let near = |stands: f64| match from["kind"].as_str() {
                        Some("figure") => (stands - value).abs() <= 0.051 + stands.abs() * 1e-3,
                        _ => (stands - value).abs() < 1e-9,
                    };
                    let name = at.rsplit('/').next().unwrap();
                    let of_own = |one: &Value| one[name].as_f64().is_some_and(near);
                    let is_right = stands.is_some_and(near) || replaced.iter().any(of_own);
                    if !is_right {
                        let told = format!("{} says {value}, {at} is {stands:?}", figure["figure"]);
                        wrong.push(format!("{site} {}: {told}", drink.id));
                    }
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} are not, such as\n{}",
        wrong.len(),
        wrong[..wrong.len().min(20)].join("\n")
    );
    assert!(seen > 10_000, "{seen} values");
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
