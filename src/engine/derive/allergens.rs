//! Allergens of a cup, from ingredient records alone: what is in it, what its packs warn of, and
//! what it meets on shared equipment. These are three answers; none of them says that a cup is
//! without an allergen.

use crate::{
    book::{AllergenSet, Bar, Brings, Id, IngredientKind, Met, Part, Stage, Via},
    engine::{
        order::{CoffeeOrder, Order},
        solve::{Milk, Portion, Solved},
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
    /// Of the ingredients', those that the site's region requires to be declared; `None` where the
    /// book has no table of that region.
    pub listed: Option<Vec<&'b Id>>,
}

/// An allergen on shared equipment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shared<'b> {
    /// The allergen.
    pub allergen: &'b Id,
    /// The equipment.
    pub via: Vec<Via>,
}

/// A piece of equipment that a cup shares, and what else meets it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Touched<'b> {
    pub(super) via: Via,
    /// Allergens that what meets it contains.
    pub(super) allergens: AllergenSet,
    /// Allergens that its packs say it may contain.
    pub(super) may_contain: AllergenSet,
    meets: Meets<'b>,
}

/// What meets a piece of equipment; told apart so that nothing is gathered until it is asked for.
#[derive(Clone, Copy, Debug)]
enum Meets<'b> {
    /// These ingredients.
    All(&'b [Id]),
    /// Of the first, those that are among the second.
    Of(&'b [Id], &'b [Id]),
    /// These beans.
    Beans(&'b [Id]),
}

impl Touched<'_> {
    /// Whether any ingredient that meets it is as `wanted`.
    pub(super) fn meets_any(&self, bar: &Bar, wanted: impl Fn(&Id) -> bool) -> bool {
        match self.meets {
            Meets::All(ids) => ids.iter().any(wanted),
            Meets::Of(ids, only) => ids.iter().filter(|id| only.contains(id)).any(wanted),
            Meets::Beans(beans) => {
                let found = beans.iter().filter_map(|id| bar.bean(id));
                found.map(|bean| &bean.ingredient).any(wanted)
            }
        }
    }
}

/// The allergens of the cup.
pub fn allergens<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Allergens<'b> {
    let beans = order.coffee.iter().flat_map(CoffeeOrder::draws);
    let beans = beans.map(|draw| &*draw.bean.ingredient);
    let milk = order.milk.as_ref().map(|milk| &*milk.ingredient.id);
    let portions = solved.portions.iter().map(|one| &*one.ingredient.id);
    let all = portions.chain(beans).chain(milk);
    let Brings { contains, may_contain, listed } =
        all.fold(Brings::default(), |sum, id| sum.and(bar.brings(id)));
    let touched = touched(bar, order, solved);
    let met = touched.iter().fold(AllergenSet::default(), |sum, one| sum.and(one.allergens));
    let shared = met.beyond(contains).positions().filter_map(|at| {
        let holds = touched.iter().filter(|one| one.allergens.holds(at));
        let mut via: Vec<Via> = holds.map(|one| one.via).collect();
        via.sort();
        via.dedup();
        Some(Shared { allergen: &bar.book.allergens.get(at)?.id, via })
    });
    Allergens {
        ingredients: named(bar, contains).collect(),
        may_contain: named(bar, may_contain.beyond(contains)).collect(),
        shared: shared.collect(),
        listed: bar.allergen_table().map(|_| named(bar, listed).collect()),
    }
}

/// The ids of a set's allergens, in the order of the book.
fn named(bar: &Bar, set: AllergenSet) -> impl Iterator<Item = &Id> {
    set.positions().filter_map(|at| bar.book.allergens.get(at)).map(|allergen| &allergen.id)
}

/// The shared equipment that the cup meets, in a fixed order.
///
/// Jugs are shared among all milks; a wand only among those that it may touch.
pub(super) fn touched<'b>(
    bar: &'b Bar,
    order: &Order<'b>,
    solved: &Solved<'b>,
) -> Vec<Touched<'b>> {
    let mut all = Vec::with_capacity(4);
    let mut push = |via, meets, brings: Brings| {
        let Brings { contains: allergens, may_contain, listed: _ } = brings;
        all.push(Touched { via, allergens, may_contain, meets });
    };
    let of = |met: &Met| {
        let Met { ingredients: _, allergens, may_contain } = met;
        Brings { contains: *allergens, may_contain: *may_contain, ..Brings::default() }
    };
    let equipment = bar.equipment();
    if let Some(Milk::Steamed(milk)) = &solved.milk {
        let met = equipment.steamed();
        let only = &milk.wand.only;
        if only.is_empty() {
            push(Via::Wand, Meets::All(&met.ingredients), of(met));
        } else {
            let those = met.ingredients.iter().filter(|id| only.contains(id));
            push(Via::Wand, Meets::Of(&met.ingredients, only), brings_of(bar, those));
        }
        push(Via::Jug, Meets::All(&met.ingredients), of(met));
        if let Some(met) = equipment.cloth_of(&milk.wand.id) {
            push(Via::Cloth, Meets::All(&met.ingredients), of(met));
        }
    }
    let side =
        |one: &Portion<'b>| one.stage == Stage::Side && one.ingredient.kind == IngredientKind::Milk;
    let poured_beside = solved.portions.iter().any(side) || order.has_milk_aside();
    let made_with = |wanted: fn(&Part) -> bool| order.parts().any(wanted);
    let shared = [
        (poured_beside, Via::Jug, equipment.milks()),
        (made_with(|part| matches!(part, Part::Paste(_))), Via::Whisk, equipment.stirred()),
        (made_with(|part| matches!(part, Part::Steep(_))), Via::Strainer, equipment.strained()),
    ];
    for (_, via, met) in shared.into_iter().filter(|(is_used, _, _)| *is_used) {
        push(via, Meets::All(&met.ingredients), of(met));
    }
    for draw in order.coffee.iter().flat_map(CoffeeOrder::draws) {
        for mill in bar.site.grinders.iter().filter(|mill| mill.beans.contains(&draw.bean.id)) {
            let beans = mill.beans.iter().filter_map(|id| bar.bean(id));
            let brings = brings_of(bar, beans.map(|bean| &bean.ingredient));
            push(Via::Grinder, Meets::Beans(&mill.beans), brings);
        }
    }
    all
}

fn brings_of<'b>(bar: &Bar, ids: impl Iterator<Item = &'b Id>) -> Brings {
    ids.fold(Brings::default(), |sum, id| sum.and(bar.brings(id)))
}
