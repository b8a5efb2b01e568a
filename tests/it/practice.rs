//! Holds a book of everyday café recipes to the cups that come out, as a client sees them.
//!
//! Every recipe in it, and so every number here, is common practice, no source.

use std::sync::LazyLock;

use cupwright::in_force::InForce;
use serde_json::{Value, json};

use crate::support::{answer, load, text};

static HELD: LazyLock<InForce> = LazyLock::new(|| load(&text("tests/books/practice.json")));

/// The whole answer to a drink with modifiers, at the book's own bar.
fn answered(drink: &str, modifiers: &Value) -> Value {
    answer(&HELD, "training-bar", &json!({ "drink": drink, "modifiers": modifiers }))
}

/// The build of a drink that is accepted.
#[track_caller]
fn build_with(drink: &str, modifiers: &Value) -> Value {
    let mut line = answered(drink, modifiers);
    assert_eq!(line["verdict"], "accept", "{line:#}");
    line["build"].take()
}

#[track_caller]
fn build(drink: &str) -> Value {
    build_with(drink, &json!([]))
}

#[track_caller]
fn number(build: &Value, pointer: &str) -> f64 {
    let found = build.pointer(pointer).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("no number at {pointer} in {build:#}"))
}

#[track_caller]
fn near(build: &Value, pointer: &str, expected: f64, tolerance: f64) {
    let found = number(build, pointer);
    let gap = (found - expected).abs();
    assert!(gap <= tolerance, "{pointer} is {found}, expected {expected} ± {tolerance}: {build:#}");
}

/// The one part of an ingredient.
#[track_caller]
fn part(build: &Value, ingredient: &str) -> Value {
    let all = build["parts"].as_array().unwrap();
    let mut found = all.iter().filter(|part| part["ingredient"] == ingredient);
    let one = found.next().unwrap_or_else(|| panic!("no {ingredient} in {build:#}")).clone();
    assert!(found.next().is_none(), "{ingredient} twice in {build:#}");
    one
}

fn steps(build: &Value) -> &[Value] {
    build["steps"].as_array().unwrap()
}

fn words(step: &Value) -> &str {
    step["text"].as_str().unwrap()
}

/// Position of the first step at a station.
#[track_caller]
fn first_at(build: &Value, station: &str) -> usize {
    let found = steps(build).iter().position(|step| step["station"] == station);
    found.unwrap_or_else(|| panic!("no step at {station}: {build:#}"))
}

/// Common practice, no source.
#[test]
fn a_double_of_22_5_g_gives_45_g_in_30_to_32_s_and_splits_into_two_halves() {
    let double = build_with("latte", &json!([{ "id": "shots", "count": 1 }]));
    let half = build("latte");
    assert_eq!(double["coffee"]["halves"], 2);
    assert_eq!(half["coffee"]["halves"], 1);
    near(&double, "/coffee/dose_g", 22.5, 0.0);
    near(&double, "/coffee/yield_g", 45.0, 0.0);
    near(&half, "/coffee/in_cup_g", 22.5, 0.0);
    near(&half, "/coffee/yield_g", 22.5, 0.0);
    // Half of the dose, 11.25 g, as a bar can weigh it.
    near(&half, "/coffee/dose_g", 11.25, 0.051);
    for one in [&double, &half] {
        near(one, "/coffee/time_s/min", 30.0, 0.0);
        near(one, "/coffee/time_s/max", 32.0, 0.0);
        assert_eq!(one["coffee"]["doubles"], 1, "either is one pull of a double basket");
        let pull = words(&steps(one)[first_at(one, "group")]);
        assert!(pull.contains("22.5 g") && pull.contains("45 g"), "{pull}");
    }
    assert_eq!(double["coffee"]["spare_halves"], 0);
    assert_eq!(half["coffee"]["spare_halves"], 1);
}

/// Common practice, no source.
#[test]
fn a_double_ristretto_gives_about_as_much_as_goes_in() {
    let short = build("two-thirds-double-ristretto");
    assert_eq!(short["coffee"]["pull"], "ristretto");
    near(&short, "/coffee/dose_g", 22.5, 0.0);
    near(&short, "/coffee/yield_g", 22.5, 0.5);
    near(&short, "/coffee/ratio", 1.0, 0.03);
}

/// Common practice, no source.
#[test]
fn froth_is_5_mm_on_a_flat_white_10_on_a_latte_and_15_on_a_cappuccino() {
    for (drink, mm) in [("flat-white", 5.0), ("latte", 10.0), ("cappuccino", 15.0)] {
        near(&build(drink), "/milk/foam_depth_mm", mm, 0.05);
    }
}

/// Common practice, no source.
#[test]
fn a_flat_white_and_a_cappuccino_share_a_cup_of_190_ml_and_take_one_half_each() {
    let [flat, cappuccino] = ["flat-white", "cappuccino"].map(build);
    assert_eq!(flat["vessel"], cappuccino["vessel"]);
    assert_eq!(flat["coffee"], cappuccino["coffee"]);
    for one in [&flat, &cappuccino] {
        near(one, "/vessel/brim_ml", 190.0, 0.0);
        near(one, "/coffee/halves", 1.0, 0.0);
    }
    // The same cup and coffee, so what foam takes more of, milk has less of.
    assert!(number(&cappuccino, "/milk/cold_ml") < number(&flat, "/milk/cold_ml"));
}

