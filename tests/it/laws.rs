//! Laws that hold for every drink at every site, whatever is asked of it.

use std::sync::LazyLock;

use cupwright::{book::IngredientKind, in_force::InForce};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    lines::{DEMO, Posted, answer_to, posted},
    support::{answer_bytes, chance::cases, demo},
};

/// The demo a second time, loaded by itself.
static AGAIN: LazyLock<InForce> = LazyLock::new(demo);

fn bytes(posted: &Posted) -> Vec<u8> {
    answer_bytes(&DEMO, &posted.site, "en", &posted.line())
}

fn answer(posted: &Posted) -> Value {
    answer_to(&posted.site, &posted.line())
}

/// An accepted line near the one that was posted: itself, or the first that is offered in its place,
/// or else the drink as the book has it.
fn accepted(posted: &Posted) -> Option<(Value, Value)> {
    let first = answer(posted);
    let offered =
        ["alternatives", "choices"].iter().find_map(|key| first[key][0].get("line").cloned());
    let plain = json!({ "line": "7", "drink": posted.drink });
    [Some(posted.line()), offered, Some(plain)].into_iter().flatten().find_map(|line| {
        let answer = answer_to(&posted.site, &line);
        (answer["verdict"] == "accept").then_some((line, answer))
    })
}

/// What a verdict says whatever the order in which the line was given: all of an accepted line; of
/// another the rules that it breaks and whether there is a way out, since pointers follow the list and
/// of more than three ways out of one rank the first three are shown.
fn unordered(answer: &Value) -> Value {
    if answer["verdict"] == "accept" {
        return answer.clone();
    }
    let mut broken: Vec<String> = answer["refusals"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|one| format!("{} {}", one["code"], one["slot"]))
        .collect();
    broken.sort();
    broken.dedup();
    let offers = answer["none_because"].is_null();
    json!({ "verdict": answer["verdict"], "code": answer["code"], "broken": broken, "offers": offers })
}

