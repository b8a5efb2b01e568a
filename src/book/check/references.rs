//! References between records: every id that is named is there.

use super::{Notes, nearest};
use crate::{
    book::types::{Book, Drink, Id, Modifier, NoteWords, Part},
    json::child,
};

/// Keys of a drink's neighbours that every book may use: what the engine looks under when a line
/// leaves what the drink is. Beside them, a drink has `no-` and the id of a part of its own,
/// `with-` and the id of an ingredient, and the keys that modifiers name.
pub const NEIGHBOUR_KEYS: [&str; 15] = [
    "allergy",
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
    "other-pull",
    "other-size",
    "season",
];

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    for (at, ingredient) in book.ingredients.iter().enumerate() {
        let here = format!("/ingredients/{at}");
        notes.refer_all(&child(&here, "made_of"), &ingredient.made_of, |n| &n.ingredients);
        notes.refer_all(&child(&here, "allergens"), &ingredient.allergens, |n| &n.allergens);
        notes.refer_all(&child(&here, "may_contain"), &ingredient.may_contain, |n| &n.allergens);
        notes.refer_all(&child(&here, "ask_about"), &ingredient.ask_about, |n| &n.allergens);
        notes.refer_all(&child(&here, "suits"), &ingredient.suits, |n| &n.diets);
    }
    for (at, allergen) in book.allergens.iter().enumerate() {
        let here = format!("/allergens/{at}/covers");
        notes.refer_all(&here, &allergen.covers, |n| &n.allergens);
    }
    for (at, words) in book.note_words.iter().enumerate() {
        note_words(notes, &format!("/note_words/{at}"), words, book);
    }
    for (at, bean) in book.beans.iter().enumerate() {
        notes.refer(&format!("/beans/{at}/ingredient"), &bean.ingredient, |n| &n.ingredients);
        let here = format!("/beans/{at}/half_of");
        notes.refer_all(&here, &bean.half_of, |n| &n.beans);
        if bean.half_of.len() == 1 || bean.half_of.contains(&bean.id) {
            notes.note(&here, "what is no mixture", "two other beans, or none");
        }
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
        neighbour_keys(notes, &child(&here, "neighbours"), (drink, book), &by_modifiers);
        for (part_at, one) in drink.parts.iter().enumerate() {
            part(notes, &format!("{here}/parts/{part_at}"), one);
        }
        notes.refer(&child(&here, "default_size"), &drink.default_size, |n| &n.sizes);
        let forbidden = format!("{here}/envelope/forbids");
        notes.refer_all(&forbidden, &drink.envelope.forbids, |n| &n.ingredients);
        let pulls = format!("{here}/envelope/pulls");
        notes.refer_all(&pulls, &drink.envelope.pulls, |n| &n.pulls);
        for (form, recipe) in &drink.forms {
            notes.refer(&format!("{here}/forms/{form}"), recipe, |n| &n.drinks);
        }
        for ingredient in drink.envelope.forbids_unless.keys() {
            let here = format!("{here}/envelope/forbids_unless/{ingredient}");
            notes.refer(&here, ingredient, |n| &n.ingredients);
        }
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
fn neighbour_keys(
    notes: &mut Notes<'_>,
    here: &str,
    (drink, book): (&Drink, &Book),
    by_modifiers: &[&str],
) {
    if notes.aside.is_open("modifiers") {
        return;
    }
    let part = |key: &str| drink.parts.iter().any(|part| **part.id() == *key);
    let fixed = |key: &str| NEIGHBOUR_KEYS.contains(&key) || by_modifiers.contains(&key);
    let forms: Vec<String> = forms_of(notes, book).map(|form| format!("other-{form}")).collect();
    let right = |key: &Id| {
        let known = &notes.ingredients;
        let with = key.strip_prefix("with-").is_some_and(|id| known.open || known.ids.contains(id));
        fixed(key)
            || forms.iter().any(|form| **key == **form)
            || key.strip_prefix("no-").is_some_and(part)
            || with
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

/// The forms that modifiers ask for.
fn forms_of<'a>(notes: &Notes<'a>, book: &'a Book) -> impl Iterator<Item = &'a str> {
    let read = book.modifiers.iter().flat_map(Modifier::effects);
    let read = read.filter_map(|effect| effect.form.as_deref());
    let written = notes.aside.elements("modifiers").filter_map(|one| one["values"].as_array());
    let written = written.flatten().filter_map(|value| value["does"]["form"].as_str());
    read.chain(written)
}

/// Words that mean exactly one field, which is there.
fn note_words(notes: &mut Notes<'_>, here: &str, words: &NoteWords, book: &Book) {
    let NoteWords { words: texts, allergy, diet, modifier } = words;
    let told = !notes.aside.touches("languages");
    let strange = texts.keys().filter(|lang| told && !book.languages.contains(lang));
    for lang in strange {
        let at = child(&child(here, "words"), lang);
        notes.note(&at, format!("`{lang}`"), "a language of the book");
    }
    let given = [allergy.is_some(), diet.is_some(), modifier.is_some()];
    if given.into_iter().filter(|given| *given).count() != 1 {
        let expected = "exactly one of `allergy`, `diet` and `modifier`";
        notes.note(here, "another number of fields", expected);
    }
    if let Some(id) = allergy
        && !notes.ingredients.ids.contains(&**id)
    {
        notes.refer(&child(here, "allergy"), id, |n| &n.allergens);
    }
    if let Some(id) = diet {
        notes.refer(&child(here, "diet"), id, |n| &n.diets);
    }
    if let Some(given) = modifier {
        notes.refer(&format!("{here}/modifier/id"), &given.id, |n| &n.modifiers);
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
        Part::Brew(brew) => {
            ingredient(notes, "ingredient", &brew.ingredient);
            ingredient(notes, "water", &brew.water);
        }
    }
}