/// Common practice, no source.
#[test]
fn a_latte_and_a_mocha_take_the_glass_of_220_ml_with_one_half_so_a_flat_white_is_stronger() {
    for drink in ["latte", "mocha"] {
        let one = build(drink);
        near(&one, "/vessel/brim_ml", 220.0, 0.0);
        near(&one, "/coffee/halves", 1.0, 0.0);
    }
    let share = |drink| {
        let one = build(drink);
        number(&one, "/coffee/in_cup_g") / number(&one, "/vessel/fill_ml")
    };
    assert!(share("latte") < share("flat-white"));
}

/// Common practice, no source.
#[test]
fn a_piccolo_takes_the_glass_of_90_ml_and_a_short_black_the_cup_of_70_ml() {
    for (drink, brim) in [("piccolo", 90.0), ("short-black", 70.0)] {
        let one = build(drink);
        near(&one, "/vessel/brim_ml", brim, 0.0);
        near(&one, "/coffee/halves", 1.0, 0.0);
        assert!(number(&one, "/vessel/fill_ml") <= brim);
    }
}

/// Common practice, no source.
#[test]
fn a_long_black_is_coffee_on_water_of_75_degrees_that_went_in_first() {
    let one = build("long-black");
    near(&one, "/vessel/brim_ml", 170.0, 0.0);
    near(&one, "/water/temperature_c", 75.0, 0.0);
    assert_eq!(one["water"]["when"], "first");
    assert!(first_at(&one, "water") < first_at(&one, "group"), "{one:#}");
    assert_eq!(one["layers"][0]["part"], "water");
    assert_eq!(one["layers"][1]["part"], "coffee");
}

/// Common practice, no source.
#[test]
fn a_macchiato_is_its_short_black_with_a_stain_of_milk() {
    let [black, stained] = ["short-black", "macchiato"].map(build);
    assert_eq!(stained["coffee"], black["coffee"], "the coffee is the same to the gram");
    assert_eq!(stained["vessel"]["id"], black["vessel"]["id"]);
    assert_eq!(black["milk"], Value::Null);
    let (milk, coffee) =
        (number(&stained, "/milk/textured_ml"), number(&stained, "/coffee/in_cup_g"));
    assert!(milk > 0.0 && milk < coffee, "{milk} mL of milk on {coffee} g of coffee");
    assert!(milk <= 20.0, "{milk} mL is no stain");
}

/// Common practice, no source.
#[test]
fn a_double_ristretto_with_milk_fills_two_thirds_of_its_cup_with_thin_milk() {
    let one = build("two-thirds-double-ristretto");
    let share = number(&one, "/vessel/fill_ml") / number(&one, "/vessel/brim_ml");
    assert!((share - 2.0 / 3.0).abs() <= 0.005, "filled to {share:.3}");
    let depth = number(&one, "/milk/foam_depth_mm");
    assert!(depth <= number(&build("flat-white"), "/milk/foam_depth_mm"), "{depth} mm is not thin");
    assert_eq!(one["coffee"]["halves"], 2);
}

/// Common practice, no source.
#[test]
fn powders_and_concentrates_are_measured_as_the_recipes_say() {
    near(&part(&build("hot-chocolate"), "chocolate-powder"), "/g", 15.0, 0.5);
    near(&part(&build("beetroot-cocoa-latte"), "beetroot-cocoa-powder"), "/g", 4.0, 0.05);
    let turmeric = build("turmeric-latte");
    near(&part(&turmeric, "turmeric-concentrate"), "/ml", 15.0, 0.5);
    let water = number(&part(&turmeric, "water"), "/ml");
    assert!(water > 0.0 && water <= 30.0, "a little hot water, not {water} mL");
    let paste = words(&steps(&turmeric)[first_at(&turmeric, "bench")]);
    assert!(paste.contains("15 mL") && paste.contains("85 °C"), "{paste}");
}

/// Common practice, no source. In the jug it would be in everybody's milk and burn on the wand.
#[test]
fn powder_goes_into_the_dry_cup_before_any_pour_and_never_into_the_jug() {
    let powders = [
        ("mocha", "chocolate-powder"),
        ("hot-chocolate", "chocolate-powder"),
        ("beetroot-cocoa-latte", "beetroot-cocoa-powder"),
        ("turmeric-latte", "turmeric-concentrate"),
    ];
    let jugs: Vec<&str> = HELD.book().jugs.iter().map(|jug| jug.names.in_lang("en")).collect();
    for (drink, ingredient) in powders {
        let one = build(drink);
        assert_eq!(part(&one, ingredient)["stage"], "cup-before", "{drink}");
        let bench = first_at(&one, "bench");
        assert_eq!(bench, 0, "{drink}: the powder is the first step: {one:#}");
        let what = HELD.book().ingredients.iter().find(|known| *known.id == *ingredient).unwrap();
        let tells = |step: &&Value| words(step).contains(what.names.in_lang("en"));
        let named: Vec<&Value> = steps(&one).iter().filter(tells).collect();
        assert_eq!(named.len(), 1, "{drink}: the powder is put in once");
        let cup =
            &HELD.book().vessels.iter().find(|cup| one["vessel"]["id"] == *cup.id).unwrap().names;
        assert!(words(named[0]).contains(cup.in_lang("en")), "{}", words(named[0]));
        for jug in &jugs {
            assert!(!words(named[0]).contains(jug), "{drink}: {}", words(named[0]));
        }
    }
}

