//! The sheet of a till with the real program: loaded with the sites, checked, drafted, and served.

use std::{fs, process::Output};

use cupwright::{
    demo,
    till::{TillMap, csv_of},
};
use reqwest::{StatusCode, blocking::Response, header};
use serde_json::{Value, json};

use crate::{
    cli::{complained, run, said, write},
    lines::DEMO,
    server::{Service, ends_by_itself, kind, problem},
};

fn till_map(arguments: &[&str]) -> Output {
    run(&[&["till-map"], arguments].concat(), "")
}

#[test]
fn the_check_of_a_sheet_ends_as_the_sheet_is() {
    let folder = tempfile::tempdir().unwrap();
    let good = till_map(&["--site", "bookshop"]);
    assert_eq!(good.status.code(), Some(0), "{}", said(&good));
    assert!(said(&good).ends_with("right\n"), "{}", said(&good));
    let sheet = "code,label,drink,modifiers\n7,Latte,latte,\n8,\"Tea, iced\",unicorn,\n9,,latte,\n";
    let some = write(folder.path(), "some.csv", sheet);
    let found = till_map(&["--site", "bookshop", &some]);
    assert_eq!(found.status.code(), Some(1));
    let told = said(&found);
    for part in
        ["8        nothing  Tea, iced: ", "9        twice    ", "No button orders: espresso, "]
    {
        assert!(told.contains(part), "`{part}` in:\n{told}");
    }
    assert!(!told.contains("\n7 "), "what is right is not listed:\n{told}");
    let bad = write(folder.path(), "bad.csv", "code,label,drink,modifiers\n,Latte,latte,size=\n");
    let wrong = till_map(&["--site", "bookshop", &bad]);
    assert_eq!((wrong.status.code(), &*said(&wrong)), (Some(3), ""));
    let told = complained(&wrong);
    assert!(told.starts_with(&format!("{bad}:2:1: /buttons/0/code: ")), "{told}");
    assert!(told.contains(&format!("\n{bad}:2:4: /buttons/0/modifiers: ")), "{told}");
    assert!(told.ends_with("2 complaints. Nothing was loaded.\n"), "{told}");
    for site in ["moon", "ferry-kiosk"] {
        let output = till_map(&["--site", site]);
        assert_eq!((output.status.code(), &*said(&output)), (Some(3), ""));
        assert!(complained(&output).contains(&format!("`{site}`")), "{}", complained(&output));
    }
    let none = folder.path().join("none.csv");
    let output = till_map(&["--site", "bookshop", none.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(4));
    assert!(complained(&output).contains(none.to_str().unwrap()));
    assert_eq!(till_map(&["--site", "bookshop", "--draft", &some]).status.code(), Some(2));
    assert_eq!(till_map(&[]).status.code(), Some(2));
}

#[test]
fn a_draft_that_is_printed_is_right_when_it_is_checked() {
    let folder = tempfile::tempdir().unwrap();
    for site in DEMO.bars.keys() {
        let printed = till_map(&["--site", site, "--draft"]);
        assert_eq!(printed.status.code(), Some(0));
        let file = write(folder.path(), &format!("{site}.till.csv"), &said(&printed));
        let checked = till_map(&["--site", site, &file]);
        assert_eq!(checked.status.code(), Some(0), "{}", said(&checked));
    }
}

/// A folder with the demo's sites, and sheets of tills beside them.
fn sites(sheets: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (n, source) in demo::sites().iter().enumerate() {
        write(folder.path(), &format!("site-{n}.json"), &source.text);
    }
    for (name, text) in sheets {
        write(folder.path(), name, text);
    }
    folder
}

#[test]
fn a_sheet_for_no_site_or_a_second_one_for_a_site_starts_nothing() {
    let csv = "code,label,drink,modifiers\n7,Latte,latte,\n";
    let json = json!({ "schema": "till-map/0.1.0", "site": "bookshop", "buttons": [] }).to_string();
    for (sheets, told) in [
        (vec![("moon.till.csv", csv)], "found a till of `moon`"),
        (
            vec![("bookshop.till.csv", csv), ("bookshop.till.json", &json)],
            "a second sheet for `bookshop`",
        ),
        (vec![("ferry-kiosk.till.json", &json)], "/site: found `bookshop`"),
        (vec![("bookshop.till.csv", "code\n")], "1:1: /columns: found code"),
    ] {
        let folder = sites(&sheets);
        let output = ends_by_itself(&["--sites", folder.path().to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(3), "{}", complained(&output));
        let file = folder.path().join(sheets.last().unwrap().0);
        let complaints = complained(&output);
        assert!(complaints.contains(told), "`{told}` in {complaints}");
        assert!(complaints.contains(file.to_str().unwrap()), "{complaints}");
        assert_eq!(said(&output), "");
    }
    let folder = sites(&[("bookshop.till.csv", csv), ("ferry-kiosk.till.csv", csv)]);
    let service = Service::start_with(&["--sites", folder.path().to_str().unwrap()]);
    for site in ["bookshop", "ferry-kiosk"] {
        let ticket = json!({ "site": site, "lines": [{ "line": "1", "codes": ["7"] }] });
        assert_eq!(service.expand(&ticket)["lines"][0]["canonical"]["drink"], "latte");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 6, "and nothing is written there");
}

fn ask(service: &Service, path: &str, accept: &str) -> Response {
    service.client.get(service.url(path)).header(header::ACCEPT, accept).send().unwrap()
}

/// Source: RFC 9110, section 12.5.5: both forms say that `Accept` chose them, a 304 too (15.4.5).
#[test]
fn the_service_gives_the_sheet_as_checked_json_or_as_the_csv_that_it_is() {
    let service = Service::start();
    let path = "/v1/till-map?site=bookshop&lang=en";
    let answer = service.get(path);
    assert_eq!((answer.status(), &*kind(&answer)), (StatusCode::OK, "application/json"));
    assert_eq!(answer.headers()[header::VARY], "accept");
    let view: Value = answer.json().unwrap();
    let printed = till_map(&["--site", "bookshop", "--json"]);
    let printed: Value = serde_json::from_slice(&printed.stdout).unwrap();
    assert_eq!(view, printed, "the command line shows the same");
    assert_eq!(view["complete"], true);
    let (held, shown) = (&DEMO.tills["bookshop"].buttons, view["buttons"].as_array().unwrap());
    assert_eq!(held.len(), shown.len());
    assert!(held.iter().zip(shown).all(|(one, other)| other["code"] == *one.code));
    let sheet = ask(&service, path, "text/csv");
    assert_eq!(kind(&sheet), "text/csv; charset=utf-8");
    assert_eq!(sheet.headers()[header::VARY], "accept");
    let tag = sheet.headers()[header::ETAG].clone();
    let text = sheet.text().unwrap();
    assert_eq!(text, csv_of(held));
    assert_eq!(TillMap::read("bookshop.till.csv", &text, "bookshop").unwrap().buttons, *held);
    let again = service.client.get(service.url(path)).header(header::ACCEPT, "text/csv");
    let again = again.header(header::IF_NONE_MATCH, &tag).send().unwrap();
    assert_eq!(again.status(), StatusCode::NOT_MODIFIED);
    assert_eq!(again.headers()[header::VARY], "accept");
    let other = service.client.get(service.url(path)).header(header::IF_NONE_MATCH, &tag);
    assert_eq!(other.send().unwrap().status(), StatusCode::OK, "the other form has another tag");
    for (accept, wanted) in [
        ("text/csv;q=0.5, application/json", "application/json"),
        ("application/json;q=0.5, text/csv", "text/csv; charset=utf-8"),
        ("*/*", "application/json"),
    ] {
        assert_eq!(kind(&ask(&service, path, accept)), wanted, "{accept}");
    }
    problem(service.get("/v1/till-map?site=ferry-kiosk"), 404, "no-till-map");
    problem(service.get("/v1/till-map?site=moon"), 404, "unknown-site");
    problem(service.get("/v1/till-map?site=bookshop&lang=xx"), 400, "invalid-query");
    problem(service.get("/v1/till-map"), 400, "invalid-query");
}
