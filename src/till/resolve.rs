//! A ticket line by the till's codes, as a line by ids.

use super::map::TillMap;
use crate::{
    book::{ExampleModifier, ExampleValue, Id},
    engine::{
        Given, Line, What,
        objection::{Code, Objection},
        order::nearest,
    },
};

/// A line whose codes are resolved.
#[derive(Clone, Debug)]
pub struct Resolved {
    /// The line by ids.
    pub line: Line,
    /// Where each of its modifiers came from.
    from: Vec<Origin>,
}

/// Where a modifier of a resolved line stands in the ticket.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Origin {
    Code(usize),
    Modifier(usize),
}

/// Resolves the codes of `line`; a line without codes stays as it is.
///
/// * `map`: the site's till map, if it has one.
/// * Errors: each code that no button has; buttons that name no drink, or the first that names one
///   too many.
pub fn resolve(map: Option<&TillMap>, line: &Line) -> Result<Resolved, Vec<Objection>> {
    let (mut modifiers, mut from) = (Vec::new(), Vec::new());
    let mut drinks: Vec<String> =
        Some(line.drink.clone()).filter(|drink| !drink.is_empty()).into_iter().collect();
    let (mut objections, mut second) = (Vec::new(), None);
    for (at, code) in line.codes.iter().enumerate() {
        let Some(button) = map.and_then(|map| map.button(code)) else {
            objections.push(unknown_code(map, code, at));
            continue;
        };
        if let Some(drink) = &button.drink {
            drinks.push(drink.clone());
            second = second.or_else(|| (drinks.len() > 1).then_some(at));
        }
        modifiers.extend(button.modifiers.iter().map(given));
        from.resize(modifiers.len(), Origin::Code(at));
    }
    for (at, one) in line.modifiers.iter().enumerate() {
        modifiers.push(one.clone());
        from.push(Origin::Modifier(at));
    }
    // A code that nobody knows may be the one that names the drink.
    if drinks.len() > 1 || (drinks.is_empty() && objections.is_empty()) {
        let count = i64::try_from(drinks.len()).unwrap_or(i64::MAX / 1_000);
        let mut fault = Objection::refuse(Code::NotOneDrink).number("n", count * 1_000);
        (fault.given, fault.in_codes) = (second, second.is_some());
        objections.push(fault);
    }
    if !objections.is_empty() {
        return Err(objections);
    }
    let drink = drinks.into_iter().next().unwrap_or_default();
    let line = Line { drink, modifiers, codes: Vec::new(), ..line.clone() };
    Ok(Resolved { line, from })
}

impl Resolved {
    /// Points an objection about the resolved line at its place in the ticket.
    pub fn point(&self, objection: &mut Objection) {
        let origin = objection.given.and_then(|at| self.from.get(at));
        (objection.given, objection.in_codes) = match origin {
            Some(Origin::Code(at)) => (Some(*at), true),
            Some(Origin::Modifier(at)) => (Some(*at), false),
            None => (objection.given, false),
        };
    }
}

/// A button's modifier as a line gives it.
pub(super) fn given(one: &ExampleModifier) -> Given {
    let what = match (&one.value, one.count) {
        (Some(ExampleValue::Id(value)), _) => What::Value(value.to_string()),
        (Some(ExampleValue::Number(number)), _) => What::Number(*number),
        (None, Some(count)) => What::Count(count),
        (None, None) => What::Flag,
    };
    Given { id: one.id.clone(), what }
}

fn unknown_code(map: Option<&TillMap>, code: &str, at: usize) -> Objection {
    let known: Vec<Id> =
        map.map_or(&[][..], |map| &map.buttons).iter().map(|one| (*one.code).into()).collect();
    let near = nearest(code, known.iter());
    let near = near.first().map_or("–", |id| &***id);
    let mut fault = Objection::refuse(Code::UnknownCode).text("asked", code).text("near", near);
    (fault.given, fault.in_codes) = (Some(at), true);
    fault
}
