//! Layers and overlays: which value holds at a site, where it came from, and what a recall removes.

use std::collections::{BTreeMap, BTreeSet};

use cupwright::{
    book::{Bar, BookDocument, Id, Layer, Overlay, SiteDocument, Substitute},
    demo,
    engine::{Given, Line, Moment, What, expand},
    in_force::InForce,
    json::Digest,
    units::Figure,
    units::Ratio,
    wire::Answer,
};
use proptest::{prelude::*, strategy::ValueTree, test_runner::TestRunner};
use serde_json::{Value, json};

use crate::{
    changed::{demo_book, demo_site, load, put, source, take_out},
    support::demo as in_force,
};

/// A book with its sheet of one site, both as read.
fn documents(book: &Value, site: &str) -> (BookDocument, SiteDocument) {
    let book = source("book.json", book);
    let book = BookDocument::read(&book.name, &book.text).expect("the book reads");
    let sheet = if site == "training-bar" {
        book.training_bar()
    } else {
        let sheet = source("site.json", &demo_site(site));
        SiteDocument::read(&sheet.name, &sheet.text, &book.book).expect("the sheet reads")
    };
    (book, sheet)
}

/// The bar of a site of the demo under `overlay`.
fn under(overlay: &Overlay, site: &str) -> Bar {
    let (book, sheet) = documents(&demo_book(), site);
    let named: Vec<&str> = overlay.remove.iter().map(|id| &**id).collect();
    let by = overlay.substitute.iter().map(|one| (one.ingredient.to_string(), one.by.to_string()));
    let digest = Digest::of(&json!([named, by.collect::<Vec<_>>()]));
    Bar::compile(&book, &sheet, None, Some((overlay, digest))).expect("it compiles")
}

fn removing(ids: &[&str]) -> Overlay {
    Overlay { remove: ids.iter().map(|id| Id::from(*id)).collect(), substitute: Vec::new() }
}

fn replacing(ingredient: &str, by: &str, thousandths: i64) -> Overlay {
    let ratio = Ratio::from_thousandths(thousandths);
    let one = Substitute { ingredient: ingredient.into(), by: by.into(), ratio };
    Overlay { remove: BTreeSet::new(), substitute: vec![one] }
}

fn line(drink: &str, modifiers: Vec<Given>) -> Line {
    Line { id: "1".to_owned(), drink: drink.to_owned(), quantity: 1, modifiers, ..Line::default() }
}

fn given(id: &str, what: What) -> Given {
    Given { id: id.to_owned(), what }
}

/// The answer line to `line` at `bar`, in English.
fn answered(held: &InForce, bar: &Bar, line: &Line) -> Value {
    let verdicts = expand(bar, std::slice::from_ref(line), &Moment::default());
    let catalogue = held.catalogue(bar, Some("en")).expect("the demo speaks English");
    let answer = Answer::of(bar, std::slice::from_ref(line), &verdicts, catalogue, true);
    serde_json::to_value(&answer).expect("an answer is JSON")["lines"][0].clone()
}

/// An accepted answer line without what tells two documents apart.
fn without_digests(mut line: Value) -> Value {
    for digest in ["digest", "build_id", "worked_from"] {
        take_out(&mut line, &format!("/build/{digest}"));
    }
    line
}

/// Every ingredient that is one of `ids` or is made of one, found here from the document alone.
fn with_what_is_made_of(book: &Value, ids: &[&str]) -> BTreeSet<String> {
    let mut all: BTreeSet<String> = ids.iter().map(ToString::to_string).collect();
    loop {
        let before = all.len();
        for one in book["ingredients"].as_array().unwrap() {
            let made_of = one["made_of"].as_array().into_iter().flatten();
            if made_of.into_iter().any(|part| all.contains(part.as_str().unwrap())) {
                all.insert(one["id"].as_str().unwrap().to_owned());
            }
        }
        if all.len() == before {
            return all;
        }
    }
}

/// The ingredients of an accepted line, from its build alone.
fn ingredients(book: &Value, accepted: &Value) -> BTreeSet<String> {
    let parts = accepted["build"]["parts"].as_array().unwrap().iter();
    let mut all: BTreeSet<String> =
        parts.map(|part| part["ingredient"].as_str().unwrap().to_owned()).collect();
    let bean = &accepted["build"]["coffee"]["bean"];
    let beans = book["beans"].as_array().unwrap().iter();
    all.extend(
        beans
            .filter(|one| one["id"] == *bean)
            .map(|one| one["ingredient"].as_str().unwrap().to_owned()),
    );
    all
}

