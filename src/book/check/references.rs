//! References between records: every id that is named is there.

use super::{Notes, nearest};
use crate::{
    book::types::{Book, Drink, Id, Modifier, Part},
    json::child,
};

/// Keys of a drink's neighbours that every book may use: what the engine looks under when a line
/// leaves what the drink is. Beside them, a drink has `no-` and the id of a part of its own,
/// `with-` and the id of an ingredient, and the keys that modifiers name.
pub const NEIGHBOUR_KEYS: [&str; 13] = [
    "cooler",
    "diet",
    "hotter",
    "less-fill",
    "less-foam",
    "more-fill",
    "more-foam",
    "no-coffee",
    "no-foam",
    "no-steam",
    "no-stock",
    "other-size",
    "season",
];

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    for (at, ingredient) in book.ingredients.iter().enumerate() {
        let here = format!("/ingredients/{at}");
        notes.refer_all(&child(&here, "made_of"), &ingredient.made_of, |n| &n.ingredients);
        notes.refer_all(&child(&here, "allergens"), &ingredient.allergens, |n| &n.allergens);
        notes.refer_all(&child(&here, "may_contain"), &ingredient.may_contain, |n| &n.allergens);
        notes.refer_all(&child(&here, "suits"), &ingredient.suits, |n| &n.diets);
    }
    for (at, bean) in book.beans.iter().enumerate() {
        notes.refer(&format!("/beans/{at}/ingredient"), &bean.ingredient, |n| &n.ingredients);
    }
    for (at, vessel) in book.vessels.iter().enumerate() {
        notes.refer(&format!("/vessels/{at}/material"), &vessel.material, |n| &n.materials);
    }
    for (at, jug) in book.jugs.iter().enumerate() {
        notes.refer(&format!("/jugs/{at}/material"), &jug.material, |n| &n.materials);
    }
    for (at, extraction) in book.extractions.iter().enumerate() {
        for (row_at, row) in extraction.rows.iter().enumerate() {
            let here = format!("/extractions/{at}/rows/{row_at}");
            notes.refer(&child(&here, "bean"), &row.bean, |n| &n.beans);
            notes.refer(&child(&here, "pull"), &row.pull, |n| &n.pulls);
        }
    }
    let by_modifiers = named_by_modifiers(notes, book);
    for (at, drink) in book.drinks.iter().enumerate() {
        let here = format!("/drinks/{at}");
        neighbour_keys(notes, &child(&here, "neighbours"), drink, &by_modifiers);
        for (part_at, one) in drink.parts.iter().enumerate() {
            part(notes, &format!("{here}/parts/{part_at}"), one);
        }
        notes.refer(&child(&here, "default_size"), &drink.default_size, |n| &n.sizes);
        let forbidden = format!("{here}/envelope/forbids");
        notes.refer_all(&forbidden, &drink.envelope.forbids, |n| &n.ingredients);
        for (key, neighbour) in &drink.neighbours {
            notes.refer(&format!("{here}/neighbours/{key}"), neighbour, |n| &n.drinks);
        }
        for (service, sizes) in &drink.cups {
            for (size, cup) in sizes {
                let row = format!("{here}/cups/{}/{size}", service.as_str());
                notes.refer(&row, size, |n| &n.sizes);
                notes.refer(&child(&row, "vessel"), &cup.vessel, |n| &n.vessels);
            }
        }
    }
}

/// The keys of neighbours that modifiers name, those set aside too.
fn named_by_modifiers<'a>(notes: &Notes<'a>, book: &'a Book) -> Vec<&'a str> {
    let read = book.modifiers.iter().filter_map(Modifier::otherwise);
    let read = read.filter_map(|otherwise| otherwise.neighbour.as_deref());
    let written = notes.aside.elements("modifiers");
    let written = written.filter_map(|one| one["otherwise"]["neighbour"].as_str());
    read.chain(written).collect()
}

/// Complains about each key of a drink's neighbours under which nobody would ever look.
fn neighbour_keys(notes: &mut Notes<'_>, here: &str, drink: &Drink, by_modifiers: &[&str]) {
    if notes.aside.is_open("modifiers") {
        return;
    }
    let part = |key: &str| drink.parts.iter().any(|part| **part.id() == *key);
    let fixed = |key: &str| NEIGHBOUR_KEYS.contains(&key) || by_modifiers.contains(&key);
    let right = |key: &Id| {
        let known = &notes.ingredients;
        let with = key.strip_prefix("with-").is_some_and(|id| known.open || known.ids.contains(id));
        fixed(key) || key.strip_prefix("no-").is_some_and(part) || with
    };
    let wrong: Vec<&Id> = drink.neighbours.keys().filter(|key| !right(key)).collect();
    for key in wrong {
        let no = drink.parts.iter().map(|part| format!("no-{}", part.id()));
        let with = notes.ingredients.ids.iter().map(|id| format!("with-{id}"));
        let own: Vec<String> = no.chain(with).collect();
        let known = NEIGHBOUR_KEYS.iter().chain(by_modifiers).copied();
        let near = nearest(known.chain(own.iter().map(String::as_str)), key);
        let near = near.map(|near| format!(", such as `{near}`")).unwrap_or_default();
        let found = format!("the key `{key}`, under which nothing looks");
        let expected = format!("a key of neighbours{near}");
        notes.note(&child(here, key), found, expected);
    }
}

fn part(notes: &mut Notes<'_>, here: &str, part: &Part) {
    let ingredient = |notes: &mut Notes<'_>, field: &str, id: &str| {
        notes.refer(&child(here, field), id, |n| &n.ingredients);
    };
    match part {
        Part::Coffee(coffee) => {
            notes.refer(&child(here, "extraction"), &coffee.extraction, |n| &n.extractions);
            notes.refer(&child(here, "bean"), &coffee.bean, |n| &n.beans);
            notes.refer(&child(here, "pull"), &coffee.pull, |n| &n.pulls);
        }
        Part::Milk(milk) => {
            ingredient(notes, "ingredient", &milk.ingredient);
            notes.refer(&child(here, "texture"), &milk.texture, |n| &n.textures);
        }
        Part::Water(water) => ingredient(notes, "ingredient", &water.ingredient),
        Part::Ice(ice) => ingredient(notes, "ingredient", &ice.ingredient),
        Part::Ingredient(one) => ingredient(notes, "ingredient", &one.ingredient),
        Part::Paste(paste) => {
            ingredient(notes, "ingredient", &paste.ingredient);
            ingredient(notes, "water", &paste.water);
        }
        Part::Steep(steep) => {
            ingredient(notes, "ingredient", &steep.ingredient);
            ingredient(notes, "water", &steep.water);
        }
    }
}