fn each_number(value: &Value, here: &str, visit: &mut dyn FnMut(&str, f64)) {
    match value {
        Value::Number(number) => visit(here, number.as_f64().unwrap()),
        Value::Array(all) => {
            all.iter()
                .enumerate()
                .for_each(|(at, one)| each_number(one, &format!("{here}/{at}"), visit));
        }
        Value::Object(all) => {
            all.iter().for_each(|(key, one)| each_number(one, &format!("{here}/{key}"), visit));
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
}

fn get(build: &Value, pointer: &str) -> f64 {
    build.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer}: {build:#}"))
}

fn sum(build: &Value, list: &str, field: &str) -> f64 {
    build[list].as_array().unwrap().iter().map(|one| one[field].as_f64().unwrap()).sum()
}

/// Milk that stays in a leaf, mL: what it keeps beyond the water that it was steeped in.
fn kept_milk_ml(site: &str, build: &Value) -> f64 {
    let bar = &DEMO.bars[site];
    let ingredient = |id: &Value| bar.book.ingredients.iter().find(|one| *id == *one.id);
    let parts = build["parts"].as_array().unwrap();
    let leaf = parts.iter().find_map(|part| {
        let keeps = ingredient(&part["ingredient"])?.keeps_ml_g?;
        Some(part["g"].as_f64()? * keeps.ml_g())
    });
    let water = parts.iter().find(|part| part["ingredient"] == "water" && part["stage"] == "pour");
    let steeped = water.map_or(0.0, |part| part["ml"].as_f64().unwrap());
    leaf.map_or(0.0, |kept| (kept - steeped).max(0.0))
}

/// The temperature at which the coldest thing in the cup, ice aside, was kept.
fn coldest_c(site: &str, build: &Value) -> f64 {
    let bar = &DEMO.bars[site];
    let parts = build["parts"].as_array().unwrap().iter();
    let kept = parts.filter_map(|part| bar.ingredient(part["ingredient"].as_str()?));
    kept.filter(|one| one.kind != IngredientKind::Ice)
        .map(|one| one.stored_c.c())
        .fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(cases(256))]

    /// L1.
    #[test]
    fn the_order_of_modifiers_does_not_matter(
        (there, turned) in posted().prop_flat_map(|one| {
            let turned = Just(one.modifiers.clone()).prop_shuffle();
            (Just(one), turned)
        }),
    ) {
        let (one, other) = (bytes(&there), bytes(&there.with(turned)));
        let [first, second] = [&one, &other].map(|one| serde_json::from_slice::<Value>(one).unwrap());
        if first["verdict"] == "accept" {
            prop_assert_eq!(String::from_utf8(one).unwrap(), String::from_utf8(other).unwrap());
        } else {
            prop_assert_eq!(unordered(&first), unordered(&second));
        }
    }

    /// L2.
    #[test]
    fn the_same_value_of_a_slot_twice_is_once(there in posted(), at in any::<prop::sample::Index>()) {
        let slots: Vec<Value> =
            there.modifiers.iter().filter(|one| one.get("count").is_none()).cloned().collect();
        let mut twice = there.modifiers.clone();
        for one in slots {
            twice.insert(at.index(twice.len() + 1), one);
        }
        prop_assert_eq!(unordered(&answer(&there)), unordered(&answer(&there.with(twice))));
    }

    /// L3.
    #[test]
    fn one_more_and_one_fewer_is_as_it_was(there in posted(), at in any::<prop::sample::Index>()) {
        for id in ["shots", "dirty", "vanilla", "sugar"] {
            let mut both = there.modifiers.clone();
            both.insert(at.index(both.len() + 1), json!({ "id": id, "count": 1 }));
            both.insert(at.index(both.len() + 1), json!({ "id": id, "count": -1 }));
            let (before, after) = (answer(&there), answer(&there.with(both)));
            prop_assert_eq!(unordered(&before), unordered(&after), "with {} +1 and −1", id);
        }
    }

    /// L4.
    #[test]
    fn swapping_to_the_usual_milk_changes_nothing(there in posted(), at in any::<prop::sample::Index>()) {
        let bar = &DEMO.bars[there.site.as_str()];
        let drink = bar.drink(&there.drink).unwrap();
        let usual = serde_json::to_value(drink).unwrap()["parts"]
            .as_array()
            .unwrap()
            .iter()
            .find(|part| part["kind"] == "milk")
            .map(|part| part["ingredient"].clone());
        let mut plain = there.modifiers.clone();
        plain.retain(|one| one["id"] != "milk");
        let mut swapped = plain.clone();
        let milk = usual.clone().unwrap_or_else(|| "whole-milk".into());
        swapped.insert(at.index(swapped.len() + 1), json!({ "id": "milk", "value": milk }));
        let [before, after] = [plain, swapped].map(|modifiers| answer(&there.with(modifiers)));
        if usual.is_some() {
            // A milk that was named stays named on another drink, so ways out may differ.
            let [mut before, mut after] = [unordered(&before), unordered(&after)];
            for one in [&mut before, &mut after].into_iter().filter(|one| one["verdict"] != "accept") {
                one["offers"] = json!(true);
            }
            prop_assert_eq!(before, after);
        } else {
            prop_assert!(after["verdict"] != "accept", "there is no milk to swap: {after:#}");
        }
    }

    /// L5.
    #[test]
    fn the_normal_form_posted_again_returns_itself(there in posted()) {
        let Some((_, first)) = accepted(&there) else { return Ok(()) };
        let second = answer_to(&there.site, &first["canonical"]);
        prop_assert_eq!(&first["canonical"], &second["canonical"]);
        prop_assert_eq!(&first["build"]["digest"], &second["build"]["digest"]);
        prop_assert_eq!(first, second);
    }

    /// L9.
    #[test]
    fn volumes_sum_to_the_fill_and_masses_are_kept(there in posted()) {
        let Some((line, answer)) = accepted(&there) else { return Ok(()) };
        let build = &answer["build"];
        let gap = (sum(build, "layers", "ml") - get(build, "/vessel/fill_ml")).abs();
        prop_assert!(gap <= 1.0, "the layers of {line} are {gap} mL beside the fill: {build:#}");
        prop_assert!(get(build, "/vessel/fill_ml") <= get(build, "/vessel/brim_ml"));
        if build["milk"]["set_point_c"].is_null() {
            return Ok(());
        }
        let bar = &DEMO.bars[there.site.as_str()];
        let milk = bar.ingredient(build["milk"]["ingredient"].as_str().unwrap()).unwrap();
        let cold_g = get(build, "/milk/cold_ml") * milk.density_kg_m3.unwrap().kg_m3() / 1_000.0;
        let parts = build["parts"].as_array().unwrap();
        // Beside the cup it is the same milk in a jug of its own.
        let aside = line["modifiers"].to_string().contains("milk-on-side");
        let stage = if aside { "side" } else { "pour" };
        let poured = |part: &&Value| part["ingredient"] == *milk.id && part["stage"] == stage;
        let in_cup: f64 = parts.iter().filter(poured).map(|part| part["g"].as_f64().unwrap()).sum();
        // A hot density between 0.95 and 1.04 kg/L for what a leaf keeps.
        let kept_ml = kept_milk_ml(&there.site, build);
        let gap = cold_g + get(build, "/milk/condensate_g") - in_cup - bar.site.film_g.g();
        let (low, high) = (kept_ml * 0.95 - 0.2, kept_ml * 1.04 + 0.2);
        prop_assert!((low..=high).contains(&gap), "{gap} g for {kept_ml} mL kept: {line} {build:#}");
    }

    /// L10. Degrees Celsius alone go below zero: ice cream with its coffee beside it is handed over
    /// frozen, and no colder than it was kept.
    #[test]
    fn no_amount_of_a_build_is_negative(there in posted()) {
        let Some((line, answer)) = accepted(&there) else { return Ok(()) };
        let coldest = coldest_c(&there.site, &answer["build"]);
        let mut seen = 0;
        let mut negative = Vec::new();
        each_number(&answer["build"], "", &mut |at, number| {
            seen += 1;
            if number < if at.ends_with("_c") { coldest.min(0.0) } else { 0.0 } {
                negative.push(format!("{at}: {number}"));
            }
        });
        prop_assert!(negative.is_empty(), "{negative:?} in the build of {line}");
        prop_assert!(seen > 5, "a build has numbers");
    }

    /// L16, with whatever else is asked.
    #[test]
    fn a_larger_size_is_never_filled_less_or_made_with_less_coffee(there in posted()) {
        let bar = &DEMO.bars[there.site.as_str()];
        let mut plain = there.modifiers.clone();
        plain.retain(|one| one["id"] != "size");
        let builds: Vec<Value> = bar.book.sizes.iter().filter_map(|size| {
            let mut sized = plain.clone();
            sized.push(json!({ "id": "size", "value": size.id }));
            let answer = answer(&there.with(sized));
            (answer["verdict"] == "accept").then(|| answer["build"].clone())
        }).collect();
        for pair in builds.windows(2) {
            for pointer in ["/vessel/brim_ml", "/vessel/fill_ml", "/coffee/halves"] {
                let [small, large] = [0, 1].map(|at: usize| {
                    pair[at].pointer(pointer).and_then(Value::as_f64).unwrap_or(0.0)
                });
                prop_assert!(small <= large, "{pointer}: {small} then {large} for {there:?}");
            }
        }
    }

    /// L17.
    #[test]
    fn an_iced_drink_refuses_heat_and_has_no_foam(there in posted(), at in any::<prop::sample::Index>()) {
        let iced = ["iced-latte", "iced-long-black"][at.index(2)];
        let there = Posted { drink: iced.to_owned(), ..there };
        let heats = |one: &Value| one["id"] == "temperature" || one["id"] == "hot-cup";
        if let Some((line, answer)) = accepted(&there) {
            let asked = line["modifiers"].as_array().into_iter().flatten().any(heats);
            prop_assert!(!asked || line["drink"] != iced, "{line} is accepted");
            let build = &answer["build"];
            if build["ice"]["g"] != 0 {
                let layers = build["layers"].as_array().unwrap();
                prop_assert!(layers.iter().all(|layer| layer["part"] != "foam-gas"));
                prop_assert!(build["milk"].is_null() || get(build, "/milk/gas_ml") == 0.0);
            }
        }
        for heat in [json!({ "id": "temperature", "value": "warm" }), json!({ "id": "hot-cup" })] {
            let mut hot = there.modifiers.clone();
            hot.push(heat);
            let hot = there.with(hot);
            prop_assert_eq!(&answer(&hot)["verdict"], "refuse", "{:?}", hot);
        }
    }

    /// L18.
    #[test]
    fn the_same_line_gives_the_same_bytes_from_any_copy_of_the_book(there in posted()) {
        for lang in ["en", "de"] {
            let [first, second, other] = [&*DEMO, &*DEMO, &*AGAIN]
                .map(|held| String::from_utf8(answer_bytes(held, &there.site, lang, &there.line())).unwrap());
            prop_assert_eq!(&first, &second);
            prop_assert_eq!(&first, &other);
        }
    }

    /// L19 and L20: what is offered can be made and is offered in normal form; where nothing is
    /// offered, it says why.
    #[test]
    fn what_is_offered_instead_can_be_made(there in posted()) {
        let answer = answer(&there);
        let offers = match answer["verdict"].as_str().unwrap() {
            "accept" => return Ok(()),
            "ask" => &answer["choices"],
            _ => &answer["alternatives"],
        };
        let offers = offers.as_array().unwrap();
        prop_assert!(offers.len() <= 3);
        prop_assert_eq!(offers.is_empty(), !answer["none_because"].is_null(), "{:#}", answer);
        for offer in offers {
            let again = answer_to(&there.site, &offer["line"]);
            prop_assert_eq!(&again["verdict"], "accept", "{}", offer["line"]);
            prop_assert_eq!(&again["canonical"], &offer["line"]);
            prop_assert!(!offer["changes"].as_array().unwrap().is_empty(), "{:#}", answer);
        }
    }

    /// L19: while the drink itself can be made here, in the cup asked for or in its usual one, nobody is
    /// sent away, however much of what they asked cannot be done.
    #[test]
    fn a_drink_that_can_be_made_is_always_offered(there in posted()) {
        let plain = answer(&there.with(Vec::new()));
        let answer = answer(&there);
        if plain["verdict"] == "accept" && answer["verdict"] != "accept" {
            prop_assert!(answer["none_because"].is_null(), "{:#} for {}", answer, there.line());
        }
    }

    /// A pointer leads to a modifier that the refusal is about.
    #[test]
    fn a_refusal_points_at_what_it_is_about(there in posted()) {
        let answer = answer(&there);
        for refusal in answer["refusals"].as_array().into_iter().flatten() {
            let at = refusal["pointer"].as_str().unwrap().strip_prefix("/lines/0").unwrap();
            let line = there.line();
            let found = line.pointer(at);
            prop_assert!(found.is_some(), "{} is not in the line", at);
            if let Some(id) = found.and_then(|one| one.get("id")) {
                let involved = refusal["modifiers"].as_array().unwrap();
                prop_assert!(involved.contains(id), "{:#} points at {}", refusal, id);
            }
            let slot = &refusal["slot"];
            prop_assert!(slot.is_null() || refusal["modifiers"].as_array().unwrap().contains(slot));
        }
    }

    /// L20: an accepted line has every count and temperature exactly as it was asked.
    #[test]
    fn nothing_is_clamped_in_silence(there in posted()) {
        let answer = answer(&there);
        if answer["verdict"] != "accept" {
            return Ok(());
        }
        let held = answer["canonical"]["modifiers"].as_array().cloned().unwrap_or_default();
        for one in &there.modifiers {
            if one.get("count").is_some() {
                let of = |all: &[Value]| -> i64 {
                    all.iter().filter(|two| two["id"] == one["id"]).filter_map(|two| two["count"].as_i64()).sum()
                };
                prop_assert_eq!(of(&there.modifiers), of(&held), "{} in {:#}", one, answer);
            }
            if let Some(c) = one["value"].as_f64().filter(|_| one["id"] == "temperature") {
                prop_assert!((get(&answer["build"], "/milk/set_point_c") - c).abs() < 1e-9, "{answer:#}");
            }
        }
    }
}
