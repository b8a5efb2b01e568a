//! Books as texts: syntax, structure and limits, with every complaint at once and in its place.

use std::sync::Arc;

use cupwright::{
    answering::{Asked, Sent, read_ticket},
    book::BookDocument,
    demo,
    in_force::{InForce, Source},
    json::{Complaint, Complaints, Limits, Place, read},
};
use serde_json::{Value, json};

use crate::{
    changed::{
        assert_complaints, change, demo_book, demo_site, load, place, pointer, put, row, source,
        take_out,
    },
    support::answer_to,
};

/// What is complained about in a book that does not read.
#[track_caller]
fn unread(text: &str) -> Complaints {
    BookDocument::read("book.json", text).expect_err("the book is wrong")
}

/// The only complaint about a book that has one.
#[track_caller]
fn only(text: &str) -> Complaint {
    let Complaints { all, .. } = unread(text);
    assert_eq!(all.len(), 1, "one complaint: {all:?}");
    all.into_iter().next().unwrap()
}

/// Line and column of the byte at `offset`, counted here and not by the code under test.
fn place_at(text: &str, offset: usize) -> Place {
    let before = &text[..offset];
    let column = before.chars().rev().take_while(|one| *one != '\n').count() + 1;
    Place { line: before.matches('\n').count() + 1, column }
}

#[test]
fn a_wrong_document_gets_every_complaint_at_once() {
    let rows = [
        row("/version", json!("one"), "\"one\"", "a text like `^[0-9]{1,9}"),
        row("/currency_places", json!(7), "7", "a number of at most 3"),
        row("/sizes/0/id", json!("Very Small"), "\"Very Small\"", "a text like `^"),
        row("/ingredients/water/kind", json!("lava"), "\"lava\"", "one of "),
        row("/ingredients/ice/stored_c", json!("cold"), "\"cold\"", "a value of type number"),
        row("/vessels/cup-200/brim_ml", json!(-1), "-1", "a number of at least 0"),
        row("/vessels/cup-260/colour", json!("blue"), "the field `colour`", "no such field here"),
        row("/drinks/latte/remainder", json!(null), "no field `remainder`", "which is required")
            .taken_out()
            .at("/drinks/latte"),
        row("/drinks/mocha/parts", json!([]), "[]", "at least 1 elements"),
        row("/drinks/mocha/cups/here/large/halves", json!(7), "7", "a number of at most 6"),
        row("/modifiers/shots/kind", json!("dial"), "\"dial\"", "one of "),
        row("/training_bar/groups", json!(2.5), "2.5", "a value of type integer"),
    ];
    let mut book = demo_book();
    change(&mut book, &rows);
    // What the value cannot show any more: a key twice, and a number of four places.
    let mut text = format!("{book:#}");
    let twice = "\"currency\": \"EUR\",";
    text = text.replacen(twice, &format!("{twice} {twice}"), 1);
    text = text.replacen("\"density_kg_m3\": 999.5", "\"density_kg_m3\": 999.51234", 1);
    let mut all = unread(&text).all;
    let of_text = |one: &Complaint| one.pointer == "/currency" || one.found == "999.51234";
    let (shown, rest): (Vec<_>, Vec<_>) = all.drain(..).partition(of_text);
    assert_eq!(shown.len(), 2, "{shown:?}");
    assert_eq!(shown[0].found, "the key `currency` a second time");
    assert_eq!(shown[0].place, Some(place_at(&text, text.rfind("\"EUR\"").unwrap())));
    assert_eq!(shown[1].expected, "a number with at most three decimal places");
    assert_complaints(&book, &rest, &rows);
}

#[test]
fn complaints_name_the_file_the_place_the_pointer_what_is_found_and_what_is_expected() {
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/cups/here/regular/price", json!(4));
    let text = format!("{book:#}");
    let at = pointer(&book, "/drinks/latte/cups/here/regular/price");
    let Place { line, column } = place(&book, &at);
    let told = unread(&text).to_string();
    let wanted =
        format!("book.json:{line}:{column}: {at}: found 4; expected a value of type string");
    assert_eq!(told, wanted);
}

#[test]
fn a_key_that_stands_twice_is_shown_where_it_stands_the_second_time() {
    let text = demo::book().text.replacen('{', "{\n  \"id\": \"first\",\n", 1);
    let one = only(&text);
    assert_eq!(one.pointer, "/id");
    assert_eq!(one.found, "the key `id` a second time");
    assert_eq!(one.expected, "each key once");
    let second = text.find("\"sallowmere-standards\"").unwrap();
    assert_eq!(one.place, Some(place_at(&text, second)));
}

