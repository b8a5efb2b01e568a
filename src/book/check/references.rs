//! References between records: every id that is named is there.

use super::Notes;
use crate::{
    book::types::{Book, Part},
    json::child,
};

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
    for (at, drink) in book.drinks.iter().enumerate() {
        let here = format!("/drinks/{at}");
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
