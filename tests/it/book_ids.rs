//! Books and their ids: references that lead somewhere, ids that stand once, no circles.

use std::{collections::BTreeSet, fs, path::Path};

use cupwright::book::{BookDocument, NEIGHBOUR_KEYS};
use serde_json::json;

use crate::{
    changed::{assert_broken, demo_book, place, pointer, put, row},
    support::root,
};

#[test]
fn an_id_that_the_book_does_not_have_is_told_with_the_nearest_that_it_has() {
    assert_broken(&[
        row(
            "/ingredients/sugar/suits/0",
            json!("vegn"),
            "`vegn`, which the book does not have",
            "the id of a diet of the book, such as `vegan`",
        ),
        row(
            "/ingredients/honey/allergens",
            json!(["hazelnutt"]),
            "`hazelnutt`, which the book does not have",
            "an allergen of the book, such as `hazelnut`",
        )
        .at("/ingredients/honey/allergens/0"),
        row(
            "/ingredients/coconut-drink/may_contain/1",
            json!("cashews"),
            "`cashews`, which the book does not have",
            "such as `cashew`",
        ),
        row(
            "/ingredients/vanilla-syrup/made_of/0",
            json!("suger"),
            "`suger`, which the book does not have",
            "an ingredient of the book, such as `sugar`",
        ),
        row(
            "/beans/guest/ingredient",
            json!("guest-bean"),
            "`guest-bean`, which the book does not have",
            "such as `guest-beans`",
        ),
        row(
            "/extractions/espresso/rows/2/pull",
            json!("ristreto"),
            "`ristreto`, which the book does not have",
            "a pull of the book, such as `ristretto`",
        ),
        row(
            "/vessels/glass-260/material",
            json!("glas"),
            "`glas`, which the book does not have",
            "a material of the book, such as `glass`",
        ),
    ]);
}

#[test]
fn a_drink_a_modifier_and_a_bar_name_only_what_the_book_has() {
    assert_broken(&[
        row(
            "/drinks/latte/parts/milk/ingredient",
            json!("whole-mlik"),
            "`whole-mlik`, which the book does not have",
            "such as `whole-milk`",
        ),
        row(
            "/drinks/mocha/parts/milk/texture",
            json!("medum"),
            "`medum`, which the book does not have",
            "a texture of the book, such as `medium`",
        ),
        row(
            "/drinks/flat-white/cups/here/regular/vessel",
            json!("cup-17"),
            "`cup-17`, which the book does not have",
            "a vessel of the book, such as `cup-175`",
        ),
        row(
            "/drinks/cortado/neighbours/no-coffee",
            json!("steemer"),
            "`steemer`, which the book does not have",
            "a drink of the book, such as `steamer`",
        ),
        row(
            "/drinks/babyccino/envelope/forbids/3",
            json!("hony"),
            "`hony`, which the book does not have",
            "such as `honey`",
        ),
        row(
            "/modifiers/milk/otherwise/instead/0",
            json!("milk-besides"),
            "`milk-besides`, which the book does not have",
            "a modifier of the book, such as `milk-beside`",
        ),
        row(
            "/modifiers/milk/values/oat-drink/ingredient",
            json!("oat-drnk"),
            "`oat-drnk`, which the book does not have",
            "such as `oat-drink`",
        ),
        row(
            "/modifiers/vanilla/does/add/ingredient",
            json!("zzz"),
            "`zzz`, which the book does not have",
            "the id of an ingredient of the book",
        ),
        row(
            "/modifiers/lid-off/excludes/0/id",
            json!("temprature"),
            "`temprature`, which the book does not have",
            "a modifier of the book, such as `temperature`",
        ),
        row(
            "/training_bar/region",
            json!("eur"),
            "`eur`, which the book does not have",
            "a region of the book, such as `eu`",
        ),
    ]);
}

#[test]
fn nothing_is_suggested_where_nothing_is_near() {
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/parts/milk/ingredient", json!("zzz"));
    let faulty = BookDocument::read("book.json", &format!("{book:#}")).unwrap_err();
    assert_eq!(faulty.all[0].expected, "the id of an ingredient of the book");
}

#[test]
fn an_id_stands_once_in_its_list() {
    const LISTS: [&str; 15] = [
        "allergens",
        "diets",
        "services",
        "sizes",
        "materials",
        "textures",
        "ingredients",
        "beans",
        "pulls",
        "extractions",
        "vessels",
        "jugs",
        "drinks",
        "modifiers",
        "regions",
    ];
    let mut book = demo_book();
    for list in LISTS {
        let first = book[list][0].clone();
        put(&mut book, &format!("/{list}/-"), first);
    }
    let faulty = BookDocument::read("book.json", &format!("{book:#}")).unwrap_err();
    let told: Vec<(String, String)> =
        faulty.all.iter().map(|one| (one.pointer.clone(), one.found.clone())).collect();
    let wanted: Vec<(String, String)> = LISTS
        .iter()
        .map(|list| {
            let last = book[*list].as_array().unwrap().len() - 1;
            let id = book[*list][0]["id"].as_str().unwrap();
            (format!("/{list}/{last}/id"), format!("`{id}` a second time"))
        })
        .collect();
    assert_eq!(told, wanted);
    for (one, (at, _)) in faulty.all.iter().zip(&wanted) {
        assert_eq!(one.place, Some(place(&book, at)), "{one}");
    }
}

