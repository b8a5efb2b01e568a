//! Regional tables of allergens: which are listed and by which names, held to published lists, and
//! what they never do to an answer.

use std::{collections::BTreeSet, sync::LazyLock};

use cupwright::{
    book::{AllergenRow, Id, Words},
    in_force::{InForce, Source},
    units::MassFraction,
};
use serde_json::{Value, json};

use crate::support::{answer, demo, text};

static LISTS: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(&text("tests/reference/allergens.json")).unwrap());

fn demo_book() -> Value {
    serde_json::from_str(&cupwright::demo::book().text).unwrap()
}

/// The book with its training bar in `region`, whose drinks are those of every other.
pub(crate) fn in_region(region: &str) -> Value {
    let mut book = demo_book();
    for one in book["regions"].as_array_mut().unwrap() {
        one["replace"] = json!({});
    }
    book["training_bar"]["region"] = json!(region);
    book
}

pub(crate) fn load(book: &Value) -> InForce {
    let source = Source { name: "book.json".to_owned(), text: book.to_string() };
    InForce::load(&source, &[]).unwrap_or_else(|faulty| panic!("{}", faulty[0]))
}

fn record<'v>(book: &'v mut Value, list: &str, id: &str) -> &'v mut Value {
    let all = book[list].as_array_mut().unwrap();
    all.iter_mut().find(|one| one["id"] == id).unwrap()
}

/// The ids of the region's table in the demo.
fn listed(region: &str) -> BTreeSet<String> {
    let mut book = demo_book();
    let rows = record(&mut book, "regions", region)["allergen_table"]["rows"].take();
    let rows = rows.as_array().unwrap().iter();
    rows.map(|row| row["allergen"].as_str().unwrap().to_owned()).collect()
}

/// The book's id of an allergen as a published list writes it; several for a class.
fn ids_of(name: &str) -> Vec<&'static str> {
    let plain = name.trim_end_matches('*').to_lowercase();
    match plain.as_str() {
        "milk" => vec!["milk"],
        "egg" | "eggs" => vec!["egg"],
        "fish" => vec!["fish"],
        "crustacean" | "crustaceans" | "crustacean shellfish" => vec!["crustaceans"],
        "mollusc" | "molluscs" => vec!["molluscs"],
        "peanut" | "peanuts" => vec!["peanut"],
        "soybeans" | "soy|soya|soybean" => vec!["soya"],
        "sesame" | "sesame seeds" => vec!["sesame"],
        "wheat" | "wheat (incl. spelt, khorasan)" => vec!["wheat"],
        "rye" => vec!["rye"],
        "barley" => vec!["barley"],
        "oats" => vec!["oats"],
        "lupin" => vec!["lupin"],
        "celery" => vec!["celery"],
        "mustard" => vec!["mustard"],
        "almond" => vec!["almond"],
        "hazelnut" | "filbert/hazelnut" => vec!["hazelnut"],
        // Kinds of walnut, for which the book has one id, and hybrids of listed cereals.
        "walnut"
        | "walnut (english, persian)"
        | "black walnut"
        | "california walnut"
        | "heartnut/japanese walnut" => vec!["walnut"],
        "hybridised strains" => vec![],
        "cashew" => vec!["cashew"],
        "pecan" => vec!["pecan"],
        "brazil nut" => vec!["brazil-nut"],
        "pistachio" => vec!["pistachio"],
        "macadamia" | "macadamia (queensland)" | "macadamia/bush nut" => vec!["macadamia"],
        "pine nut" | "pine nut/pinon" => vec!["pine-nut"],
        "sulphites" | "sulphur dioxide and sulphites >10 mg/kg or 10 mg/l as so2" => {
            vec!["sulphites"]
        }
        other => panic!("the published list has `{other}`, which this test does not know"),
    }
}

fn published(list: &Value, classes: &[(&str, &Value)]) -> BTreeSet<String> {
    let names = |list: &Value| -> Vec<String> {
        list.as_array().unwrap().iter().map(|one| one.as_str().unwrap().to_owned()).collect()
    };
    let mut all = BTreeSet::new();
    for name in names(list) {
        let class = classes.iter().find(|(class, _)| *class == name);
        let members = class.map_or_else(|| vec![name], |(_, members)| names(members));
        all.extend(members.iter().flat_map(|name| ids_of(name)).map(str::to_owned));
    }
    all
}

