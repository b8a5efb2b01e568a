//! `identify`: the drinks that amounts in a cup are nearest to.

use std::fmt::Write;

use serde_json::Value;

use super::{
    Outcome,
    layout::hang,
    load::Files,
    posted::{PostedArgs, answer_posted},
};
use crate::answering::{drinks_near, read_cup};

/// Answers the amounts and prints the drinks.
pub(super) fn identify(files: &Files, args: &PostedArgs) -> Outcome {
    answer_posted(files, args, |held, body| drinks_near(held, &read_cup(body)?, None), shown)
}

fn shown(answer: &Value) -> String {
    let mut out = String::new();
    for drink in answer["drinks"].as_array().into_iter().flatten() {
        let text = |field: &str| drink[field].as_str().unwrap_or_default().to_owned();
        let (fits, exact) = (drink["fits"] == true, drink["as_it_comes"] == true);
        let how = match (fits, exact) {
            (_, true) => "as it comes",
            (true, false) => "fits",
            (false, false) => "does not fit",
        };
        let _ = writeln!(
            out,
            "{}. {} ({}, {}): {how}; off identity {}, off the usual {}",
            drink["place"],
            text("name"),
            text("service"),
            text("size"),
            drink["distance"],
            drink["from_standard"]
        );
        for (field, word) in [("missing", "missing"), ("too_much", "too much")] {
            let all = drink[field].as_array().into_iter().flatten();
            let names: Vec<&str> = all.filter_map(|one| one["text"].as_str()).collect();
            if !names.is_empty() {
                hang(&mut out, "   ", &format!("{word}: {}", names.join(", ")));
            }
        }
        for one in drink["measures"].as_array().into_iter().flatten() {
            if one["outside"].as_f64().unwrap_or_default() > 0.0 {
                let name = one["measure"].as_str().unwrap_or_default();
                let (given, min, max) = (&one["given"], &one["min"], &one["max"]);
                hang(&mut out, "   ", &format!("{name} {given}, not {min} to {max}"));
            }
        }
    }
    out.trim_end().to_owned()
}
