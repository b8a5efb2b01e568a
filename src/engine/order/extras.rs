//! Phase `addition`: parts taken off and ingredients put in.

use super::collect::Held;
use crate::{
    book::{Amount, Bar, Drink, Id, Ingredient, Stage},
    engine::order::Holding,
};

/// An ingredient that a modifier adds.
#[derive(Clone, Copy, Debug)]
pub struct Added<'b> {
    /// The ingredient.
    pub ingredient: &'b Ingredient,
    /// How much in all.
    pub amount: Amount,
    /// When and where it goes.
    pub stage: Stage,
    /// The modifier that adds it, by id.
    pub by: &'b Id,
}

/// Parts taken off and ingredients added; a value that only takes off what is not there is dropped.
pub(super) fn extras<'b>(
    bar: &'b Bar,
    drink: &'b Drink,
    held: &mut Vec<Held<'b>>,
) -> (Vec<&'b Id>, Vec<Added<'b>>) {
    let has = |id: &&Id| drink.parts.iter().any(|part| part.id() == *id);
    held.retain(|one| match (&one.holding, one.effect()) {
        (Holding::Value(_), Some((effect, _))) if effect.add.is_none() => {
            effect.remove.is_empty() || effect.remove.iter().any(|id| has(&id))
        }
        _ => true,
    });
    let effects = || held.iter().filter_map(|one| Some((one.modifier.id(), one.effect()?)));
    let removed: Vec<&Id> =
        effects().flat_map(|(_, (effect, _))| &effect.remove).filter(|id| has(id)).collect();
    let added = effects().filter_map(|(by, (effect, n))| {
        let add = effect.add.as_ref()?;
        let n = i64::from(n);
        let amount =
            Amount { g: add.amount.g.map(|g| g.times(n)), ml: add.amount.ml.map(|ml| ml.times(n)) };
        let ingredient = bar.ingredient(&add.ingredient)?;
        Some(Added { ingredient, amount, stage: add.stage, by })
    });
    let added = added.collect();
    (removed, added)
}