/// Common practice, no source.
#[test]
fn chai_steeps_in_boiling_water_and_then_in_hot_milk_and_is_strained() {
    let one = build("brewed-chai");
    near(&part(&one, "chai-leaf"), "/g", 30.0, 0.0);
    let steeps: Vec<(usize, &Value)> =
        steps(&one).iter().enumerate().filter(|(_, step)| step["station"] == "steep").collect();
    let [(water_at, water), (milk_at, milk), (strain_at, strain)] = steeps[..] else {
        panic!("three steps at the steep: {one:#}")
    };
    assert_eq!(water["seconds"], 60);
    assert_eq!(milk["seconds"], 120);
    assert_eq!(strain["seconds"], Value::Null);
    assert!(words(water).contains("30 g") && words(water).contains("100 °C"), "{}", words(water));
    assert!(words(milk).contains("hot milk"), "{}", words(milk));
    assert!(words(strain).contains("Strain"), "{}", words(strain));
    let steamed = first_at(&one, "wand");
    assert!(water_at < steamed && steamed < milk_at && milk_at < strain_at, "{one:#}");
    // What the leaf keeps, 1.5 mL a gram, comes from its water: 70 mL less 45 mL.
    let layers = one["layers"].as_array().unwrap();
    let in_cup = layers.iter().find(|layer| layer["part"] == "water").unwrap();
    near(in_cup, "/ml", 25.0, 0.1);
}

/// Computed: a leaf of 30 g that keeps 1.5 mL a gram soaks up its 20 mL of water and 25 mL of the milk,
/// so the jug gives 25 mL more than the glass has room for. The amounts are common practice, no source.
#[test]
fn a_leaf_that_keeps_more_than_its_water_takes_the_rest_from_the_milk() {
    let mut book: Value = serde_json::from_str(&text("tests/books/practice.json")).unwrap();
    let drinks = book["drinks"].as_array_mut().unwrap();
    let chai = drinks.iter_mut().find(|drink| drink["id"] == "brewed-chai").unwrap();
    let parts = chai["parts"].as_array_mut().unwrap();
    parts.iter_mut().find(|part| part["kind"] == "steep").unwrap()["water_ml"] = json!(20);
    let line = answer(&load(&book.to_string()), "training-bar", &json!({ "drink": "brewed-chai" }));
    let one = &line["build"];
    near(one, "/vessel/fill_ml", 215.0, 0.1);
    near(one, "/milk/textured_ml", 215.0 + 25.0, 0.1);
    let layers = one["layers"].as_array().unwrap();
    assert_eq!(layers.len(), 1, "all the water stays in the leaf: {one:#}");
    assert_eq!(layers[0]["part"], "milk");
    near(&layers[0], "/ml", 215.0, 0.1);
    // What the leaf keeps is milk of 60 °C, so about 1 g for each mL.
    let from_jug = number(one, "/milk/cold_ml") * 1.032 + number(one, "/milk/condensate_g") - 5.0;
    let kept = from_jug - number(&part(one, "whole-milk"), "/g");
    assert!((kept - 25.0).abs() <= 0.6, "the leaf keeps {kept:.1} g of milk");
}

/// Common practice, no source.
#[test]
fn a_dirty_chai_can_take_the_full_double_and_no_more() {
    let plain = build("brewed-chai");
    assert_eq!(plain["coffee"], Value::Null);
    for (count, grams) in [(1, 22.5), (2, 45.0)] {
        let dirty = build_with("brewed-chai", &json!([{ "id": "dirty", "count": count }]));
        assert_eq!(dirty["coffee"]["halves"], count);
        near(&dirty, "/coffee/in_cup_g", grams, 0.0);
        assert_eq!(dirty["vessel"], plain["vessel"], "the fill stays");
        let gives_way = number(&plain, "/milk/textured_ml") - number(&dirty, "/milk/textured_ml");
        assert!((gives_way - grams).abs() <= 0.1, "milk gives way by {gives_way} mL for {grams} g");
    }
    let three = answered("brewed-chai", &json!([{ "id": "dirty", "count": 3 }]));
    assert_eq!(three["verdict"], "refuse");
    assert_eq!(three["refusals"][0]["code"], "count-out-of-range");
    assert_eq!(
        three["alternatives"][0]["line"]["modifiers"],
        json!([{ "id": "dirty", "count": 2 }])
    );
}
