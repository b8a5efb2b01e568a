//! Modifiers that cannot stand together.

use super::{
    collect::{Held, Holding},
    extras::Added,
};
use crate::{
    book::{Bar, Drink, Effect, Exclusion, Id, Modifier, Part, Phase, Service},
    engine::objection::{Code, Fix, Objection},
};

/// Complains once about each pair of held modifiers of which one excludes the other.
pub(super) fn check(held: &[Held<'_>], objections: &mut Vec<Objection>) {
    for (at, one) in held.iter().enumerate() {
        for other in &held[at + 1..] {
            let reason = excluded(one, other).or_else(|| excluded(other, one));
            if reason.is_none() && !set_the_same(one, other) {
                continue;
            }
            let (first, second) = (one.modifier, other.modifier);
            let mut objection = Objection::refuse(Code::ModifiersConflict)
                .about(first.id())
                .involving(second.id())
                .at(other.given)
                .name("first", first.names())
                .name("second", second.names())
                .fixes([first, second].map(Modifier::id).map(|id| Fix::Drop(id.clone())));
            objection.words = reason.map(|exclusion| exclusion.because.clone());
            objections.push(objection);
        }
    }
}

/// Whether both set a thing of which there is only one; else the first would win in silence.
fn set_the_same(one: &Held<'_>, other: &Held<'_>) -> bool {
    let sets = |held: &Held<'_>| {
        let effect = held.effect().map(|(effect, _)| effect);
        let has = |given: fn(&Effect) -> bool| effect.is_some_and(given);
        let celsius = matches!(held.holding, Holding::Celsius(_));
        [
            has(|effect| effect.halves.is_some()),
            has(|effect| effect.bean.is_some()),
            has(|effect| effect.pull.is_some()),
            has(|effect| effect.coffee_share.is_some()),
            held.phase() == Phase::Milk,
            celsius || has(|effect| effect.set_point.is_some()),
            has(|effect| effect.cup_c.is_some()),
            has(|effect| effect.foam_depth_mm.is_some() || effect.foam_change_mm.is_some()),
            has(|effect| effect.fill_share.is_some()),
            has(|effect| effect.space_ml.is_some()),
            has(|effect| effect.form.is_some()),
            has(|effect| effect.ice_times.is_some()),
        ]
    };
    sets(one).into_iter().zip(sets(other)).any(|(one, other)| one && other)
}

/// Complains about each held modifier that acts on a part which another one takes off.
pub(super) fn check_removed(
    drink: &Drink,
    removed: &[&Id],
    held: &[Held<'_>],
    objections: &mut Vec<Objection>,
) {
    let gone = |kind: fn(&Part) -> bool| {
        drink.parts.iter().any(|part| kind(part) && removed.contains(&part.id()))
    };
    let coffee = gone(|part| matches!(part, Part::Coffee(_)));
    let milk = gone(|part| matches!(part, Part::Milk(_)));
    for one in held {
        let idle = match one.phase() {
            Phase::Count | Phase::Class | Phase::Pull | Phase::Strength => coffee,
            Phase::Milk | Phase::Foam => milk,
            Phase::Form
            | Phase::Cup
            | Phase::Addition
            | Phase::Ice
            | Phase::Temperature
            | Phase::Fill
            | Phase::Placement
            | Phase::Handover => false,
        };
        if idle {
            let fault = Objection::refuse(Code::NotApplicable)
                .about(one.modifier.id())
                .at(one.given)
                .name("modifier", one.modifier.names())
                .name("drink", &drink.names);
            objections.push(fault.fixes([Fix::Drop(one.modifier.id().clone())]));
        }
    }
}

/// Complains about each held modifier that serves beside the cup what is not in the order.
pub(super) fn check_aside(
    drink: &Drink,
    removed: &[&Id],
    added: &[Added<'_>],
    held: &[Held<'_>],
    objections: &mut Vec<Objection>,
) {
    let parts = || drink.parts.iter().filter(|part| !removed.contains(&part.id()));
    let moves = |word: &Id| {
        // Milk that a leaf steeps in comes into the cup with it.
        let steeped = |part: &Part| {
            matches!(part, Part::Milk(_))
                && parts()
                    .filter_map(Part::as_steep)
                    .any(|steep| steep.stages.iter().any(|stage| stage.with_milk))
        };
        let named = |part: &Part| part.id() == word || *word == part.kind();
        parts().any(|part| named(part) && !steeped(part))
            || added.iter().any(|one| one.by == word || *word == one.ingredient.kind.as_str())
    };
    for one in held {
        let Some((effect, _)) = one.effect().filter(|(effect, _)| !effect.aside.is_empty()) else {
            continue;
        };
        if !effect.aside.iter().any(moves) {
            let fault = Objection::refuse(Code::NotApplicable)
                .about(one.modifier.id())
                .at(one.given)
                .name("modifier", one.modifier.names())
                .name("drink", &drink.names);
            objections.push(fault.fixes([Fix::Withdraw(one.modifier.id().clone())]));
        }
    }
}

/// Complains about each held modifier that excludes the way of serving or the size in force although
/// neither is held, since a usual one goes without saying.
pub(super) fn check_cup(
    bar: &Bar,
    held: &[Held<'_>],
    service: Service,
    size: &Id,
    objections: &mut Vec<Objection>,
) {
    for (slot, value) in [("service", service.as_str()), ("size", &**size)] {
        if held.iter().any(|one| *one.modifier.id() == slot) {
            continue;
        }
        let Some((_, cup)) = bar.modifier(slot) else { continue };
        for one in held {
            let here = |exclusion: &&Exclusion| {
                exclusion.id == slot && exclusion.value.as_ref().is_none_or(|id| *id == value)
            };
            let Some(exclusion) = exclusions(one).find(here) else { continue };
            let mut objection = Objection::refuse(Code::ModifiersConflict)
                .about(one.modifier.id())
                .at(one.given)
                .name("first", one.modifier.names())
                .name("second", cup.names())
                .fixes([Fix::Drop(one.modifier.id().clone())]);
            objection.words = Some(exclusion.because.clone());
            objections.push(objection);
        }
    }
}

/// Every exclusion that a held modifier brings.
fn exclusions<'b>(one: &Held<'b>) -> impl Iterator<Item = &'b Exclusion> {
    let of_value = one.holding.value().map_or(&[][..], |value| &value.excludes);
    one.modifier.excludes().iter().chain(of_value)
}

/// The exclusion by which `one` does not stand beside `other`.
fn excluded<'b>(one: &Held<'b>, other: &Held<'_>) -> Option<&'b Exclusion> {
    exclusions(one).find(|exclusion| {
        let value = other.holding.value().map(|value| &value.id).or(other.holding.cup());
        exclusion.id == **other.modifier.id()
            && exclusion.value.as_ref().is_none_or(|wanted| Some(wanted) == value)
    })
}
