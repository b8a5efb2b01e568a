//! What a site cannot make, and the one purchase that would enable most, held to trying everything.

use std::{
    collections::BTreeSet,
    sync::{Arc, LazyLock},
};

use cupwright::{
    answering::fit,
    book::{Bar, Site, SiteDocument},
    demo,
    fit::{Purchase, Thing, gains, survey, whole},
    in_force::InForce,
    json::Digest,
};
use serde_json::{Value, json};

use crate::{
    changed::{demo_book, demo_site, load},
    lines::DEMO,
    posted::{posted, sent},
};

const WINTER: &str = "2026-12-10T11:00:00+01:00";

fn answer(held: &InForce, site: &str, lang: &str) -> Value {
    let bytes = fit(held, &held.bars[site], Some(lang), &sent(WINTER)).expect("an answer");
    serde_json::from_slice(&bytes).unwrap()
}

fn list<'v>(value: &'v Value, name: &str) -> &'v [Value] {
    value[name].as_array().map(Vec::as_slice).unwrap_or_default()
}

/// The bar of the same sheet with one thing more, compiled from the documents and nothing shared.
fn compiled(bar: &Bar, purchase: &Purchase<'_>) -> Bar {
    let source = demo::sites()
        .into_iter()
        .find(|source| serde_json::from_str::<Value>(&source.text).unwrap()["id"] == *bar.site.id);
    let source = source.expect("a sheet of the demo");
    let sheet = SiteDocument {
        name: source.name,
        digest: Digest::of(&json!("a sheet with one thing more")),
        site: Arc::new(purchase.added_to(&bar.site)),
        text: source.text.into(),
        root: "",
    };
    Bar::compile(&DEMO.document, &sheet, None, None).expect("it compiles")
}

/// What a purchase enables, by surveying the whole bar again.
fn enabled<'b>(bar: &'b Bar, before: &BTreeSet<Thing<'b>>, purchase: &Purchase<'_>) -> Vec<String> {
    let there = compiled(bar, purchase);
    let after = survey(&there, &there);
    let more = after.made.iter().filter(|thing| !before.contains(thing));
    let all: BTreeSet<String> = more.map(|thing| format!("{thing:?}")).collect();
    all.into_iter().collect()
}

/// Every purchase that there is, tried on everything, at a site where most is missing.
fn purchases_enable_just_what_they_are_said_to(site: &str, step: usize) {
    let bar = &DEMO.bars[site];
    let found = survey(bar, &whole(bar));
    let before: BTreeSet<Thing<'_>> = found.made.iter().copied().collect();
    let told = gains(bar, &found);
    let mut tried = 0;
    for (at, purchase) in Purchase::all(bar).iter().enumerate() {
        let name = format!("{purchase:?}");
        let gain = told.iter().find(|gain| format!("{:?}", gain.purchase) == name);
        // Where nothing is said to be enabled, only some are tried.
        if gain.is_none() && at % step != 0 {
            continue;
        }
        let mut said: Vec<String> =
            gain.iter().flat_map(|gain| &gain.enables).map(|thing| format!("{thing:?}")).collect();
        said.sort();
        assert_eq!(said, enabled(bar, &before, purchase), "{site}: {name}");
        tried += 1;
    }
    assert!(tried >= 10, "{site}: only {tried} purchases were tried");
}

#[test]
fn each_purchase_at_the_kiosk_enables_just_what_a_bar_compiled_with_it_makes_more() {
    purchases_enable_just_what_they_are_said_to("ferry-kiosk", 1);
}

#[test]
fn each_purchase_at_the_window_enables_just_what_a_bar_compiled_with_it_makes_more() {
    purchases_enable_just_what_they_are_said_to("takeaway-window", 4);
}