#[test]
fn a_region_replaces_and_the_site_outranks_it_and_every_value_says_where_it_came_from() {
    let held = in_force();
    let window = held.bar("takeaway-window").expect("a site in Australia");
    let halves = "/drinks/flat-white/cups/takeaway/regular/halves";
    let price = "/drinks/flat-white/cups/takeaway/regular/price";
    assert_eq!(window.from.layer_of(halves), Layer::Region);
    assert_eq!(window.from.layer_of(price), Layer::Site);
    assert_eq!(window.from.layer_of("/drinks/flat-white/parts/milk/ingredient"), Layer::Book);
    let flat = line("flat-white", Vec::new());
    let (here, there) =
        (answered(&held, window, &flat), answered(&held, held.bar("bookshop").unwrap(), &flat));
    assert_eq!(here["build"]["coffee"]["halves"], 1, "as the region has it");
    assert_eq!(there["build"]["coffee"]["halves"], 2, "as the book has it");
    let espresso = answered(&held, window, &line("espresso", Vec::new()));
    assert_eq!(espresso["build"]["name"], "Short black");
    let mut book = demo_book();
    put(
        &mut book,
        "/regions/au/replace",
        json!({price: "9.90", "/drinks/mocha/cups/here/regular/price": "9.80"}),
    );
    let held = load(&book, &[demo_site("takeaway-window")]).expect("the region may replace prices");
    let window = held.bar("takeaway-window").unwrap();
    assert_eq!(window.from.layer_of(price), Layer::Site);
    let own = demo_site("takeaway-window")["replace"][price].clone();
    assert_eq!(
        answered(&held, window, &flat)["price"]["amount"],
        own,
        "the site outranks the region"
    );
    assert_eq!(window.from.layer_of("/drinks/mocha/cups/here/regular/price"), Layer::Region);
    let replaced: BTreeMap<&str, Layer> = window.from.replaced().collect();
    assert_eq!(
        replaced.len(),
        1 + demo_site("takeaway-window")["replace"].as_object().unwrap().len()
    );
}

#[test]
fn a_wave_is_outranked_by_the_region_and_outranks_the_book() {
    let halves = "/drinks/flat-white/cups/takeaway/regular/halves";
    let mut book = demo_book();
    put(&mut book, "/regions/au/replace", json!({halves: 1}));
    let (book, sheet) = documents(&book, "takeaway-window");
    let price = "/drinks/mocha/cups/takeaway/regular/price";
    let local = "/drinks/latte/cups/takeaway/regular/price";
    let wave: BTreeMap<String, Value> = [
        (halves.to_owned(), json!(4)),
        (price.to_owned(), json!("7.77")),
        (local.to_owned(), json!("8.88")),
        ("/drinks/mocha/cups/takeaway/regular/halves".to_owned(), json!(1)),
    ]
    .into();
    let bar = Bar::compile(&book, &sheet, Some(&wave), None).expect("it compiles");
    let cup = |drink: &str| {
        let cups = bar.drink(drink).unwrap().cups.iter();
        let mut rows = cups.filter(|(service, _)| service.as_str() == "takeaway");
        rows.next().unwrap().1["regular"].clone()
    };
    assert_eq!((bar.from.layer_of(halves), cup("flat-white").halves), (Layer::Region, 1));
    assert_eq!(bar.from.layer_of(price), Layer::Wave);
    assert_eq!(cup("mocha").price.to_string(), "7.77");
    assert_eq!(cup("mocha").halves, 1);
    assert_eq!(bar.from.layer_of(local), Layer::Site);
    let own = &demo_site("takeaway-window")["replace"][local];
    assert_eq!(cup("latte").price.to_string(), own.as_str().expect("a price of its own"));
    let astray: BTreeMap<String, Value> =
        [("/drinks/tea/names/en".to_owned(), json!("Tea"))].into();
    let faulty = Bar::compile(&book, &sheet, Some(&astray), None).expect_err("there is no tea");
    assert!(faulty.to_string().contains("`/drinks/tea/names/en`, which leads nowhere"), "{faulty}");
}

