//! Drinks told by the amounts in a cup.

use std::{collections::BTreeSet, sync::LazyLock};

use cupwright::{
    answering::{StandardCups, drinks_near, read_cup},
    book::{Bar, Drink, Part},
    engine::identify::{Compared, MOST, Measure},
    in_force::InForce,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    changed::{demo_book, load},
    cli::run,
    lines::{DEMO, answer_to},
    support::chance::cases,
};

/// The demo never changes, so its standard cups are worked out once.
static KEPT: LazyLock<StandardCups> = LazyLock::new(StandardCups::default);

fn posted(cup: &Value) -> Value {
    let ticket = read_cup(cup.to_string().as_bytes()).expect("a cup of the contract");
    let kept = Some((&*KEPT, 1));
    serde_json::from_slice(&drinks_near(&DEMO, &ticket, kept).expect("an answer")).expect("JSON")
}

fn near(cup: &Value) -> Vec<Value> {
    posted(cup)["drinks"].as_array().cloned().unwrap()
}

/// Everything of the drink beside coffee, milk, water and ice, read straight from its record.
fn ingredients(drink: &Drink) -> BTreeSet<String> {
    let own = |part: &Part| match part {
        Part::Ingredient(part) => Some(part.ingredient.to_string()),
        Part::Paste(part) => Some(part.ingredient.to_string()),
        Part::Steep(part) => Some(part.ingredient.to_string()),
        Part::Brew(part) => Some(part.ingredient.to_string()),
        Part::Coffee(_) | Part::Milk(_) | Part::Water(_) | Part::Ice(_) => None,
    };
    drink.parts.iter().filter_map(own).collect()
}

/// What is in the cup of a build, as it is posted.
fn cup_of(bar: &Bar, drink: &Drink, build: &Value) -> Value {
    let mut cup = json!({
        "site": *bar.site.id,
        "lang": "en",
        "water_ml": build["water"]["ml"],
        "ice_g": build["ice"]["g"],
        "fill_ml": build["vessel"]["fill_ml"],
        "brim_ml": build["vessel"]["brim_ml"],
        "ingredients": ingredients(drink),
    });
    if let Some(coffee) = build["coffee"].as_object() {
        cup["halves"] = coffee["halves"].clone();
        cup["pull"] = coffee["pull"].clone();
        cup["coffee_g"] = coffee["in_cup_g"].clone();
    }
    if let Some(milk) = build["milk"].as_object() {
        cup["milk_ml"] = milk["cold_ml"].clone();
        cup["foam_depth_mm"] = milk["foam_depth_mm"].clone();
        if !milk["set_point_c"].is_null() {
            cup["set_point_c"] = milk["set_point_c"].clone();
        }
    }
    cup
}

/// Each cup of each drink that can be made at each site: the bar, the drink, and its build.
fn standard_builds() -> Vec<(&'static Bar, &'static Drink, Value)> {
    let mut all = Vec::new();
    for bar in DEMO.bars.values() {
        for drink in &bar.book.drinks {
            for (service, row) in &drink.cups {
                for (size, cup) in row {
                    let mut modifiers = vec![
                        json!({ "id": "service", "value": service.as_str() }),
                        json!({ "id": "size", "value": **size }),
                    ];
                    let own = bar.usual_capacity(*service, &cup.vessel);
                    modifiers.extend(own.map(|ml| json!({ "id": "capacity", "value": ml })));
                    let line = json!({ "drink": *drink.id, "modifiers": modifiers });
                    let answer = answer_to(&bar.site.id, &line);
                    if answer["verdict"] == "accept" {
                        all.push((&**bar, drink, answer["build"].clone()));
                    }
                }
            }
        }
    }
    all
}

#[test]
fn a_drink_as_it_comes_is_named_first_at_every_site() {
    let builds = standard_builds();
    assert!(builds.len() >= 300, "only {} builds were tried", builds.len());
    for (bar, drink, build) in builds {
        let cup = cup_of(bar, drink, &build);
        let found = near(&cup);
        let first: Vec<&Value> = found.iter().filter(|one| one["place"] == 1).collect();
        let own = first.iter().find(|one| one["drink"] == *drink.id);
        let own =
            own.unwrap_or_else(|| panic!("{} at {}: {cup}\n{:#}", drink.id, bar.site.id, found[0]));
        assert_eq!((&own["fits"], &own["as_it_comes"]), (&json!(true), &json!(true)), "{own}");
        assert_eq!((&own["missing"], &own["too_much"]), (&json!([]), &json!([])), "{own}");
        // Where two share the place, both are this very build.
        for one in &first {
            assert_eq!(one["as_it_comes"], true, "{} beside {}: {one}", one["drink"], drink.id);
        }
    }
}

