//! Cautions that concern a cup, by its temperature, its contents and what it is.

use super::notices::hottest;
use crate::{
    book::{Bar, Caution, CautionWhen, Id, Part},
    engine::{
        order::{Order, ingredients},
        solve::Solved,
    },
};

/// The cautions of the site's region that concern the cup, in the order of the book.
pub fn cautions<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Vec<&'b Caution> {
    let here = bar.book.cautions.iter().filter(|one| one.holds_in(&bar.site.region));
    here.filter(|one| concerns(bar, order, solved, &one.when)).collect()
}

/// Whether what a caution is about is true of the cup.
fn concerns(bar: &Bar, order: &Order<'_>, solved: &Solved<'_>, when: &CautionWhen) -> bool {
    let CautionWhen { hotter_than_c, contains, caffeine, for_drinks, always, bench: _ } = when;
    let is_named = |id: &Id| for_drinks.contains(id);
    hotter_than_c.is_some_and(|c| hottest(order, solved) > c)
        || (!contains.is_empty() && holds_any(bar, order, contains))
        || (*caffeine && has_caffeine(order))
        || is_named(&order.asked.id)
        || is_named(&order.drink.id)
        || *always
}

/// Whether the cup holds one of the ingredients, or something made of them, in it or beside it.
fn holds_any(bar: &Bar, order: &Order<'_>, wanted: &[Id]) -> bool {
    let all = ingredients(bar, order);
    all.iter().any(|(_, one)| wanted.iter().any(|id| bar.holds(&one.id, id)))
}

/// Whether the cup is known to have caffeine: it has coffee in it, pulled or brewed.
///
/// The one place that knows; where a book says how much caffeine its ingredients have, this is
/// where that belongs. A decaffeinated coffee counts, since some is left in it.
fn has_caffeine(order: &Order<'_>) -> bool {
    order.coffee.is_some() || order.parts().any(|part| matches!(part, Part::Brew(_)))
}
