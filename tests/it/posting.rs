//! Bodies that are posted: what cannot be read, every fault of a ticket at once, and its limits.

use std::collections::BTreeSet;

use reqwest::{StatusCode, header};
use serde_json::{Value, json};

use crate::{
    server::{Service, problem, ticket},
    support::demo as in_force,
};

#[test]
fn a_body_that_cannot_be_read_at_all_is_told_so() {
    let service = Service::start();
    let good = ticket(&json!({})).to_string();
    for (declared, right) in [
        ("application/json; charset=utf-8", true),
        ("Application/JSON", true),
        ("application/drink+json", true),
        ("text/plain", false),
        ("application/x-www-form-urlencoded", false),
        ("", false),
    ] {
        let request =
            service.client.post(service.url("/v1/expand")).header(header::CONTENT_TYPE, declared);
        let answer = request.body(good.clone()).send().unwrap();
        if right {
            assert_eq!(answer.status(), StatusCode::OK, "{declared}");
        } else {
            problem(answer, 415, "unsupported-media-type");
        }
    }
    let undeclared = service.client.post(service.url("/v1/expand")).body(good).send().unwrap();
    problem(undeclared, 415, "unsupported-media-type");
    let broken =
        problem(service.post("/v1/expand", "{\n \"site\": bookshop}"), 400, "malformed-body");
    assert_eq!(
        (&broken["errors"][0]["line"], &broken["errors"][0]["column"]),
        (&json!(2), &json!(10))
    );
    for body in [&b""[..], b"{\"site\": \"\xff\"}", b"\xef\xbb\xbf{}", b"{}{}"] {
        problem(service.post("/v1/expand", body.to_vec()), 400, "malformed-body");
    }
    let deep = format!("{{\"site\": {}{}}}", "[".repeat(40), "]".repeat(40));
    problem(service.post("/v1/expand", deep), 400, "malformed-body");
}

#[test]
fn every_fault_of_a_ticket_is_told_at_once_with_its_pointer() {
    let service = Service::start();
    let body = json!({
        "site": 7, "lnag": "en", "out_of_stock": "milk",
        "lines": [
            {"line": "1", "drink": "latte", "note": "x".repeat(41), "quantity": 100},
            {"line": "2", "modifiers": [
                {"id": "milk", "value": true}, {"value": "oat-drink"}, {"id": "shots", "count": 1.5},
            ]},
            {"line": "", "drink": "latte", "allergies": [1], "x-own": 1},
        ],
    });
    let told: BTreeSet<String> = service
        .faults(&body.to_string())
        .iter()
        .map(|one| one.as_str().unwrap().to_owned())
        .collect();
    let wanted = [
        "/site",
        "/lnag",
        "/out_of_stock",
        "/lines/0/note",
        "/lines/0/quantity",
        "/lines/1",
        "/lines/1/modifiers/0/value",
        "/lines/1/modifiers/1",
        "/lines/1/modifiers/2/count",
        "/lines/2/line",
        "/lines/2/allergies/0",
        "/lines/2/x-own",
    ];
    assert_eq!(told, wanted.map(str::to_owned).into());
    // What the schema cannot say comes once the structure is right.
    let body = ticket(&json!({
        "order": {"at": "yesterday"},
        "lines": [
            {"line": "1", "drink": "latte",
             "modifiers": [{"id": "milk", "value": "oat-drink", "count": 1}]},
            {"line": "1", "drink": "latte"},
        ],
    }));
    assert_eq!(
        service.faults(&body.to_string()),
        ["/lines/0/modifiers/0", "/lines/1/line", "/order/at"]
    );
    for (body, pointer) in [
        (ticket(&json!({"lang": "xx"})).to_string(), "/lang"),
        ("[]".to_owned(), ""),
        (ticket(&json!({"lines": []})).to_string(), "/lines"),
        (ticket(&json!({})).to_string().replacen('{', "{\"site\": \"moon\", ", 1), "/site"),
    ] {
        let problem = problem(service.post("/v1/expand", body.clone()), 422, "invalid-body");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{body}");
    }
}