#[test]
fn a_key_counts_as_the_same_when_it_is_escaped() {
    let text = demo::book().text.replacen('{', "{\"\\u0069d\": \"first\",", 1);
    assert_eq!(only(&text).found, "the key `id` a second time");
}

#[test]
fn a_number_has_at_most_three_decimal_places_however_it_is_written() {
    let mut book = demo_book();
    put(&mut book, "/ingredients/honey/displacement_ml_g", json!("the number"));
    let text = format!("{book:#}");
    let with = |number: &str| text.replacen("\"the number\"", number, 1);
    for wrong in ["1.2345", "1e-4", "0.70401", "7040.1e-4", "1.0000001E-1"] {
        let one = only(&with(wrong));
        assert_eq!(one.pointer, pointer(&book, "/ingredients/honey/displacement_ml_g"));
        assert_eq!(one.found, wrong);
        assert_eq!(one.expected, "a number with at most three decimal places");
        assert_eq!(one.place, Some(place_at(&text, text.find("\"the number\"").unwrap())));
    }
    for right in ["0.704", "0.70400000", "7.04e-1", "704e-3", "1", "0"] {
        let read = BookDocument::read("book.json", &with(right));
        assert!(read.is_ok(), "{right} has at most three places");
    }
}

#[test]
fn a_whole_number_may_be_written_with_a_point_or_an_exponent() {
    // JSON Schema 2020-12 Validation, section 6.1.1: 2.0 is an integer.
    let text = demo::book().text;
    let plain = BookDocument::read("book.json", &text).expect("the demo reads");
    for same in ["2.0", "2.000", "20e-1", "0.2E1"] {
        let text =
            text.replacen("\"currency_places\": 2", &format!("\"currency_places\": {same}"), 1);
        match BookDocument::read("book.json", &text) {
            Ok(read) => assert_eq!(read.digest, plain.digest, "{same} is 2 (RFC 8785)"),
            Err(faulty) => panic!("{same} is an integer: {faulty}"),
        }
    }
}

#[test]
fn a_field_of_ones_own_is_kept_and_changes_the_digest_but_no_build() {
    let (plain, mut own) = (demo_book(), demo_book());
    put(&mut own, "/x-reviewed-by", json!({"name": "Mara", "grams": 0.123}));
    put(&mut own, "/drinks/latte/x-colour", json!("tan"));
    put(&mut own, "/drinks/latte/parts/milk/x-why", json!([1, 2]));
    put(&mut own, "/modifiers/shots/x-key", json!(7));
    let with_sites = |book| InForce::load(&source("book.json", book), &demo::sites());
    let [plain, own] = [&plain, &own].map(|book| Arc::new(with_sites(book).unwrap()));
    assert_ne!(plain.digest(), own.digest());
    let lines = json!([
        {"line": "1", "drink": "latte", "modifiers": [{"id": "shots", "count": 1}]},
        {"line": "2", "drink": "mocha"},
    ]);
    let ticket = json!({"site": "bookshop", "lang": "en", "lines": lines});
    let built = |held: &Arc<InForce>| {
        let mut answer = answer_to(held, &ticket, Asked::Builds, &Sent::default());
        take_out(&mut answer, "/book/digest");
        for at in 0..2 {
            assert_eq!(answer["lines"][at]["verdict"], "accept");
            for digest in ["digest", "build_id", "worked_from"] {
                take_out(&mut answer, &format!("/lines/{at}/build/{digest}"));
            }
        }
        answer
    };
    assert_eq!(built(&plain), built(&own));
}

#[test]
fn an_id_that_begins_like_a_field_of_ones_own_is_not_dropped_in_silence() {
    // `x-large` is a natural id for a size; what begins `x-` is taken for a field of one's own.
    let mut book = demo_book();
    let mut size = book["sizes"][2].clone();
    size["id"] = json!("x-large");
    put(&mut book, "/sizes/-", size);
    let cup = book.pointer(&pointer(&book, "/drinks/latte/cups/takeaway/large")).unwrap().clone();
    put(&mut book, "/drinks/latte/cups/takeaway/x-large", cup);
    match BookDocument::read("book.json", &format!("{book:#}")) {
        Ok(read) => {
            let drinks = &read.book.drinks;
            let latte = drinks.iter().find(|drink| drink.id == "latte").unwrap();
            let rows = latte.cups.values().flat_map(|sizes| sizes.keys());
            assert!(
                rows.into_iter().any(|size| *size == "x-large"),
                "the cup was dropped in silence"
            );
        }
        Err(faulty) => {
            assert!(faulty.to_string().contains("x-large"), "the complaint names the id: {faulty}");
        }
    }
}

