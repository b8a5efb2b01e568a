//! Allergens of a cup, from ingredient records alone: what is in it, what its packs warn of, and
//! what it meets on shared equipment. These are three answers; none of them says that a cup is
//! without an allergen.

use crate::{
    book::{AllergenSet, Bar, Brings, Id, IngredientKind, Part, Stage, Via},
    engine::{
        order::{CoffeeOrder, Order},
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

/// A piece of equipment that a cup shares, and what else meets it.
#[derive(Clone, Debug)]
pub(super) struct Touched<'b> {
    pub(super) via: Via,
    /// What meets it, by ingredient id.
    pub(super) ingredients: Vec<&'b Id>,
    /// Allergens of that.
    pub(super) allergens: AllergenSet,
}

/// The allergens of the cup.
pub fn allergens<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Allergens<'b> {
    let beans = order.coffee.iter().flat_map(CoffeeOrder::draws);
    let beans = beans.map(|draw| &*draw.bean.ingredient);
    let milk = order.milk.as_ref().map(|milk| &*milk.ingredient.id);
    let portions = solved.portions.iter().map(|one| &*one.ingredient.id);
    let all = portions.chain(beans).chain(milk);
    let Brings { contains, may_contain } =
        all.fold(Brings::default(), |sum, id| sum.and(bar.brings(id)));
    let touched = touched(bar, order, solved);
    let met = touched.iter().fold(AllergenSet::default(), |sum, one| sum.and(one.allergens));
    let shared = met.beyond(contains).positions().filter_map(|at| {
        let holds = touched.iter().filter(|one| one.allergens.holds(at));
        let mut via: Vec<Via> = holds.map(|one| one.via).collect();
        via.dedup();
        Some(Shared { allergen: &bar.book.allergens.get(at)?.id, via })
    });
    Allergens {
        ingredients: named(bar, contains).collect(),
        may_contain: named(bar, may_contain.beyond(contains)).collect(),
        shared: shared.collect(),
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
    let mut push = |via, ingredients: Vec<&'b Id>, allergens| {
        all.push(Touched { via, ingredients, allergens });
    };
    let equipment = bar.equipment();
    if let Some(Milk::Steamed(milk)) = &solved.milk {
        let met = equipment.steamed();
        let only = &milk.wand.only;
        if only.is_empty() {
            push(Via::Wand, met.ingredients.iter().collect(), met.allergens);
        } else {
            let those = met.ingredients.iter().filter(|id| only.contains(id));
            let (ids, set) = with_allergens(bar, those);
            push(Via::Wand, ids, set);
        }
        push(Via::Jug, met.ingredients.iter().collect(), met.allergens);
    }
    let poured_beside = solved
        .portions
        .iter()
        .any(|one| one.stage == Stage::Side && one.ingredient.kind == IngredientKind::Milk);
    if poured_beside {
        let met = equipment.milks();
        push(Via::Jug, met.ingredients.iter().collect(), met.allergens);
    }
    if order.parts().any(|part| matches!(part, Part::Paste(_))) {
        let met = equipment.stirred();
        push(Via::Whisk, met.ingredients.iter().collect(), met.allergens);
    }
    if order.parts().any(|part| matches!(part, Part::Steep(_))) {
        let met = equipment.strained();
        push(Via::Strainer, met.ingredients.iter().collect(), met.allergens);
    }
    for draw in order.coffee.iter().flat_map(CoffeeOrder::draws) {
        let mills = bar.site.grinders.iter().filter(|mill| mill.beans.contains(&draw.bean.id));
        let beans = mills.flat_map(|mill| &mill.beans).filter_map(|id| bar.bean(id));
        let (ids, set) = with_allergens(bar, beans.map(|bean| &bean.ingredient));
        push(Via::Grinder, ids, set);
    }
    all
}

fn with_allergens<'b>(bar: &Bar, ids: impl Iterator<Item = &'b Id>) -> (Vec<&'b Id>, AllergenSet) {
    let ids: Vec<&Id> = ids.collect();
    let set = ids.iter().fold(AllergenSet::default(), |set, id| set.and(bar.brings(id).contains));
    (ids, set)
}
