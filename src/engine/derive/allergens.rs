//! Allergens of a cup, from ingredient records alone: what is in it, what its packs warn of, and
//! what it meets on shared equipment. These are three answers; none of them says that a cup is
//! without an allergen.

use crate::{
    book::{AllergenSet, Bar, Brings, Id},
    engine::{
        order::Order,
        solve::{Milk, Solved},
    },
};

/// Allergens of a cup, by the book's allergen ids.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Allergens<'b> {
    /// Contained in its ingredients, or in what those are made of.
    pub ingredients: Vec<&'b Id>,
    /// That packs say may be contained, beyond the above.
    pub may_contain: Vec<&'b Id>,
    /// On equipment that this cup shares with others at this site, beyond the ingredients.
    pub shared: Vec<Shared<'b>>,
}

/// An allergen on shared equipment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shared<'b> {
    /// The allergen.
    pub allergen: &'b Id,
    /// The equipment.
    pub via: Vec<Via>,
}

/// Equipment that cups share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Via {
    /// The steam wand.
    Wand,
    /// The milk jugs.
    Jug,
}

impl Via {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Wand => "wand",
            Self::Jug => "jug",
        }
    }
}

/// The allergens of the cup.
pub fn allergens<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Allergens<'b> {
    let coffee = order.coffee.as_ref().map(|coffee| &*coffee.bean.ingredient);
    let milk = order.milk.as_ref().map(|milk| &*milk.ingredient.id);
    let portions = solved.portions.iter().map(|one| &*one.ingredient.id);
    let all = portions.chain(coffee).chain(milk);
    let Brings { contains, may_contain } =
        all.fold(Brings::default(), |sum, id| sum.and(bar.brings(id)));
    let shared = match &solved.milk {
        Some(Milk::Steamed(milk)) => shared(bar, &milk.wand.only, contains),
        Some(Milk::Cold(_)) | None => Vec::new(),
    };
    Allergens {
        ingredients: named(bar, contains).collect(),
        may_contain: named(bar, may_contain.beyond(contains)).collect(),
        shared,
    }
}

/// The ids of a set's allergens, in the order of the book.
fn named(bar: &Bar, set: AllergenSet) -> impl Iterator<Item = &Id> {
    set.positions().filter_map(|at| bar.book.allergens.get(at)).map(|allergen| &allergen.id)
}

/// Allergens of the other milks in stock that the same wand and jugs meet.
///
/// Jugs are shared among all steamed milks; a wand only among those that may touch it.
fn shared<'b>(bar: &'b Bar, only: &[Id], contains: AllergenSet) -> Vec<Shared<'b>> {
    let on_wand = bar.steamed_here(only);
    let beyond = bar.steamed_here(&[]).beyond(contains);
    let via = |at: usize| {
        if on_wand.holds(at) { vec![Via::Wand, Via::Jug] } else { vec![Via::Jug] }
    };
    let shared = beyond.positions().filter_map(|at| Some((at, bar.book.allergens.get(at)?)));
    shared.map(|(at, allergen)| Shared { allergen: &allergen.id, via: via(at) }).collect()
}