/// Source: Regulation (EU) No 1169/2011, Annex II; Food Standards Code of Australia and New Zealand,
/// Standard 1.2.3 and Schedule 9; Federal Food, Drug, and Cosmetic Act, section 201(qq), with FDA's
/// guidance, edition 5 (`tests/reference/allergens.json`).
#[test]
fn each_region_lists_exactly_the_allergens_of_its_law() {
    let (eu, au, us) =
        (&LISTS["EU_1169_2011_Annex_II"], &LISTS["FSANZ_1.2.3_Sch9"], &LISTS["US_FDCA_201qq"]);
    let classes = [("cereals containing gluten", &eu["gluten_cereals"]), ("nuts", &eu["nuts"])];
    assert_eq!(listed("eu"), published(&eu["list"], &classes));
    assert_eq!(listed("au"), published(&au["required_names"], &[]));
    let classes = [("tree nuts", &us["tree_nuts_2025"])];
    assert_eq!(listed("us"), published(&us["list"], &classes));
}

/// Source: as above, and the flags that the lists state for each.
#[test]
fn what_regions_differ_in_is_as_published() {
    let is = |region: &str, id: &str| listed(region).contains(id);
    for (id, eu, au, us) in [
        ("oats", true, true, false),
        ("coconut", false, false, false),
        ("pine-nut", false, true, true),
        ("lupin", true, true, false),
        ("celery", true, false, false),
        ("mustard", true, false, false),
        ("molluscs", true, true, false),
        ("sulphites", true, true, false),
        ("rye", true, true, false),
        ("milk", true, true, true),
    ] {
        assert_eq!([is("eu", id), is("au", id), is("us", id)], [eu, au, us], "{id}");
    }
    let au = &LISTS["FSANZ_1.2.3_Sch9"];
    assert_eq!([&au["lupin"], &au["celery"], &au["mustard"]], [true, false, false]);
    assert_eq!(LISTS["US_FDCA_201qq"]["delisted_2025"][0], "coconut");
    let mut book = demo_book();
    let ids = book["allergens"].as_array().unwrap();
    assert!(ids.iter().all(|one| one["id"] != "coconut"), "coconut is no allergen of the book");
    let drink = record(&mut book, "ingredients", "coconut-drink");
    assert_eq!(drink["ask_about"], json!(["tree-nuts"]), "but people are asked about it");
}

/// Source: Regulation (EU) No 1169/2011, Annex II, point 12: more than 10 mg/kg; Standard 1.2.3 of
/// Australia and New Zealand: 10 mg/kg or more.
#[test]
fn sulphites_are_required_above_ten_in_one_region_and_from_ten_in_another() {
    let row = |inclusive| AllergenRow {
        allergen: Id::from("sulphites"),
        name: Words::default(),
        summary: None,
        from_mg_kg: Some(MassFraction::from_mg_kg(10.0)),
        inclusive,
    };
    let amount = |mg_kg| Some(MassFraction::from_mg_kg(mg_kg));
    for (given, above, from) in [
        (amount(0.0), false, false),
        (amount(9.999), false, false),
        (amount(10.0), false, true),
        (amount(10.001), true, true),
        (None, true, true),
    ] {
        assert_eq!(row(false).requires(given), above, "more than 10: {given:?}");
        assert_eq!(row(true).requires(given), from, "10 or more: {given:?}");
    }
    let any = AllergenRow { from_mg_kg: None, ..row(false) };
    assert!(any.requires(amount(0.0)) && any.requires(None), "without an amount, in any");
}

/// The build of a green tea with orange syrup, whose sulphites are `mg_kg`.
fn orange_tea(region: &str, mg_kg: Option<f64>) -> Value {
    let mut book = in_region(region);
    let syrup = record(&mut book, "ingredients", "orange-syrup");
    match mg_kg {
        Some(mg_kg) => syrup["allergen_mg_kg"] = json!({ "sulphites": mg_kg }),
        None => drop(syrup.as_object_mut().unwrap().remove("allergen_mg_kg")),
    }
    let line = json!({"drink": "green-tea", "modifiers": [{"id": "orange", "count": 1}]});
    answer(&load(&book), "training-bar", &line)["build"]["allergens"].take()
}

#[test]
fn an_amount_decides_what_is_listed_and_never_what_is_contained() {
    for (region, mg_kg, is_listed) in [
        ("eu", Some(10.0), false),
        ("eu", Some(10.001), true),
        ("eu", None, true),
        ("au", Some(9.999), false),
        ("au", Some(10.0), true),
        ("us", Some(500.0), false),
    ] {
        let told = orange_tea(region, mg_kg);
        assert_eq!(told["ingredients"], json!(["sulphites"]), "{region} {mg_kg:?}");
        let wanted = if is_listed { json!(["sulphites"]) } else { json!([]) };
        assert_eq!(told["listed"], wanted, "{region} {mg_kg:?}");
        let wording = told["wording"]["contains"].as_str().unwrap().to_lowercase();
        assert!(wording.contains("sulphites"), "{region} {mg_kg:?}: {wording}");
    }
}

