//! `costs`: what the lines of a ticket cost the site.

use std::{fmt::Write as _, path::Path};

use anstream::println;
use serde_json::Value;

use super::{
    Outcome,
    load::Files,
    ticket::{Given, given, tell},
};
use crate::answering::costs as costs_of;

/// Works the costs out and prints them.
pub(super) fn costs(files: &Files, file: Option<&Path>, json: bool) -> Outcome {
    let Given { editions, sent, ticket } = match given(files, file) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let bytes = match ticket.and_then(|ticket| costs_of(&editions, ticket, &sent)) {
        Ok(bytes) => bytes,
        Err(problem) => {
            tell(&problem, "ticket");
            return Outcome::Complaints;
        }
    };
    let answer: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    if json {
        println!("{answer:#}");
    } else {
        println!("{}", table(&answer));
    }
    let lines = answer["lines"].as_array().map(Vec::as_slice).unwrap_or_default();
    if lines.iter().all(|line| line["verdict"] == "accept") {
        Outcome::Done
    } else {
        Outcome::NotAllAccepted
    }
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or("–")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// The answer as a table: one block a line of the ticket, amounts in a column.
fn table(answer: &Value) -> String {
    let mut out = String::new();
    let currency = text(&answer["currency"]);
    for line in list(&answer["lines"]) {
        let cost = &line["cost"];
        let _ = writeln!(out, "{}  {}", text(&line["line"]), text(&line["verdict"]));
        if cost.is_null() {
            continue;
        }
        for item in list(&cost["items"]) {
            let used = match (&item["used_g"], &item["used_ml"]) {
                (Value::Null, Value::Null) => "1 piece".to_owned(),
                (Value::Null, ml) => format!("{ml} mL"),
                (g, _) => format!("{g} g"),
            };
            let what = format!("{} ({})", text(&item["of"]), text(&item["why"]));
            row(&mut out, &format!("{what:<38} {used:>12}"), text(&item["cost"]));
        }
        row(&mut out, "cost", text(&cost["total"]));
        let tax = &cost["tax_share"];
        row(&mut out, &format!("price before tax (tax share {tax})"), text(&cost["net_price"]));
        let percent = &cost["margin_percent"];
        row(&mut out, &format!("margin ({percent} %)"), text(&cost["margin"]));
        for one in list(&cost["modifiers"]) {
            let what = format!(
                "{}: adds {} to the cost, {} to the price",
                text(&one["modifier"]),
                text(&one["cost"]),
                text(&one["surcharge"])
            );
            let _ = writeln!(out, "   {what}");
        }
        let unknown: Vec<&str> = list(&cost["unknown"]).iter().map(text).collect();
        if !unknown.is_empty() {
            let _ = writeln!(out, "   without a purchase price: {}", unknown.join(", "));
        }
    }
    let total = &answer["total"];
    let (cost, net, margin) =
        (text(&total["cost"]), text(&total["net_price"]), text(&total["margin"]));
    let _ = write!(out, "order: cost {cost}, net price {net}, margin {margin} {currency}");
    out
}

fn row(out: &mut String, what: &str, amount: &str) {
    let _ = writeln!(out, "   {what:<52} {amount:>10}");
}
