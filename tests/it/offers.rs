//! Laws about bounds and ways out, held for every drink of the demo at every site.

use cupwright::book::{Bar, CounterModifier, Modifier};
use serde_json::{Value, json};

use crate::lines::{DEMO, answer_to, ways};

fn line(drink: &str, modifiers: &[Value]) -> Value {
    json!({ "line": "7", "drink": drink, "modifiers": modifiers })
}

fn is_made(site: &str, drink: &str, modifiers: &[Value]) -> bool {
    answer_to(site, &line(drink, modifiers))["verdict"] == "accept"
}

/// Every site with every drink that it can make as the book has it.
fn made() -> Vec<(&'static str, &'static Bar, &'static str)> {
    let bars = DEMO.bars.iter();
    let all = bars.flat_map(|(site, bar)| {
        bar.book.drinks.iter().map(move |drink| (&**site, &**bar, &*drink.id))
    });
    let made: Vec<_> = all.filter(|(site, _, drink)| is_made(site, drink, &[])).collect();
    assert!(made.len() >= 60, "only {} drinks of all sites are made", made.len());
    made
}

/// The first refusal of an answer; fails if it is not one.
#[track_caller]
fn refusal(answer: &Value) -> &Value {
    assert_eq!(answer["verdict"], "refuse", "{answer:#}");
    &answer["refusals"][0]
}

/// Fails unless each way out is accepted when posted, as the line that it is.
#[track_caller]
fn each_way_out_is_made(site: &str, answer: &Value) {
    let offers =
        if answer["verdict"] == "ask" { &answer["choices"] } else { &answer["alternatives"] };
    for offer in offers.as_array().unwrap() {
        let again = answer_to(site, &offer["line"]);
        assert_eq!(again["verdict"], "accept", "{site}: {:#}", offer["line"]);
        assert_eq!(again["canonical"], offer["line"], "{site}");
    }
}

/// L19: where the drink itself can be made, one wish that cannot be met is never the end of it.
#[test]
fn one_modifier_too_many_always_leaves_a_way_out() {
    let mut stuck = Vec::new();
    for (site, bar, drink) in made() {
        for way in ways(bar) {
            let answer = answer_to(site, &line(drink, std::slice::from_ref(&way)));
            if answer["verdict"] == "accept" {
                continue;
            }
            if !answer["none_because"].is_null() {
                let code = answer["refusals"][0]["code"].clone();
                stuck.push(format!("{site}: {drink} with {way}: {code}"));
            }
            each_way_out_is_made(site, &answer);
        }
    }
    assert!(stuck.is_empty(), "no way out of:\n{}", stuck.join("\n"));
}

/// L19: three faults and a cup: more than the search for ways out looks at together.
#[test]
fn a_line_that_is_wrong_throughout_still_leaves_the_drink_itself() {
    let modifiers = [
        json!({ "id": "temperature", "value": 30 }),
        json!({ "id": "hazelnut", "count": -1 }),
        json!({ "id": "dirty", "count": -1 }),
        json!({ "id": "service", "value": "takeaway" }),
    ];
    let answer = answer_to("bookshop", &line("americano", &modifiers));
    assert_eq!(answer["refusals"].as_array().unwrap().len(), 3);
    let first = &answer["alternatives"][0]["line"];
    assert_eq!(first["drink"], "americano", "{answer:#}");
    assert_eq!(first["modifiers"], json!([modifiers[3]]), "the cup that was asked for stays");
    each_way_out_is_made("bookshop", &answer);
}

