//! What a sales mix takes, held to the builds of its lines and to sums worked by hand.

use std::collections::BTreeMap;

use cupwright::{
    answering::{needs_of, read_needs},
    book::Bar,
    engine::{Line, Moment, build_line},
    in_force::InForce,
    needs::{Needs, Sale, needs},
    units::{Mass, Volume},
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    changed::{Row, assert_complaints, change, demo_book, demo_site, load, row},
    lines::DEMO,
    posted::{posted, sent},
    support::chance::cases,
};

const NOW: &str = "2026-12-10T11:00:00+01:00";

fn answer_of(held: &InForce, mix: &Value) -> Value {
    let mix = read_needs(mix.to_string().as_bytes()).unwrap_or_else(|fault| panic!("{fault:?}"));
    serde_json::from_slice(&needs_of(held, mix, &sent(NOW)).expect("an answer")).unwrap()
}

fn answer(mix: &Value) -> Value {
    answer_of(&DEMO, mix)
}

fn list<'v>(value: &'v Value, name: &str) -> &'v [Value] {
    value[name].as_array().map(Vec::as_slice).unwrap_or_default()
}

fn found<'v>(value: &'v Value, name: &str, field: &str, id: &str) -> &'v Value {
    let found = list(value, name).iter().find(|one| one[field] == id);
    found.unwrap_or_else(|| panic!("no {id} in {name}: {value:#}"))
}

#[track_caller]
fn near(found: &Value, wanted: f64) {
    let found = found.as_f64().expect("a number");
    assert!((found - wanted).abs() < 0.002, "found {found}, wanted {wanted}");
}

/// One cup of each drink that the bar makes as it stands, by drink.
fn sales(bar: &Bar, counts: impl Fn(usize) -> u32) -> Vec<Sale> {
    let lines = bar.book.drinks.iter().map(|drink| Line {
        drink: drink.id.to_string(),
        quantity: 1,
        ..Line::default()
    });
    let made = lines.filter(|line| build_line(bar, line, &Moment::default()).is_ok());
    made.enumerate().map(|(at, line)| Sale { line, count: counts(at), per_day: None }).collect()
}

/// Amounts that add up over lines: those of ingredients but coffee beyond its doses, of milk and cups.
fn sums(needs: &Needs<'_>) -> BTreeMap<String, i64> {
    let mut all = BTreeMap::new();
    for one in &needs.ingredients {
        let id = &one.ingredient.id;
        all.insert(format!("{id} g"), one.in_cups.mg());
        all.insert(format!("{id} mL"), one.in_cups_ml.map_or(0, Volume::ul));
        if one.ingredient.kind.as_str() != "coffee" {
            all.insert(format!("{id} used"), one.used.mg());
        }
    }
    for one in &needs.milk {
        let id = &one.ingredient.id;
        all.insert(format!("{id} film"), one.film.mg());
        all.insert(format!("{id} over"), one.left_over.ul());
        all.insert(format!("{id} cold"), one.cold.ul());
    }
    for one in &needs.coffee {
        let id = format!("{} {} {}", one.bean.id, one.extraction, one.pull);
        all.insert(format!("{id} halves"), one.halves);
        all.insert(format!("{id} doubles alone"), one.alone.doubles);
        all.insert(format!("{id} singles alone"), one.alone.singles);
        all.insert(format!("{id} spare alone"), one.alone.spare_halves);
        all.insert(format!("{id} dry alone"), one.alone.dry.mg());
    }
    for one in &needs.vessels {
        let id = format!("{} {}", one.vessel.id, one.service.as_str());
        all.insert(format!("{id} cups"), one.cups);
        all.insert(format!("{id} lids"), one.lids);
    }
    all.insert("water".to_owned(), needs.water.ul());
    all.insert("ice".to_owned(), needs.ice.mg());
    all
}

fn plus(mut all: BTreeMap<String, i64>, more: &BTreeMap<String, i64>) -> BTreeMap<String, i64> {
    for (key, value) in more {
        *all.entry(key.clone()).or_default() += value;
    }
    all
}