#[test]
fn a_text_that_is_not_json_is_told_by_line_and_column() {
    let cases = [
        ("", 1, 1),
        ("{\n  \"schema\": \"drink-book/0.1.0\",\n  \"id\" \"x\"\n}", 3, 8),
        ("{\"id\": \"x\"} {", 1, 13),
        ("[1, 2,\n]", 2, 1),
        ("{\"id\": NaN}", 1, 8),
        ("{\"id\": 01}", 1, 9),
    ];
    for (text, line, column) in cases {
        let one = only(text);
        assert_eq!(one.pointer, "", "{text:?}");
        assert_eq!(one.place, Some(Place { line, column }), "{text:?}: {one}");
        assert_eq!(one.expected, "a JSON text (RFC 8259)");
    }
}

#[test]
fn a_value_that_json_allows_and_nobody_can_hold_is_told_at_its_place() {
    let text = demo::book().text.replacen("\"version\": \"1.1.0\"", "\"version\": 1e999", 1);
    let one = only(&text);
    assert_eq!(one.pointer, "/version");
    assert_eq!(one.place, Some(place_at(&text, text.find("1e999").unwrap())));
    let text = demo::book().text.replacen("\"version\": \"1.1.0\"", "\"version\": \"\\ud800\"", 1);
    assert_eq!(
        only(&text).pointer,
        "/version",
        "a lone surrogate is no text (RFC 8259, section 8.2)"
    );
}

#[test]
fn a_text_over_the_limit_has_one_complaint_and_is_not_looked_into() {
    let most = Limits::DOCUMENT.bytes;
    let text = format!("{{ not even JSON {}", " ".repeat(most));
    let one = only(&text);
    assert_eq!(one.found, format!("{} bytes", text.len()));
    assert_eq!(one.expected, format!("at most {most} bytes"));
    assert_eq!(one.place, Some(Place { line: 1, column: 1 }));
    let mut just = demo::book().text;
    just.push_str(&" ".repeat(most - just.len()));
    assert!(BookDocument::read("book.json", &just).is_ok(), "the limit itself is allowed");
    assert!(BookDocument::read("book.json", &(just + " ")).is_err());
}

#[test]
fn nesting_over_the_limit_has_one_complaint_at_the_level_that_is_too_deep() {
    let deep = Limits::DOCUMENT.depth;
    let nested = |levels: usize| format!("{}{}", "[".repeat(levels), "]".repeat(levels));
    assert!(read(&nested(deep), Limits::DOCUMENT).is_ok());
    for levels in [deep + 1, deep + 20, 100_000] {
        let one = read(&nested(levels), Limits::DOCUMENT).expect_err("too deep");
        assert_eq!(only(&nested(levels)), one, "a book meets the same limit");
        let told = one.to_string();
        assert!(levels > 100 || one.pointer == "/0".repeat(deep), "{told}");
        assert!(levels > 100 || one.expected == format!("at most {deep}"), "{told}");
        assert!(levels > 100 || one.place == Some(Place { line: 1, column: deep + 1 }), "{told}");
    }
}

