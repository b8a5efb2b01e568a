//! Whether everything an order needs is here, may be used, and suits the declared diets.

use super::{CoffeeOrder, Held, Order, milk::other_milks, slot_of_phase};
use crate::{
    book::{Bar, Id, Ingredient, IngredientKind, Modifier, Named, Part, Phase},
    engine::{
        line::{Line, Moment},
        objection::{Code, Fix, Objection},
    },
};

/// What an ingredient is to an order, and so what can be done without it.
#[derive(Clone, Copy, Debug)]
pub enum Role<'b> {
    /// What the coffee is made of.
    Bean,
    /// The milk.
    Milk,
    /// What a part of the drink is made of, by the part's id.
    Part(&'b Id),
    /// What a modifier adds, by the modifier's id.
    Added(&'b Id),
}

/// Complains about each ingredient that is not here, is recalled, or does not suit a diet.
pub(super) fn check(
    bar: &Bar,
    order: &Order<'_>,
    line: &Line,
    moment: &Moment,
    objections: &mut Vec<Objection>,
) {
    for diet in &line.diets {
        if !bar.book.diets.iter().any(|known| known.id == diet.as_str()) {
            objections.push(Objection::refuse(Code::UnknownDiet).text("asked", diet));
        }
    }
    for (role, ingredient) in ingredients(bar, order) {
        let fault = |code| {
            let fault = Objection::refuse(code).name("ingredient", &ingredient.names);
            fault.name("drink", &order.drink.names)
        };
        let gone = missing(bar, ingredient, moment);
        if let Some(code) = gone {
            let found = about(fault(code), &role, order);
            objections.push(found.fixes(without(bar, &role, ingredient)).toward("no-stock"));
        }
        let declared = |diet: &&Named| line.diets.iter().any(|id| diet.id == id.as_str());
        let mut diets = bar.book.diets.iter().filter(declared);
        if let Some(diet) = diets.find(|diet| !ingredient.suits.contains(&diet.id)) {
            let found = fault(Code::DietNotMet).name("diet", &diet.names);
            let found = about(found, &role, order);
            objections.push(found.fixes(without(bar, &role, ingredient)).toward("diet"));
        }
    }
}

/// Why the ingredient cannot be used here and now, if it cannot.
fn missing(bar: &Bar, ingredient: &Ingredient, moment: &Moment) -> Option<Code> {
    if bar.is_recalled(&ingredient.id) {
        Some(Code::Recalled)
    } else if moment.out_of_stock.iter().any(|gone| ingredient.id == gone.as_str()) {
        Some(Code::OutOfStock)
    } else if ingredient.kind == IngredientKind::Water {
        // No sheet lists its tap.
        None
    } else if !bar.stocks(&ingredient.id) {
        Some(Code::NotStocked)
    } else {
        None
    }
}

/// Every ingredient of the order with its role.
pub fn ingredients<'b>(bar: &'b Bar, order: &Order<'b>) -> Vec<(Role<'b>, &'b Ingredient)> {
    let mut all = Vec::with_capacity(8);
    let mut push = |role, id: &str| all.extend(bar.ingredient(id).map(|found| (role, found)));
    for draw in order.coffee.iter().flat_map(CoffeeOrder::draws) {
        push(Role::Bean, &draw.bean.ingredient);
    }
    for part in order.parts() {
        match part {
            Part::Coffee(_) => {}
            Part::Milk(_) => {
                if let Some(milk) = &order.milk {
                    push(Role::Milk, &milk.ingredient.id);
                }
            }
            Part::Water(water) => push(Role::Part(&water.id), &water.ingredient),
            Part::Ice(ice) => push(Role::Part(&ice.id), &ice.ingredient),
            Part::Ingredient(one) => push(Role::Part(&one.id), &one.ingredient),
            Part::Paste(paste) => {
                push(Role::Part(&paste.id), &paste.ingredient);
                push(Role::Part(&paste.id), &paste.water);
            }
            Part::Steep(steep) => {
                push(Role::Part(&steep.id), &steep.ingredient);
                push(Role::Part(&steep.id), &steep.water);
            }
            Part::Brew(brew) => {
                push(Role::Part(&brew.id), &brew.ingredient);
                push(Role::Part(&brew.id), &brew.water);
            }
        }
    }
    for added in &order.added {
        push(Role::Added(added.by), &added.ingredient.id);
    }
    all
}

/// Names the modifier that brought the ingredient into the line, if one did.
pub fn about(objection: Objection, role: &Role<'_>, order: &Order<'_>) -> Objection {
    let came_by = |held: &&Held<'_>| match role {
        Role::Bean => held.phase() == Phase::Class,
        Role::Milk => held.phase() == Phase::Milk,
        Role::Part(_) => false,
        Role::Added(by) => *held.modifier.id() == **by,
    };
    match order.held.iter().find(came_by) {
        Some(held) => objection.about(held.modifier.id()).at(held.given),
        None => objection,
    }
}

/// Ways to do without the ingredient.
pub fn without(bar: &Bar, role: &Role<'_>, ingredient: &Ingredient) -> Vec<Fix> {
    match role {
        Role::Milk => other_milks(bar, ingredient),
        Role::Added(by) => vec![Fix::Withdraw((*by).clone())],
        Role::Bean => {
            let Some(slot) = slot_of_phase(bar, Phase::Class) else { return Vec::new() };
            let others =
                slot.values.iter().map(|value| Fix::Set(slot.id.clone(), value.id.clone()));
            [Fix::Drop(slot.id.clone())].into_iter().chain(others).collect()
        }
        Role::Part(part) => bar
            .book
            .modifiers
            .iter()
            .flat_map(|modifier| {
                match modifier {
                    Modifier::Slot(slot) => slot.values.as_slice(),
                    Modifier::Counter(_) | Modifier::Flag(_) => &[],
                }
                .iter()
                .filter(|value| value.does.remove.contains(part))
                .map(|value| Fix::Set(modifier.id().clone(), value.id.clone()))
            })
            .collect(),
    }
}