proptest! {
    #![proptest_config(cases(12))]

    /// Needs of n of a line are n times those of one, and needs of a mix the sum of its lines'.
    #[test]
    fn a_mix_takes_the_sum_of_its_lines_and_a_line_its_count_times_one_cup(
        counts in proptest::collection::vec(1_u32..5_000, 90),
        site in prop::sample::select(vec!["bookshop", "ferry-kiosk", "hospital-foyer", "takeaway-window"]),
    ) {
        let bar = &DEMO.bars[site];
        let mix = sales(bar, |at| counts[at]);
        let moment = Moment::default();
        let mut apart = BTreeMap::new();
        for sale in &mix {
            let one = Sale { count: 1, ..sale.clone() };
            let cup = sums(&needs(bar, &[one], &moment, 1, None));
            let times: BTreeMap<String, i64> =
                cup.iter().map(|(key, value)| (key.clone(), value * i64::from(sale.count))).collect();
            prop_assert_eq!(&sums(&needs(bar, std::slice::from_ref(sale), &moment, 1, None)), &times);
            apart = plus(apart, &times);
        }
        let whole = needs(bar, &mix, &moment, 1, None);
        prop_assert_eq!(sums(&whole), apart);
        for class in &whole.coffee {
            // The fewest baskets: half as many as halves, rounded up.
            let paired = class.paired;
            prop_assert_eq!(paired.grinds(), (class.halves + 1) / 2);
            prop_assert_eq!(2 * paired.doubles + paired.singles - paired.spare_halves, class.halves);
            prop_assert!(paired.grinds() <= class.alone.grinds());
            prop_assert!(paired.spare_halves <= class.alone.spare_halves.min(1));
        }
    }
}

/// Every ingredient that a build hands out, by what the answer to a ticket says of it.
#[test]
fn a_cup_takes_what_its_build_says() {
    for site in ["bookshop", "ferry-kiosk"] {
        for sale in sales(&DEMO.bars[site], |_| 1) {
            let drink = &sale.line.drink;
            let line = json!({ "drink": drink });
            let build = posted(site, "en", NOW, &[line])[0]["build"].clone();
            if build.is_null() {
                continue;
            }
            let mix = json!({ "site": site, "lang": "en", "at": "2026-12-10T11:00:00+01:00",
                              "lines": [{ "line": "1", "drink": drink, "count": 1000 }] });
            let told = answer(&mix);
            let of = |id: &str, field: &str| {
                found(&told, "ingredients", "ingredient", id)[field].as_f64().unwrap() / 1_000.0
            };
            let close = |a: f64, b: f64, what: &str| {
                assert!((a - b).abs() <= 0.051, "{site} {drink} {what}: {a} and {b}");
            };
            if let Some(milk) = build["milk"].as_object() {
                let id = milk["ingredient"].as_str().unwrap();
                close(of(id, "in_cups_ml"), milk["cold_ml"].as_f64().unwrap(), "cold milk");
                let over = milk["left_over_ml"].as_f64().unwrap();
                close(of(id, "used_ml") - of(id, "in_cups_ml"), over, "milk left over");
            }
            let mut parts: BTreeMap<String, f64> = BTreeMap::new();
            for part in list(&build, "parts") {
                let id = part["ingredient"].as_str().unwrap();
                let brewed = build["coffee"]["draws"].as_array().is_some_and(|draws| {
                    let beans = &DEMO.bars[site].book.beans;
                    let is = |draw: &Value| {
                        beans.iter().any(|one| draw["bean"] == *one.id && one.ingredient == *id)
                    };
                    draws.iter().any(is)
                });
                if !brewed && build["milk"]["ingredient"] != id {
                    *parts.entry(id.to_owned()).or_default() += part["g"].as_f64().unwrap();
                }
            }
            for (id, grams) in &parts {
                let room = 0.051 * 4.0;
                let took = of(id, "in_cups_g");
                assert!((took - grams).abs() <= room, "{site} {drink} {id}: {took} and {grams}");
            }
            if build["coffee"].is_object() {
                let dose = build["coffee"]["dose_g"].as_f64().unwrap();
                let ground: f64 = list(&told, "coffee")
                    .iter()
                    .map(|one| one["in_cups_g"].as_f64().unwrap())
                    .sum();
                close(ground / 1_000.0, dose, "coffee");
                assert_eq!(
                    told["coffee"][0]["alone"]["doubles"].as_i64().unwrap(),
                    1_000 * build["coffee"]["draws"][0]["doubles"].as_i64().unwrap()
                );
            }
            let cups = found(&told, "vessels", "vessel", build["vessel"]["id"].as_str().unwrap());
            assert_eq!(cups["cups"], 1_000);
            let lid = list(&build, "steps").iter().any(|one| one["text"] == "Put the lid on.");
            assert_eq!(cups["lids"], if lid { 1_000 } else { 0 }, "{site} {drink}");
        }
    }
}

