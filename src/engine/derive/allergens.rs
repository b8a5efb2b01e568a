//! Allergens of a cup, from ingredient records alone: what is in it, what its packs warn of, and
//! what it meets on shared equipment. These are three answers; none of them says that a cup is
//! without an allergen.

use std::collections::BTreeSet;

use crate::{
    book::{Bar, Id, Ingredient, Part},
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
    let mut sets = Sets { bar, contains: BTreeSet::new(), may: BTreeSet::new() };
    if let Some(coffee) = &order.coffee {
        sets.add_id(&coffee.bean.ingredient);
    }
    for one in &solved.portions {
        sets.add(one.ingredient, 0);
    }
    if let Some(milk) = &order.milk
        && order.parts().any(|part| matches!(part, Part::Milk(_)))
    {
        sets.add(milk.ingredient, 0);
    }
    let Sets { contains, may, .. } = sets;
    let shared = match &solved.milk {
        Some(Milk::Steamed(milk)) => shared(bar, &milk.wand.only, &contains),
        Some(Milk::Cold(_)) | None => Vec::new(),
    };
    Allergens {
        may_contain: may.difference(&contains).copied().collect(),
        ingredients: contains.into_iter().collect(),
        shared,
    }
}

struct Sets<'b> {
    bar: &'b Bar,
    contains: BTreeSet<&'b Id>,
    may: BTreeSet<&'b Id>,
}

impl<'b> Sets<'b> {
    fn add_id(&mut self, id: &str) {
        if let Some(ingredient) = self.bar.ingredient(id) {
            self.add(ingredient, 0);
        }
    }

    /// Adds an ingredient and what it is made of; the book's check rules out circles, and the depth
    /// bounds the walk all the same.
    fn add(&mut self, ingredient: &'b Ingredient, depth: usize) {
        self.contains.extend(&ingredient.allergens);
        self.may.extend(&ingredient.may_contain);
        if depth < 16 {
            for part in ingredient.made_of.iter().filter_map(|id| self.bar.ingredient(id)) {
                self.add(part, depth + 1);
            }
        }
    }
}

/// Allergens of the other milks in stock that the same wand and jugs meet.
///
/// Jugs are shared among all steamed milks; a wand only among those that may touch it.
fn shared<'b>(bar: &'b Bar, only: &[Id], contains: &BTreeSet<&'b Id>) -> Vec<Shared<'b>> {
    let steamed = || {
        let stocked = bar.site.stock.iter().filter_map(|id| bar.ingredient(id));
        stocked.filter(|milk| milk.steaming.is_some())
    };
    let mut all = Sets { bar, contains: BTreeSet::new(), may: BTreeSet::new() };
    steamed().for_each(|milk| all.add(milk, 0));
    let mut wand = Sets { bar, contains: BTreeSet::new(), may: BTreeSet::new() };
    let touches = |milk: &&Ingredient| only.is_empty() || only.contains(&milk.id);
    steamed().filter(touches).for_each(|milk| wand.add(milk, 0));
    let beyond = all.contains.difference(contains);
    beyond
        .map(|allergen| {
            let on_wand = wand.contains.contains(allergen).then_some(Via::Wand);
            Shared { allergen, via: on_wand.into_iter().chain([Via::Jug]).collect() }
        })
        .collect()
}