#[test]
fn a_recalled_ingredient_is_refused_in_every_drink_that_uses_it_or_what_is_made_of_it() {
    let (held, book) = (in_force(), demo_book());
    let plain = held.training_bar().unwrap();
    for ids in [
        &["cinnamon"][..],
        &["sugar"],
        &["milk-powder"],
        &["whole-milk", "honey"],
        &["guest-beans", "house-beans"],
        &["water"],
    ] {
        let gone = with_what_is_made_of(&book, ids);
        let bar = under(&removing(ids), "training-bar");
        let mut refused = 0;
        for drink in bar.drink_ids() {
            let standard = line(drink, Vec::new());
            let (before, after) =
                (answered(&held, plain, &standard), answered(&held, &bar, &standard));
            assert_eq!(before["verdict"], "accept", "the training bar makes {drink}");
            let uses = ingredients(&book, &before);
            if uses.is_disjoint(&gone) {
                assert_eq!(
                    without_digests(after),
                    without_digests(before),
                    "{drink} has none of {ids:?}"
                );
                continue;
            }
            refused += 1;
            assert_eq!(after["verdict"], "refuse", "{drink} has one of {gone:?}");
            assert_eq!(after["safety"], true, "a recall is a matter of safety");
            let codes = after["refusals"].as_array().unwrap().iter();
            let recalled = codes.filter(|one| one["code"] == "recalled").count();
            assert_eq!(
                recalled,
                uses.intersection(&gone).count(),
                "{drink}: each of them by name: {after:#}"
            );
        }
        assert!(refused > 0, "some drink uses {ids:?}");
    }
}

#[test]
fn a_recall_reaches_what_a_modifier_adds_and_offers_what_is_left() {
    let held = in_force();
    let bar = under(&removing(&["cinnamon", "oat-drink"]), "training-bar");
    let dusted = line("cappuccino", vec![given("cinnamon", What::Flag)]);
    let answer = answered(&held, &bar, &dusted);
    assert_eq!(answer["refusals"][0]["code"], "recalled");
    assert_eq!(answer["refusals"][0]["slot"], "cinnamon");
    let oat = line("latte", vec![given("milk", What::Value("oat-drink".to_owned()))]);
    let answer = answered(&held, &bar, &oat);
    assert_eq!(answer["refusals"][0]["code"], "recalled");
    let offered = answer["alternatives"].as_array().unwrap();
    assert!(!offered.is_empty(), "another milk can be had");
    assert!(!answer["alternatives"].to_string().contains("oat-drink"), "{answer:#}");
}

#[test]
fn a_substitute_takes_the_place_of_an_ingredient_at_its_ratio_and_says_that_it_is_a_recall() {
    let held = in_force();
    let plain = held.training_bar().unwrap();
    let bar = under(&replacing("chai-syrup", "vanilla-syrup", 1_500), "training-bar");
    assert_eq!(bar.from.layer_of("/drinks/chai-syrup-latte/parts/chai"), Layer::Recall);
    assert_eq!(bar.from.layer_of("/drinks/chai-syrup-latte/parts/milk"), Layer::Book);
    let book = demo_book();
    let chai = book["drinks"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["id"] == "chai-syrup-latte")
        .unwrap();
    for (service, sizes) in chai["cups"].as_object().unwrap() {
        for size in sizes.as_object().unwrap().keys() {
            let asked = ["service", "size"].into_iter().zip([service, size]);
            let mut asked: Vec<Given> =
                asked.map(|(id, value)| given(id, What::Value(value.clone()))).collect();
            if service == "own" {
                asked.push(given("capacity", What::Number(Figure::from_thousandths(500_000))));
            }
            let asked = line("chai-syrup-latte", asked);
            let (before, after) = (answered(&held, plain, &asked), answered(&held, &bar, &asked));
            assert_eq!(after["verdict"], "accept", "{after:#}");
            let ml = |answer: &Value, id: &str| {
                let mut parts = answer["build"]["parts"].as_array().unwrap().iter();
                parts.find(|part| part["ingredient"] == id).and_then(|part| part["ml"].as_f64())
            };
            assert_eq!(ml(&after, "chai-syrup"), None);
            let (old, new) =
                (ml(&before, "chai-syrup").unwrap(), ml(&after, "vanilla-syrup").unwrap());
            assert!((new - old * 1.5).abs() < 0.06, "{service} {size}: {old} mL became {new} mL");
        }
    }
    let recalled = answered(
        &held,
        &under(&replacing("oat-drink", "soy-drink", 1_000), "training-bar"),
        &line("latte", vec![given("milk", What::Value("oat-drink".to_owned()))]),
    );
    assert_eq!(
        recalled["refusals"][0]["code"], "recalled",
        "what is asked for by name is not swapped in silence"
    );
}

