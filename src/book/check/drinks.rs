//! Drinks: parts that agree with the remainder, cups, foam and the envelope.

use std::collections::HashSet;

use super::Notes;
use crate::{
    book::types::{
        Amount, Book, BrewPart, Cup, Drink, Envelope, Foam, IngredientKind, MilkPart, Part,
        Remainder, SetPoint,
    },
    json::child,
};

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    for (at, drink) in book.drinks.iter().enumerate() {
        let here = format!("/drinks/{at}");
        notes.once(&child(&here, "parts"), drink.parts.iter().map(Part::id));
        parts(notes, &here, drink, book);
        remainder(notes, &here, drink);
        cups(notes, &here, drink);
        envelope(notes, &child(&here, "envelope"), &drink.envelope, drink);
    }
}

fn parts(notes: &mut Notes<'_>, here: &str, drink: &Drink, book: &Book) {
    let mut kinds = HashSet::new();
    for (at, part) in drink.parts.iter().enumerate() {
        let here = format!("{here}/parts/{at}");
        let single =
            matches!(part, Part::Coffee(_) | Part::Milk(_) | Part::Water(_) | Part::Ice(_));
        if !kinds.insert(part.kind()) && (single || matches!(part, Part::Steep(_))) {
            let found = format!("a second part of kind `{}`", part.kind());
            notes.note(&here, found, "one part of each poured kind");
        }
        match part {
            Part::Milk(milk) => check_milk(notes, &here, milk, book),
            Part::Ingredient(one) => amount(notes, &child(&here, "amount"), &one.amount),
            Part::Paste(paste) => amount(notes, &child(&here, "amount"), &paste.amount),
            Part::Steep(steep) => {
                let leaf = book.ingredients.iter().find(|one| one.id == steep.ingredient);
                if leaf.is_some_and(|leaf| leaf.kind != IngredientKind::Leaf) {
                    let found = format!("`{}`", steep.ingredient);
                    notes.note(&child(&here, "ingredient"), found, "an ingredient of kind `leaf`");
                }
            }
            Part::Brew(brew) => check_brew(notes, &here, brew, book),
            Part::Coffee(_) | Part::Water(_) | Part::Ice(_) => {}
        }
    }
}

/// A brew of ground coffee that keeps less water than there is.
fn check_brew(notes: &mut Notes<'_>, here: &str, brew: &BrewPart, book: &Book) {
    let Some(grounds) = book.ingredients.iter().find(|one| one.id == brew.ingredient) else {
        return;
    };
    if !matches!(grounds.kind, IngredientKind::Coffee | IngredientKind::Leaf) {
        let found = format!("`{}`", brew.ingredient);
        let expected = "an ingredient of kind `coffee` or `leaf`";
        notes.note(&child(here, "ingredient"), found, expected);
    }
    let keeps = grounds.keeps_ml_g.map_or(0, crate::units::Displacement::ul_g);
    if grounds.keeps_ml_g.is_none() {
        let found = format!("`{}`, which has no `keeps_ml_g`", brew.ingredient);
        notes.note(&child(here, "ingredient"), found, "what each gram keeps when strained");
    }
    // Half of the water is more than any ground coffee keeps at a dose that a filter takes.
    if keeps * brew.dose_g_l.mkg_m3() > 500_000_000 {
        let expected = "a dose that keeps less than half of the water";
        notes.note(&child(here, "dose_g_l"), brew.dose_g_l, expected);
    }
}

/// An amount by mass or by volume, not both.
pub(super) fn amount(notes: &mut Notes<'_>, here: &str, amount: &Amount) {
    if amount.g.is_some() == amount.ml.is_some() {
        let found = if amount.g.is_some() { "both `g` and `ml`" } else { "neither `g` nor `ml`" };
        notes.note(here, found, "exactly one of `g` and `ml`");
    }
}