#[test]
fn every_cup_is_made_or_not_as_a_ticket_says() {
    let bar = &DEMO.bars["ferry-kiosk"];
    let found = survey(bar, &whole(bar));
    let line = |thing: &Thing<'_>| {
        let Thing::Cup { drink, service, size } = thing else { return None };
        let vessel = &bar.drink(drink).unwrap().cups[service][*size].vessel;
        let mut modifiers = vec![
            json!({ "id": "service", "value": service }),
            json!({ "id": "size", "value": size }),
        ];
        if service.as_str() == "own" {
            let brim = bar.vessel_of_book(vessel).unwrap().brim_ml;
            modifiers.push(json!({ "id": "capacity", "value": brim }));
        }
        Some(json!({ "drink": drink, "modifiers": modifiers }))
    };
    // A day on which everything is in season.
    let summer = "2026-07-10T11:00:00+02:00";
    let made: Vec<Value> = found.made.iter().filter_map(line).collect();
    let unmade: Vec<Value> = found.unmade.iter().filter_map(|one| line(&one.thing)).collect();
    assert!(made.len() > 30 && unmade.len() > 100);
    let in_season = |answer: &&Value| answer["refusals"][0]["code"] != "out-of-season";
    for answer in posted("ferry-kiosk", "en", summer, &made).iter().filter(in_season) {
        assert_eq!(answer["verdict"], "accept", "{answer}");
    }
    for answer in &posted("ferry-kiosk", "en", summer, &unmade) {
        assert_eq!(answer["verdict"], "refuse", "{answer}");
    }
}

#[test]
fn reasons_are_the_refusals_own_by_what_is_missing() {
    let told = answer(&DEMO, "ferry-kiosk", "en");
    let missing = |id: &str| {
        let found = list(&told, "refusals").iter().find(|one| one["missing"] == id);
        found.unwrap_or_else(|| panic!("nothing is refused for want of {id}"))
    };
    let glass = missing("glass-260");
    assert_eq!(glass["code"], "no-such-cup-here");
    assert_eq!(glass["texts"][0], "Latte needs the Latte glass, which this site does not have.");
    let latte = json!({"drink": "latte", "name": "Latte", "service": "here", "size": "regular"});
    assert!(list(glass, "cups").contains(&latte));
    assert_eq!(missing("guest")["code"], "no-grinder");
    let soya = missing("soy-drink");
    assert_eq!(soya["texts"], json!(["This site does not stock Soya drink."]));
    assert!(list(soya, "values").iter().any(|one| one["value"] == "soy-drink"));
    let counts = &told["counts"];
    let n = |field: &str| counts[field].as_u64().unwrap();
    let whole = answer(&DEMO, "training-bar", "en");
    assert_eq!(n("cups_made") + n("cups_not_made"), whole["counts"]["cups_made"]);
    assert_eq!(whole["purchases"], json!([]), "nothing is missing there");
}

#[test]
fn purchases_are_the_best_five_and_equals_stand_as_in_the_book() {
    let bar = &DEMO.bars["takeaway-window"];
    let place = |kind: &str, id: &Value| {
        let book = &bar.book;
        let is = |one: &str| id == one;
        match kind {
            "vessel" => book.vessels.iter().position(|one| is(&one.id)).map(|at| (0, at)),
            "jug" => book.jugs.iter().position(|one| is(&one.id)).map(|at| (1, at)),
            "bean" => book.beans.iter().position(|one| is(&one.id)).map(|at| (2, at)),
            "ingredient" => book.ingredients.iter().position(|one| is(&one.id)).map(|at| (3, at)),
            _ => Some((4, 0)),
        }
    };
    let told = answer(&DEMO, "takeaway-window", "en");
    let ranks: Vec<_> = list(&told, "purchases")
        .iter()
        .map(|one| {
            let count = one["count"].as_u64().unwrap();
            let things = list(one, "cups").len() + list(one, "values").len();
            assert_eq!(usize::try_from(count).unwrap(), things);
            (std::cmp::Reverse(count), place(one["kind"].as_str().unwrap(), &one["id"]).unwrap())
        })
        .collect();
    assert_eq!(ranks.len(), 5);
    assert!(ranks.is_sorted(), "{ranks:?}");
}

/// The kiosk with something taken away.
fn without(change: impl Fn(&mut Value)) -> InForce {
    let mut sheet = demo_site("ferry-kiosk");
    change(&mut sheet);
    load(&demo_book(), &[sheet]).expect("it loads")
}

