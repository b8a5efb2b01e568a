//! The check of a till's sheet: what each button comes to at its site, and what none reaches.

use std::collections::BTreeMap;

use super::{
    map::{Button as Row, TillMap},
    resolve::given,
};
use crate::{
    book::{Bar, ExampleValue},
    engine::{Given, Line, Moment, Verdict, build_line, objection::Objection, verdict},
};

/// What a sheet comes to.
#[derive(Debug)]
pub struct Checked {
    /// Its buttons, in the order of the sheet.
    pub buttons: Vec<Button>,
    /// Drinks of the book, by id, that can be made here and that no button orders.
    pub unreached: Vec<String>,
}

/// What a button comes to.
#[derive(Debug)]
pub struct Button {
    /// The row of the sheet.
    pub row: Row,
    /// What was found.
    pub finding: Finding,
}

/// What was found of a button.
#[derive(Debug)]
pub enum Finding {
    /// It orders what can be made, or gives what some drink here takes.
    Right,
    /// It names neither a drink nor a modifier, or none that the book has.
    Nothing,
    /// What it orders is refused or asked about here; for modifiers alone, with every drink.
    Refused(Option<Box<Objection>>),
    /// Another button, by its code, means the same.
    Twice(String),
}

/// Checks a sheet at the bar of its site.
///
/// A button of modifiers alone is right if any drink takes it in any of its cups.
pub fn check(bar: &Bar, map: &TillMap, moment: &Moment) -> Checked {
    let buttons = map.buttons.iter().enumerate().map(|(at, row)| {
        let same = |other: &&Row| meaning(other) == meaning(row);
        let finding = match map.buttons[..at].iter().find(same) {
            Some(twin) if names_anything(bar, row) => Finding::Twice(twin.code.clone()),
            Some(_) | None => finding(bar, row, moment),
        };
        Button { row: row.clone(), finding }
    });
    let ordered = |id: &str| map.buttons.iter().any(|row| row.drink.as_deref() == Some(id));
    let made = |id: &str| is_made(bar, id, &[], moment);
    let unreached = bar.drink_ids().filter(|id| !ordered(id) && made(id));
    Checked { buttons: buttons.collect(), unreached: unreached.map(ToString::to_string).collect() }
}

/// What a button says, whatever the order in which it says it: counts of one counter are one count.
fn meaning(row: &Row) -> (Option<&str>, Vec<(String, String)>) {
    let mut all: Vec<(String, String)> = Vec::new();
    let mut counts: BTreeMap<&str, i32> = BTreeMap::new();
    for one in &row.modifiers {
        match (&one.value, one.count) {
            (Some(ExampleValue::Id(value)), _) => all.push((one.id.clone(), value.to_string())),
            (Some(ExampleValue::Number(n)), _) => all.push((one.id.clone(), n.to_string())),
            (None, Some(n)) => *counts.entry(&one.id).or_default() += n,
            (None, None) => all.push((one.id.clone(), String::new())),
        }
    }
    all.extend(counts.into_iter().map(|(id, n)| (id.to_owned(), format!("{n:+}"))));
    all.sort();
    all.dedup();
    (row.drink.as_deref(), all)
}

/// Whether the drink can be made with these modifiers, in its usual cup or in any other.
fn is_made(bar: &Bar, id: &str, with: &[Given], moment: &Moment) -> bool {
    let cups =
        bar.drink(id).into_iter().flat_map(|drink| &drink.cups).flat_map(|(service, row)| {
            row.iter().map(|(size, cup)| {
                let capacity = bar.usual_capacity(*service, &cup.vessel);
                Line::standard(id, service.as_str(), size, capacity)
            })
        });
    let mut cups = cups.map(|mut line| {
        // What is asked of the cup itself takes the place of the cup's own.
        line.modifiers.retain(|one| with.iter().all(|given| given.id != one.id));
        line.modifiers.extend_from_slice(with);
        line
    });
    build_line(bar, &line(id, with), moment).is_ok()
        || cups.any(|line| build_line(bar, &line, moment).is_ok())
}

/// Whether a button names a drink or modifiers, and nothing that the book lacks.
fn names_anything(bar: &Bar, row: &Row) -> bool {
    row.modifiers.iter().all(|one| bar.modifier(&one.id).is_some())
        && row.drink.as_ref().map_or(!row.modifiers.is_empty(), |drink| bar.drink(drink).is_some())
}

fn line(drink: &str, modifiers: &[Given]) -> Line {
    Line {
        id: "1".to_owned(),
        drink: drink.to_owned(),
        quantity: 1,
        modifiers: modifiers.to_vec(),
        ..Line::default()
    }
}

fn finding(bar: &Bar, row: &Row, moment: &Moment) -> Finding {
    if !names_anything(bar, row) {
        return Finding::Nothing;
    }
    let modifiers: Vec<Given> = row.modifiers.iter().map(given).collect();
    let Some(drink) = &row.drink else {
        let taken = bar.drink_ids().any(|id| is_made(bar, id, &modifiers, moment));
        return if taken { Finding::Right } else { Finding::Refused(None) };
    };
    match verdict(bar, &line(drink, &modifiers), moment) {
        Verdict::Accept { .. } => Finding::Right,
        Verdict::Ask { objection, .. } => Finding::Refused(Some(objection)),
        Verdict::Refuse { objections, .. } => {
            Finding::Refused(objections.into_iter().next().map(Box::new))
        }
    }
}
