//! The recall overlay: it outranks every book, and only removes or substitutes.

use std::collections::{BTreeSet, HashSet};

use super::{
    layers::{Layer, Provenance},
    types::{Addition, Amount, Book, Id, Modifier, Part},
};
use crate::units::Ratio;

/// Ingredients taken out of use, and what stands in for them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Overlay {
    /// Ingredients that must not be used.
    pub remove: BTreeSet<Id>,
    /// Ingredients used in place of others.
    pub substitute: Vec<Substitute>,
}

/// One ingredient in place of another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Substitute {
    /// The ingredient that is not used any more.
    pub ingredient: Id,
    /// What is used in its place.
    pub by: Id,
    /// Amount of the new per amount of the old, by mass or by volume as the recipe measures it.
    pub ratio: Ratio,
}

impl Overlay {
    /// Makes the substitutions in `book`, noting each, and gives back the ingredients recalled.
    ///
    /// An ingredient is recalled if it is removed, substituted, or made of one that is. Since each
    /// pass only adds ingredients made of recalled ones, the loop ends.
    pub(super) fn apply(&self, book: &mut Book, from: &mut Provenance) -> HashSet<Id> {
        for substitute in &self.substitute {
            substitute.apply(book, from);
        }
        let replaced = self.substitute.iter().map(|one| one.ingredient.clone());
        let mut recalled: HashSet<Id> = self.remove.iter().cloned().chain(replaced).collect();
        loop {
            let before = recalled.len();
            for ingredient in &book.ingredients {
                if ingredient.made_of.iter().any(|part| recalled.contains(part)) {
                    recalled.insert(ingredient.id.clone());
                }
            }
            if recalled.len() == before {
                return recalled;
            }
        }
    }
}

impl Substitute {
    fn apply(&self, book: &mut Book, from: &mut Provenance) {
        for drink in &mut book.drinks {
            for part in &mut drink.parts {
                let id = part.id().clone();
                if self.in_part(part) {
                    for row in drink.cups.values_mut().flat_map(|sizes| sizes.values_mut()) {
                        row.amounts.entry(id.clone()).and_modify(|amount| self.scale(amount));
                    }
                    from.note(format!("/drinks/{}/parts/{id}", drink.id), Layer::Recall);
                }
            }
        }
        for modifier in &mut book.modifiers {
            let path = format!("/modifiers/{}", modifier.id());
            let changed = match modifier {
                Modifier::Slot(slot) => {
                    // Every value is visited: `any` would stop at the first.
                    let values = slot.values.iter_mut();
                    values
                        .filter_map(|value| value.does.add.as_mut())
                        .fold(false, |changed, add| changed | self.in_addition(Some(add)))
                }
                Modifier::Counter(counter) => self.in_addition(counter.does.add.as_mut()),
                Modifier::Flag(flag) => self.in_addition(flag.does.add.as_mut()),
            };
            if changed {
                from.note(path, Layer::Recall);
            }
        }
    }

    fn in_part(&self, part: &mut Part) -> bool {
        let ingredient = match part {
            Part::Coffee(_) => return false,
            Part::Milk(milk) => &mut milk.ingredient,
            Part::Water(water) => &mut water.ingredient,
            Part::Ice(ice) => &mut ice.ingredient,
            Part::Ingredient(one) => &mut one.ingredient,
            Part::Paste(paste) => &mut paste.ingredient,
            Part::Steep(steep) => &mut steep.ingredient,
            Part::Brew(brew) => &mut brew.ingredient,
        };
        if *ingredient != self.ingredient {
            return false;
        }
        *ingredient = self.by.clone();
        let ratio = self.ratio.thousandths();
        match part {
            Part::Coffee(_) => {}
            Part::Milk(milk) => {
                milk.textured_ml = milk.textured_ml.map(|ml| ml.scaled(ratio, 1_000));
                milk.cold_ml = milk.cold_ml.map(|ml| ml.scaled(ratio, 1_000));
            }
            Part::Water(water) => water.ml = water.ml.map(|ml| ml.scaled(ratio, 1_000)),
            Part::Ice(ice) => ice.g = ice.g.scaled(ratio, 1_000),
            Part::Ingredient(one) => self.scale(&mut one.amount),
            Part::Paste(paste) => self.scale(&mut paste.amount),
            Part::Steep(steep) => steep.g = steep.g.scaled(ratio, 1_000),
            Part::Brew(brew) => brew.dose_g_l = brew.dose_g_l.scaled(ratio, 1_000),
        }
        true
    }

    fn in_addition(&self, addition: Option<&mut Addition>) -> bool {
        match addition {
            Some(addition) if addition.ingredient == self.ingredient => {
                addition.ingredient = self.by.clone();
                self.scale(&mut addition.amount);
                true
            }
            _ => false,
        }
    }

    fn scale(&self, amount: &mut Amount) {
        let ratio = self.ratio.thousandths();
        amount.g = amount.g.map(|g| g.scaled(ratio, 1_000));
        amount.ml = amount.ml.map(|ml| ml.scaled(ratio, 1_000));
    }
}