#[test]
fn without_a_wand_or_jugs_those_are_what_to_buy_first() {
    let no_wand = without(|sheet| sheet["wands"] = json!([]));
    let best = &answer(&no_wand, "ferry-kiosk", "de")["purchases"][0];
    assert_eq!((&best["kind"], &best["id"]), (&json!("wand"), &Value::Null));
    assert_eq!(best["text"], "Eine weitere Dampflanze, für jede Milch");
    assert!(best["count"].as_u64() > Some(15), "{best}");
    let no_jug = without(|sheet| sheet["jugs"] = json!([]));
    let told = answer(&no_jug, "ferry-kiosk", "en");
    assert_eq!(told["purchases"][0]["kind"], "jug");
    let reason = list(&told, "refusals").iter().find(|one| one["code"] == "no-jug").unwrap();
    assert_eq!(reason["missing"], Value::Null, "any jug may be the right one");
    let no_house = without(|sheet| sheet["grinders"] = json!([]));
    let best = &answer(&no_house, "ferry-kiosk", "en")["purchases"][0];
    assert_eq!((&best["kind"], &best["id"]), (&json!("bean"), &json!("house")));
}

#[test]
fn a_bean_that_is_bought_in_measured_doses_is_in_stock_too() {
    let none = without(|sheet| {
        sheet["grinders"] = json!([]);
        let stock = sheet["stock"].as_array_mut().unwrap();
        stock.retain(|one| one != "house-beans");
    });
    let best = &answer(&none, "ferry-kiosk", "en")["purchases"][0];
    assert_eq!((&best["kind"], &best["id"]), (&json!("bean"), &json!("house")));
}

#[test]
fn what_is_out_of_season_or_made_on_the_training_bar_only_is_told_as_such() {
    static ALONE: LazyLock<InForce> = LazyLock::new(|| {
        // Only the kiosk beside the training bar, so that much is made on that alone.
        load(&demo_book(), &[demo_site("ferry-kiosk")]).expect("it loads")
    });
    let told = answer(&ALONE, "ferry-kiosk", "en");
    let drink = |told: &Value, id: &str| {
        let found = list(told, "drinks").iter().find(|one| one["drink"] == id).cloned();
        found.unwrap_or_else(|| panic!("{id} is not told of"))
    };
    let affogato = drink(&told, "affogato");
    assert_eq!(affogato["training_bar_only"], true);
    assert_eq!(affogato["text"], "Affogato is made on the training bar only.");
    assert_eq!(affogato["made_at"], json!(["training-bar"]));
    let latte = drink(&told, "latte");
    assert_eq!((&latte["training_bar_only"], &latte["text"]), (&json!(false), &json!("")));
    // The bookshop makes it too, once it is there.
    let more = drink(&answer(&DEMO, "ferry-kiosk", "en"), "affogato");
    assert_eq!(more["training_bar_only"], false);
    assert!(list(&more, "made_at").contains(&json!("bookshop")));
    // Whatever the season, equipment is judged alike.
    let iced = drink(&told, "iced-black-tea");
    assert_eq!(iced["out_of_season"], true);
    assert!(iced["text"].as_str().unwrap().starts_with("Iced black tea is out of season."));
    let trained = answer(&ALONE, "training-bar", "en");
    assert_eq!(trained["counts"]["cups_not_made"], 0);
    assert_eq!(drink(&trained, "iced-black-tea")["not_made"], json!([]));
}

#[test]
fn taking_cups_that_customers_bring_is_no_purchase() {
    let told = answer(&DEMO, "ferry-kiosk", "en");
    let kinds = |name: &str| -> BTreeSet<String> {
        let all = list(&told, name).iter();
        all.map(|one| one["kind"].as_str().unwrap().to_owned()).collect()
    };
    assert!(!kinds("purchases").contains("own-cup"));
    assert_eq!(kinds("without_purchase"), BTreeSet::from(["own-cup".to_owned()]));
}

#[test]
fn the_sheet_that_is_tried_is_the_site_s_own_with_one_thing_more() {
    let bar = &DEMO.bars["ferry-kiosk"];
    for purchase in Purchase::all(bar) {
        let more = purchase.added_to(&bar.site);
        let size = |site: &Site| {
            [
                site.vessels.len(),
                site.jugs.len(),
                site.pre_dosed.len(),
                site.stock.len(),
                site.baskets.len(),
                site.wands.len(),
            ]
        };
        let grown = size(&more).iter().zip(size(&bar.site)).filter(|(a, b)| **a != *b).count();
        let with_stock = matches!(purchase, Purchase::Bean(_));
        assert!(grown == 1 || (with_stock && grown == 2), "{purchase:?}");
    }
}
