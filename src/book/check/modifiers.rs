//! Modifiers: effects that belong to their phase, references, and bounds in order.

use serde_json::Value;

use super::{Notes, drinks::amount};
use crate::{
    book::types::{
        AppliesTo, Book, CounterModifier, Effect, Exclusion, Id, Modifier, Part, Phase, SetPoint,
        SlotModifier,
    },
    json::child,
};

/// Words that `applies_to` may use beside part ids.
pub(super) const WORDS: [&str; 11] = [
    "coffee",
    "coffee-place",
    "milk",
    "steamed-milk",
    "foam",
    "water",
    "ice",
    "ingredient",
    "paste",
    "steep",
    "brew",
];

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    for (at, modifier) in book.modifiers.iter().enumerate() {
        let here = format!("/modifiers/{at}");
        applies(notes, &child(&here, "applies_to"), modifier.applies_to(), book);
        exclusions(notes, &child(&here, "excludes"), modifier.excludes(), book);
        for (n, one) in modifier.excludes().iter().enumerate() {
            if one.id == **modifier.id() {
                let here = format!("{here}/excludes/{n}/id");
                notes.note(&here, format!("`{}`, which is itself", one.id), "another modifier");
            }
        }
        counted(notes, &here, modifier);
        if let Some(otherwise) = modifier.otherwise() {
            let instead = format!("{here}/otherwise/instead");
            notes.refer_all(&instead, &otherwise.instead, |n| &n.modifiers);
        }
        match modifier {
            Modifier::Slot(slot) => check_slot(notes, &here, slot, book),
            Modifier::Counter(counter) => {
                effect(notes, &child(&here, "does"), &counter.does, counter.phase, book);
                check_counter(notes, &here, counter);
            }
            Modifier::Flag(flag) => {
                effect(notes, &child(&here, "does"), &flag.does, flag.phase, book);
            }
        }
    }
}

/// Halves are set by slots and counted by counters; elsewhere they would do nothing.
fn counted(notes: &mut Notes<'_>, here: &str, modifier: &Modifier) {
    let (effects, slot, counter): (Vec<(String, &Effect)>, bool, bool) = match modifier {
        Modifier::Slot(slot) => {
            let values = slot.values.iter().enumerate();
            (
                values.map(|(n, one)| (format!("{here}/values/{n}"), &one.does)).collect(),
                true,
                false,
            )
        }
        Modifier::Counter(counter) => (vec![(here.to_owned(), &counter.does)], false, true),
        Modifier::Flag(flag) => (vec![(here.to_owned(), &flag.does)], false, false),
    };
    for (here, effect) in effects {
        if effect.halves.is_some() && !slot {
            notes.note(&format!("{here}/does/halves"), "halves set", "them on a slot");
        }
        if effect.halves_each.is_some() && !counter {
            notes.note(&format!("{here}/does/halves_each"), "halves counted", "them on a counter");
        }
    }
}

fn check_slot(notes: &mut Notes<'_>, here: &str, slot: &SlotModifier, book: &Book) {
    let values = child(here, "values");
    notes.once(&values, slot.values.iter().map(|value| &value.id));
    let of_cups = slot.phase == Phase::Cup;
    if of_cups && !["service", "size", "capacity"].iter().any(|id| slot.id == *id) {
        let expected = "`service`, `size` or `capacity`";
        notes.note(&child(here, "id"), format!("`{}`", slot.id), expected);
    }
    if (slot.id == "capacity") != slot.millilitres.is_some() {
        let expected = "`millilitres` on the slot `capacity`, and on no other";
        notes.note(here, format!("the slot `{}`", slot.id), expected);
    }
    if let Some(counter) = &slot.priced_by {
        let here = child(here, "priced_by");
        notes.refer(&here, counter, |n| &n.modifiers);
        let known = book.modifiers.iter().find(|one| one.id() == counter);
        let counts = |one: &Modifier| matches!(one, Modifier::Counter(counter) if counter.does.halves_each.is_some());
        if slot.phase != Phase::Count || known.is_some_and(|one| !counts(one)) {
            let expected = "a counter of halves, on a slot of phase `count`";
            notes.note(&here, format!("`{counter}`"), expected);
        }
    }
    if let Some(range) = &slot.millilitres {
        notes.ordered(&format!("{here}/millilitres/max"), &range.min, &range.max);
    }
    if of_cups != slot.values.is_empty() {
        let (found, expected) = if of_cups {
            ("values", "none, since the cup tables hold them")
        } else {
            ("no value", "at least one value")
        };
        notes.note(&values, found, expected);
    }
    if let Some(range) = &slot.celsius {
        notes.ordered(&format!("{here}/celsius/max"), &range.min, &range.max);
        let cold = book.ingredients.iter().filter(|one| one.steaming.is_some());
        if let Some(milk) =
            cold.max_by_key(|one| one.stored_c).filter(|one| one.stored_c >= range.min)
        {
            let expected = format!("more than {}, at which `{}` is stored", milk.stored_c, milk.id);
            notes.note(&format!("{here}/celsius/min"), range.min, expected);
        }
        if slot.phase != Phase::Temperature {
            let expected = "no degrees, which belong to phase `temperature`";
            notes.note(&child(here, "celsius"), "degrees", expected);
        }
    }
    for (at, value) in slot.values.iter().enumerate() {
        let here = child(&values, at);
        applies(notes, &child(&here, "applies_to"), &value.applies_to, book);
        exclusions(notes, &child(&here, "excludes"), &value.excludes, book);
        effect(notes, &child(&here, "does"), &value.does, slot.phase, book);
        if let Some(ingredient) = &value.ingredient {
            notes.refer(&child(&here, "ingredient"), ingredient, |n| &n.ingredients);
        }
        if (slot.phase == Phase::Milk) != value.milk().is_some() {
            let expected = "a milk in phase `milk`, and in no other";
            notes.note(&here, format!("phase `{}`", phase_name(slot.phase)), expected);
        }
    }
}

