//! What buttons come to at a site: right, nothing, refused, twice, and drinks that none orders.

use std::collections::BTreeSet;

use cupwright::{
    answering::{checked_till, menu},
    engine::Moment,
    till::{Finding, TillMap, check, csv_of, draft},
};
use serde_json::{Value, json};

use super::button;
use crate::{
    changed::{demo_book, load, put},
    lines::DEMO,
    posted::sent,
};

/// What is found of a sheet with these buttons, whose codes are their positions from 1.
fn found(site: &str, buttons: &[Value]) -> Vec<String> {
    let buttons = buttons.iter().enumerate().map(|(n, one)| {
        let mut one = one.clone();
        one["code"] = json!((n + 1).to_string());
        button(&one)
    });
    let map = TillMap { site: site.into(), buttons: buttons.collect() };
    let checked = check(&DEMO.bars[site], &map, &Moment::default());
    let all = checked.buttons.into_iter().map(|one| match one.finding {
        Finding::Right => "right".to_owned(),
        Finding::Nothing => "nothing".to_owned(),
        Finding::Refused(None) => "refused".to_owned(),
        Finding::Refused(Some(why)) => format!("refused: {}", why.code.as_str()),
        Finding::Twice(code) => format!("twice {code}"),
    });
    all.collect()
}

#[test]
fn each_finding_is_what_the_button_comes_to_at_its_site() {
    let given = |id: &str, value: &str| json!({ "id": id, "value": value });
    let rows = [
        (json!({ "drink": "latte" }), "right"),
        (json!({ "modifiers": [given("milk", "oat-drink")] }), "right"),
        (
            json!({ "modifiers": [{ "id": "shots", "count": 1 }, { "id": "vanilla", "count": 2 }] }),
            "right",
        ),
        (json!({}), "nothing"),
        (json!({ "label": "Bag of beans" }), "nothing"),
        (json!({ "drink": "unicorn" }), "nothing"),
        (json!({ "drink": "latte", "modifiers": [{ "id": "glitter" }] }), "nothing"),
        (json!({ "modifiers": [{ "id": "spoon" }, { "id": "glitter" }] }), "nothing"),
        (
            json!({ "drink": "flat-white", "modifiers": [given("size", "large")] }),
            "refused: no-such-cup",
        ),
        (
            json!({ "drink": "long-black", "modifiers": [given("milk", "oat-drink")] }),
            "refused: nothing-to-replace",
        ),
        (
            json!({ "drink": "latte", "modifiers": [given("milk", "unicorn-milk")] }),
            "refused: unknown-value",
        ),
        (json!({ "modifiers": [given("milk", "soy-drink")] }), "refused"),
        (json!({ "modifiers": [given("milk", "unicorn-milk")] }), "refused"),
        (json!({ "modifiers": [given("foam", "dry"), given("foam", "wet")] }), "refused"),
        (json!({ "modifiers": [{ "id": "shots", "count": 99 }] }), "refused"),
        (json!({ "modifiers": [given("service", "own")] }), "right"),
        (json!({ "modifiers": [{ "id": "capacity", "value": 350 }] }), "right"),
        (json!({ "modifiers": [{ "id": "lid-off" }] }), "right"),
    ];
    let buttons: Vec<Value> = rows.iter().map(|(one, _)| one.clone()).collect();
    for (found, (one, wanted)) in found("bookshop", &buttons).iter().zip(&rows) {
        assert_eq!(found, wanted, "{one}");
    }
    let soy = json!({ "modifiers": [given("milk", "soy-drink")] });
    assert_eq!(found("hospital-foyer", &[soy]), ["right"], "another site has it");
}

#[test]
fn a_button_that_means_the_same_as_another_is_told_with_its_code() {
    let (here, large) =
        (json!({ "id": "service", "value": "here" }), json!({ "id": "size", "value": "large" }));
    let shots = |n: i32| json!({ "id": "shots", "count": n });
    let buttons = [
        json!({ "label": "one", "drink": "latte", "modifiers": [here, large] }),
        json!({ "label": "two", "drink": "latte", "modifiers": [large, here] }),
        json!({ "drink": "latte", "modifiers": [large] }),
        json!({ "drink": "mocha", "modifiers": [large, here] }),
        json!({ "modifiers": [shots(1), shots(1)] }),
        json!({ "modifiers": [shots(2)] }),
        json!({ "modifiers": [shots(1)] }),
    ];
    let found = found("bookshop", &buttons);
    assert_eq!(found, ["right", "twice 1", "right", "right", "right", "twice 5", "right"]);
}

#[test]
fn a_drink_that_no_button_orders_is_named_if_it_can_be_made() {
    let map = &DEMO.tills["bookshop"];
    let bar = &DEMO.bars["bookshop"];
    let whole = check(bar, map, &Moment::default());
    assert!(whole.unreached.is_empty(), "{:?}", whole.unreached);
    let mut less = map.clone();
    less.buttons
        .retain(|one| !["latte", "espresso-tonic"].contains(&one.drink.as_deref().unwrap_or("")));
    let checked = check(bar, &less, &Moment::default());
    assert_eq!(checked.unreached, ["latte", "espresso-tonic"], "in the order of the book");
    let kiosk = TillMap { site: "ferry-kiosk".into(), buttons: Vec::new() };
    let checked = check(&DEMO.bars["ferry-kiosk"], &kiosk, &Moment::default());
    assert!(checked.unreached.contains(&"latte".to_owned()));
    assert!(!checked.unreached.contains(&"affogato".to_owned()), "it cannot be made there");
}