#[test]
fn a_substitute_reaches_what_modifiers_add() {
    let held = in_force();
    let bar = under(&replacing("cocoa-dusting", "cinnamon", 250), "training-bar");
    let answer =
        answered(&held, &bar, &line("latte", vec![given("cocoa", What::Value("on".to_owned()))]));
    let parts = answer["build"]["parts"].as_array().expect("it is accepted").iter();
    let dusting: Vec<&Value> = parts.filter(|part| part["ingredient"] == "cinnamon").collect();
    assert_eq!(dusting.len(), 1);
    assert_eq!(dusting[0]["g"], 0.2, "a quarter of 0.8 g");
    assert_eq!(bar.from.layer_of("/modifiers/cocoa/values/on"), Layer::Recall);
}

#[test]
fn the_amount_of_every_kind_of_part_follows_the_ratio_of_its_substitute() {
    // Two kinds of ice in one book: the amount of a part and that of a cup's row change alike.
    let mut book = demo_book();
    let mut other = book["ingredients"][1].clone();
    assert_eq!(other["id"], "ice");
    other["id"] = json!("clear-ice");
    put(&mut book, "/ingredients/-", other);
    put(&mut book, "/training_bar/stock/-", json!("clear-ice"));
    put(&mut book, "/drinks/iced-latte/cups/takeaway/regular/amounts", json!({"ice": {"g": 125}}));
    put(&mut book, "/drinks/iced-latte/cups/here/regular/amounts", json!({}));
    put(&mut book, "/drinks/iced-latte/parts/ice/g", json!(125));
    let (book, sheet) = documents(&book, "training-bar");
    let overlay = replacing("ice", "clear-ice", 800);
    let bar =
        Bar::compile(&book, &sheet, None, Some((&overlay, book.digest))).expect("it compiles");
    let held = in_force();
    for service in ["here", "takeaway"] {
        let asked = line("iced-latte", vec![given("service", What::Value(service.to_owned()))]);
        let answer = answered(&held, &bar, &asked);
        assert_eq!(answer["build"]["ice"]["g"], 100, "{service}: 125 g at a ratio of 0.8");
    }
}

#[test]
fn the_overlay_is_part_of_what_a_build_was_worked_from() {
    let held = in_force();
    let latte = line("latte", Vec::new());
    let bars = [under(&removing(&["honey"]), "bookshop"), under(&removing(&["sugar"]), "bookshop")];
    let mut answers = bars.iter().map(|bar| answered(&held, bar, &latte)).collect::<Vec<_>>();
    answers.push(answered(&held, held.bar("bookshop").unwrap(), &latte));
    let digests: BTreeSet<String> =
        answers.iter().map(|one| one["build"]["digest"].to_string()).collect();
    let ids: BTreeSet<String> =
        answers.iter().map(|one| one["build"]["build_id"].to_string()).collect();
    assert_eq!((digests.len(), ids.len()), (3, 3), "each overlay, and none, has builds of its own");
    let overlay = bars[0].overlay_digest.map(|one| one.to_string());
    assert_eq!(answers[0]["build"]["worked_from"]["overlay"], json!(overlay));
    assert_eq!(answers[2]["build"]["worked_from"]["overlay"], Value::Null);
    let same: Vec<Value> = answers.into_iter().map(without_digests).collect();
    assert!(same.iter().all(|one| *one == same[0]), "nothing else differs");
}