#[test]
fn a_fault_inside_an_optional_part_of_a_ticket_has_its_own_pointer() {
    let service = Service::start();
    for (more, pointer) in [
        (json!({"order": {"at": 7}}), "/order/at"),
        (json!({"order": {"nmae": "Ada"}}), "/order/nmae"),
        (json!({"order": {"name": "x".repeat(41)}}), "/order/name"),
        (json!({"pin": {"bok": "1.0.0"}}), "/pin/bok"),
        (
            json!({"lines": [{"line": "1", "drink": "latte",
                "modifiers": [{"id": "milk", "value": ""}]}]}),
            "/lines/0/modifiers/0/value",
        ),
    ] {
        let faults = service.faults(&ticket(&more).to_string());
        assert_eq!(faults, [pointer], "{more}");
    }
}

#[test]
fn a_whole_number_may_be_written_with_a_point() {
    let service = Service::start();
    // JSON Schema 2020-12 Validation, section 6.1.1: 2.0 is an integer.
    let lines = json!([{
        "line": "1", "drink": "latte", "quantity": 2.0, "modifiers": [{"id": "shots", "count": 1.0}],
    }]);
    let body = ticket(&json!({"lines": lines})).to_string();
    assert!(body.contains("2.0") && body.contains("1.0"), "{body}");
    let answer = service.post("/v1/expand", body);
    assert_eq!(answer.status(), StatusCode::OK, "{}", answer.text().unwrap());
}

#[test]
fn an_unknown_field_is_not_told_to_take_a_name_that_is_refused_as_well() {
    let service = Service::start();
    let problem = problem(
        service.post("/v1/expand", ticket(&json!({"x-own": 1})).to_string()),
        422,
        "invalid-body",
    );
    let detail = problem["errors"][0]["detail"].as_str().unwrap();
    assert!(!detail.contains("x-…"), "a ticket takes no field of one's own: {detail}");
}

#[test]
fn a_ticket_has_up_to_a_hundred_lines() {
    let service = Service::start();
    let lines = |count: usize| -> Value {
        let drinks = ["latte", "espresso", "flat-white", "mocha", "long-black"];
        (0..count)
            .map(|n| json!({"line": n.to_string(), "drink": drinks[n % drinks.len()]}))
            .collect()
    };
    let answer = service.expand(&ticket(&json!({"lines": lines(100)})));
    let answered = answer["lines"].as_array().unwrap();
    assert_eq!(answered.len(), 100);
    for (n, line) in answered.iter().enumerate() {
        assert_eq!((&line["line"], &line["verdict"]), (&json!(n.to_string()), &json!("accept")));
    }
    assert_eq!(service.faults(&ticket(&json!({"lines": lines(101)})).to_string()), ["/lines"]);
}

#[test]
fn a_ticket_is_pinned_to_what_is_held_or_is_told_what_is() {
    let (service, held) = (Service::start(), in_force());
    let bar = held.bar("bookshop").unwrap();
    let (book, site) = (held.digest().to_string(), bar.site_digest.to_string());
    for pin in [
        json!({}),
        json!({"book": book}),
        json!({"book": held.book().version}),
        json!({"site": site}),
        json!({"book": book, "site": site, "overlay": "none"}),
    ] {
        let answer = service.expand(&ticket(&json!({"pin": pin})));
        assert_eq!(
            (&answer["book"]["digest"], &answer["site"]["digest"]),
            (&json!(book), &json!(site))
        );
    }
    for (pin, have) in [
        (json!({"book": "sha256:0"}), &*book),
        (json!({"book": "9.9.9"}), &*book),
        (json!({"book": book, "site": book}), &*site),
        (json!({"site": site, "overlay": book}), "none"),
    ] {
        let answer = service.post("/v1/expand", ticket(&json!({"pin": pin})).to_string());
        assert_eq!(problem(answer, 409, "not-held")["held"], json!([have]), "{pin}");
    }
}

/// Faults are told up to a bound, and a key that pointers would repeat is short.
#[test]
fn a_small_body_cannot_make_a_large_answer_or_a_long_wait() {
    let many = format!("[{}]", vec!["0.00001"; 12_000].join(","));
    let problem = cupwright::answering::read_ticket(many.as_bytes()).expect_err("no ticket");
    assert!(problem.errors.len() <= 100, "{} faults", problem.errors.len());
    let long = format!("{{\"{}\": [1.00001, 1.00001]}}", "k".repeat(20_000));
    let problem = cupwright::answering::read_ticket(long.as_bytes()).expect_err("no ticket");
    assert_eq!(problem.status, 400);
    assert!(serde_json::to_string(&problem).unwrap().len() < 4_000);
}
