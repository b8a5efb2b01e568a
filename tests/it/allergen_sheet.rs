//! The drinks of a site by allergens: each form says the same, and none says that anything is absent.

use std::collections::BTreeMap;

use cupwright::{
    answering::{Sent, matrix, matrix_csv, matrix_html, matrix_text},
    in_force::InForce,
    wire::Recorded,
};
use serde_json::{Value, json};

use crate::{
    allergen_tables::{in_region, load},
    cli::{run, said},
    lines::DEMO,
    support::answer,
};

const WORDS: [(Recorded, &str); 4] = [
    (Recorded::Contained, "contains"),
    (Recorded::MayBeContained, "may contain"),
    (Recorded::SharedEquipment, "shared"),
    (Recorded::NothingRecorded, "not recorded"),
];

fn word(recorded: Recorded) -> &'static str {
    WORDS.iter().find(|(one, _)| *one == recorded).unwrap().1
}

/// What is recorded of each allergen for each drink, by ids.
fn recorded(held: &InForce, site: &str) -> BTreeMap<String, BTreeMap<String, Recorded>> {
    let bar = held.bar(site).unwrap();
    let made = matrix(held, bar, Some("en"), Some("2026-11-25"), Sent::default().now).unwrap();
    let row = |of: &BTreeMap<&str, Recorded>| {
        of.iter().map(|(id, recorded)| ((*id).to_owned(), *recorded)).collect()
    };
    made.view.drinks.iter().map(|one| (one.id.to_owned(), row(&one.recorded))).collect()
}

#[test]
fn each_cell_is_the_strongest_that_the_build_of_the_usual_cup_says() {
    let mut seen = BTreeMap::new();
    for site in ["bookshop", "hospital-foyer", "ferry-kiosk", "takeaway-window", "training-bar"] {
        for (drink, cells) in recorded(&DEMO, site) {
            let line = json!({ "drink": drink });
            let told = answer(&DEMO, site, &line);
            if told["verdict"] != "accept" {
                // Its usual cup is not here, and another one is shown.
                continue;
            }
            let allergens = &told["build"]["allergens"];
            let has = |list: &str, id: &str| {
                let all = allergens[list].as_array().unwrap();
                all.iter().any(|one| one == id || one["allergen"] == id)
            };
            for (id, cell) in cells {
                let wanted = if has("ingredients", &id) {
                    Recorded::Contained
                } else if has("may_contain", &id) {
                    Recorded::MayBeContained
                } else if has("shared_equipment", &id) {
                    Recorded::SharedEquipment
                } else {
                    Recorded::NothingRecorded
                };
                assert_eq!(cell, wanted, "{site}: {drink}, {id}");
                *seen.entry(cell).or_insert(0) += 1;
            }
        }
    }
    assert!(seen.len() == 4 && seen.values().all(|n| *n > 20), "{seen:?}");
}

#[test]
fn the_columns_are_the_region_s_and_then_whatever_else_occurs() {
    let held = load(&in_region("us"));
    let bar = held.bar("training-bar").unwrap();
    let made = matrix(&held, bar, None, Some("2026-11-25"), Sent::default().now).unwrap();
    let listed: Vec<&str> =
        made.view.allergens.iter().filter(|one| one.listed).map(|one| one.id).collect();
    let table = bar.allergen_table().unwrap();
    assert_eq!(listed, table.rows.iter().map(|row| &*row.allergen).collect::<Vec<_>>());
    let others: Vec<&str> =
        made.view.allergens.iter().filter(|one| !one.listed).map(|one| one.id).collect();
    assert!(others.contains(&"oats") && others.contains(&"celery"), "{others:?}");
    assert!(!others.contains(&"lupin"), "nothing here has it, and nobody asks: {others:?}");
    let nut = made.view.allergens.iter().find(|one| one.id == "pine-nut").unwrap();
    assert_eq!(nut.group, Some("Tree nuts"));
}