#[test]
fn an_id_stands_once_among_the_parts_of_a_drink_and_the_values_of_a_slot() {
    let mut book = demo_book();
    let value = book.pointer(&pointer(&book, "/modifiers/foam/values/dry")).unwrap().clone();
    put(&mut book, "/modifiers/foam/values/-", value);
    let part = book.pointer(&pointer(&book, "/drinks/mocha/parts/cocoa")).unwrap().clone();
    put(&mut book, "/drinks/mocha/parts/-", part);
    let faulty = BookDocument::read("book.json", &format!("{book:#}")).unwrap_err();
    let told: Vec<&str> = faulty.all.iter().map(|one| &*one.found).collect();
    assert_eq!(told, ["`cocoa` a second time", "`dry` a second time"]);
}

#[test]
fn ingredients_are_not_made_of_themselves() {
    let rows = [
        row(
            "/ingredients/sugar/made_of",
            json!(["vanilla-syrup"]),
            "`sugar`, which is made of itself",
            "ingredients that lead to no circle",
        ),
        row(
            "/ingredients/honey/made_of",
            json!(["honey"]),
            "`honey`, which is made of itself",
            "ingredients that lead to no circle",
        ),
        // Left as it is: it closes the circle with sugar. What is only made of the two is right.
        row(
            "/ingredients/vanilla-syrup/made_of",
            json!(["sugar"]),
            "`vanilla-syrup`, which is made of itself",
            "ingredients that lead to no circle",
        ),
    ];
    assert_broken(&rows);
}

#[test]
fn a_neighbour_stands_under_a_key_that_something_looks_under() {
    let near = "a key of neighbours, such as `";
    let leak = |text: String| -> &'static str { String::leak(text) };
    let wrong = |path, key: &str, right: &str| {
        let found = leak(format!("the key `{key}`, under which nothing looks"));
        row(path, json!("flat-white"), found, leak(format!("{near}{right}`")))
    };
    assert_broken(&[
        wrong("/drinks/latte/neighbours/no-fom", "no-fom", "no-foam"),
        wrong("/drinks/mocha/neighbours/no-chocolat", "no-chocolat", "no-chocolate"),
        // A part of another drink.
        wrong("/drinks/cortado/neighbours/no-chocolate", "no-chocolate", "no-coffee"),
        wrong("/drinks/latte/neighbours/with-honny", "with-honny", "with-honey"),
        wrong("/drinks/espresso/neighbours/with-mlik", "with-mlik", "with-milk"),
        row(
            "/drinks/latte/neighbours/sideways",
            json!("mocha"),
            "the key `sideways`, under which nothing looks",
            "a key of neighbours",
        ),
    ]);
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/neighbours/with-honey", json!("mocha"));
    put(&mut book, "/drinks/latte/neighbours/no-milk", json!("espresso"));
    put(&mut book, "/drinks/latte/neighbours/hotter", json!("mocha"));
    assert!(BookDocument::read("book.json", &book.to_string()).is_ok());
}

/// Every text in quotes that stands in `code`.
fn quoted(code: &str) -> impl Iterator<Item = &str> {
    code.split('"').skip(1).step_by(2)
}

/// The source files of a folder, as one text.
fn sources(folder: &Path) -> String {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries
        .map(|path| if path.is_dir() { sources(&path) } else { fs::read_to_string(path).unwrap() })
        .collect()
}

#[test]
fn the_book_knows_the_keys_of_neighbours_that_the_engine_looks_under() {
    let code = sources(&root("src/engine"));
    let mut asked = BTreeSet::new();
    for (at, call) in code.match_indices(".toward(\"") {
        asked.extend(quoted(&code[at + call.len() - 1..]).take(1));
    }
    // A bound names two keys, for under it and for over it.
    let judged = fs::read_to_string(root("src/engine/solve/envelope.rs")).unwrap();
    let mut pairs = 0;
    for (at, _) in judged.match_indices("[\"") {
        asked.extend(quoted(&judged[at..]).take(2));
        pairs += 1;
    }
    assert!(pairs >= 4, "each bound has its keys");
    assert!(asked.len() > 8, "{asked:?}");
    assert_eq!(asked, NEIGHBOUR_KEYS.into_iter().collect());
}