fn check_counter(notes: &mut Notes<'_>, here: &str, counter: &CounterModifier) {
    let halves = counter.result.iter().flat_map(|range| [range.min, range.max]);
    for bound in halves.chain(counter.confirm_above).filter(|bound| !(0..=24).contains(bound)) {
        notes.note(here, format!("{bound} halves"), "0 to 24 halves as a bound");
    }
    if let Some(range) = &counter.result {
        notes.ordered(&format!("{here}/result/max"), &range.min, &range.max);
    }
    let counts = counter.phase == Phase::Count;
    if !counts && (counter.result.is_some() || counter.confirm_above.is_some()) {
        let expected = "these only in phase `count`";
        notes.note(here, "`result` or `confirm_above`", expected);
    }
    if counter.min < 0 && !counts {
        notes.note(&child(here, "min"), counter.min, "0: only halves can be fewer");
    }
    if let Some(limit) = &counter.together {
        let here = child(here, "together");
        notes.refer_all(&child(&here, "with"), &limit.with, |n| &n.modifiers);
    }
    if counter.min == counter.max {
        notes.note(&child(here, "max"), counter.max, format!("more than {}", counter.min));
    }
}

fn applies(notes: &mut Notes<'_>, here: &str, applies: &AppliesTo, book: &Book) {
    let part_known = |id: &Id| WORDS.iter().any(|word| *id == *word) || is_part(notes, id, book);
    let mut unknown = Vec::new();
    for (field, ids) in [("parts", &applies.parts), ("without", &applies.without)] {
        for (at, id) in ids.iter().enumerate().filter(|(_, id)| !part_known(id)) {
            let expected = format!("a part id of some drink, or one of {}", WORDS.join(", "));
            unknown.push((format!("{here}/{field}/{at}"), format!("`{id}`"), expected));
        }
    }
    for (pointer, found, expected) in unknown {
        notes.note(&pointer, found, expected);
    }
    notes.refer_all(&child(here, "drinks"), &applies.drinks, |n| &n.drinks);
}

/// Whether some drink, be it set aside, has a part with this id.
fn is_part(notes: &Notes<'_>, id: &Id, book: &Book) -> bool {
    let parts = || notes.aside.elements("drinks").map(|drink| &drink["parts"]);
    let written = |parts: &Value| {
        parts.as_array().is_none_or(|all| {
            all.iter().any(|part| part["id"].as_str().is_none_or(|known| *id == *known))
        })
    };
    notes.aside.is_open("drinks")
        || book.drinks.iter().flat_map(|drink| &drink.parts).any(|part| part.id() == id)
        || parts().any(written)
}

fn exclusions(notes: &mut Notes<'_>, here: &str, exclusions: &[Exclusion], book: &Book) {
    for (at, exclusion) in exclusions.iter().enumerate() {
        let here = child(here, at);
        notes.refer(&child(&here, "id"), &exclusion.id, |n| &n.modifiers);
        let Some(value) = &exclusion.value else { continue };
        let other = book.modifiers.iter().find(|one| *one.id() == exclusion.id);
        let known = match other {
            Some(Modifier::Slot(slot)) => {
                slot.phase == Phase::Cup || slot.values.iter().any(|known| known.id == *value)
            }
            Some(Modifier::Counter(_) | Modifier::Flag(_)) => false,
            None => true,
        };
        if !known {
            let expected = format!("a value of `{}`", exclusion.id);
            notes.note(&child(&here, "value"), format!("`{value}`"), expected);
        }
    }
}

