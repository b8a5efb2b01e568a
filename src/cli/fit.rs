//! `fit`: what a site cannot make, and what one purchase would enable.

use anstream::{eprintln, print, println};
use jiff::Timestamp;
use serde_json::Value;

use super::{
    Outcome,
    layout::{counted, hang},
    load::{Files, bar_of},
};
use crate::answering::{Sent, fit};

/// Prints what the site cannot make, as a table or as the service answers it.
pub(super) fn show(files: &Files, site: &str, lang: Option<&str>, json: bool) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let bar = match bar_of(&held, site) {
        Ok(bar) => bar,
        Err(outcome) => return outcome,
    };
    let sent = Sent { now: Timestamp::now(), ..Sent::default() };
    let bytes = match fit(&held, bar, lang, &sent) {
        Ok(bytes) => bytes,
        Err(problem) => {
            eprintln!("{}: {}", problem.title, problem.detail);
            return Outcome::Complaints;
        }
    };
    let answer: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    if json {
        println!("{answer:#}");
    } else {
        print!("{}", table(&answer));
    }
    Outcome::Done
}

fn text<'a>(value: &'a Value, field: &str) -> &'a str {
    value[field].as_str().unwrap_or_default()
}

fn each<'a>(value: &'a Value, field: &str) -> impl Iterator<Item = &'a Value> {
    value[field].as_array().into_iter().flatten()
}

fn table(answer: &Value) -> String {
    let mut out = String::new();
    let counts = &answer["counts"];
    let count = |field: &str| counts[field].as_u64().unwrap_or_default();
    let (cups, values) = (count("cups_made"), count("values_offered"));
    let (no_cups, no_values) = (count("cups_not_made"), count("values_not_offered"));
    let summary = format!(
        "{} makes {cups} of {} cups and offers {values} of {} values of modifiers.",
        text(&answer["site"], "id"),
        cups + no_cups,
        values + no_values,
    );
    hang(&mut out, "", &summary);
    for drink in each(answer, "drinks").filter(|drink| !text(drink, "text").is_empty()) {
        hang(&mut out, "  ", text(drink, "text"));
    }
    let mut heading = "\nNot made or offered here\n";
    for refusal in each(answer, "refusals") {
        out.push_str(std::mem::take(&mut heading));
        let named = refusal["missing_name"].as_str().or(refusal["texts"][0].as_str());
        let head = format!("  {:<18} ", text(refusal, "code"));
        hang(&mut out, &head, named.unwrap_or_default());
        out.push_str(&things(refusal));
    }
    let mut heading = "\nOne purchase that would enable most\n";
    for (at, purchase) in each(answer, "purchases").enumerate() {
        out.push_str(std::mem::take(&mut heading));
        let head = format!("  {}. ", at + 1);
        let n = purchase["count"].as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or(0);
        let more = counted(n, "cup or value more", "cups and values more");
        hang(&mut out, &head, &format!("{}: {more}", text(purchase, "text")));
        out.push_str(&things(purchase));
    }
    let mut heading = "\nWithout a purchase\n";
    for way in each(answer, "without_purchase") {
        out.push_str(std::mem::take(&mut heading));
        hang(&mut out, "  ", text(way, "text"));
        out.push_str(&things(way));
    }
    let left = answer["needs_more_than_one"].as_u64().and_then(|n| usize::try_from(n).ok());
    if let Some(left) = left.filter(|left| *left > 0) {
        let left = counted(left, "cup or value needs", "cups and values need");
        out.push('\n');
        hang(&mut out, "", &format!("{left} more than one of these."));
    }
    out
}

/// The cups and values of a reason or of a purchase.
fn things(of: &Value) -> String {
    let mut out = String::new();
    let mut cups: Vec<(&str, Vec<String>)> = Vec::new();
    for cup in each(of, "cups") {
        let way = format!("{} {}", text(cup, "service"), text(cup, "size"));
        match cups.last_mut() {
            Some((name, ways)) if *name == text(cup, "name") => ways.push(way),
            _ => cups.push((text(cup, "name"), vec![way])),
        }
    }
    let cups: Vec<String> =
        cups.iter().map(|(name, ways)| format!("{name} ({})", ways.join(", "))).collect();
    if !cups.is_empty() {
        hang(&mut out, "     cups: ", &cups.join("; "));
    }
    let named = |value: &Value| match value["value_name"].as_str() {
        Some(name) => format!("{}: {name}", text(value, "name")),
        None => text(value, "name").to_owned(),
    };
    let values: Vec<String> = each(of, "values").map(named).collect();
    if !values.is_empty() {
        hang(&mut out, "     values: ", &values.join("; "));
    }
    out
}
