//! The envelope: whether what was solved is still the drink that was ordered.

use super::{Milk, Solved};
use crate::{
    book::{Bar, Envelope, Id, Ingredient, Part, Phase},
    engine::{
        objection::{Code, Fix, Measured, Objection},
        order::{CoffeeOrder, Order},
    },
};

/// Every bound of the drink's identity that the solved cup leaves.
pub fn judge(bar: &Bar, order: &Order<'_>, solved: &Solved<'_>) -> Vec<Objection> {
    let mut found = of_parts(bar, order);
    found.extend(of_amounts(order, solved));
    found.extend(of_ingredients(bar, order, solved));
    for objection in found.iter_mut().filter(|_| order.drink.envelope.safety) {
        objection.safety = true;
    }
    found
}

/// The pull that it is made with, and the parts that it must have.
fn of_parts(bar: &Bar, order: &Order<'_>) -> Vec<Objection> {
    let Envelope { pulls, requires, .. } = &order.drink.envelope;
    let pull =
        order.coffee.as_ref().filter(|coffee| !pulls.is_empty() && !pulls.contains(coffee.pull));
    let pull = pull.map(|coffee| pull_outside(bar, order, coffee.pull));
    let without_ice = order.ice_times.thousandths() == 0;
    let ice = order.parts().find(|part| matches!(part, Part::Ice(_))).map(Part::id);
    let gone = |part: &&Id| {
        order.removed.contains(part) || (without_ice && ice.is_some_and(|ice| ice == *part))
    };
    let missing = requires.iter().filter(gone).map(|part| part_missing(bar, order, part));
    pull.into_iter().chain(missing).collect()
}

/// Foam, fill, cup and set-point; what stands beside the cup counts as in it.
fn of_amounts(order: &Order<'_>, solved: &Solved<'_>) -> Vec<Objection> {
    let Envelope { foam_depth_mm, fill_ml, brim_ml, set_point_c, .. } = &order.drink.envelope;
    let mut found = Vec::new();
    let steamed = match &solved.milk {
        Some(Milk::Steamed(milk)) => Some(milk),
        Some(Milk::Cold(_)) | None => None,
    };
    let mut bound = |code, measured, keys: [&str; 2], phases: &[Phase]| {
        found.extend(bound(order, code, measured, keys, phases));
    };
    let within = |field, value, min, max| Measured { field, value, min: Some(min), max: Some(max) };
    if let Some((range, milk)) = foam_depth_mm.as_ref().zip(steamed) {
        let (min, max) = (range.min.um(), range.max.um());
        // Foam comes back from a volume of gas, so the last micrometre is rounding.
        let depth = milk.foam_depth.to_nearest(crate::units::Length::from_um(10)).um();
        let measured = within("foam_depth_mm", depth, min, max);
        let keys = if depth > 0 && order.drink.neighbours.contains_key("less-foam") {
            ["less-foam", "more-foam"]
        } else {
            ["no-foam", "more-foam"]
        };
        bound(Code::FoamOutsideIdentity, measured, keys, &[Phase::Foam]);
    }
    if let Some(range) = fill_ml {
        let measured = within("fill_ml", solved.together.ul(), range.min.ul(), range.max.ul());
        let phases = [Phase::Fill, Phase::Cup];
        bound(Code::FillOutsideIdentity, measured, ["less-fill", "more-fill"], &phases);
    }
    if let Some(range) = brim_ml {
        let brim = order.vessel.vessel.brim_ml.ul();
        let measured = within("brim_ml", brim, range.min.ul(), range.max.ul());
        bound(Code::CupOutsideIdentity, measured, ["other-size", "other-size"], &[Phase::Cup]);
    }
    if let Some((range, milk)) = set_point_c.as_ref().zip(steamed) {
        let at = milk.set_point.mc();
        let measured = within("set_point_c", at, range.min.mc(), range.max.mc());
        let phases = [Phase::Temperature];
        bound(Code::SetPointOutsideIdentity, measured, ["cooler", "hotter"], &phases);
    }
    found
}

/// Ingredients that it must not have, by themselves or inside others.
fn of_ingredients(bar: &Bar, order: &Order<'_>, solved: &Solved<'_>) -> Vec<Objection> {
    let Envelope { forbids, forbids_unless, .. } = &order.drink.envelope;
    let mut found = Vec::new();
    for ingredient in used(bar, order, solved) {
        if forbids.iter().any(|id| bar.holds(&ingredient.id, id)) {
            found.push(part_forbidden(order, ingredient, None));
            continue;
        }
        let guarded = forbids_unless.iter().filter(|(id, _)| !order.allowed.contains(id));
        let word = guarded.filter(|(id, _)| bar.holds(&ingredient.id, id)).map(|(_, word)| word);
        found.extend(word.take(1).map(|word| part_forbidden(order, ingredient, Some(word))));
    }
    found
}