fn foam(notes: &mut Notes<'_>, here: &str, foam: &Foam) {
    let given = [foam.depth_mm.is_some(), foam.ml.is_some(), foam.gas_fraction.is_some()];
    let count = given.into_iter().filter(|given| *given).count();
    if count != 1 {
        let expected = "exactly one of `depth_mm`, `ml` and `gas_fraction`";
        notes.note(here, format!("{count} measures of foam"), expected);
    }
    if foam.gas_fraction.is_some_and(|share| share.thousandths() > 900) {
        notes.note(&child(here, "gas_fraction"), "more than 0.9", "a milk that still pours");
    }
}

fn check_milk(notes: &mut Notes<'_>, here: &str, milk: &MilkPart, book: &Book) {
    let texture = book.textures.iter().find(|one| one.id == milk.texture);
    let steamed = texture.is_some_and(|texture| texture.steamed);
    if let Some(measure) = &milk.foam {
        foam(notes, &child(here, "foam"), measure);
    }
    if texture.is_some() && steamed != milk.set_point.is_some() {
        let expected = if steamed { "a set-point, since steam makes it" } else { "no set-point" };
        let found = format!("texture `{}`", milk.texture);
        notes.note(here, found, expected);
    }
    if texture.is_some() && !steamed && milk.foam.is_some() {
        notes.note(&child(here, "foam"), "foam on a cold texture", "no foam");
    }
    if milk.textured_ml.is_some() && milk.cold_ml.is_some() {
        notes.note(here, "both `textured_ml` and `cold_ml`", "at most one of them");
    }
    let Some(ingredient) = book.ingredients.iter().find(|one| one.id == milk.ingredient) else {
        return;
    };
    if ingredient.kind != IngredientKind::Milk {
        let found = format!("`{}`", ingredient.id);
        notes.note(&child(here, "ingredient"), found, "an ingredient of kind `milk`");
    }
    let named = match &milk.set_point {
        Some(SetPoint::Named(name)) => Some(name),
        Some(SetPoint::Celsius(_)) | None => None,
    };
    if let Some(SetPoint::Celsius(c)) = milk.set_point
        && c <= ingredient.stored_c
    {
        let expected = format!("more than {}, as stored", ingredient.stored_c);
        notes.note(&child(here, "set_point"), c, expected);
    }
    match (&ingredient.steaming, named) {
        (None, _) if steamed => {
            let found = format!("`{}`, which has no `steaming`", ingredient.id);
            notes.note(&child(here, "ingredient"), found, "a milk that takes steam");
        }
        (Some(steaming), Some(name)) if !steaming.set_points_c.contains_key(name) => {
            let known: Vec<&str> = steaming.set_points_c.keys().map(|key| &**key).collect();
            let expected = format!("one of the milk's set-points: {}", known.join(", "));
            notes.note(&child(here, "set_point"), format!("`{name}`"), expected);
        }
        _ => {}
    }
}

fn remainder(notes: &mut Notes<'_>, here: &str, drink: &Drink) {
    let pointer = child(here, "remainder");
    let milk = drink.parts.iter().find_map(Part::as_milk);
    let water = drink.parts.iter().find_map(Part::as_water);
    let free_milk = milk.is_some_and(|milk| milk.textured_ml.is_none() && milk.cold_ml.is_none());
    let free_water = water.is_some_and(|water| water.ml.is_none());
    let fault = match drink.remainder {
        Remainder::Milk if !free_milk => Some("a milk part without an amount of its own"),
        Remainder::Water if !free_water => Some("a water part without an amount of its own"),
        Remainder::Milk if free_water => Some("an amount on the water part"),
        Remainder::Water if free_milk => Some("an amount on the milk part"),
        Remainder::None if free_milk || free_water => Some("an amount on every part"),
        Remainder::Milk | Remainder::Water | Remainder::None => None,
    };
    if let Some(expected) = fault {
        notes.note(&pointer, format!("{:?}", drink.remainder).to_lowercase(), expected);
    }
    for (service, sizes) in &drink.cups {
        for (size, cup) in sizes {
            let row = format!("{here}/cups/{}/{size}", service.as_str());
            if cup.fill_ml.is_some() == (drink.remainder == Remainder::None) {
                let (found, expected) = if cup.fill_ml.is_some() {
                    ("a fill", "none, since the parts of this drink make the fill")
                } else {
                    ("no fill", "`fill_ml`, up to which the remainder goes")
                };
                notes.note(&row, found, expected);
            }
        }
    }
}

