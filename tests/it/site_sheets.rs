//! Sheets of sites, read beside their book: each rule broken, and nothing loaded by halves.

use cupwright::{
    book::{BookDocument, SiteDocument},
    demo,
    json::{Complaint, Complaints},
};
use serde_json::{Value, json};

use crate::changed::{
    Row, assert_complaints, change, demo_book, demo_site, load, place, pointer, put, row,
};

/// Breaks the kiosk's sheet as `rows` say, all at once, and holds its complaints to them.
#[track_caller]
fn broken(rows: &[Row]) {
    broken_at("ferry-kiosk", rows);
}

/// Breaks the sheet of the site `id` in the same way.
#[track_caller]
fn broken_at(id: &str, rows: &[Row]) {
    let book = BookDocument::read("book.json", &demo::book().text).expect("the demo reads");
    let mut sheet = demo_site(id);
    change(&mut sheet, rows);
    let text = format!("{sheet:#}");
    let faulty = SiteDocument::read("sheet.json", &text, &book.book).expect_err("it is wrong");
    assert_eq!(faulty.document, "sheet.json");
    assert_complaints(&sheet, &faulty.all, rows);
}

/// What is complained about when `site` is loaded with `book`; the fault must be its alone.
#[track_caller]
fn faults(book: &Value, site: &Value) -> Complaints {
    let mut faulty = load(book, std::slice::from_ref(site)).expect_err("something is wrong");
    assert_eq!(faulty.len(), 1, "{faulty:?}");
    faulty.remove(0)
}

/// Pointer, found and expected of each complaint.
fn told(all: &[Complaint]) -> Vec<(&str, &str, &str)> {
    all.iter().map(|one| (&*one.pointer, &*one.found, &*one.expected)).collect()
}

#[test]
fn a_sheet_names_only_what_the_book_has() {
    const GONE: &str = "which the book does not have";
    let own_cup = json!({
        "id": "beaker", "names": {"en": "Beaker", "de": "Becher"}, "brim_ml": 200, "fill_ml": 210,
        "diameter_at_fill_mm": 70, "material": "wood", "mass_g": 90, "rests_at_c": 20,
    });
    let gone = |id: &str| -> &'static str { String::leak(format!("`{id}`, {GONE}")) };
    broken(&[
        row("/min_reader", json!("9.0.0"), "9.0.0", "at most 0.1.0; a newer program reads this"),
        row("/region", json!("eur"), gone("eur"), "a region of the book, such as `eu`"),
        row("/vessels/paper-120/id", json!("paper-12"), gone("paper-12"), "such as `paper-120`")
            .at("/vessels/1/id"),
        row("/vessels/cup-175/replaced_by", own_cup, "210 ml", "at most 200 ml, its brim")
            .at("/vessels/cup-175/replaced_by/fill_ml"),
        // The same change: the cup's material is no material of the book.
        row("/vessels/cup-175/replaced_by/material", json!("wood"), gone("wood"), "a material"),
        row("/jugs/jug-350/replaced_by/material", json!("stele"), gone("stele"), "such as `steel`"),
        row("/stock/6", json!("oat-drnk"), gone("oat-drnk"), "such as `oat-drink`"),
        row("/wands/only/only", json!(["whole-mlk"]), gone("whole-mlk"), "such as `whole-milk`")
            .at("/wands/only/only/0"),
        row(
            "/grinders/hopper/beans/0",
            json!("hose"),
            gone("hose"),
            "a bean of the book, such as `house`",
        ),
    ]);
}

#[test]
fn a_site_speaks_languages_of_its_book_and_has_a_name_in_each() {
    const EACH: &str = "a name in each language of the site";
    let silent = row("/names/en", json!("Foyer"), "no text in `fr`", EACH).at("/names");
    broken_at(
        "hospital-foyer",
        &[
            row("/languages", json!(["en", "fr"]), "`fr`", "one of en, de").at("/languages/1"),
            silent,
        ],
    );
}

#[test]
fn a_sheet_holds_together() {
    broken(&[
        row("/time_zone", json!("Europe/Nowhere"), "`Europe/Nowhere`", "an IANA time zone"),
        row("/opening_hours/0/to", json!("05:45"), "`05:45`", "another time than `from`"),
        row("/opening_hours/1/days", json!(["sat", "sat"]), "Sat a second time", "each day once"),
        row(
            "/vessels/-",
            json!({"id": "cup-175"}),
            "`cup-175` a second time",
            "each id once in this list",
        )
        .at("/vessels/4/id"),
        row(
            "/baskets",
            json!([{"halves": 1, "count": 2}]),
            "no double basket",
            "a basket of 2 halves",
        ),
        row("/wands/only/steam_g_s", json!(0.099), "0.099 g/s", "at least 0.1 g/s"),
        row("/steam/dryness", json!(0.499), "0.499 of the whole", "at least 0.5"),
    ]);
}

#[test]
fn a_sheets_own_cup_has_a_name_that_a_step_can_say() {
    let mut sheet = demo_site("bookshop");
    put(&mut sheet, "/vessels/cup-175/replaced_by/names", json!({}));
    let wrong = load(&demo_book(), &[sheet]);
    assert!(wrong.is_err(), "a cup without any name leaves a gap in every step that names it");
}

