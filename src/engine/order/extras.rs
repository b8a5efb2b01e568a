//! Phase `addition`: parts taken off and ingredients put in.

use super::collect::Held;
use crate::{
    book::{Amount, Bar, Drink, Id, Ingredient, Stage},
    engine::order::Holding,
    units::Ratio,
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

/// What the phases `addition` and `ice` come to.
pub(super) struct Extras<'b> {
    /// Parts taken off, by id.
    pub(super) removed: Vec<&'b Id>,
    /// Ingredients added.
    pub(super) added: Vec<Added<'b>>,
    /// How many times the usual ice.
    pub(super) ice_times: Ratio,
}

/// Parts taken off, ingredients added and ice changed; a value that only takes off what is not
/// there, or asks for the usual ice, is dropped.
pub(super) fn extras<'b>(bar: &'b Bar, drink: &'b Drink, held: &mut Vec<Held<'b>>) -> Extras<'b> {
    let has = |id: &&Id| drink.parts.iter().any(|part| part.id() == *id);
    let once = Ratio::from_thousandths(1_000);
    held.retain(|one| match (&one.holding, one.effect()) {
        (_, Some((effect, _))) if effect.ice_times == Some(once) => false,
        (Holding::Value(_), Some((effect, _))) if effect.add.is_none() => {
            effect.remove.is_empty() || effect.remove.iter().any(|id| has(&id))
        }
        _ => true,
    });
    let effects = || held.iter().filter_map(|one| Some((one.modifier.id(), one.effect()?)));
    let removed = effects().flat_map(|(_, (effect, _))| &effect.remove).filter(|id| has(id));
    let added = effects().filter_map(|(by, (effect, n))| {
        let add = effect.add.as_ref()?;
        let n = i64::from(n);
        let amount =
            Amount { g: add.amount.g.map(|g| g.times(n)), ml: add.amount.ml.map(|ml| ml.times(n)) };
        let ingredient = bar.ingredient(&add.ingredient)?;
        Some(Added { ingredient, amount, stage: add.stage, by })
    });
    let ice_times = effects().find_map(|(_, (effect, _))| effect.ice_times).unwrap_or(once);
    Extras { removed: removed.collect(), added: added.collect(), ice_times }
}