#[test]
fn an_amount_of_a_whole_stands_before_that_of_its_parts() {
    let listed = |syrup: Value| {
        let mut book = in_region("eu");
        *record(&mut book, "ingredients", "orange-syrup") = syrup;
        let mut part = record(&mut book, "ingredients", "sugar").clone();
        part["id"] = json!("sulphured-sugar");
        part["allergens"] = json!(["sulphites"]);
        part["allergen_mg_kg"] = json!({"sulphites": 60});
        book["ingredients"].as_array_mut().unwrap().push(part);
        let line = json!({"drink": "green-tea", "modifiers": [{"id": "orange", "count": 1}]});
        answer(&load(&book), "training-bar", &line)["build"]["allergens"]["listed"].take()
    };
    let mut syrup = record(&mut demo_book(), "ingredients", "orange-syrup").clone();
    syrup["made_of"] = json!(["sulphured-sugar"]);
    syrup["allergen_mg_kg"] = json!({"sulphites": 4});
    assert_eq!(listed(syrup.clone()), json!([]), "the syrup as a whole has 4 mg/kg");
    syrup["allergens"] = json!([]);
    syrup.as_object_mut().unwrap().remove("allergen_mg_kg");
    assert_eq!(listed(syrup), json!(["sulphites"]), "only its sugar says how much");
}

/// The rule of safety: no region's table takes an allergen out of an answer.
#[test]
fn every_cup_has_the_same_allergens_in_every_region_whatever_is_listed() {
    let plain = {
        let mut book = demo_book();
        for one in book["regions"].as_array_mut().unwrap() {
            one.as_object_mut().unwrap().remove("allergen_table");
        }
        load(&book)
    };
    let mut unlisted = 0;
    let regions = ["eu", "au", "us"].map(|region| (region, load(&in_region(region))));
    for drink in plain.book().drinks.iter().map(|drink| drink.id.to_string()) {
        let allergens = |held: &InForce| {
            let told = answer(held, "training-bar", &json!({ "drink": drink }));
            assert_eq!(told["verdict"], "accept", "{drink}");
            told["build"]["allergens"].clone()
        };
        let bare = allergens(&plain);
        assert_eq!(bare["listed"], Value::Null, "no table, so none is known to be required");
        for (region, held) in &regions {
            let told = allergens(held);
            for part in ["ingredients", "may_contain", "shared_equipment"] {
                assert_eq!(told[part], bare[part], "{drink} in {region}: {part}");
            }
            let contained = told["ingredients"].as_array().unwrap();
            let listed = told["listed"].as_array().unwrap();
            assert!(listed.iter().all(|id| contained.contains(id)), "{drink} in {region}");
            unlisted += contained.len() - listed.len();
            let sentence = told["wording"]["contains"].as_str().unwrap_or_default();
            let names = sentence.split_once(": ").map_or(0, |(_, names)| names.split(", ").count());
            assert_eq!(names, contained.len(), "{drink} in {region}: {sentence}");
        }
    }
    let oats = json!({"drink": "latte", "modifiers": [{"id": "milk", "value": "oat-drink"}]});
    let told = answer(&regions[2].1, "training-bar", &oats)["build"]["allergens"].take();
    assert_eq!([&told["ingredients"], &told["listed"]], [&json!(["oats"]), &json!([])]);
    assert_eq!(told["wording"]["contains"], "Ingredients contain: Oats");
    unlisted += 1;
    assert!(unlisted > 0);
}

#[test]
fn the_words_are_those_that_the_region_requires_in_the_language_of_the_ticket() {
    let line = json!({"drink": "latte", "modifiers": [{"id": "milk", "value": "oat-drink"}]});
    let eu = answer(&load(&in_region("eu")), "training-bar", &line);
    let wording = &eu["build"]["allergens"]["wording"];
    assert_eq!(wording["contains"], "Ingredients contain: Oats");
    assert_eq!(wording["may_contain"], "Packs say may contain: Wheat, Barley");
    assert_eq!(
        wording["shared_equipment"],
        "Made on shared equipment with: Milk, Soybeans, Almonds"
    );
    let au = answer(&load(&in_region("au")), "training-bar", &line);
    let wording = &au["build"]["allergens"]["wording"];
    assert_eq!(wording["contains"], "Ingredients contain: Oats (gluten)");
    assert_eq!(wording["may_contain"], "Packs say may contain: Wheat (gluten), Barley (gluten)");
    let espresso = answer(&demo(), "training-bar", &json!({"drink": "espresso"}));
    let wording = &espresso["build"]["allergens"]["wording"];
    assert_eq!(wording["contains"], Value::Null, "nothing is said where nothing is recorded");
}