#[test]
fn a_site_replaces_only_what_the_book_lists_and_what_is_there() {
    const LISTED: &str = "a path that the book lists as replaceable here";
    const LEADS: &str = "a path of ids to a field of the book";
    let book = demo_book();
    let mut sheet = demo_site("ferry-kiosk");
    sheet["replace"] = json!({
        "/drinks/latte/names/en": "Our latte",
        "/drinks/lattte/cups/takeaway/regular/price": "4.40",
        "/drinks/latte/cups/takeaway/vast/price": "4.40",
        "/drinks/latte": null,
        "": null,
        "/drinks/latte/cups/takeaway/regular/price": "4.40",
    });
    let Complaints { document, all } = faults(&book, &sheet);
    assert_eq!(document, "site-0.json");
    let wanted = [
        ("/replace/~1drinks~1latte~1names~1en", "`/drinks/latte/names/en`", LISTED),
        (
            "/replace/~1drinks~1lattte~1cups~1takeaway~1regular~1price",
            "`/drinks/lattte/cups/takeaway/regular/price`, which leads nowhere",
            LEADS,
        ),
        (
            "/replace/~1drinks~1latte~1cups~1takeaway~1vast~1price",
            "`/drinks/latte/cups/takeaway/vast/price`, which leads nowhere",
            LEADS,
        ),
        ("/replace/~1drinks~1latte", "`/drinks/latte`", LISTED),
        ("/replace/", "``", LISTED),
    ];
    assert_eq!(told(&all), wanted);
    for one in &all {
        assert_eq!(one.place, Some(place(&sheet, &one.pointer)), "{one}");
    }
}

#[test]
fn a_replacement_of_the_wrong_kind_is_told_of_the_book_as_it_would_hold_there() {
    let book = demo_book();
    let mut sheet = demo_site("ferry-kiosk");
    sheet["replace"] = json!({"/drinks/latte/cups/takeaway/regular/price": 4.4});
    let Complaints { document, all } = faults(&book, &sheet);
    assert_eq!(document, "book.json as it holds at ferry-kiosk");
    let at = pointer(&book, "/drinks/latte/cups/takeaway/regular/price");
    assert_eq!(told(&all), [(&*at, "4.4", "a value of type string")]);
    assert_eq!(all[0].place, None, "the resolved book is no text");
    sheet["replace"] = json!({"/drinks/latte/parts/milk/ingredient": "whole-mlik"});
    let Complaints { document, all } = faults(&book, &sheet);
    assert_eq!(document, "book.json as it holds at ferry-kiosk");
    assert_eq!(all[0].pointer, pointer(&book, "/drinks/latte/parts/milk/ingredient"));
    assert!(all[0].expected.contains("such as `whole-milk`"), "{}", all[0]);
}

#[test]
fn a_replacement_of_a_region_that_leads_nowhere_is_told_in_the_book() {
    let mut book = demo_book();
    let path = "/drinks/lattte/names/en";
    book["regions"][1]["replace"] = json!({ path: "Latte" });
    let Complaints { document, all } = faults(&book, &demo_site("takeaway-window"));
    assert_eq!(all[0].pointer, "/regions/1/replace/~1drinks~1lattte~1names~1en");
    assert_eq!(document, "book.json", "the region stands in the book, not in the sheet");
    assert_eq!(all[0].place, Some(place(&book, &all[0].pointer)));
}

#[test]
fn a_replacement_of_the_training_bar_is_told_where_it_stands_in_the_book() {
    let mut book = demo_book();
    book["training_bar"]["replace"] = json!({"/drinks/latte/names/en": "Our latte"});
    let faulty = load(&book, &[]).expect_err("names are not a site's to replace");
    let at = "/training_bar/replace/~1drinks~1latte~1names~1en";
    assert_eq!(faulty[0].all[0].pointer, at);
    assert_eq!(faulty[0].all[0].place, Some(place(&book, at)));
}

#[test]
fn a_region_that_would_replace_allergens_is_refused() {
    let mut book = demo_book();
    book["regions"][1]["replace"] = json!({"/ingredients/whole-milk/allergens": []});
    let sheet = demo_site("takeaway-window");
    assert!(load(&book, std::slice::from_ref(&sheet)).is_err(), "the path is not listed");
    put(&mut book, "/region_may_replace/-", json!("/ingredients/*/allergens"));
    let Complaints { document, all } = faults(&book, &sheet);
    assert_eq!(document, "book.json");
    let found: Vec<&str> = all.iter().map(|one| &*one.found).collect();
    let wanted = [
        "`/ingredients/whole-milk/allergens`, which leads nowhere",
        "`/ingredients/*/allergens`, which reaches `allergens`",
    ];
    assert_eq!(found, wanted);
}

#[test]
fn two_sites_have_two_ids() {
    let sheet = demo_site("ferry-kiosk");
    let faulty = load(&demo_book(), &[sheet.clone(), demo_site("bookshop"), sheet.clone()]);
    let faulty = faulty.expect_err("one id twice");
    assert_eq!(faulty.len(), 1);
    assert_eq!(faulty[0].document, "site-2.json");
    assert_eq!(told(&faulty[0].all), [("/id", "`ferry-kiosk` a second time", "each site once")]);
    assert_eq!(faulty[0].all[0].place, Some(place(&sheet, "/id")));
    let mut sheet = sheet;
    sheet["id"] = json!("training-bar");
    assert_eq!(faults(&demo_book(), &sheet).all[0].found, "`training-bar` a second time");
}

#[test]
fn every_sheet_that_is_wrong_is_told_and_none_is_loaded() {
    let (mut first, mut third) = (demo_site("ferry-kiosk"), demo_site("hospital-foyer"));
    first["region"] = json!("nowhere");
    first["time_zone"] = json!("Nowhere");
    third["groups"] = json!(-1);
    let faulty = load(&demo_book(), &[first, demo_site("bookshop"), third]);
    let faulty = faulty.expect_err("two of three are wrong, so none is in force");
    let told: Vec<(&str, usize)> =
        faulty.iter().map(|one| (&*one.document, one.all.len())).collect();
    assert_eq!(told, [("site-0.json", 2), ("site-2.json", 1)]);
}
