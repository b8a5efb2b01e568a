//! What a customer says stays between the sender and the answer: no output of the service holds it.

use std::{fs, path::Path};

use cupwright::keys::{Key, Role};
use reqwest::{Method, StatusCode, header};
use serde_json::{Value, json};

use crate::{
    collector::Collector,
    observed::{Observed, Standards, replace},
};

/// Words that stand nowhere but in what the test sends.
const WORDS: [&str; 11] = [
    "Quillfeather",
    "thimblewick",
    "glimmernut",
    "vespermint",
    "brackenshaw",
    "ostrelline",
    "wimblemere",
    "tarnhollow",
    "pellucida",
    "hobbleby",
    "zephyrine",
];

/// Every place of a ticket in which a customer's words may stand, well and wrongly written.
fn tickets() -> Vec<String> {
    let [name, note, allergy, diet, confirmed, reason, odd, value, reference, line, time] = WORDS;
    let order = json!({ "ref": reference, "name": name, "at": "2026-11-25T14:05:00+01:00" });
    let whole = |lines: Value| json!({ "site": "first-site", "lang": "en", "order": order, "lines": lines });
    let mut of_line = Vec::new();
    let mut add = |more: Value| {
        let mut one = json!({ "line": line, "drink": "latte" });
        one.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        of_line.push(one);
    };
    add(json!({}));
    add(json!({ "note": format!("{note}, no {allergy}") }));
    add(json!({ "note": format!("allergic to {note}") }));
    add(json!({ "allergies": ["milk"] }));
    add(json!({ "allergies": [allergy], "diets": ["vegan"] }));
    add(json!({ "diets": [diet] }));
    add(json!({ "confirmed": [confirmed] }));
    add(json!({ "override": reason, "modifiers": [{ "id": "shots", "count": 9 }] }));
    add(json!({ "drink": odd }));
    add(json!({ "modifiers": [{ "id": odd, "value": value }] }));
    add(json!({ "modifiers": [{ "id": "milk", "value": value }] }));
    add(json!({ "drink": null, "codes": [odd] }));
    add(json!({ odd: value }));
    let mut all: Vec<String> = of_line.iter().map(|one| whole(json!([one])).to_string()).collect();
    let good = whole(json!([{ "line": line, "drink": "latte", "note": note }]));
    for (field, value) in [("site", odd), ("lang", odd), (odd, value), ("pin", odd)] {
        let mut one = good.clone();
        one[field] = json!(value);
        all.push(one.to_string());
    }
    for pin in ["book", "site", "overlay"] {
        let mut one = good.clone();
        one["pin"] = json!({ pin: odd });
        all.push(one.to_string());
    }
    let mut timeless = good.clone();
    timeless["order"]["at"] = json!(time);
    all.push(timeless.to_string());
    all.push(format!("{{\"order\": {{\"name\": \"{name}\", \"name\": \"{name}\"}}}}"));
    all.push(format!("{{\"site\": \"{name}"));
    all.push(format!("[\"{name}\"]"));
    all.push(name.to_owned());
    all
}

/// Sends everything that a customer may say, in every place where a sender may put it.
fn say_everything(service: &Observed, secrets: [&str; 2]) {
    let name = WORDS[0];
    let keyed = |request: reqwest::blocking::RequestBuilder, secret: &str| {
        request.header(header::AUTHORIZATION, format!("Bearer {secret}")).send().expect("an answer")
    };
    let mut statuses = std::collections::BTreeSet::new();
    for ticket in tickets() {
        for path in ["/v1/expand", "/v1/validate"] {
            for form in ["application/json", "text/plain"] {
                let request = service.client.post(service.url(path)).body(ticket.clone());
                let request = request.header(header::CONTENT_TYPE, "application/json");
                let answer = keyed(request.header(header::ACCEPT, form), secrets[0]);
                statuses.insert(answer.status());
            }
        }
    }
    for path in [
        format!("/v1/drinks/{name}"),
        format!("/v1/drinks/latte?site={name}&lang={name}"),
        format!("/v1/menu?site=first-site&{name}={name}"),
        format!("/v1/menu?site={name}"),
        format!("/v1/till-map?site={name}"),
        format!("/docs/{name}"),
        format!("/{name}/{name}?{name}"),
        format!("/v1/book?key={}", secrets[0]),
        format!("/v1/drinks/%F0%9F%98%80{name}%00"),
    ] {
        statuses.insert(keyed(service.client.get(service.url(&path)), secrets[0]).status());
        let odd = Method::from_bytes(name.to_uppercase().as_bytes()).unwrap();
        statuses
            .insert(keyed(service.client.request(odd, service.url(&path)), secrets[0]).status());
    }
    for method in [Method::PUT, Method::DELETE] {
        for path in
            [format!("/v1/stock/{name}?site=first-site"), format!("/v1/stock/roast?site={name}")]
        {
            let request = service.client.request(method.clone(), service.url(&path));
            statuses.insert(keyed(request, secrets[0]).status());
        }
    }
    for header in [
        "x-request-id",
        "user-agent",
        "tracestate",
        "traceparent",
        "x-forwarded-for",
        "origin",
        "referer",
        "cookie",
        "accept",
        "accept-language",
        "content-type",
        "if-none-match",
        "forwarded",
        "baggage",
        "host",
        "authorization",
        name,
    ] {
        let request = service.client.post(service.url("/v1/expand")).header(header, name);
        statuses.insert(request.body("{}").send().expect("an answer").status());
    }
    statuses.insert(keyed(service.client.get(service.url("/v1/book")), secrets[1]).status());
    for status in [200, 400, 401, 404, 405, 406, 409, 415, 422] {
        assert!(statuses.iter().any(|one| *one == status), "{status} is met: {statuses:?}");
    }
}