#[test]
fn two_names_of_one_build_share_the_first_place() {
    let mut book = demo_book();
    let drinks = book["drinks"].as_array_mut().unwrap();
    let own = drinks.iter().find(|one| one["id"] == "flat-white").unwrap();
    let mut twin = own.clone();
    twin["id"] = json!("twin");
    twin["names"] = json!({ "en": "Twin", "de": "Zwilling" });
    for field in ["aliases", "short_names"] {
        twin.as_object_mut().unwrap().shift_remove(field);
    }
    drinks.push(twin);
    let held = load(&book, &[]).unwrap_or_else(|faulty| panic!("{}", faulty[0]));
    let site = held.book().training_bar.id.to_string();
    let cup = json!({ "site": site, "halves": 2, "milk_ml": 104, "foam_depth_mm": 5 });
    let ticket = read_cup(cup.to_string().as_bytes()).unwrap();
    let answer: Value =
        serde_json::from_slice(&drinks_near(&held, &ticket, None).unwrap()).unwrap();
    let named = |at: usize| {
        let one = &answer["drinks"][at];
        (one["drink"].as_str().unwrap(), one["place"].as_u64().unwrap())
    };
    assert_eq!([named(0), named(1)], [("flat-white", 1), ("twin", 1)]);
    assert_eq!(named(2).1, 3, "places count on");
}

/// Which drink a foam depth makes of the same milk: common practice, no source; bounds and amounts
/// are the demo's own.
#[test]
fn foam_and_milk_tell_milk_drinks_apart() {
    let builds = standard_builds();
    let build = |id: &str| {
        let own = |(bar, drink, _): &&(&Bar, &Drink, Value)| {
            *bar.site.id == *"bookshop" && *drink.id == *id
        };
        let (bar, drink, build) = builds.iter().find(own).unwrap();
        cup_of(bar, drink, build)
    };
    let first = |cup: &Value| near(cup)[0]["drink"].as_str().unwrap().to_owned();
    let mut cup = build("flat-white");
    assert_eq!(first(&cup), "flat-white");
    cup["foam_depth_mm"] = json!(3);
    assert_eq!(first(&cup), "flat-white", "a little less foam is within it");
    // Much foam is no flat white any more, however little else is different.
    cup["foam_depth_mm"] = json!(24);
    assert!(near(&cup).iter().all(|one| one["drink"] != "flat-white" || one["fits"] == false));
    let mut mocha = build("mocha");
    mocha["ingredients"] = json!([]);
    let found = near(&mocha);
    assert_ne!(found[0]["drink"], "mocha", "without chocolate it is none");
    for one in found.iter().filter(|one| one["drink"] == "mocha") {
        let missing = one["missing"].as_array().unwrap();
        assert!(missing.iter().any(|part| part["of_identity"] == true), "{one}");
        assert_eq!(one["fits"], false);
    }
    let mut dusted = build("cappuccino");
    dusted["ingredients"] = json!([]);
    let found = &near(&dusted)[0];
    assert_eq!((&found["drink"], &found["fits"]), (&json!("cappuccino"), &json!(true)));
    assert_eq!(found["as_it_comes"], false, "its cocoa is left off: {found}");
    assert_eq!(found["missing"][0]["of_identity"], false);
}

#[test]
fn distances_are_the_arithmetic_that_is_written_down() {
    let of = |given: i64, standard: i64, bounds: Option<(i64, i64)>| {
        let one = Compared { measure: Measure::FoamDepth, given, standard, bounds };
        (one.outside(), one.from_standard())
    };
    let foam = Some((0, 9_000));
    assert_eq!(of(5_000, 5_000, foam), (0, 0));
    assert_eq!(of(9_000, 5_000, foam), (0, 444), "the end is within");
    assert_eq!(of(12_000, 5_000, foam), (333, 583), "3 mm over a range of 9 mm");
    assert_eq!(of(27_000, 5_000, foam), (2_000, 815));
    assert_eq!(of(2_500, 0, Some((2_000, 2_000))), (500, 1_000), "one unit for a width of none");
    assert_eq!(of(7_000, 0, None), (0, 1_000));
    assert_eq!(of(0, 0, None), (0, 0));
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn farther_outside_is_never_nearer(
        min in 0_i64..100_000, width in 0_i64..100_000, by in 0_i64..50_000, more in 1_i64..50_000,
    ) {
        let of = |given: i64| Compared {
            measure: Measure::Fill, given, standard: min, bounds: Some((min, min + width)),
        };
        prop_assert!(of(min + width + by).outside() <= of(min + width + by + more).outside());
        prop_assert!(of(min - by).outside() <= of(min - by - more).outside());
        let inside = of(min + by.min(width));
        prop_assert_eq!(inside.outside(), 0);
    }

    #[test]
    fn any_cup_has_at_most_five_drinks_in_the_order_of_their_distances(
        halves in 0_u8..5, milk in 0_i32..300, foam in 0_i32..40, water in 0_i32..200,
        ice in 0_i32..150, fill in 20_i32..420,
        mut named in prop::sample::subsequence(vec!["cocoa-powder", "caramel-syrup", "matcha"], 0..3),
    ) {
        let known: Vec<&str> = DEMO.book().ingredients.iter().map(|one| &*one.id).collect();
        named.retain(|id| known.contains(id));
        let cup = |named: &[&str]| json!({
            "site": "bookshop", "halves": halves, "milk_ml": milk + 1, "foam_depth_mm": foam,
            "water_ml": water, "ice_g": ice, "fill_ml": fill, "ingredients": named,
        });
        let found = near(&cup(&named));
        prop_assert!(!found.is_empty() && found.len() <= MOST);
        let key = |one: &Value| {
            let number = |name: &str| one[name].as_f64().unwrap();
            (number("distance"), number("from_standard"))
        };
        for pair in found.windows(2) {
            prop_assert!(key(&pair[0]) <= key(&pair[1]));
            let shares = key(&pair[0]) == key(&pair[1]);
            prop_assert_eq!(pair[0]["place"] == pair[1]["place"], shares);
        }
        for one in &found {
            prop_assert_eq!(one["fits"] == true, key(one).0 == 0.0);
        }
        // Neither the order of what is named nor naming it twice changes anything.
        let twice: Vec<&str> = named.iter().rev().chain(&named).copied().collect();
        prop_assert_eq!(near(&cup(&twice)), found);
    }
}