/// Worked by hand from the demo's book and the kiosk's sheet: three espressos of one half and two
/// double espressos are 3 + 4 = 7 halves. Paired that is 4 doubles (one half over), each cup by
/// itself 3 + 2 = 5 doubles (three halves over). The kiosk has no single basket.
#[test]
fn halves_pair_within_their_class_and_odd_ones_are_thrown_away() {
    let takeaway = json!([{ "id": "service", "value": "takeaway" }]);
    let told = answer(&json!({ "site": "ferry-kiosk", "lang": "en", "days": 2, "lines": [
        { "line": "1", "drink": "espresso", "modifiers": takeaway, "count": 3 },
        { "line": "2", "drink": "double-espresso", "modifiers": takeaway, "count": 2 },
        { "line": "3", "drink": "espresso", "count": 1, "modifiers":
            [{ "id": "service", "value": "takeaway" }, { "id": "beans", "value": "decaf" }] },
    ] }));
    let house = found(&told, "coffee", "bean", "house");
    assert_eq!(house["halves"], 7);
    let dose = DEMO.bars["ferry-kiosk"]
        .extraction(house["extraction"].as_str().unwrap())
        .and_then(|style| style.rows.iter().find(|row| row.bean == "house" && row.halves == 2))
        .map(|row| row.dose_g.g())
        .unwrap();
    let pulls = |doubles: i64, spare: i64| {
        let dry = Mass::from_g(dose).times(doubles);
        json!({ "doubles": doubles, "singles": 0, "spare_halves": spare, "dry_g": dry })
    };
    assert_eq!(house["paired"], pulls(4, 1));
    assert_eq!(house["alone"], pulls(5, 3));
    assert_eq!(found(&told, "coffee", "bean", "decaf")["halves"], 1, "decaf pairs with nothing");
    // The sheet: 60 g to dial in on each of 2 days at the one grinder, 2 g purged for each grind.
    let ground = found(&told, "beans", "bean", "house");
    near(&ground["dial_in_g"], 120.0);
    near(&ground["purge_paired_g"], 8.0);
    near(&ground["purge_alone_g"], 10.0);
    near(&ground["used_paired_g"], 4.0 * dose + 8.0 + 120.0);
    near(&ground["used_alone_g"], 5.0 * dose + 10.0 + 120.0);
    // What comes in measured doses is neither dialled in nor purged.
    let doses = found(&told, "beans", "bean", "decaf");
    near(&doses["dial_in_g"], 0.0);
    near(&doses["purge_alone_g"], 0.0);
    // 3 % of the roast never reaches a cup.
    let roast = found(&told, "ingredients", "ingredient", "house-beans");
    near(&roast["bought_g"], (4.0 * dose + 128.0) / 0.97);
}

/// The bookshop has a single basket, and the book a recipe for it: the last odd half comes from one.
#[test]
fn the_last_odd_half_comes_from_a_single_basket_where_there_is_one() {
    let told = answer(&json!({ "site": "bookshop", "lang": "en", "lines": [
        { "line": "1", "drink": "espresso", "count": 7 },
    ] }));
    let house = found(&told, "coffee", "bean", "house");
    let baskets = |of: &str| {
        let of = &house[of];
        [&of["doubles"], &of["singles"], &of["spare_halves"]].map(|n| n.as_i64().unwrap())
    };
    assert_eq!(house["halves"], 7);
    assert_eq!(baskets("paired"), [3, 1, 0]);
    assert_eq!(baskets("alone"), [0, 7, 0]);
}

