//! Keys: how one is made, what the file of keys may hold, and what each role may do.

use std::collections::BTreeSet;

use cupwright::keys::{Key, KeyRing, Role};
use reqwest::{Method, header};
use serde_json::{Value, json};

use crate::{
    cli::{complained, run, said, write},
    server::{Service, ends_by_itself, ticket},
};

/// A key as the program makes it: its secret and its record.
pub(crate) fn made(arguments: &[&str]) -> (String, String) {
    let output = run(&[&["key"], arguments].concat(), "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let told = complained(&output);
    let first = told.lines().next().expect("the secret");
    let secret = first.rsplit_once(' ').expect("behind a blank").1.to_owned();
    (secret, said(&output))
}

pub(crate) fn file_of(records: &[Value]) -> String {
    json!({ "schema": "service-keys/0.1.0", "keys": records }).to_string()
}

#[test]
fn a_new_key_is_told_once_and_its_record_makes_a_file_that_knows_it() {
    let asked = ["--id", "front-till", "--role", "trainer", "--site", "bookshop", "--site", "moon"];
    let ((secret, record), (other, _)) = (made(&asked), made(&asked));
    assert_ne!(secret, other, "no two keys are alike");
    assert_eq!(record.lines().count(), 1, "standard output is the record alone: {record}");
    let value: Value = serde_json::from_str(&record).expect("JSON");
    assert_eq!(value["sites"], json!(["bookshop", "moon"]));
    let ring = KeyRing::read("keys.json", &file_of(&[value])).expect("a file of keys");
    let key = ring.key(&secret).expect("the key is known");
    assert_eq!((&*key.id, key.role), ("front-till", Role::Trainer));
    assert!(key.holds_at("bookshop") && key.holds_at("moon") && !key.holds_at("ferry-kiosk"));
    assert!(ring.key(&other).is_none() && ring.key("").is_none());
    for at in 0..=secret.len() - 8 {
        let part = &secret[at..at + 8];
        assert!(!record.contains(part), "a part of the secret is in the record: {record}");
    }
}

/// A bit that is the same in all of so many keys is fixed: by chance that happens once in 2²⁵⁵.
#[test]
fn at_least_128_bits_of_a_secret_are_left_to_chance() {
    let secrets: Vec<String> =
        (0..256).map(|_| Key::new("one".into(), Role::Till, Vec::new()).0).collect();
    assert_eq!(secrets.iter().collect::<BTreeSet<_>>().len(), secrets.len());
    let bits = |secret: &String| -> Vec<bool> {
        let digits = secret.chars().map(|c| c.to_digit(16).expect("a hexadecimal digit"));
        digits.flat_map(|digit| (0..4).map(move |bit| digit >> bit & 1 == 1)).collect()
    };
    let all: Vec<Vec<bool>> = secrets.iter().map(bits).collect();
    let varies = (0..all[0].len()).filter(|n| all.iter().any(|one| one[*n] != all[0][*n]));
    assert!(varies.count() >= 128);
}

#[test]
fn an_id_or_a_role_that_no_file_of_keys_would_take_is_refused_at_once() {
    for arguments in [
        ["--id", "Front Till", "--role", "till", "--site", "bookshop"],
        ["--id", "", "--role", "till", "--site", "bookshop"],
        ["--id", "front-till", "--role", "barista", "--site", "bookshop"],
        ["--id", "front-till", "--role", "till", "--site", "Book shop"],
    ] {
        let output = run(&[&["key"][..], &arguments].concat(), "");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert_eq!(said(&output), "");
    }
}

/// The complaints about a file of keys, each as `line:column: pointer: …`.
fn complaints(text: &str) -> Vec<String> {
    let faulty = KeyRing::read("keys.json", text).expect_err("it is wrong");
    assert_eq!(faulty.document, "keys.json");
    faulty.all.iter().map(ToString::to_string).collect()
}

/// Where `part` begins in `text`, as complaints write it.
fn place(text: &str, part: &str) -> String {
    let before = &text[..text.find(part).expect("it is there")];
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    format!("{}:{column}", before.matches('\n').count() + 1)
}

#[test]
fn every_fault_of_a_file_of_keys_is_told_with_line_and_column() {
    let digest = format!("sha256:{}", "ab".repeat(32));
    let text = format!(
        "{{\n  \"schema\": \"service-keys/0.1.0\",\n  \"keys\": [\n    \
         {{ \"id\": \"a\", \"role\": \"barista\", \"digest\": \"{digest}\" }},\n    \
         {{ \"id\": \"B b\", \"role\": \"till\", \"digest\": \"sha256:12\" }},\n    \
         {{ \"id\": \"c\", \"role\": \"till\", \"digest\": \"{digest}\", \"secret\": \"x\" }}\n  ]\n}}\n"
    );
    let told = complaints(&text);
    let wanted = [
        format!("{}: /keys/0/role: found \"barista\"", place(&text, "\"barista\"")),
        format!("{}: /keys/1/id: found \"B b\"", place(&text, "\"B b\"")),
        format!(
            "{}: /keys/1/digest: found a value that is not shown",
            place(&text, "\"sha256:12\"")
        ),
        format!("{}: /keys/2/secret: found the field `secret`", place(&text, "\"x\"")),
    ];
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for (one, wanted) in told.iter().zip(wanted) {
        assert!(one.starts_with(&wanted), "`{wanted}` begins {one}");
    }
}

#[test]
fn a_key_that_stands_twice_is_told_where_it_stands_again() {
    let digest = |n: u8| format!("sha256:{}", format!("{n:02x}").repeat(32));
    let (one, two) = (digest(1), digest(2));
    let text = format!(
        "{{\"schema\": \"service-keys/0.1.0\", \"keys\": [\n\
         {{\"id\": \"a\", \"role\": \"till\", \"digest\": \"{one}\"}},\n\
         {{\"id\": \"a\", \"role\": \"admin\", \"digest\": \"{two}\"}},\n\
         {{\"id\": \"b\", \"role\": \"till\", \"digest\": \"{one}\"}}\n]}}"
    );
    let told = complaints(&text);
    assert_eq!(told.len(), 2, "{told:#?}");
    assert!(told[0].starts_with("3:8: /keys/1/id: found `a` a second time"), "{}", told[0]);
    assert!(told[1].starts_with("4:39: /keys/2/digest: found a digest a second"), "{}", told[1]);
    assert!(!told[1].contains(&one), "a digest is not repeated in what may be logged");
}

#[test]
fn a_file_of_keys_with_a_fault_or_none_at_all_starts_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = write(
        folder.path(),
        "keys.json",
        "{\n \"schema\": \"service-keys/0.1.0\",\n \"keys\": 7\n}",
    );
    let output = ends_by_itself(&["--keys", &path]);
    assert_eq!(output.status.code(), Some(3));
    let told = complained(&output);
    assert!(told.starts_with(&format!("{path}:3:10: /keys: found 7;")), "{told}");
    assert_eq!(said(&output), "");
    let none = folder.path().join("none.json");
    let output = ends_by_itself(&["--keys", none.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(4));
    assert!(complained(&output).contains(none.to_str().unwrap()));
}

#[test]
fn roles_are_ordered() {
    assert!(Role::Till < Role::Trainer && Role::Trainer < Role::Admin);
    for role in [Role::Till, Role::Trainer, Role::Admin] {
        assert_eq!(serde_json::to_value(role).unwrap(), role.as_str());
    }
}

#[test]
fn each_role_may_do_what_those_below_it_may_and_a_key_for_one_site_only_there() {
    let folder = tempfile::tempdir().unwrap();
    let rows = [
        ("till", Vec::new(), [true, true], [false, false]),
        ("trainer", Vec::new(), [true, true], [true, true]),
        ("admin", Vec::new(), [true, true], [true, true]),
        ("trainer", vec!["--site", "bookshop"], [true, false], [true, false]),
    ];
    let keys: Vec<(String, Value)> = rows
        .iter()
        .enumerate()
        .map(|(n, (role, sites, ..))| {
            let id = format!("key-{n}");
            let asked = [&["--id", &id, "--role", role][..], sites].concat();
            let (secret, record) = made(&asked);
            (secret, serde_json::from_str(&record).unwrap())
        })
        .collect();
    let records: Vec<Value> = keys.iter().map(|(_, record)| record.clone()).collect();
    let file = write(folder.path(), "keys.json", &file_of(&records));
    let state = folder.path().join("state");
    let service = Service::start_with(&["--keys", &file, "--state", state.to_str().unwrap()]);
    for ((secret, record), (_, _, says, overrides)) in keys.iter().zip(rows) {
        for (site, (says, overrides)) in
            ["bookshop", "ferry-kiosk"].into_iter().zip(says.into_iter().zip(overrides))
        {
            let ask = |method: Method, path: &str| {
                let request = service.client.request(method, service.url(path));
                request.header(header::AUTHORIZATION, format!("Bearer {secret}"))
            };
            let told = ask(Method::PUT, &format!("/v1/stock/matcha?site={site}")).send().unwrap();
            assert_eq!(told.status() == 200, says, "{record} at {site}: {}", told.status());
            let line = json!({ "line": "1", "drink": "cappuccino", "override": "guest insists",
                "modifiers": [{ "id": "foam", "value": "none" }] });
            let ticket = ticket(&json!({ "site": site, "lines": [line] }));
            let posted = ask(Method::POST, "/v1/expand").body(ticket.to_string());
            let posted = posted.header(header::CONTENT_TYPE, "application/json").send().unwrap();
            let answer: Value = posted.json().unwrap();
            let verdict = if overrides { "accept" } else { "refuse" };
            assert_eq!(answer["lines"][0]["verdict"], verdict, "{record} at {site}: {answer:#}");
        }
    }
}