/// A line of the demo: any drink, and up to four of everything that a modifier can be.
fn demo_line() -> impl Strategy<Value = Line> {
    let book = demo_book();
    let ids = |list: &Value| -> Vec<String> {
        let all = list.as_array().into_iter().flatten();
        all.map(|one| one["id"].as_str().unwrap().to_owned()).collect()
    };
    let mut asks: Vec<Given> = Vec::new();
    for one in book["modifiers"].as_array().unwrap() {
        let id = one["id"].as_str().unwrap();
        match one["kind"].as_str().unwrap() {
            "slot" => asks
                .extend(ids(&one["values"]).into_iter().map(|value| given(id, What::Value(value)))),
            "counter" => asks.extend([-1, 1, 2].map(|count| given(id, What::Count(count)))),
            _ => asks.push(given(id, What::Flag)),
        }
    }
    asks.extend(ids(&book["services"]).into_iter().map(|one| given("service", What::Value(one))));
    asks.extend(ids(&book["sizes"]).into_iter().map(|one| given("size", What::Value(one))));
    let drinks = prop::sample::select(ids(&book["drinks"]));
    let modifiers = prop::collection::vec(prop::sample::select(asks), 0..5);
    (drinks, modifiers).prop_map(|(drink, modifiers)| line(&drink, modifiers))
}

/// One to three ingredients of the demo.
fn recalled() -> impl Strategy<Value = Vec<String>> {
    let book = demo_book();
    let all = book["ingredients"].as_array().unwrap().iter();
    let ids: Vec<String> = all.map(|one| one["id"].as_str().unwrap().to_owned()).collect();
    prop::collection::vec(prop::sample::select(ids), 1..4)
}

/// The overlay only removes: what is accepted under it is accepted without it, as the same build.
#[test]
fn a_line_that_is_accepted_under_a_recall_is_accepted_without_it_as_the_same_build() {
    let (held, book) = (in_force(), demo_book());
    let (mut kept, mut lost) = (0, 0);
    let mut runner = TestRunner::deterministic();
    let cases = (prop::collection::vec(demo_line(), 16), recalled());
    for _ in 0..24 {
        let (lines, gone) = cases.new_tree(&mut runner).unwrap().current();
        let gone: Vec<&str> = gone.iter().map(|id| &**id).collect();
        let closed = with_what_is_made_of(&book, &gone);
        for site in ["bookshop", "training-bar"] {
            let (plain, bar) = (held.bar(site).unwrap(), under(&removing(&gone), site));
            for line in &lines {
                let (before, after) = (answered(&held, plain, line), answered(&held, &bar, line));
                if after["verdict"] == "accept" {
                    kept += 1;
                    assert_eq!(
                        without_digests(after),
                        without_digests(before),
                        "{line:?} without {gone:?}"
                    );
                } else if before["verdict"] == "accept" {
                    lost += 1;
                    let uses = ingredients(&book, &before);
                    assert!(!uses.is_disjoint(&closed), "{line:?} has none of {gone:?}: {after:#}");
                }
            }
        }
    }
    assert!(kept > 50 && lost > 10, "{kept} kept and {lost} lost say something");
}

#[test]
fn the_demo_itself_is_without_an_overlay() {
    let held = in_force();
    assert!(held.bars.values().all(|bar| bar.overlay_digest.is_none()));
    assert_eq!(held.bars.len(), demo::sites().len() + 1, "every site, and the training bar");
}

#[test]
fn an_allergen_is_told_however_many_times_over_something_is_made_of_it() {
    // Forty records in a row, each made of the next; the last of them contains walnut.
    const ROW: usize = 40;
    let mut book = demo_book();
    let mut powder = book["ingredients"][0].clone();
    powder["kind"] = json!("powder");
    for n in 0..ROW {
        powder["id"] = json!(format!("mix-{n}"));
        powder["made_of"] = if n + 1 < ROW { json!([format!("mix-{}", n + 1)]) } else { json!([]) };
        powder["allergens"] = if n + 1 < ROW { json!([]) } else { json!(["walnut"]) };
        put(&mut book, "/ingredients/-", powder.clone());
    }
    put(&mut book, "/ingredients/cinnamon/made_of", json!(["mix-0"]));
    let held = load(&book, &[]).expect("the book is right");
    let dusted = line("latte", vec![given("cinnamon", What::Flag)]);
    let answer = answered(&held, held.training_bar().unwrap(), &dusted);
    let contained = &answer["build"]["allergens"]["ingredients"];
    assert!(contained.as_array().unwrap().contains(&json!("walnut")), "{contained}");
}