#[test]
fn milk_is_counted_with_the_film_that_stays_in_each_jug() {
    let told = answer(&json!({ "site": "bookshop", "lang": "en", "lines": [
        { "line": "1", "drink": "latte", "count": 40 },
        { "line": "2", "drink": "cappuccino", "count": 10 },
    ] }));
    let milk = found(&told, "milk", "ingredient", "whole-milk");
    assert_eq!((&milk["cups"], &milk["steamed"]), (&json!(50), &json!(50)));
    // 5.5 g stay in each jug of the bookshop.
    near(&milk["film_g"], 275.0);
    let sum = milk["cold_ml"].as_f64().unwrap() + milk["left_over_ml"].as_f64().unwrap();
    near(&milk["poured_ml"], sum);
    let used = found(&told, "ingredients", "ingredient", "whole-milk");
    near(&used["used_ml"], sum);
    // 8 % of the milk is lost there: what is bought, less that, is what is used.
    near(&used["waste_share"], 0.08);
    near(&json!(used["bought_ml"].as_f64().unwrap() * 0.92), sum);
    let notes = list(&told, "notes");
    assert!(notes[0].as_str().unwrap().starts_with("Milk is counted as if each cup"));
}

/// Par = mean · L + z · σ · √L, σ² the sum over lines of (deviation · amount of a cup)². Source: the
/// base-stock level of inventory theory; common practice, no single source. Amounts are those of the
/// two builds; everything else is worked here by hand.
#[test]
fn par_levels_follow_the_formula_and_no_more_than_the_shelf_life_is_kept() {
    let mix = |days: f64| {
        answer(&json!({ "site": "hospital-foyer", "lang": "en",
            "forecast": { "lead_time_days": days, "service_factor": 2 },
            "lines": [
                { "line": "1", "drink": "latte", "count": 1,
                  "per_day": { "mean": 30, "standard_deviation": 6 } },
                { "line": "2", "drink": "cappuccino", "count": 1,
                  "per_day": { "mean": 20, "standard_deviation": 8 } },
            ] }))
    };
    let alone = |drink: &str| {
        let told = answer(&json!({ "site": "hospital-foyer", "lang": "en",
            "lines": [{ "line": "1", "drink": drink, "count": 1 }] }));
        found(&told, "ingredients", "ingredient", "whole-milk")["used_g"].as_f64().unwrap()
    };
    // 6 % of the milk is lost at the foyer.
    let (latte, cappuccino) = (alone("latte") / 0.94, alone("cappuccino") / 0.94);
    let mean = 30.0 * latte + 20.0 * cappuccino;
    let deviation =
        ((6.0 * latte) * (6.0 * latte) + (8.0 * cappuccino) * (8.0 * cappuccino)).sqrt();
    let told = mix(4.0);
    let par = &found(&told, "ingredients", "ingredient", "whole-milk")["par"];
    let close = |found: &Value, wanted: f64| {
        let found = found.as_f64().unwrap();
        assert!((found - wanted).abs() < 0.2, "found {found}, wanted {wanted}");
    };
    close(&par["mean_g_per_day"], mean);
    close(&par["standard_deviation_g_per_day"], deviation);
    close(&par["level_g"], 4.0 * mean + 2.0 * deviation * 2.0);
    assert_eq!(par["capped_by_shelf_life"], false);
    // It keeps for 6 days there: for a lead time of 9 no more than the mean of 6 is kept.
    let told = mix(9.0);
    let par = &found(&told, "ingredients", "ingredient", "whole-milk")["par"];
    assert_eq!(par["capped_by_shelf_life"], true);
    close(&par["level_g"], 6.0 * mean);
    // Coffee: doses of halves, half a purge of 1 g for each, and 120 g a day to dial in; 2 % lost.
    let dose = |drink: &str| {
        let told = answer(&json!({ "site": "hospital-foyer", "lang": "en",
            "lines": [{ "line": "1", "drink": drink, "count": 1 }] }));
        let class = &told["coffee"][0];
        class["in_cups_g"].as_f64().unwrap() + 0.5 * class["halves"].as_f64().unwrap()
    };
    let par = &found(&told, "ingredients", "ingredient", "house-beans")["par"];
    let wanted = (30.0 * dose("latte") + 20.0 * dose("cappuccino") + 120.0) / 0.98;
    close(&par["mean_g_per_day"], wanted);
    assert!(found(&told, "ingredients", "ingredient", "cocoa-dusting")["par"].is_object());
    assert_eq!(
        answer(
            &json!({ "site": "bookshop", "lines": [{ "line": "1", "drink": "latte", "count": 1 }] })
        )["ingredients"][0]["par"],
        Value::Null
    );
}