/// Every file in a folder, with its path.
fn files(folder: &Path) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let path = entry.path();
        if path.is_dir() {
            all.extend(files(&path));
        } else {
            let text = String::from_utf8_lossy(&fs::read(&path).unwrap()).into_owned();
            all.push((path.display().to_string(), text));
        }
    }
    all
}

#[test]
fn nothing_that_a_customer_says_and_no_key_is_in_any_output_of_the_service() {
    let standards = Standards::new();
    let [keys, state] = ["keys.json", "state"].map(|name| standards.folder().join(name));
    let (secret, key) = Key::new("lead".into(), Role::Trainer, Vec::new());
    let (unknown, _) = Key::new("gone".into(), Role::Till, Vec::new());
    let of_keys = |more: &[Value]| {
        let all = [&[json!(key)], more].concat();
        json!({ "schema": "service-keys/0.1.0", "keys": all }).to_string()
    };
    fs::write(&keys, of_keys(&[])).unwrap();
    let mut collector = Collector::start();
    let mut service = standards.serve(&[
        "--keys",
        keys.to_str().unwrap(),
        "--state",
        state.to_str().unwrap(),
        "--otlp",
        collector.address(),
        "--log-level",
        "trace",
        "--log-requests",
        "all",
        "--requests-per-s",
        "0",
        "--stop-notice-s",
        "0",
        "--allowed-origin",
        "https://till.example",
    ]);
    say_everything(&service, [&secret, &unknown]);
    let out = service.client.put(service.url("/v1/stock/oat-drink?site=first-site"));
    assert_eq!(out.bearer_auth(&secret).send().unwrap().status(), StatusCode::OK);
    // Somebody writes keys where their digests belong.
    let wrong = json!({ "id": "till", "role": "till", "digest": unknown, "sites": [] });
    replace(&keys, &of_keys(&[wrong]));
    service.signal("HUP");
    service.until("it is refused", |service| !service.book()["not_taken"].is_null());
    let not_taken = service.book()["not_taken"].to_string();
    replace(&keys, &of_keys(&[]));
    service.signal("HUP");
    service.until("it is mended", |service| service.book()["not_taken"].is_null());
    say_everything(&service, [&secret, &unknown]);
    let metrics = ["text/plain", "application/openmetrics-text"].map(|form| {
        let request = service.client.get(service.url("/metrics")).header(header::ACCEPT, form);
        request.send().unwrap().text().unwrap()
    });
    assert_eq!(service.terminate().0, Some(0));
    let spans = collector.end();
    let log = service.log().join("\n");
    let mut outputs = vec![
        ("standard output".to_owned(), service.printed().join("\n")),
        ("the log".to_owned(), log),
        ("what is not taken".to_owned(), not_taken),
        ("the spans".to_owned(), json!(spans).to_string()),
        ("what was sent to the receiver of traces".to_owned(), collector.requests().join("\n")),
    ];
    outputs.extend(metrics.map(|text| ("metrics".to_owned(), text)));
    outputs.extend(files(&state));
    assert!(spans.len() > 200 && outputs[1].1.lines().count() > 200, "much was told");
    assert!(outputs.iter().any(|(_, text)| text.contains("oat-drink")), "the state was looked at");
    for (place, text) in &outputs {
        let text = text.to_lowercase();
        for word in WORDS.iter().copied().chain([&*secret, &unknown]) {
            let at = text.find(&word.to_lowercase());
            let near = at.map(|at| text[..at].lines().last().unwrap_or_default().to_owned());
            assert_eq!(near, None, "`{word}` is in {place}");
        }
    }
}