/// Source: RFC 4180, by the crate `csv`; sections 2.1 and 2.4: lines end in CRLF, and each has the same
/// number of fields.
#[test]
fn the_csv_form_has_a_word_in_every_cell_and_says_what_it_was_worked_from() {
    let bar = DEMO.bar("bookshop").unwrap();
    let made = matrix(&DEMO, bar, Some("en"), Some("2026-11-25"), Sent::default().now).unwrap();
    let told = matrix_csv(&made);
    assert!(told.ends_with("\r\n"));
    assert_eq!(told.matches('\n').count(), told.matches("\r\n").count());
    let mut reader = csv::ReaderBuilder::new().flexible(false).from_reader(told.as_bytes());
    let head = reader.headers().unwrap().clone();
    let columns = made.view.allergens.len();
    assert_eq!(&head[0], "Drink");
    let mut rows = 0;
    for (row, drink) in reader.records().zip(&made.view.drinks) {
        let row = row.unwrap();
        assert_eq!(&row[0], drink.name);
        for (at, one) in made.view.allergens.iter().enumerate() {
            assert_eq!(&head[at + 1], one.name);
            assert_eq!(&row[at + 1], word(drink.recorded[one.id]), "{}, {}", drink.id, one.id);
        }
        let rest: Vec<&str> = row.iter().skip(columns + 1).collect();
        assert_eq!(rest[0], "2026-11-25");
        assert_eq!(rest[2], bar.site_digest.to_string());
        assert!(rest[6].contains("(invented)"), "the reviewer: {rest:?}");
        assert_eq!(rest[9], bar.book_digest.to_string());
        rows += 1;
    }
    assert_eq!(rows, made.view.drinks.len());
}

#[test]
fn every_form_shows_legend_day_book_sheet_source_and_reviewer() {
    for (site, lang) in [("bookshop", "de"), ("takeaway-window", "en"), ("ferry-kiosk", "en")] {
        let bar = DEMO.bar(site).unwrap();
        let made = matrix(&DEMO, bar, Some(lang), Some("2026-11-25"), Sent::default().now).unwrap();
        let table = bar.allergen_table().unwrap();
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for told in [matrix_html(&made), matrix_text(&made)] {
            let told = flat(&told).replace("&#39;", "'");
            for part in [
                "2026-11-25",
                &made.view.book.version,
                &made.view.book.digest,
                &made.view.site.digest,
                &table.source,
                &table.in_force,
                &table.reviewer,
                &table.reviewed,
            ] {
                assert!(told.contains(part), "{site} {lang}: {part}");
            }
            for row in &made.view.legend {
                assert!(told.contains(&flat(&row.text)), "{site} {lang}: {}", row.text);
            }
            for note in &made.view.notes {
                assert!(told.contains(note), "{site} {lang}: {note}");
            }
        }
        let wide = matrix_text(&made).lines().map(|line| line.chars().count()).max();
        assert!(wide <= Some(98), "{wide:?}");
    }
}

/// Source: HTML, section 13: names of a book are text, whatever is in them.
#[test]
fn names_in_the_page_are_escaped_and_the_head_is_repeated_on_each_sheet() {
    let mut book = in_region("eu");
    let odd = "<script>alert('x')</script> & \"co\"";
    book["drinks"][0]["names"] = json!({"en": odd, "de": odd});
    book["regions"][0]["allergen_table"]["rows"][0]["name"] = json!({"en": odd, "de": odd});
    book["regions"][0]["allergen_table"]["source"] = json!(odd);
    let held = load(&book);
    let bar = held.bar("training-bar").unwrap();
    let made = matrix(&held, bar, Some("en"), Some("2026-11-25"), Sent::default().now).unwrap();
    let page = matrix_html(&made);
    assert!(!page.contains("<script") && !page.contains("alert('x')"));
    let escaped = "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt; &amp; &quot;co&quot;";
    assert_eq!(page.matches(escaped).count(), 3);
    for part in ["@page", "display: table-header-group", "<thead>", "<html lang=\"en\">"] {
        assert!(page.contains(part), "{part}");
    }
    let cells = page.matches("<td class=").count();
    assert_eq!(cells, made.view.drinks.len() * made.view.allergens.len());
    let style = page.split("</style>").next().unwrap();
    for set in ["color:", "background:", "solid "] {
        for value in style.split(set).skip(1).map(str::trim_start) {
            assert!(["#000", "#fff"].iter().any(|one| value.starts_with(one)), "{set} {value}");
        }
    }
}

#[test]
fn a_region_without_a_table_is_shown_by_the_book_s_names_and_says_so() {
    let mut book = in_region("eu");
    book["regions"][0].as_object_mut().unwrap().remove("allergen_table");
    let held = load(&book);
    let bar = held.bar("training-bar").unwrap();
    let made = matrix(&held, bar, Some("en"), Some("2026-11-25"), Sent::default().now).unwrap();
    assert!(made.view.table.is_none());
    assert!(made.view.allergens.iter().all(|one| !one.listed && one.group.is_none()));
    assert!(made.view.allergens.iter().any(|one| one.name == "Soya"));
    for told in [matrix_html(&made), matrix_text(&made), matrix_csv(&made)] {
        assert!(told.contains("no table of allergens for this region"), "{told}");
    }
}