#[test]
fn a_line_that_is_refused_or_asked_about_is_told_and_left_out() {
    let one = json!({ "line": "1", "drink": "latte", "count": 12 });
    let alone = answer(&json!({ "site": "bookshop", "lang": "de", "lines": [one] }));
    let told = answer(&json!({ "site": "bookshop", "lang": "de", "lines": [
        one,
        { "line": "2", "drink": "cappuccino", "count": 5, "modifiers": [{ "id": "foam", "value": "none" }] },
        { "line": "3", "drink": "lattte", "count": 5 },
        { "line": "4", "drink": "long-black", "count": 5, "modifiers": [{ "id": "milk", "value": "oat-drink" }] },
        { "line": "5", "drink": "espresso-tonic", "count": 5 },
    ] }));
    let codes: Vec<&Value> = list(&told, "lines").iter().map(|line| &line["code"]).collect();
    assert_eq!(codes[0], &Value::Null);
    assert_eq!(codes[1..3], ["foam-outside-identity", "unknown-drink"]);
    assert_eq!(
        (&told["lines"][0]["counted"], &told["lines"][3]["counted"]),
        (&json!(true), &json!(false))
    );
    assert_eq!(codes[4], "out-of-season", "seasons are judged by the time given");
    assert_eq!(told["notes"][0], "Ausgelassene Zeilen, jede mit ihrem Grund: 4.");
    for field in ["cups", "coffee", "beans", "milk", "ingredients", "vessels", "water_ml"] {
        assert_eq!(told[field], alone[field], "{field}");
    }
}

#[test]
fn water_is_counted_with_what_ground_coffee_keeps_of_it() {
    let told = answer(&json!({ "site": "bookshop", "lang": "en",
        "lines": [{ "line": "1", "drink": "hand-pour", "count": 10 }] }));
    let water = found(&told, "ingredients", "ingredient", "water");
    let roast = found(&told, "ingredients", "ingredient", "filter-coffee");
    let keeps = DEMO.bars["bookshop"].ingredient("filter-coffee").unwrap().keeps_ml_g.unwrap();
    let kept = roast["used_g"].as_f64().unwrap() * keeps.ml_g();
    let more = water["used_ml"].as_f64().unwrap() - water["in_cups_ml"].as_f64().unwrap();
    assert!((more - kept).abs() < 0.1, "{more} and {kept}");
    assert_eq!(told["water_ml"], water["used_ml"]);
}

#[test]
fn a_site_without_a_record_of_usage_says_so() {
    let mut sheet = demo_site("ferry-kiosk");
    sheet.as_object_mut().unwrap().remove("usage").expect("the kiosk has one");
    let held = load(&demo_book(), &[sheet]).expect("it loads");
    let told = answer_of(
        &held,
        &json!({ "site": "ferry-kiosk", "lang": "en",
        "lines": [{ "line": "1", "drink": "flat-white", "count": 3 }] }),
    );
    let notes = list(&told, "notes");
    assert!(
        notes.iter().any(|note| note.as_str().unwrap().contains("no record `usage`")),
        "{notes:?}"
    );
    let roast = found(&told, "ingredients", "ingredient", "house-beans");
    assert_eq!((&roast["waste_share"], &roast["bought_g"]), (&Value::Null, &roast["used_g"]));
    near(&told["beans"][0]["dial_in_g"], 0.0);
}

