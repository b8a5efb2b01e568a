//! Notes: a word for which there is a field is asked about, in every language of the book.

use cupwright::book::Words;
use serde_json::{Value, json};

use crate::lines::{DEMO, answer_to};

fn noted(site: &str, note: &str) -> Value {
    answer_to(site, &json!({ "line": "1", "drink": "latte", "note": note }))
}

/// Every short enough text of `names`, in every language.
fn texts(names: &Words) -> impl Iterator<Item = &str> {
    names.0.values().map(String::as_str).filter(|text| text.chars().count() <= 28)
}

fn is_asked(note: &str, field: &str) {
    let answer = noted("training-bar", note);
    assert_eq!(answer["verdict"], "ask", "`{note}`: {answer:#}");
    assert_eq!(answer["code"], "note-names-field", "`{note}`");
    let question = answer["question"].as_str().unwrap();
    assert!(question.contains(&format!("`{field}`")), "`{note}`: {question}");
    for choice in answer["choices"].as_array().unwrap() {
        assert!(choice["line"].get("note").is_none(), "`{note}` is still there: {choice}");
    }
}

#[test]
fn the_name_of_every_allergen_in_every_language_is_asked_about_as_an_allergy() {
    for allergen in &DEMO.book().allergens {
        for name in texts(&allergen.names) {
            is_asked(&format!("no {name}!"), "allergies");
            is_asked(&name.to_uppercase(), "allergies");
        }
    }
}

#[test]
fn the_name_of_every_diet_and_modifier_is_asked_about_too() {
    let book = DEMO.book();
    for diet in &book.diets {
        for name in texts(&diet.names) {
            is_asked(&format!("pls {name}"), "diets");
        }
    }
    for modifier in &book.modifiers {
        for name in texts(modifier.names()) {
            let answer = noted("training-bar", &format!("pls {name}"));
            assert_eq!(answer["code"], "note-names-field", "{name}: {answer:#}");
        }
    }
}

#[test]
fn a_word_for_an_allergy_is_understood_with_a_slip_and_never_offered_away() {
    for note in
        ["no almnods", "NO DAIRY pls", "df", "celiac", "nut allergy!!", "hazelnutt", "ohne Laktose"]
    {
        is_asked(note, "allergies");
        for site in DEMO.bars.keys() {
            let answer = noted(site, note);
            if answer["verdict"] != "ask" {
                continue;
            }
            for choice in answer["choices"].as_array().unwrap() {
                let allergies = choice["line"]["allergies"].as_array();
                assert!(allergies.is_some_and(|all| !all.is_empty()), "`{note}`: {choice:#}");
            }
        }
    }
}

#[test]
fn a_note_that_names_no_field_is_printed_with_a_caution() {
    for note in
        ["for Ada", "by the window", "happy birthday Jo", "regular guest of Kim's", "☕ grüße", ""]
    {
        let answer = noted("training-bar", note);
        // "regular" is a size too, but not in the middle of other words.
        assert_eq!(answer["verdict"], "accept", "`{note}`: {answer:#}");
        assert_eq!(answer["notices"][0]["code"], "note-not-checked");
    }
}

#[test]
fn what_a_note_means_is_offered_in_its_field() {
    let answer = noted("training-bar", "xtra hot pls");
    let line = &answer["choices"][0]["line"];
    assert_eq!(
        line["modifiers"],
        json!([{ "id": "temperature", "value": "extra-hot" }]),
        "{answer:#}"
    );
    let answer = noted("training-bar", "extra shot");
    let line = &answer["choices"][0]["line"];
    assert_eq!(line["modifiers"], json!([{ "id": "shots", "count": 1 }]));
    let answer = noted("training-bar", "vegan");
    let line = &answer["choices"][0]["line"];
    assert_eq!(line["diets"], json!(["vegan"]));
    assert_eq!(line["modifiers"][0]["id"], "milk", "whole milk is not vegan");
}

/// A refusal for another reason stays one, and the note is asked about once that is mended.
#[test]
fn a_refused_line_with_such_a_note_is_refused_and_its_ways_out_use_the_field() {
    let line = json!({
        "line": "1",
        "drink": "cappuccino",
        "modifiers": [{ "id": "foam", "value": "none" }],
        "note": "no dairy",
    });
    let answer = answer_to("hospital-foyer", &line);
    assert_eq!(answer["verdict"], "refuse");
    for way in answer["alternatives"].as_array().unwrap() {
        assert_eq!(way["line"]["allergies"], json!(["milk"]), "{way:#}");
    }
}