#[test]
fn the_sheet_of_the_demo_is_right_and_a_fault_in_it_is_told_in_the_language() {
    let (bar, mut map) = (&DEMO.bars["bookshop"], DEMO.tills["bookshop"].clone());
    let view = |map: &TillMap, lang: &str| {
        serde_json::to_value(checked_till(bar, map, DEMO.catalogue(bar, Some(lang)).unwrap()))
            .unwrap()
    };
    let whole = view(&map, "en");
    assert_eq!((&whole["complete"], &whole["unreached"]), (&json!(true), &json!([])));
    assert!(whole["buttons"].as_array().unwrap().iter().all(|one| one["text"] == ""));
    map.buttons.push(button(&json!({ "code": "x", "drink": "flat-white",
        "modifiers": [{ "id": "size", "value": "large" }] })));
    map.buttons.push(button(&json!({ "code": "y" })));
    let texts = |lang: &str| -> Vec<String> {
        let view = view(&map, lang);
        assert_eq!(view["complete"], false);
        let buttons = view["buttons"].as_array().unwrap();
        buttons.iter().rev().take(2).map(|one| one["text"].as_str().unwrap().to_owned()).collect()
    };
    let (en, de) = (texts("en"), texts("de"));
    assert!(en.iter().chain(&de).all(|text| !text.is_empty()));
    assert!(en.iter().zip(&de).all(|(one, other)| one != other), "{en:?} {de:?}");
}

#[test]
fn a_draft_is_right_at_every_site_and_reaches_whatever_can_be_made_there() {
    for (site, bar) in &DEMO.bars {
        for lang in &bar.site.languages {
            let map = draft(bar, lang);
            let checked = check(bar, &map, &Moment::default());
            for one in &checked.buttons {
                assert!(matches!(one.finding, Finding::Right), "{site}: {one:?}");
            }
            assert!(checked.unreached.is_empty(), "{site}: {:?}", checked.unreached);
            let name = format!("{site}.till.csv");
            let again = TillMap::read(&name, &csv_of(&map.buttons), site);
            assert_eq!(again.unwrap_or_else(|told| panic!("{told}")), map);
            let codes: BTreeSet<&str> = map.buttons.iter().map(|one| &*one.code).collect();
            assert_eq!(codes.len(), map.buttons.len());
            for now in ["2026-12-10T11:00:00+01:00", "2026-07-10T11:00:00+02:00"] {
                let menu: Value =
                    serde_json::from_slice(&menu(&DEMO, bar, Some(lang), &sent(now)).unwrap())
                        .unwrap();
                reaches(site, &map, &menu);
            }
        }
    }
}

#[test]
fn a_draft_of_drinks_with_long_names_can_be_read_again() {
    let mut book = demo_book();
    let name = format!("Latte {}", "of the house ".repeat(6));
    put(&mut book, "/drinks/latte/names/en", json!(name.trim()));
    let held = load(&book, &[]).unwrap_or_else(|told| panic!("{}", told[0]));
    let bar = held.training_bar().unwrap();
    let map = draft(bar, "en");
    assert!(map.buttons.iter().any(|one| one.label.chars().count() == 64), "one is cut");
    let name = format!("{}.till.csv", bar.site.id);
    let again = TillMap::read(&name, &csv_of(&map.buttons), &bar.site.id);
    assert_eq!(again.unwrap_or_else(|told| panic!("{told}")), map);
}

/// Fails unless a sheet has a button for each cup and each value of a menu.
fn reaches(site: &str, map: &TillMap, menu: &Value) {
    for drink in menu["drinks"].as_array().unwrap() {
        let of =
            |one: &&cupwright::till::Button| drink["id"] == *one.drink.as_deref().unwrap_or("");
        let buttons: Vec<Value> = map
            .buttons
            .iter()
            .filter(of)
            .map(|one| serde_json::to_value(&one.modifiers).unwrap())
            .collect();
        for cup in drink["cups"].as_array().unwrap() {
            let says = |button: &Value, id: &str| {
                button
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|one| one["id"] == id && one["value"] == cup[id])
            };
            let there = buttons.iter().any(|one| says(one, "service") && says(one, "size"));
            assert!(there, "{site}: no button for {cup} of {}", drink["id"]);
        }
        for offer in drink["modifiers"].as_array().unwrap() {
            let gives = |value: Option<&Value>| {
                map.buttons.iter().filter(|one| one.drink.is_none()).any(|one| {
                    let given = serde_json::to_value(&one.modifiers[0]).unwrap();
                    given["id"] == offer["id"] && value.is_none_or(|value| given["value"] == *value)
                })
            };
            let values = offer["values"].as_array();
            let all = values.map_or(gives(None), |all| all.iter().all(|value| gives(Some(value))));
            assert!(all, "{site}: no button for {offer}");
        }
    }
}