#[test]
fn the_program_prints_each_form_for_the_day_that_is_asked_for() {
    let print = |more: &[&str]| {
        let all =
            [&["allergens", "--site", "bookshop", "--lang", "en", "--at", "2026-11-25"], more];
        run(&all.concat(), "")
    };
    let bar = DEMO.bar("bookshop").unwrap();
    let made = matrix(&DEMO, bar, Some("en"), Some("2026-11-25"), Sent::default().now).unwrap();
    assert_eq!(said(&print(&[])), matrix_text(&made));
    assert_eq!(said(&print(&["--format", "csv"])), matrix_csv(&made));
    assert_eq!(said(&print(&["--format", "html"])), matrix_html(&made));
    let json: Value = serde_json::from_str(&said(&print(&["--format", "json"]))).unwrap();
    assert_eq!(json, serde_json::to_value(&made.view).unwrap());
    let wrong = run(&["allergens", "--site", "bookshop", "--at", "yesterday"], "");
    assert_eq!(wrong.status.code(), Some(3));
    let nowhere = run(&["cautions", "--site", "nowhere"], "");
    assert_eq!(nowhere.status.code(), Some(3));
    let cautions = said(&run(&["cautions", "--site", "takeaway-window"], ""));
    assert!(cautions.contains("two-hours-four-hours") && cautions.contains("bench"), "{cautions}");
}

/// Source: RFC 9110, section 12.5.1: the reader gets the form that it would rather have.
#[actix_web::test]
async fn the_service_gives_each_form_by_accept() {
    use actix_web::{test, web::Data};
    use cupwright::{
        config::Settings,
        http::{State, app},
        keys::KeyRing,
        state::StockOuts,
    };
    use std::sync::Arc;

    let held = Arc::new(crate::support::demo());
    let state = State::new(held, KeyRing::default(), StockOuts::default(), Settings::default());
    let service = test::init_service(app(Data::new(state))).await;
    let path = "/v1/allergens?site=bookshop&lang=en&at=2026-11-25";
    for (accept, kind, begins) in [
        ("application/json", "application/json", "{\"book\""),
        ("text/html", "text/html; charset=utf-8", "<!doctype html>"),
        ("text/csv", "text/csv; charset=utf-8", "Drink,"),
        ("text/plain", "text/plain; charset=utf-8", "Drinks and allergens"),
        ("text/html, */*;q=0.1", "text/html; charset=utf-8", "<!doctype html>"),
    ] {
        let request = test::TestRequest::get().uri(path).insert_header(("accept", accept));
        let response = test::call_service(&service, request.to_request()).await;
        assert_eq!(response.status(), 200);
        let header =
            |name: &str| response.headers().get(name).unwrap().to_str().unwrap().to_owned();
        assert_eq!([header("content-type"), header("vary")], [kind, "accept"]);
        let policy = header("content-security-policy");
        assert!(policy.starts_with("default-src 'none'"), "{policy}");
        assert_eq!(policy.contains("style-src 'unsafe-inline'"), begins.starts_with('<'));
        let body = test::read_body(response).await;
        assert!(body.starts_with(begins.as_bytes()), "{accept}");
    }
    for (path, accept, status) in [
        (path, "image/png", 406),
        ("/v1/allergens?site=bookshop&at=25.11.2026", "*/*", 400),
        ("/v1/allergens?site=bookshop&at=20261125", "*/*", 400),
        ("/v1/allergens?site=bookshop&at=2026-02-30", "*/*", 400),
        ("/v1/allergens?site=bookshop&at=2026-11-25T10:00", "*/*", 400),
        ("/v1/allergens?site=bookshop&lang=xx", "*/*", 400),
        ("/v1/allergens?site=nowhere", "*/*", 404),
        ("/v1/allergens", "*/*", 400),
        ("/v1/cautions?site=nowhere", "*/*", 404),
        ("/v1/cautions?site=bookshop&lang=xx", "*/*", 400),
    ] {
        let request = test::TestRequest::get().uri(path).insert_header(("accept", accept));
        let response = test::call_service(&service, request.to_request()).await;
        assert_eq!(response.status(), status, "{path}");
    }
}