fn cups(notes: &mut Notes<'_>, here: &str, drink: &Drink) {
    let coffee = drink.parts.iter().any(|part| matches!(part, Part::Coffee(_)));
    let pointer = child(here, "cups");
    if drink.cups.values().all(std::collections::BTreeMap::is_empty) {
        notes.note(&pointer, "no cup", "at least one cup");
    }
    if !drink.cups.values().any(|sizes| sizes.contains_key(&drink.default_size)) {
        let found = format!("`{}`, for which there is no cup", drink.default_size);
        notes.note(&child(here, "default_size"), found, "a size of the cup table");
    }
    for (service, sizes) in &drink.cups {
        for (size, cup) in sizes {
            let row = format!("{pointer}/{}/{size}", service.as_str());
            check_cup(notes, &row, drink, cup);
            if cup.halves > 0 && !coffee {
                let expected = "0, since the drink lists no coffee part";
                notes.note(&child(&row, "halves"), cup.halves, expected);
            }
        }
    }
}

fn check_cup(notes: &mut Notes<'_>, row: &str, drink: &Drink, cup: &Cup) {
    if cup.price.thousandths() < 0 {
        notes.note(&child(row, "price"), cup.price, "a price that is not negative");
    }
    if let Some(measure) = &cup.foam {
        foam(notes, &child(row, "foam"), measure);
    }
    for (part, one) in &cup.amounts {
        let here = format!("{row}/amounts/{part}");
        amount(notes, &here, one);
        match drink.parts.iter().find(|known| known.id() == part) {
            None => notes.note(&here, format!("`{part}`"), "the id of a part of this drink"),
            Some(Part::Coffee(_) | Part::Milk(_)) => {
                notes.note(&here, format!("`{part}`"), "a part that has an amount");
            }
            Some(Part::Water(_) | Part::Brew(_)) if one.ml.is_none() => {
                notes.note(&here, "an amount by mass", "`ml`, since it is poured");
            }
            Some(Part::Ice(_) | Part::Steep(_)) if one.g.is_none() => {
                notes.note(&here, "an amount by volume", "`g`, since it is weighed");
            }
            Some(_) => {}
        }
    }
}

fn envelope(notes: &mut Notes<'_>, here: &str, envelope: &Envelope, drink: &Drink) {
    let Envelope {
        foam_depth_mm,
        fill_ml,
        brim_ml,
        set_point_c,
        safety: _,
        pulls: _,
        requires,
        forbids: _,
        forbids_unless: _,
    } = envelope;
    if let Some(range) = foam_depth_mm {
        notes.ordered(&format!("{here}/foam_depth_mm/max"), &range.min, &range.max);
    }
    if let Some(range) = fill_ml {
        notes.ordered(&format!("{here}/fill_ml/max"), &range.min, &range.max);
    }
    if let Some(range) = brim_ml {
        notes.ordered(&format!("{here}/brim_ml/max"), &range.min, &range.max);
    }
    if let Some(range) = set_point_c {
        notes.ordered(&format!("{here}/set_point_c/max"), &range.min, &range.max);
    }
    for (at, part) in requires.iter().enumerate() {
        if !drink.parts.iter().any(|known| known.id() == part) {
            let pointer = format!("{here}/requires/{at}");
            notes.note(&pointer, format!("`{part}`"), "the id of a part of this drink");
        }
    }
}
