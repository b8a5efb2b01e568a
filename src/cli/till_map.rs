//! `till-map`: what the buttons of a site's till come to, or a first sheet for it.

use std::path::Path;

use anstream::{eprintln, print, println};

use super::{
    Outcome,
    layout::{counted, hang},
    load::{Files, bar_of, complain, source},
};
use crate::{
    answering::checked_till,
    till::{TillMap, csv_of, draft},
    wire::TillMapView,
};

/// Checks a sheet, or drafts one.
pub(super) fn till_map(
    files: &Files,
    site: &str,
    sheet: Option<&Path>,
    drafted: bool,
    json: bool,
) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let bar = match bar_of(&held, site) {
        Ok(bar) => bar,
        Err(outcome) => return outcome,
    };
    let Ok(catalogue) = held.catalogue(bar, None) else { return Outcome::Failed };
    if drafted {
        print!("{}", csv_of(&draft(bar, &catalogue.lang).buttons));
        return Outcome::Done;
    }
    let given = match sheet.map(source).transpose() {
        Ok(file) => file.map(|file| TillMap::read(&file.name, &file.text, site)),
        Err(outcome) => return outcome,
    };
    let given = match given.transpose() {
        Ok(given) => given,
        Err(complaints) => return complain(&[complaints]),
    };
    let Some(map) = given.as_ref().or_else(|| held.tills.get(&bar.site.id)) else {
        eprintln!("There is no sheet for the till of `{site}`. Draft one with `--draft`.");
        return Outcome::Complaints;
    };
    let view = checked_till(bar, map, catalogue);
    if json {
        match serde_json::to_string_pretty(&view) {
            Ok(text) => println!("{text}"),
            Err(_) => return Outcome::Failed,
        }
    } else {
        print!("{}", table(&view));
    }
    if view.complete { Outcome::Done } else { Outcome::NotAllAccepted }
}

/// What is wrong, a line each, and a summary.
fn table(view: &TillMapView) -> String {
    let mut out = String::new();
    for one in view.buttons.iter().filter(|one| one.finding != "right") {
        let head = format!("{:<8} {:<8} ", one.code, one.finding);
        let label = &one.label;
        let gap = if label.is_empty() { "" } else { ": " };
        hang(&mut out, &head, &format!("{label}{gap}{}", one.text));
    }
    if !view.unreached.is_empty() {
        hang(&mut out, "No button orders: ", &view.unreached.join(", "));
    }
    let right = view.buttons.iter().filter(|one| one.finding == "right").count();
    let all = counted(view.buttons.len(), "button", "buttons");
    hang(&mut out, "", &format!("{all} at {}, of which {right} right", view.site.id));
    out
}
