//! The demo's standard cups beside what espresso bars do.
//!
//! Source of every bound here: common practice, no source. The demo's own numbers are invented; what is
//! checked is that its cups are cups that a bar would know: vessel, halves, foam, milk, temperature.

use serde_json::{Value, json};

use crate::lines::{DEMO, answer_to};

/// A drink with the brim of its cup in mL, its halves, and its depth of foam in mm, each from and to.
type Row = (&'static str, [f64; 2], [f64; 2], [f64; 2]);

const ANY: [f64; 2] = [0.0, 1_000.0];

/// Cups to drink here, in the usual size.
const ROWS: [Row; 33] = [
    ("espresso", [60.0, 90.0], [1.0, 2.0], [0.0, 0.0]),
    ("double-espresso", [80.0, 110.0], [2.0, 2.0], [0.0, 0.0]),
    ("ristretto", [60.0, 90.0], [1.0, 2.0], [0.0, 0.0]),
    ("long-pull", [90.0, 120.0], [1.0, 2.0], [0.0, 0.0]),
    ("long-black", [150.0, 240.0], [2.0, 2.0], [0.0, 0.0]),
    ("americano", [180.0, 355.0], [1.0, 2.0], [0.0, 0.0]),
    ("short-macchiato", [60.0, 100.0], [1.0, 2.0], [3.0, 8.0]),
    ("long-macchiato", [90.0, 160.0], [2.0, 2.0], [3.0, 8.0]),
    ("piccolo", [85.0, 110.0], [1.0, 1.0], [5.0, 10.0]),
    ("cortado", [100.0, 150.0], [2.0, 2.0], [0.0, 5.0]),
    ("two-thirds-ristretto", [150.0, 180.0], [2.0, 2.0], [3.0, 5.0]),
    ("flat-white", [150.0, 220.0], [1.0, 2.0], [2.0, 6.0]),
    ("cappuccino", [150.0, 240.0], [1.0, 2.0], [10.0, 20.0]),
    ("dry-cappuccino", [150.0, 240.0], [1.0, 2.0], [20.0, 35.0]),
    ("latte", [210.0, 355.0], [1.0, 2.0], [8.0, 12.0]),
    ("layered-milk", [240.0, 350.0], [1.0, 1.0], [15.0, 30.0]),
    ("filter-with-milk", [240.0, 350.0], [0.0, 0.0], [0.0, 5.0]),
    ("mocha", [210.0, 355.0], [1.0, 2.0], [8.0, 15.0]),
    ("espresso-with-cream", [60.0, 110.0], [1.0, 2.0], [0.0, 0.0]),
    ("vienna", [150.0, 240.0], [2.0, 2.0], [0.0, 0.0]),
    ("affogato", [120.0, 200.0], [1.0, 2.0], [0.0, 0.0]),
    ("hot-chocolate", [210.0, 355.0], [0.0, 0.0], [8.0, 15.0]),
    ("chai-powder-latte", [210.0, 355.0], [0.0, 0.0], [8.0, 12.0]),
    ("turmeric-latte", [210.0, 300.0], [0.0, 0.0], [5.0, 10.0]),
    ("beetroot-latte", [210.0, 300.0], [0.0, 0.0], [5.0, 10.0]),
    ("matcha-latte", [210.0, 300.0], [0.0, 0.0], [5.0, 10.0]),
    ("babyccino", [60.0, 100.0], [0.0, 0.0], ANY),
    ("black-tea", [240.0, 500.0], [0.0, 0.0], [0.0, 0.0]),
    ("tea-latte", [240.0, 355.0], [0.0, 0.0], [5.0, 10.0]),
    ("batch-filter", [180.0, 355.0], [0.0, 0.0], [0.0, 0.0]),
    ("hand-pour", [250.0, 400.0], [0.0, 0.0], [0.0, 0.0]),
    ("iced-latte", [300.0, 450.0], [1.0, 2.0], [0.0, 0.0]),
    ("espresso-tonic", [300.0, 450.0], [1.0, 2.0], [0.0, 0.0]),
];

fn build(drink: &str) -> Value {
    let answer = answer_to("training-bar", &json!({ "line": "1", "drink": drink }));
    assert_eq!(answer["verdict"], "accept", "{drink}: {answer:#}");
    answer["build"].clone()
}

fn number(build: &Value, pointer: &str) -> f64 {
    build.pointer(pointer).and_then(Value::as_f64).unwrap_or(0.0)
}

fn within(what: &str, value: f64, [low, high]: [f64; 2]) {
    assert!((low..=high).contains(&value), "{what}: {value} is not {low} to {high}");
}

#[test]
fn the_standard_cups_are_cups_that_a_bar_would_know() {
    for (drink, brim, halves, foam) in ROWS {
        let build = build(drink);
        within(&format!("{drink}, brim"), number(&build, "/vessel/brim_ml"), brim);
        within(&format!("{drink}, halves"), number(&build, "/coffee/halves"), halves);
        let depth = number(&build, "/milk/foam_depth_mm");
        within(&format!("{drink}, foam"), (depth * 10.0).round() / 10.0, foam);
    }
}

/// Milk for adults is steamed to 50 to 68 °C, for small children to 45 °C at most.
#[test]
fn milk_is_steamed_as_hot_as_people_drink_it() {
    for drink in &DEMO.book().drinks {
        let build = build(&drink.id);
        let at = number(&build, "/milk/set_point_c");
        match (&*drink.id, at > 0.0) {
            (_, false) => {}
            ("babyccino", true) => within("babyccino", at, [30.0, 45.0]),
            (id, true) => within(id, at, [50.0, 68.0]),
        }
    }
}

/// Water is poured first in a long black and last in an americano; nothing else tells them apart.
#[test]
fn a_long_black_and_an_americano_differ_by_the_order_of_pour() {
    assert_eq!(build("long-black")["water"]["when"], "first");
    assert_eq!(build("americano")["water"]["when"], "last");
}

/// Filter coffee takes 55 to 65 g to the litre of water, cold brew 60 to 125 g for 12 to 20 h at 5 °C
/// or less, a hand-poured cup 15 to 22 g and 2½ to 4 minutes.
#[test]
fn brews_are_as_strong_and_as_slow_as_they_are_made() {
    let grounds = |drink: &str| number(&build(drink), "/parts/0/g");
    let batch = grounds("batch-filter");
    let litres = 0.230 + batch * 2.1 / 1_000.0;
    within("batch filter, g/L", batch / litres, [55.0, 65.0]);
    within("hand-poured, g", grounds("hand-pour"), [15.0, 22.0]);
    within("hand-poured, s", number(&build("hand-pour"), "/steps/0/seconds"), [150.0, 240.0]);
    let cold = &DEMO.book().drinks.iter().find(|drink| drink.id == "cold-brew").unwrap().parts;
    let cold = cold.iter().find_map(cupwright::book::Part::as_brew).unwrap();
    within("cold brew, g/L", cold.dose_g_l.kg_m3(), [60.0, 125.0]);
    within("cold brew, h", cold.time.s() / 3_600.0, [12.0, 20.0]);
    within("cold brew, °C", cold.water_c.c(), [0.0, 5.0]);
}

/// Tea: black at 95 to 100 °C for 3 to 5 min, green at 70 to 85 °C for 2 to 3 min, herbs at 95 °C or
/// more for about 5 min.
#[test]
fn teas_steep_at_their_temperature_for_their_time() {
    for (drink, celsius, seconds) in [
        ("black-tea", [95.0, 100.0], [180.0, 300.0]),
        ("green-tea", [70.0, 85.0], [120.0, 180.0]),
        ("herbal-infusion", [95.0, 100.0], [240.0, 420.0]),
    ] {
        let steep = DEMO.book().drinks.iter().find(|one| one.id == drink).unwrap();
        let steep = steep.parts.iter().find_map(cupwright::book::Part::as_steep).unwrap();
        within(drink, steep.water_c.c(), celsius);
        within(drink, steep.stages.iter().map(|stage| stage.time.s()).sum(), seconds);
    }
}

/// A decaf shot is not free of caffeine and a chai keeps its tea's: no text of an answer says otherwise.
#[test]
fn no_text_says_that_decaf_has_no_caffeine() {
    for (drink, modifiers) in [
        ("latte", json!([{ "id": "beans", "value": "decaf" }])),
        (
            "chai-syrup-latte",
            json!([{ "id": "dirty", "count": 1 }, { "id": "beans", "value": "decaf" }]),
        ),
        ("chai-syrup-latte", json!([{ "id": "beans", "value": "decaf" }])),
    ] {
        let line = json!({ "line": "1", "drink": drink, "modifiers": modifiers });
        let said = answer_to("training-bar", &line).to_string().to_lowercase();
        for claim in ["caffeine-free", "no caffeine", "without caffeine", "0 mg"] {
            assert!(!said.contains(claim), "{drink}: {claim}");
        }
    }
}