/// A pull that a bean has no recipe for is about both, so both are named.
#[test]
fn a_pull_without_a_recipe_names_bean_and_pull() {
    let modifiers =
        [json!({ "id": "beans", "value": "guest" }), json!({ "id": "pull", "value": "ristretto" })];
    let answer = answer_to("takeaway-window", &line("americano", &modifiers));
    let refusal = refusal(&answer);
    assert_eq!(refusal["code"], "no-such-pull");
    let mut named: Vec<&str> =
        refusal["modifiers"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    named.sort_unstable();
    assert_eq!(named, ["beans", "pull"], "{refusal:#}");
    each_way_out_is_made("takeaway-window", &answer);
}

fn counters(bar: &Bar) -> impl Iterator<Item = &CounterModifier> {
    bar.book.modifiers.iter().filter_map(|one| match one {
        Modifier::Counter(counter) => Some(counter),
        Modifier::Slot(_) | Modifier::Flag(_) => None,
    })
}

/// L20: the refusal measures the count, says the bounds, and offers the nearest count that is legal.
#[test]
fn a_count_out_of_bounds_is_refused_with_the_nearest_that_is_legal() {
    let mut offered = 0;
    for (site, bar, drink) in made() {
        for counter in counters(bar) {
            for n in [-99, counter.min - 1, counter.max + 1, 99] {
                let answer =
                    answer_to(site, &line(drink, &[json!({ "id": counter.id, "count": n })]));
                let refusal = refusal(&answer);
                assert_eq!(refusal["code"], "count-out-of-range", "{site}: {drink}: {refusal:#}");
                assert_eq!(refusal["slot"], *counter.id);
                assert_eq!(refusal["pointer"], "/lines/0/modifiers/0");
                assert_eq!(refusal["measured"]["count"], n);
                assert_eq!(refusal["allowed"], json!({ "min": counter.min, "max": counter.max }));
                let nearest = n.clamp(counter.min, counter.max);
                let legal = [json!({ "id": counter.id, "count": nearest })];
                if nearest != 0 && is_made(site, drink, &legal) {
                    let first = &answer["alternatives"][0]["line"];
                    assert_eq!(first["drink"], drink);
                    assert_eq!(first["modifiers"], Value::from(legal.to_vec()), "{site}");
                    offered += 1;
                }
            }
        }
    }
    assert!(offered > 100, "the nearest count was offered {offered} times only");
}

/// L20, for every tenth degree that might be asked: made exactly so hot, or refused with what is legal.
#[test]
fn a_set_point_is_taken_exactly_or_refused_with_its_bounds() {
    let mut seen = std::collections::BTreeMap::new();
    for (site, _, drink) in made().into_iter().filter(|(site, ..)| *site != "training-bar") {
        for c in (300..=900).step_by(15).map(|tenths: i32| f64::from(tenths) / 10.0) {
            let answer =
                answer_to(site, &line(drink, &[json!({ "id": "temperature", "value": c })]));
            if answer["verdict"] == "accept" {
                let set_point = answer["build"]["milk"]["set_point_c"].as_f64().unwrap();
                assert!((set_point - c).abs() < 1e-9, "{site}: {drink} at {set_point}, not {c} °C");
                *seen.entry("accept".to_owned()).or_insert(0) += 1;
                continue;
            }
            let refusal = refusal(&answer);
            let code = refusal["code"].as_str().unwrap();
            *seen.entry(code.to_owned()).or_insert(0) += 1;
            assert!(!answer["alternatives"].as_array().unwrap().is_empty(), "{answer:#}");
            each_way_out_is_made(site, &answer);
            if code == "not-applicable" {
                continue;
            }
            let measured = refusal["measured"]["set_point_c"].as_f64().unwrap();
            assert!((measured - c).abs() < 1e-9, "{refusal:#}");
            let bound = |name: &str, none: f64| refusal["allowed"][name].as_f64().unwrap_or(none);
            let (min, max) = (bound("min", f64::NEG_INFINITY), bound("max", f64::INFINITY));
            assert!(c < min || c > max, "{c} °C is within {min} to {max}: {refusal:#}");
        }
    }
    let codes: Vec<&str> = seen.keys().map(String::as_str).collect();
    let all = [
        "accept",
        "above-milk-cap",
        "not-applicable",
        "set-point-outside-identity",
        "value-out-of-range",
    ];
    assert_eq!(codes.iter().filter(|code| all.contains(code)).count(), all.len(), "{seen:?}");
}

/// L20: above a milk's own limit the way out is one of that milk's set-points, or none at all.
#[test]
fn above_the_limit_of_a_milk_its_own_set_points_are_offered() {
    for (milk, cap, hottest) in
        [("whole-milk", 69.0, 67.0), ("oat-drink", 65.0, 63.0), ("almond-drink", 62.0, 60.0)]
    {
        let modifiers = [
            json!({ "id": "milk", "value": milk }),
            json!({ "id": "temperature", "value": cap + 0.1 }),
        ];
        let answer = answer_to("training-bar", &line("latte", &modifiers));
        assert_eq!(refusal(&answer)["code"], "above-milk-cap", "{answer:#}");
        assert_eq!(refusal(&answer)["allowed"]["max"].as_f64(), Some(cap));
        let first = answer_to("training-bar", &answer["alternatives"][0]["line"]);
        assert_eq!(first["build"]["milk"]["set_point_c"].as_f64(), Some(hottest), "{first:#}");
        assert_eq!(first["build"]["milk"]["ingredient"], milk);
    }
}

/// L20: so much coffee needs a word from the customer; the choices are to confirm it or to leave it.
#[test]
fn more_coffee_than_usual_is_asked_about_and_far_too_much_is_refused() {
    let with = |count: i32| {
        answer_to("bookshop", &line("latte", &[json!({ "id": "shots", "count": count })]))
    };
    assert_eq!(with(3)["verdict"], "accept");
    let ask = with(4);
    assert_eq!(
        (&ask["verdict"], &ask["code"]),
        (&"ask".into(), &"confirm-needed".into()),
        "{ask:#}"
    );
    let choices = ask["choices"].as_array().unwrap();
    assert!(choices.iter().any(|one| one["line"]["confirmed"] == json!(["shots"])), "{ask:#}");
    each_way_out_is_made("bookshop", &ask);
    assert_eq!(refusal(&with(5))["code"], "count-out-of-range");
    assert_eq!(refusal(&with(-1))["code"], "no-coffee-left");
    each_way_out_is_made("bookshop", &with(-1));
}

/// L16 for every drink, way of serving and site: larger, fuller, and no less coffee.
#[test]
fn sizes_rise_with_their_cups() {
    let mut pairs = 0;
    for (site, bar, drink) in made() {
        for service in &bar.book.services {
            let sized = bar.book.sizes.iter().filter_map(|size| {
                let modifiers = [
                    json!({ "id": "service", "value": service.id.as_str() }),
                    json!({ "id": "size", "value": size.id }),
                ];
                let answer = answer_to(site, &line(drink, &modifiers));
                (answer["verdict"] == "accept").then(|| answer["build"].clone())
            });
            let sized: Vec<Value> = sized.collect();
            for pair in sized.windows(2) {
                let [small, large] = [&pair[0], &pair[1]].map(|build| {
                    ["/vessel/brim_ml", "/vessel/fill_ml", "/coffee/halves"]
                        .map(|at| build.pointer(at).and_then(Value::as_f64).unwrap_or(0.0))
                });
                assert!(
                    small[0] < large[0],
                    "{site}: {drink}: brims {} and {}",
                    small[0],
                    large[0]
                );
                assert!(
                    small[1] < large[1],
                    "{site}: {drink}: fills {} and {}",
                    small[1],
                    large[1]
                );
                assert!(
                    small[2] <= large[2],
                    "{site}: {drink}: halves {} and {}",
                    small[2],
                    large[2]
                );
                pairs += 1;
            }
        }
    }
    assert!(pairs >= 30, "only {pairs} pairs of sizes");
}
