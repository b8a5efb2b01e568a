//! `shot`: a pulled shot held to its recipe.

use std::fmt::Write;

use serde_json::Value;

use super::{
    Outcome,
    layout::hang,
    load::Files,
    posted::{PostedArgs, answer_posted},
};
use crate::answering::{read_shot, shot_answer};

/// Answers the shot and prints the answer.
pub(super) fn shot(files: &Files, args: &PostedArgs) -> Outcome {
    answer_posted(files, args, |held, body| shot_answer(held, &read_shot(body)?), shown)
}

fn shown(answer: &Value) -> String {
    let mut out = String::new();
    let rows = [
        ("Dose", "dose_g", "g"),
        ("Yield", "yield_g", "g"),
        ("Time", "time_s", "s"),
        ("Extraction", "extraction_yield_percent", "%"),
    ];
    for (name, field, unit) in rows {
        let judged = &answer[field];
        if judged.is_null() {
            continue;
        }
        let _ = write!(out, "{name:<11} {} {unit}", judged["measured"]);
        if !judged["min"].is_null() {
            let (min, max) = (&judged["min"], &judged["max"]);
            let _ = write!(out, ", recipe {min} to {max} {unit}");
            let off = judged["off_by"].as_f64().unwrap_or_default();
            let _ = match off {
                0.0 => write!(out, ": within"),
                _ => write!(out, ": off by {off:+} {unit}"),
            };
        }
        out.push('\n');
    }
    let _ = writeln!(out, "{:<11} 1 : {}\n", "Ratio", answer["ratio"]);
    let advice = &answer["advice"];
    hang(&mut out, "", advice["text"].as_str().unwrap_or_default());
    for remark in advice["remarks"].as_array().into_iter().flatten() {
        let source = remark["source"].as_str().map(|source| format!(" ({source})"));
        let text = remark["text"].as_str().unwrap_or_default();
        hang(&mut out, "  ", &format!("{text}{}", source.unwrap_or_default()));
    }
    if advice["grind_steps"].is_number() {
        hang(&mut out, "  ", answer["step"]["text"].as_str().unwrap_or_default());
    }
    out.trim_end().to_owned()
}
