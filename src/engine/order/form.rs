//! Phase `form`: another form of the drink, such as iced, is made by the recipe that it declares.

use super::collect::Held;
use crate::{
    book::{Bar, Drink, Id},
    engine::objection::{Code, Fix, Objection},
};

/// The drink whose recipe is made; a form that the drink is of already is dropped from `held`.
///
/// * Errors: the drink declares no such form.
pub(super) fn form<'b>(
    bar: &'b Bar,
    asked: &'b Drink,
    held: &mut Vec<Held<'b>>,
) -> Result<&'b Drink, Objection> {
    let found = held.iter().enumerate().find_map(|(at, one)| {
        let (effect, _) = one.effect()?;
        Some((at, one, effect.form.as_ref()?))
    });
    let Some((at, one, wanted)) = found else { return Ok(asked) };
    let recipe = asked.forms.get(wanted).and_then(|id| bar.drink(id));
    let Some(recipe) = recipe else { return Err(no_such_form(asked, one, wanted)) };
    if recipe.id == asked.id {
        held.remove(at);
    }
    Ok(recipe)
}

fn no_such_form(asked: &Drink, held: &Held<'_>, wanted: &Id) -> Objection {
    let value = held.holding.value().and_then(|value| value.names.as_ref());
    Objection::refuse(Code::NoSuchForm)
        .about(held.modifier.id())
        .at(held.given)
        .name("drink", &asked.names)
        .name("form", value.unwrap_or(held.modifier.names()))
        .toward(&format!("other-{wanted}"))
        .fixes([Fix::Withdraw(held.modifier.id().clone())])
}
