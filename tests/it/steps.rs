//! The order of work: what a barista would find wrong at once. Common practice, no source.

use cupwright::in_force::InForce;
use serde_json::{Value, json};

use crate::support::{answer, demo};

/// The steps of a line at the demo's training bar.
fn steps(held: &InForce, drink: &str, modifiers: &Value) -> Vec<Value> {
    let line = json!({ "line": "1", "drink": drink, "modifiers": modifiers });
    let answered = answer(held, "training-bar", &line);
    assert_eq!(answered["verdict"], "accept", "{answered}");
    answered["build"]["steps"].as_array().unwrap().clone()
}

/// Number of the first step whose text holds `part`.
#[track_caller]
fn at(steps: &[Value], part: &str) -> usize {
    let found = steps.iter().position(|step| step["text"].as_str().unwrap().contains(part));
    found.unwrap_or_else(|| panic!("no step says `{part}`: {steps:#?}")) + 1
}

fn says(steps: &[Value], part: &str) -> bool {
    steps.iter().any(|step| step["text"].as_str().unwrap().contains(part))
}

#[test]
fn the_coffee_of_a_dirty_chai_is_pulled_while_the_leaf_is_in_the_milk() {
    let steps = steps(&demo(), "brewed-chai", &json!([{ "id": "dirty", "count": 1 }]));
    let (in_milk, pull, strain) =
        (at(&steps, "hot milk on the leaf"), at(&steps, "Pull"), at(&steps, "Strain"));
    assert!(at(&steps, "on 24 g") < in_milk && in_milk < pull && pull < strain);
    assert_eq!(steps[in_milk - 1]["while"], json!([pull]));
}

#[test]
fn chocolate_is_stirred_into_the_coffee_before_the_milk_is_steamed() {
    let steps = steps(&demo(), "mocha", &json!([]));
    let order = ["Drinking chocolate", "Pull", "Stir", "steam", "Swirl and pour"];
    let places = order.map(|part| at(&steps, part));
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn sugar_over_ice_is_stirred_into_the_hot_coffee() {
    let steps = steps(&demo(), "iced-latte", &json!([{ "id": "sugar", "count": 2 }]));
    let places = ["Pull", "Sugar into the hot coffee", "ice", "Pour the coffee"];
    assert!(places.map(|part| at(&steps, part)).is_sorted());
    assert!(!says(&steps, "Caution: hot"));
}

#[test]
fn honey_in_a_long_black_is_stirred_into_the_water_and_the_crema_is_left_alone() {
    let steps = steps(&demo(), "long-black", &json!([{ "id": "honey", "count": 1 }]));
    let places = ["honey", "water at", "Stir", "Pull"].map(|part| at(&steps, part));
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn the_coffee_that_half_strength_leaves_over_is_named() {
    let steps = steps(&demo(), "flat-white", &json!([{ "id": "strength", "value": "half" }]));
    assert!(!says(&steps, "Both halves are for this cup"));
    assert!(says(&steps, "Pour 19 g of the coffee") && says(&steps, "19 g are left over"));
}

#[test]
fn a_cup_to_take_away_gets_its_lid_unless_it_is_to_stay_open() {
    let held = demo();
    let away = json!({ "id": "service", "value": "takeaway" });
    assert!(says(&steps(&held, "latte", &json!([away])), "Put the lid on"));
    assert!(!says(&steps(&held, "latte", &json!([away, { "id": "lid-off" }])), "lid"));
    assert!(!says(&steps(&held, "latte", &json!([])), "lid"));
    assert!(says(&steps(&held, "espresso", &json!([{ "id": "spoon" }])), "Add a spoon"));
}

#[test]
fn only_what_is_hot_is_called_hot() {
    let held = demo();
    assert!(says(&steps(&held, "latte", &json!([])), "Caution: hot"));
    assert!(says(&steps(&held, "babyccino", &json!([])), "lukewarm"));
    let without_ice = steps(&held, "iced-latte", &json!([{ "id": "ice", "value": "none" }]));
    assert!(!says(&without_ice, "Caution: hot"), "{without_ice:#?}");
}

#[test]
fn every_step_that_runs_beside_another_comes_after_it_and_is_there() {
    let held = demo();
    for drink in &held.book().drinks {
        let line = json!({ "line": "1", "drink": *drink.id });
        let answered = answer(&held, "training-bar", &line);
        let steps = answered["build"]["steps"].as_array();
        for step in steps.into_iter().flatten() {
            let n = step["n"].as_u64().unwrap();
            let last = steps.map_or(0, Vec::len) as u64;
            for beside in step["while"].as_array().unwrap() {
                let beside = beside.as_u64().unwrap();
                assert!(n < beside && beside <= last, "{}: {step}", drink.id);
            }
        }
    }
}

#[test]
fn what_is_stirred_into_coffee_goes_into_this_cup_alone() {
    let held = demo();
    let half = json!([{ "id": "strength", "value": "half" }, { "id": "honey", "count": 2 }]);
    let measured = steps(&held, "iced-latte", &half);
    assert!(at(&measured, "Keep 19 g of the coffee") < at(&measured, "into the hot coffee"));
    let spare = json!([
        { "id": "shots", "count": 1 }, { "id": "pull", "value": "long" }, { "id": "sugar", "count": 2 }
    ]);
    let caught = steps(&held, "iced-long-black", &spare);
    assert!(at(&caught, "catch that one by itself") < at(&caught, "into the hot coffee"));
}