/// The objection to a quantity under (the first key) or over (the second key) its bounds.
fn bound(
    order: &Order<'_>,
    code: Code,
    measured: Measured,
    keys: [&str; 2],
    phases: &[Phase],
) -> Option<Objection> {
    let under = measured.min.is_some_and(|min| measured.value < min);
    let over = measured.max.is_some_and(|max| measured.value > max);
    if !under && !over {
        return None;
    }
    let mut fault = Objection::refuse(code)
        .name("drink", &order.drink.names)
        .measure(measured)
        .toward(if under { keys[0] } else { keys[1] });
    for held in order.held.iter().filter(|held| phases.contains(&held.phase())) {
        let id = held.modifier.id();
        let first = fault.slot.is_none();
        fault = if first { fault.about(id).at(held.given) } else { fault.involving(id) };
        fault = fault.fixes([Fix::Withdraw(held.modifier.id().clone())]);
    }
    Some(fault)
}

fn pull_outside(bar: &Bar, order: &Order<'_>, pull: &Id) -> Objection {
    let mut fault = Objection::refuse(Code::PullOutsideIdentity)
        .name("drink", &order.drink.names)
        .toward("other-pull");
    fault = match bar.book.pulls.iter().find(|known| known.id == *pull) {
        Some(known) => fault.name("pull", &known.names),
        None => fault.text("pull", pull),
    };
    for held in order.held.iter().filter(|held| held.phase() == Phase::Pull) {
        let id = held.modifier.id();
        fault = fault.about(id).at(held.given).fixes([Fix::Withdraw(id.clone())]);
    }
    fault
}

fn part_missing(bar: &Bar, order: &Order<'_>, part: &Id) -> Objection {
    let fault = Objection::refuse(Code::PartMissing)
        .name("drink", &order.drink.names)
        .toward(&format!("no-{part}"));
    // People know what is in the part, not its id.
    let known = order.drink.parts.iter().find(|known| known.id() == part);
    let ingredient = known.and_then(Part::ingredient).and_then(|id| bar.ingredient(id));
    let fault = match ingredient {
        Some(ingredient) => fault.name("part", &ingredient.names),
        None => fault.text("part", part),
    };
    let by = order.held.iter().find(|held| {
        held.effect()
            .is_some_and(|(effect, _)| effect.remove.contains(part) || effect.ice_times.is_some())
    });
    match by {
        Some(held) => fault
            .about(held.modifier.id())
            .at(held.given)
            .fixes([Fix::Withdraw(held.modifier.id().clone())]),
        None => fault,
    }
}

/// * `unless`: the word with which it is allowed, if one is.
fn part_forbidden(order: &Order<'_>, ingredient: &Ingredient, unless: Option<&Id>) -> Objection {
    let code = if unless.is_some() { Code::PartNeedsWord } else { Code::PartForbidden };
    let fault = Objection::refuse(code)
        .text("word", unless.map_or("", |word| &**word))
        .name("drink", &order.drink.names)
        .name("ingredient", &ingredient.names)
        .toward(&format!("with-{}", ingredient.id));
    match order.added.iter().find(|added| added.ingredient.id == ingredient.id) {
        Some(added) => {
            let held = order.held.iter().find(|held| held.modifier.id() == added.by);
            let fault = fault.about(added.by).fixes([Fix::Withdraw(added.by.clone())]);
            held.map_or(fault.clone(), |held| fault.at(held.given))
        }
        None => fault,
    }
}

/// Every ingredient in, on or beside the cup.
fn used<'a>(
    bar: &'a Bar,
    order: &'a Order<'_>,
    solved: &'a Solved<'_>,
) -> impl Iterator<Item = &'a Ingredient> {
    let milk =
        solved.milk.as_ref().filter(|_| order.parts().any(|part| matches!(part, Part::Milk(_))));
    let beans = order.coffee.iter().flat_map(CoffeeOrder::draws);
    let beans = beans.filter_map(|draw| bar.ingredient(&draw.bean.ingredient));
    solved.portions.iter().map(|one| one.ingredient).chain(milk.map(Milk::ingredient)).chain(beans)
}