#[test]
fn what_a_schema_cannot_say_of_a_mix_is_told_at_its_place() {
    let line = |id: &str| json!({ "line": id, "drink": "latte", "count": 1 });
    let told = |mix: Value| -> Vec<(String, String)> {
        let problem = read_needs(mix.to_string().as_bytes()).expect_err("it is wrong");
        assert_eq!((problem.status, problem.kind), (422, "/problems/invalid-body"));
        assert!(problem.errors.iter().all(|fault| fault.line.is_some()));
        problem.errors.into_iter().map(|fault| (fault.pointer, fault.detail)).collect()
    };
    let per_day = json!({ "mean": 1, "standard_deviation": 0.5 });
    let forecast = json!({ "lead_time_days": 2, "service_factor": 1.5 });
    let mut with_day = line("2");
    with_day["per_day"] = per_day;
    let mut both = line("1");
    both["modifiers"] = json!([{ "id": "milk", "value": "oat-drink", "count": 1 }]);
    let found =
        told(json!({ "site": "bookshop", "at": "noon", "lines": [line("1"), both, with_day] }));
    let pointers: Vec<&str> = found.iter().map(|(pointer, _)| &**pointer).collect();
    assert_eq!(pointers, ["/at", "/lines/1/line", "/lines/1/modifiers/0", "/lines/2/per_day"]);
    let found =
        told(json!({ "site": "bookshop", "forecast": forecast, "lines": [line("1"), with_day] }));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].0, "/lines/0");
    assert!(found[0].1.contains("`per_day` on each line"), "{found:?}");
}

#[test]
fn a_mix_is_held_to_its_bounds() {
    let mix = |count: Value, lines: usize, days: Value| {
        let all: Vec<Value> = (0..lines)
            .map(|n| json!({ "line": n.to_string(), "drink": "latte", "count": count }))
            .collect();
        json!({ "site": "bookshop", "days": days, "lines": all }).to_string()
    };
    let reads = |text: &str| read_needs(text.as_bytes()).is_ok();
    assert!(reads(&mix(json!(100_000), 500, json!(366))));
    assert!(!reads(&mix(json!(100_001), 1, json!(1))));
    assert!(!reads(&mix(json!(0), 1, json!(1))));
    assert!(!reads(&mix(json!(1.5), 1, json!(1))));
    assert!(!reads(&mix(json!(1), 501, json!(1))));
    assert!(!reads(&mix(json!(1), 0, json!(1))));
    assert!(!reads(&mix(json!(1), 1, json!(0))));
    assert!(!reads(&mix(json!(1), 1, json!(367))));
    let listed = r#"{"site": "bookshop", "lines": [["1", "latte", 1]]}"#;
    assert!(!reads(listed), "a list is no object");
}

#[test]
fn the_largest_mix_of_all_is_summed_to_the_last_cup() {
    let line = |n: usize| {
        json!({ "line": n.to_string(), "drink": "latte", "count": 100_000,
                "per_day": { "mean": 10_000, "standard_deviation": 10_000 } })
    };
    let lines: Vec<Value> = (0..500).map(line).collect();
    let told = answer(&json!({ "site": "bookshop", "days": 366, "lines": lines,
        "forecast": { "lead_time_days": 1_000, "service_factor": 10 } }));
    assert_eq!(told["cups"], 50_000_000);
    let one = answer(&json!({ "site": "bookshop", "lines": [
        { "line": "1", "drink": "latte", "count": 1 }] }));
    let cold = |told: &Value| told["milk"][0]["cold_ml"].as_f64().unwrap();
    assert!((cold(&told) - 50_000_000.0 * cold(&one)).abs() < 0.001);
    let milk = found(&told, "ingredients", "ingredient", "whole-milk");
    assert_eq!(milk["par"]["capped_by_shelf_life"], true);
}

/// Breaks the kiosk's sheet as `rows` say and holds its complaints to them.
#[track_caller]
fn broken(rows: &[Row]) {
    let book = demo_book();
    let mut sheet = demo_site("ferry-kiosk");
    change(&mut sheet, rows);
    let faulty = load(&book, std::slice::from_ref(&sheet)).expect_err("it is wrong");
    assert_eq!(faulty.len(), 1);
    assert_complaints(&sheet, &faulty[0].all, rows);
}

#[test]
fn a_record_of_usage_names_ingredients_of_the_book_and_shares_under_one() {
    broken(&[
        row(
            "/usage/waste",
            json!({ "oat-drnk": 0.1 }),
            "`oat-drnk`, which the book does not have",
            "such as `oat-drink`",
        )
        .at("/usage/waste/oat-drnk"),
        row("/usage/shelf_life_days", json!({ "oat-drink": 0 }), "0 days", "more than none")
            .at("/usage/shelf_life_days/oat-drink"),
    ]);
    broken(&[row("/usage/waste/oat-drink", json!(1), "1 of the whole", "under 1")]);
}