/// The phase to which each effect belongs; an effect in another phase is a complaint.
fn effect(notes: &mut Notes<'_>, here: &str, effect: &Effect, phase: Phase, book: &Book) {
    let Effect {
        halves,
        halves_each,
        bean,
        pull,
        coffee_share,
        milk,
        add,
        remove,
        set_point,
        cup_c,
        foam_depth_mm,
        foam_change_mm,
        fill_share,
        space_ml,
        without_lid,
        form,
        aside,
        ice_times,
    } = effect;
    let given = [
        ("halves", halves.is_some(), Phase::Count),
        ("halves_each", halves_each.is_some(), Phase::Count),
        ("bean", bean.is_some(), Phase::Class),
        ("pull", pull.is_some(), Phase::Pull),
        ("coffee_share", coffee_share.is_some(), Phase::Strength),
        ("milk", milk.is_some(), Phase::Milk),
        ("add", add.is_some(), Phase::Addition),
        ("remove", !remove.is_empty(), Phase::Addition),
        ("set_point", set_point.is_some(), Phase::Temperature),
        ("cup_c", cup_c.is_some(), Phase::Temperature),
        ("foam_depth_mm", foam_depth_mm.is_some(), Phase::Foam),
        ("foam_change_mm", foam_change_mm.is_some(), Phase::Foam),
        ("fill_share", fill_share.is_some(), Phase::Fill),
        ("space_ml", space_ml.is_some(), Phase::Fill),
        ("without_lid", *without_lid, Phase::Handover),
        ("form", form.is_some(), Phase::Form),
        ("aside", !aside.is_empty(), Phase::Placement),
        ("ice_times", ice_times.is_some(), Phase::Ice),
    ];
    for (name, _, belongs) in given.iter().filter(|(_, given, at)| *given && *at != phase) {
        let expected = format!("it in phase `{}`", phase_name(*belongs));
        let found = format!("`{name}` in phase `{}`", phase_name(phase));
        notes.note(&child(here, name), found, expected);
    }
    effect_refers(notes, here, effect, book);
}

/// References of an effect: beans, pulls, milks, ingredients, parts and set-points.
fn effect_refers(notes: &mut Notes<'_>, here: &str, effect: &Effect, book: &Book) {
    let Effect { bean, pull, coffee_share, milk, add, remove, set_point, aside, .. } = effect;
    for (at, word) in aside.iter().enumerate() {
        // What is steeped, brewed or stirred smooth comes into the cup as it is made.
        let movable = ["coffee", "milk", "water", "ingredient", "syrup", "other", "powder"];
        if !movable.iter().any(|known| *word == *known) && !is_part(notes, word, book) {
            let expected = format!("a part id of some drink, or one of {}", movable.join(", "));
            notes.note(&format!("{here}/aside/{at}"), format!("`{word}`"), expected);
        }
    }
    if let Some(bean) = bean {
        notes.refer(&child(here, "bean"), bean, |n| &n.beans);
    }
    if let Some(pull) = pull {
        notes.refer(&child(here, "pull"), pull, |n| &n.pulls);
    }
    if let Some(milk) = milk {
        notes.refer(&child(here, "milk"), milk, |n| &n.ingredients);
    }
    if let Some(add) = add {
        notes.refer(&format!("{here}/add/ingredient"), &add.ingredient, |n| &n.ingredients);
        amount(notes, &format!("{here}/add/amount"), &add.amount);
    }
    for (at, part) in remove.iter().enumerate() {
        if !is_part(notes, part, book) {
            let pointer = format!("{here}/remove/{at}");
            notes.note(&pointer, format!("`{part}`"), "a part id of some drink");
        }
    }
    if let Some(SetPoint::Named(name)) = set_point {
        let steamings = || book.ingredients.iter().filter_map(|one| one.steaming.as_ref());
        let all = !notes.aside.touches("ingredients");
        if all && !steamings().any(|steaming| steaming.set_points_c.contains_key(name)) {
            let expected = "a set-point that some milk of the book has";
            notes.note(&child(here, "set_point"), format!("`{name}`"), expected);
        }
    }
    let mut all_parts = book.drinks.iter().flat_map(|drink| &drink.parts);
    let poured = |part: &Part| matches!(part, Part::Coffee(_));
    if coffee_share.is_some_and(|share| share.thousandths() == 0) && all_parts.any(poured) {
        notes.note(&child(here, "coffee_share"), "0", "a share of the coffee that is left");
    }
}

/// A phase as documents write it.
fn phase_name(phase: Phase) -> &'static str {
    match phase {
        Phase::Form => "form",
        Phase::Cup => "cup",
        Phase::Count => "count",
        Phase::Class => "class",
        Phase::Pull => "pull",
        Phase::Strength => "strength",
        Phase::Milk => "milk",
        Phase::Addition => "addition",
        Phase::Ice => "ice",
        Phase::Temperature => "temperature",
        Phase::Foam => "foam",
        Phase::Fill => "fill",
        Phase::Placement => "placement",
        Phase::Handover => "handover",
    }
}
