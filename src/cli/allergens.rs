//! `allergens` and `cautions`: what is known of a site's drinks, and what is to be said.

use anstream::{eprintln, print, println};
use jiff::Timestamp;
use serde::Serialize;

use super::{
    Outcome,
    layout::hang,
    load::{Files, bar_of},
};
use crate::{
    answering::{cautions, matrix, matrix_csv, matrix_html, matrix_text},
    book::{Bar, CautionWhen},
    in_force::InForce,
    wire::Problem,
};

/// Prints the drinks of a site by allergens.
pub(super) fn allergens(
    files: &Files,
    site: &str,
    lang: Option<&str>,
    at: Option<&str>,
    format: &str,
) -> Outcome {
    at_site(files, site, |held, bar| {
        let made = matrix(held, bar, lang, at, Timestamp::now())?;
        match format {
            "csv" => print!("{}", matrix_csv(&made)),
            "html" => print!("{}", matrix_html(&made)),
            "json" => return Ok(json(&made.view)),
            _ => print!("{}", matrix_text(&made)),
        }
        Ok(Outcome::Done)
    })
}

/// Prints the cautions of a site.
pub(super) fn site_cautions(
    files: &Files,
    site: &str,
    lang: Option<&str>,
    as_json: bool,
) -> Outcome {
    at_site(files, site, |held, bar| {
        let list = cautions(held, bar, lang)?;
        if as_json {
            return Ok(json(&list));
        }
        let mut out = String::new();
        for one in &list.cautions {
            hang(&mut out, &format!("{:<8}", place(one.when)), one.text);
            hang(&mut out, "        ", &format!("[{}] {}", one.id, one.source));
        }
        print!("{out}");
        Ok(Outcome::Done)
    })
}

/// Where a caution belongs.
fn place(when: &CautionWhen) -> &'static str {
    if when.bench { "bench" } else { "cup" }
}

fn at_site(
    files: &Files,
    site: &str,
    show: impl FnOnce(&InForce, &Bar) -> Result<Outcome, Problem>,
) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let bar = match bar_of(&held, site) {
        Ok(bar) => bar,
        Err(outcome) => return outcome,
    };
    show(&held, bar).unwrap_or_else(|problem| {
        eprintln!("{}: {}", problem.title, problem.detail);
        Outcome::Complaints
    })
}

fn json(view: &impl Serialize) -> Outcome {
    match serde_json::to_string_pretty(view) {
        Ok(text) => {
            println!("{text}");
            Outcome::Done
        }
        Err(_) => Outcome::Failed,
    }
}
