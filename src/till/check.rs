//! The check of a till's sheet: what each button comes to at its site, and what none reaches.

use super::{
    map::{Button as Row, TillMap},
    resolve::given,
};
use crate::{
    book::Bar,
    engine::{Line, Moment, Verdict, build_line, objection::Objection, verdict},
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
/// A button of modifiers alone is right if any drink takes it; an own cup may want its capacity, and
/// a flag its own drink, so each is tried on every drink in every cup.
pub fn check(bar: &Bar, map: &TillMap, moment: &Moment) -> Checked {
    let buttons = map.buttons.iter().enumerate().map(|(at, row)| {
        let same = |other: &&Row| (&other.drink, &other.modifiers) == (&row.drink, &row.modifiers);
        let twin = map.buttons[..at].iter().find(same);
        let finding = match twin {
            Some(twin) => Finding::Twice(twin.code.clone()),
            None => finding(bar, row, moment),
        };
        Button { row: row.clone(), finding }
    });
    let ordered = |id: &str| map.buttons.iter().any(|row| row.drink.as_deref() == Some(id));
    let made = |id: &str| build_line(bar, &line(id, &[]), moment).is_ok();
    let unreached = bar.drink_ids().filter(|id| !ordered(id) && made(id));
    Checked { buttons: buttons.collect(), unreached: unreached.map(ToString::to_string).collect() }
}

fn line(drink: &str, row: &[crate::engine::Given]) -> Line {
    Line {
        id: "1".to_owned(),
        drink: drink.to_owned(),
        quantity: 1,
        modifiers: row.to_vec(),
        ..Line::default()
    }
}

fn finding(bar: &Bar, row: &Row, moment: &Moment) -> Finding {
    let known = row.modifiers.iter().all(|one| bar.modifier(&one.id).is_some());
    let modifiers: Vec<_> = row.modifiers.iter().map(given).collect();
    match &row.drink {
        Some(drink) if bar.drink(drink).is_some() && known => {
            match verdict(bar, &line(drink, &modifiers), moment) {
                Verdict::Accept { .. } => Finding::Right,
                Verdict::Ask { objection, .. } => Finding::Refused(Some(objection)),
                Verdict::Refuse { objections, .. } => {
                    Finding::Refused(objections.into_iter().next().map(Box::new))
                }
            }
        }
        None if known && !row.modifiers.is_empty() => {
            let takes = |id: &str| {
                let base = line(id, &modifiers);
                build_line(bar, &base, moment).is_ok() || in_own_cup(bar, &base, moment)
            };
            if bar.drink_ids().any(|id| takes(id)) {
                Finding::Right
            } else {
                Finding::Refused(None)
            }
        }
        Some(_) | None => Finding::Nothing,
    }
}

/// Whether the line is accepted, or only wants to know more.
fn in_own_cup(bar: &Bar, line: &Line, moment: &Moment) -> bool {
    use crate::engine::objection::Manner;
    let asked = |one: &Objection| one.manner == Manner::Ask;
    build_line(bar, line, moment).is_err_and(|all| {
        all.iter().all(|one| asked(one) && one.code.as_str() == "capacity-needed")
    })
}
