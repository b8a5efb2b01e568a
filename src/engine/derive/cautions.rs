//! Cautions that concern a cup, by its temperature, its contents and what it is.

use super::notices::hottest;
use crate::{
    book::{Bar, Caution, CautionWhen, Id, Ingredient, Part},
    engine::{
        order::{Order, Role, ingredients},
        solve::{Portion, Solved},
    },
};

/// The cautions of the site's region that concern the cup, in the order of the book.
pub fn cautions<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Vec<&'b Caution> {
    let here = bar.book.cautions.iter().filter(|one| one.holds_in(&bar.site.region));
    let cup = Cup { bar, order, solved, holds: ingredients(bar, order) };
    here.filter(|one| cup.is_concerned(&one.when)).collect()
}

/// A cup, with the ingredients that are in it and beside it.
struct Cup<'a, 'b> {
    bar: &'b Bar,
    order: &'a Order<'b>,
    solved: &'a Solved<'b>,
    holds: Vec<(Role<'b>, &'b Ingredient)>,
}

impl Cup<'_, '_> {
    /// Whether what a caution is about is true of the cup.
    fn is_concerned(&self, when: &CautionWhen) -> bool {
        let CautionWhen { hotter_than_c, contains, caffeine, for_drinks, always, bench: _ } = when;
        let Self { order, solved, .. } = self;
        let is_named = |id: &Id| for_drinks.contains(id);
        hotter_than_c.is_some_and(|c| hottest(order, solved) > c)
            || self.holds_any(contains)
            || (*caffeine && has_caffeine(order, solved))
            || is_named(&order.asked.id)
            || is_named(&order.drink.id)
            || *always
    }

    /// Whether one of the ingredients, or something made of them, is in the cup or beside it.
    fn holds_any(&self, wanted: &[Id]) -> bool {
        // Most are made of nothing else, and then their id is all that there is to look at.
        let holds = |one: &Ingredient, id: &Id| {
            one.id == *id || (!one.made_of.is_empty() && self.bar.holds(&one.id, id))
        };
        self.holds.iter().any(|(_, one)| wanted.iter().any(|id| holds(one, id)))
    }
}

/// Whether the cup is known to have caffeine: coffee, pulled or brewed, or an ingredient whose record
/// says how much it brings. A decaffeinated coffee counts, since some is left in it.
fn has_caffeine(order: &Order<'_>, solved: &Solved<'_>) -> bool {
    let brings = |one: &Portion<'_>| one.ingredient.caffeine.is_some();
    order.coffee.is_some()
        || order.parts().any(|part| matches!(part, Part::Brew(_)))
        || solved.portions.iter().any(brings)
}