#[test]
fn a_group_in_a_record_is_listed_as_what_it_covers_and_refused_to_whoever_names_a_part_of_it() {
    let mut book = in_region("eu");
    record(&mut book, "ingredients", "hazelnut-syrup")["allergens"] = json!(["tree-nuts"]);
    let held = load(&book);
    let line = |allergies: Value| {
        json!({
            "drink": "latte",
            "modifiers": [{"id": "hazelnut", "count": 1}],
            "allergies": allergies,
        })
    };
    let told = answer(&held, "training-bar", &line(json!([])));
    let allergens = &told["build"]["allergens"];
    assert_eq!(allergens["ingredients"], json!(["milk", "tree-nuts"]));
    assert_eq!(allergens["listed"], json!(["milk", "tree-nuts"]));
    assert_eq!(allergens["wording"]["contains"], "Ingredients contain: Milk, Nuts");
    for allergy in ["tree-nuts", "hazelnut", "pine-nut", "hazelnut-syrup"] {
        let told = answer(&held, "training-bar", &line(json!([allergy])));
        assert_eq!(told["verdict"], "refuse", "{allergy}");
        assert_eq!(told["safety"], true, "{allergy}");
    }
}

#[test]
fn tables_that_are_wrong_are_complained_about_where_they_are() {
    let told = |change: &dyn Fn(&mut Value)| {
        let mut book = demo_book();
        change(&mut book);
        let source = Source { name: "book.json".to_owned(), text: book.to_string() };
        let faulty = InForce::load(&source, &[]).expect_err("a fault");
        let first = &faulty[0].all[0];
        assert_eq!(faulty[0].all.len(), 1, "{}", faulty[0]);
        format!("{}: {}", first.pointer, first.found)
    };
    let table = "/regions/0/allergen_table";
    let change = |path: &'static str, value: Value| {
        move |book: &mut Value| *book.pointer_mut(path).unwrap() = value.clone()
    };
    let day = change("/regions/0/allergen_table/in_force", json!("2025-02-30"));
    assert_eq!(told(&day), format!("{table}/in_force: `2025-02-30`"));
    let lost = change("/regions/0/allergen_table/rows/3/allergen", json!("oatz"));
    assert_eq!(
        told(&lost),
        format!("{table}/rows/3/allergen: `oatz`, which the book does not have")
    );
    let twice = change("/regions/0/allergen_table/rows/3/allergen", json!("wheat"));
    assert_eq!(told(&twice), format!("{table}/rows/3/allergen: `wheat` a second time"));
    let group = change("/regions/0/allergen_table/rows/3/allergen", json!("tree-nuts"));
    assert_eq!(told(&group), format!("{table}/rows/3/allergen: `tree-nuts`"));
    let silent = change("/regions/0/allergen_table/rows/3/name", json!({"en": "Oats"}));
    assert_eq!(told(&silent), format!("{table}/rows/3/name: no text in `de`"));
    let foreign = |book: &mut Value| {
        let syrup = record(book, "ingredients", "orange-syrup");
        syrup["allergen_mg_kg"] = json!({"milk": 3});
    };
    assert!(told(&foreign).ends_with("/allergen_mg_kg/milk: an amount of `milk`"));
}

#[test]
fn a_cloth_is_shared_by_the_wands_that_name_the_same_one() {
    let via = |cloths: [Option<&str>; 2]| {
        let sheet = |one: &Source| one.name.contains("bookshop");
        let source = cupwright::demo::sites().into_iter().find(sheet).unwrap();
        let mut site: Value = serde_json::from_str(&source.text).unwrap();
        for (wand, cloth) in site["wands"].as_array_mut().unwrap().iter_mut().zip(cloths) {
            if let Some(cloth) = cloth {
                wand["cloth"] = json!(cloth);
            }
        }
        let source = Source { name: source.name, text: site.to_string() };
        let held = InForce::load(&cupwright::demo::book(), &[source]).unwrap();
        let oats = json!({"drink": "latte", "modifiers": [{"id": "milk", "value": "oat-drink"}]});
        let told = answer(&held, "bookshop", &oats);
        let shared = told["build"]["allergens"]["shared_equipment"].as_array().unwrap().clone();
        shared.into_iter().find(|one| one["allergen"] == "milk").unwrap()["via"].clone()
    };
    // The wands there are each for milks of their own; jugs are shared.
    assert_eq!(via([None, None]), json!(["jug", "cloth"]), "one cloth, if the sheet says nothing");
    assert_eq!(via([Some("blue"), Some("blue")]), json!(["jug", "cloth"]));
    assert_eq!(via([Some("blue"), Some("white")]), json!(["jug"]));
    assert_eq!(via([None, Some("white")]), json!(["jug"]));
}