#[test]
fn standard_cups_are_kept_for_one_edition_alone() {
    let mut book = demo_book();
    let drinks = book["drinks"].as_array_mut().unwrap();
    let latte = drinks.iter_mut().find(|one| one["id"] == "latte").unwrap();
    latte["cups"]["here"]["regular"]["halves"] = json!(3);
    book["examples"] = json!([]);
    let held = load(&book, &[]).unwrap_or_else(|faulty| panic!("{}", faulty[0]));
    let site = held.book().training_bar.id.to_string();
    let cup = json!({ "site": site, "halves": 3, "milk_ml": 150, "foam_depth_mm": 10 });
    let ticket = read_cup(cup.to_string().as_bytes()).unwrap();
    let kept = StandardCups::default();
    let of = |held: &InForce, kept| drinks_near(held, &ticket, kept).unwrap();
    let (plain, changed) = (of(&DEMO, None), of(&held, None));
    assert_ne!(plain, changed);
    for _ in 0..2 {
        assert_eq!(of(&DEMO, Some((&kept, 1))), plain);
    }
    assert_eq!(of(&held, Some((&kept, 2))), changed, "another edition has its own");
}

#[test]
fn what_cannot_be_a_cup_is_told_with_its_place() {
    let pointers = |cup: &Value| -> Vec<String> {
        let problem = match read_cup(cup.to_string().as_bytes()) {
            Err(problem) => problem,
            Ok(ticket) => drinks_near(&DEMO, &ticket, None).expect_err("no answer"),
        };
        assert_eq!((problem.kind, problem.status), ("/problems/invalid-body", 422));
        problem.errors.into_iter().map(|fault| fault.pointer).collect()
    };
    for (cup, at) in [
        (json!({ "site": "bookshop" }), vec![""]),
        (json!({ "site": "bookshop", "halves": 0, "fill_ml": 100 }), vec![""]),
        (json!({ "site": "bookshop", "halves": 13 }), vec!["/halves"]),
        (json!({ "site": "bookshop", "milk_ml": -1 }), vec!["/milk_ml"]),
        (json!({ "site": "bookshop", "milk": 100 }), vec!["/milk"]),
        (
            json!({ "site": "bookshop", "halves": 2, "pull": "moon", "ingredients": ["moon"] }),
            vec!["/pull", "/ingredients/0"],
        ),
        (json!({ "site": "bookshop", "halves": 2, "lang": "xx" }), vec!["/lang"]),
    ] {
        assert_eq!(pointers(&cup), at, "{cup}");
    }
    let moon = read_cup(json!({ "site": "moon", "halves": 2 }).to_string().as_bytes()).unwrap();
    assert_eq!(drinks_near(&DEMO, &moon, None).unwrap_err().kind, "/problems/unknown-site");
}

#[test]
fn the_program_says_the_same_as_the_library() {
    let cup = json!({ "site": "bookshop", "lang": "en", "halves": 2, "milk_ml": 100,
        "foam_depth_mm": 5, "fill_ml": 160 });
    let output = run(&["identify", "--json"], &cup.to_string());
    assert!(output.status.success());
    let said: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(said, posted(&cup));
    let text = String::from_utf8(run(&["identify"], &cup.to_string()).stdout).unwrap();
    assert!(text.starts_with("1. "), "{text}");
}