#[test]
fn a_book_of_two_thousand_drinks_loads_and_one_fault_in_it_is_found() {
    let mut book = demo_book();
    let drinks = book["drinks"].as_array().unwrap().clone();
    let many = (0..2_000).map(|n| {
        let mut drink = drinks[n % drinks.len()].clone();
        if n >= drinks.len() {
            drink["id"] = json!(format!("{}-{n}", drink["id"].as_str().unwrap()));
        }
        drink
    });
    book["drinks"] = many.collect();
    let text = format!("{book:#}");
    let held = InForce::load(&Source { name: "book.json".to_owned(), text }, &[])
        .map_err(|faulty| faulty.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"));
    let held = held.unwrap_or_else(|faulty| panic!("{faulty}"));
    assert_eq!(held.book().drinks.len(), 2_000);
    put(&mut book, "/drinks/1999/default_size", json!("vast"));
    let all = unread(&format!("{book:#}")).all;
    assert!(all.iter().all(|one| one.pointer == "/drinks/1999/default_size"), "{all:?}");
    assert_eq!(all[0].place, Some(place(&book, "/drinks/1999/default_size")));
}

#[test]
fn a_document_with_very_many_faults_is_still_answered() {
    // A body of 1 MiB holds half a million of them; the work must not grow with their square.
    let faults = 2_000;
    let lines = vec!["1"; faults].join(",");
    let text = format!("{{\"site\":\"bookshop\",\"lines\":[{lines}]}}");
    let began = std::time::Instant::now();
    let problem = read_ticket(text.as_bytes()).expect_err("no line is an object");
    let took = began.elapsed();
    assert_eq!(problem.status, 422);
    assert!(!problem.errors.is_empty());
    assert!(took.as_secs() < 3, "{faults} faults in a small body took {took:?}");
}

#[test]
fn nothing_is_half_loaded() {
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/default_size", json!("vast"));
    let faulty = load(&book, &[]).expect_err("the book is wrong");
    assert_eq!(faulty.len(), 1);
    assert_eq!(faulty[0].document, "book.json");
    assert!(source("book.json", &book).text.contains("vast"));
}

#[test]
fn a_fault_inside_an_optional_part_is_told_where_it_stands() {
    let rows = [
        row(
            "/ingredients/honey/displacement_ml_g",
            json!("thick"),
            "\"thick\"",
            "a value of type number",
        ),
        row(
            "/drinks/latte/parts/milk/foam/deepth_mm",
            json!(9),
            "the field `deepth_mm`",
            "no such field",
        ),
        row(
            "/training_bar/vessels/0/replaced_by",
            json!({"id": "cup"}),
            "no field `names`",
            "required",
        )
        .at("/training_bar/vessels/0/replaced_by"),
    ];
    let mut book = demo_book();
    change(&mut book, &rows);
    let all = unread(&format!("{book:#}")).all;
    for (row, told) in [(0, "/displacement_ml_g"), (1, "/foam/deepth_mm"), (2, "/replaced_by")] {
        let found = all.iter().any(|one| one.pointer.ends_with(told) && rows[row].told_by(one));
        assert!(found, "no complaint such as {told} in {all:#?}");
    }
}

#[test]
fn a_document_for_a_newer_program_is_told_only_that() {
    let mut book = demo_book();
    book["min_reader"] = json!("0.9.0");
    book["drinks"][0]["moods"] = json!(["calm"]);
    book["drinks"][1]["moods"] = json!(["brisk"]);
    let all = unread(&book.to_string()).all;
    assert_eq!(all.len(), 1, "{all:?}");
    assert_eq!(all[0].pointer, "/min_reader");
    assert_eq!(all[0].expected, "at most 0.1.0; a newer program reads this");
}

/// The latte of the demo promises four halves, which it does not have.
fn failing_example() -> Value {
    let expect = json!({"/coffee/halves": 4});
    json!({"about": "wrong on purpose", "line": {"drink": "latte"}, "expect": expect})
}

#[test]
fn faults_of_every_kind_in_a_book_and_a_sheet_are_told_in_one_go() {
    let rows = [
        row("/ingredients/honey/stored_c", json!("warm"), "\"warm\"", "a value of type number"),
        row("/drinks/mocha/cups/here/large/vessel", json!("glass-35"), "`glass-35`", "a vessel"),
        row(
            "/ingredients/vanilla-syrup/made_of",
            json!(["vanilla-syrup"]),
            "`vanilla-syrup`, which is made of itself",
            "ingredients that lead to no circle",
        ),
        row(
            "/drinks/piccolo/envelope/set_point_c",
            json!({"min": 61, "max": 60}),
            "60 °C",
            "at least 61 °C",
        )
        .at("/drinks/piccolo/envelope/set_point_c/max"),
    ];
    let mut book = demo_book();
    change(&mut book, &rows);
    book["examples"] = json!([failing_example()]);
    put(&mut book, "/ingredients/ice/displacement_ml_g", json!("the number"));
    let text = format!("{book:#}").replacen("\"the number\"", "1.09051", 1);
    let text = text.replacen('{', "{\n  \"id\": \"first\",", 1);
    let mut sheet = demo_site("ferry-kiosk");
    sheet["region"] = json!("nowhere");
    sheet["groups"] = json!("two");
    let sources = [source("site.json", &sheet)];
    let faulty = InForce::load(&Source { name: "book.json".to_owned(), text }, &sources);
    let faulty = faulty.expect_err("everything is wrong");
    let told: Vec<(&str, &str, &str)> = faulty
        .iter()
        .flat_map(|of| of.all.iter().map(|one| (&*of.document, &*one.pointer, &*one.found)))
        .collect();
    let at = |path: &str| pointer(&book, path);
    let vessel = at("/drinks/mocha/cups/here/large/vessel");
    let mut wanted = vec![
        ("book.json", "/id".to_owned(), "the key `id` a second time"),
        ("book.json", at("/ingredients/honey/stored_c"), "\"warm\""),
        ("book.json", at("/ingredients/ice/displacement_ml_g"), "1.09051"),
        ("book.json", vessel, "`glass-35`, which the book does not have"),
        (
            "book.json",
            at("/ingredients/vanilla-syrup/made_of"),
            "`vanilla-syrup`, which is made of itself",
        ),
        ("book.json", at("/drinks/piccolo/envelope/set_point_c/max"), "60 °C"),
        ("book.json", "/examples/0/expect/~1coffee~1halves".to_owned(), "1"),
        ("site.json", "/region".to_owned(), "`nowhere`, which the book does not have"),
        ("site.json", "/groups".to_owned(), "\"two\""),
    ];
    let mut told: Vec<(&str, String, &str)> =
        told.into_iter().map(|(of, at, found)| (of, at.to_owned(), found)).collect();
    wanted.sort();
    told.sort();
    assert_eq!(told, wanted, "each of them, and nothing that only follows from them");
    assert_eq!(faulty[0].document, "book.json");
}

#[test]
fn a_worked_example_is_proved_beside_faults_that_do_not_concern_it() {
    let told = |path: &str, value: Value, sites: &[Value]| {
        let mut book = demo_book();
        put(&mut book, path, value);
        book["examples"] = json!([failing_example()]);
        let faulty = load(&book, sites).expect_err("two faults");
        let all = faulty.into_iter().flat_map(|of| of.all);
        let mut pointers: Vec<String> = all.map(|one| one.pointer).collect();
        // A size that no list has is none of the drink's cups either.
        pointers.dedup();
        pointers
    };
    let example = "/examples/0/expect/~1coffee~1halves".to_owned();
    let mocha = "/drinks/mocha/default_size";
    let of_mocha = pointer(&demo_book(), mocha);
    assert_eq!(told(mocha, json!("vast"), &[]), [of_mocha, example.clone()]);
    let mut sheet = demo_site("ferry-kiosk");
    sheet["region"] = json!("nowhere");
    let right = json!("1.0.1");
    assert_eq!(told("/version", right, &[sheet]), [example, "/region".to_owned()]);
    // What the latte is made of: its milk, its own record, a jug that any milk may be steamed in.
    for (path, value) in [
        ("/ingredients/whole-milk/allergens/0", json!("mlik")),
        ("/drinks/latte/neighbours/no-coffee", json!("steemer")),
        ("/jugs/0/material", json!("stele")),
    ] {
        let of = pointer(&demo_book(), path);
        assert_eq!(told(path, value, &[]), [of], "an example that depends on {path} waits");
    }
}

#[test]
fn the_ids_of_what_is_set_aside_are_not_told_to_be_missing() {
    for (path, value) in [
        ("/ingredients/whole-milk/kind", json!("lava")),
        ("/ingredients/whole-milk/id", json!("Whole Milk")),
        ("/sizes/regular", json!(7)),
        ("/vessels", json!({})),
        ("/modifiers/milk/phase", json!("dawn")),
        ("/drinks/latte/parts/milk/kind", json!("foam")),
        ("/drinks/mocha/parts/0", json!(null)),
        ("/languages/1", json!(3)),
        ("/training_bar/languages", json!("en")),
        ("/regions", json!([])),
    ] {
        let mut book = demo_book();
        let at = pointer(&book, path);
        put(&mut book, path, value);
        let all = load(&book, &[demo_site("bookshop")]).expect_err("a fault");
        assert_eq!(all.len(), 1, "{path}: {all:?}");
        assert!(all[0].all.iter().all(|one| one.pointer.starts_with(&at)), "{path}: {all:?}");
    }
}

#[test]
fn a_sheet_is_judged_by_itself_where_its_book_cannot_be_read() {
    let mut sheet = demo_site("bookshop");
    sheet["groups"] = json!(-1);
    let book = Source { name: "book.json".to_owned(), text: "{".to_owned() };
    let faulty = InForce::load(&book, &[source("site.json", &sheet)]).expect_err("both are wrong");
    let told: Vec<&str> = faulty.iter().map(|one| &*one.document).collect();
    assert_eq!(told, ["book.json", "site.json"]);
}
