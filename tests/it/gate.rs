//! Who may ask, and how much: keys, rates, places, connections.

use std::{
    fmt::Write as _,
    thread,
    time::{Duration, Instant},
};

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{
    cli::write,
    keys::{file_of, made},
    raw::{Raw, Told, posted, request},
    server::{Service, ticket},
};

/// A folder with a file of keys, the path of that file, and the secret of each.
pub(crate) fn keys_of(roles: &[(&str, &[&str])]) -> (TempDir, String, Vec<String>) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut records = Vec::new();
    let mut secrets = Vec::new();
    for (n, (role, sites)) in roles.iter().enumerate() {
        let id = format!("key-{n}");
        let mut asked = vec!["--id", &id, "--role", role];
        sites.iter().for_each(|site| asked.extend(["--site", site]));
        let (secret, record) = made(&asked);
        records.push(serde_json::from_str(&record).expect("a record"));
        secrets.push(secret);
    }
    let file = write(folder.path(), "keys.json", &file_of(&records));
    (folder, file, secrets)
}

/// The line of a head that carries a key.
pub(crate) fn bearer(secret: &str) -> String {
    format!("Authorization: Bearer {secret}\r\n")
}

#[track_caller]
fn told(service: &Service, method: &str, path: &str, more: &str) -> Told {
    let mut raw = Raw::to(service.address());
    raw.send(request(method, path, more, "")).expect("it is sent");
    raw.told().expect("an answer")
}

/// The problem of a sender who asks too often, who is told when to come again.
#[track_caller]
fn too_many(told: &Told) {
    told.problem(429, "too-many-requests");
    let seconds: u64 = told.header("retry-after").expect("when").parse().expect("seconds");
    assert!((1..=20).contains(&seconds), "{seconds}");
}

/// Source: RFC 6585, section 4: 429 and `Retry-After`.
#[test]
fn each_key_and_each_address_without_one_has_a_rate_of_its_own() {
    let (_folder, file, secrets) = keys_of(&[("till", &[]), ("till", &[])]);
    let most = ["--requests-per-s", "1", "--burst", "3", "--keys", &file];
    let service = Service::start_with(&most);
    let [one, other] = [&secrets[0], &secrets[1]].map(|secret| bearer(secret));
    for key in [&one, &other, ""] {
        let began = Instant::now();
        let mut statuses = Vec::new();
        while began.elapsed() < Duration::from_millis(700) && statuses.len() < 4 {
            statuses.push(told(&service, "GET", "/v1/sites", key).status);
        }
        assert_eq!(statuses, [200, 200, 200, 429], "with `{key}`");
    }
    too_many(&told(&service, "GET", "/v1/sites", ""));
    // A key that nobody knows counts for the address: guessing is no way round.
    too_many(&told(&service, "GET", "/v1/sites", &bearer("made-up")));
    // Whoever watches the service is always answered.
    assert_eq!(told(&service, "GET", "/health/live", "").status, 204);
    thread::sleep(Duration::from_millis(1_100));
    assert_eq!(told(&service, "GET", "/v1/sites", "").status, 200, "a second later");
}

#[test]
fn only_a_trusted_proxy_names_the_address_that_counts() {
    let limit = ["--requests-per-s", "1", "--burst", "2"];
    let from = |address: &str| format!("X-Forwarded-For: 198.51.100.7, {address}\r\n");
    let trusted = Service::start_with(&[&limit[..], &["--trusted-proxy", "127.0.0.0/8"]].concat());
    for address in ["192.0.2.1", "192.0.2.2", "2001:db8:1::1", "2001:db8:2::1"] {
        for _ in 0..2 {
            assert_eq!(told(&trusted, "GET", "/v1/sites", &from(address)).status, 200);
        }
        too_many(&told(&trusted, "GET", "/v1/sites", &from(address)));
    }
    // Addresses of one household are one sender.
    too_many(&told(&trusted, "GET", "/v1/sites", &from("2001:db8:1::2")));
    let plain = Service::start_with(&limit);
    for address in ["192.0.2.1", "192.0.2.2"] {
        assert_eq!(told(&plain, "GET", "/v1/sites", &from(address)).status, 200);
    }
    too_many(&told(&plain, "GET", "/v1/sites", &from("192.0.2.3")));
}

/// A ticket that takes a while: lines that are refused, each with a search for ways out.
pub(crate) fn hard(lines: usize, salt: usize) -> String {
    let line = |n: usize| {
        json!({
            "line": n.to_string(),
            "drink": "cappuccino",
            "allergies": ["milk"],
            "modifiers": [
                {"id": "size", "value": "large"},
                {"id": "foam", "value": "none"},
                {"id": "shots", "count": 1 + (n + salt) % 2},
            ],
        })
    };
    ticket(&json!({"lines": (0..lines).map(line).collect::<Vec<Value>>()})).to_string()
}

/// Source: RFC 9110, section 15.6.4: 503 and `Retry-After`.
#[test]
fn what_finds_no_place_is_told_to_come_again() {
    let service = Service::start_with(&["--workers", "1", "--at-once", "1"]);
    let mut first = Raw::to(service.address());
    let mut others: Vec<Raw> = (0..4).map(|_| Raw::to(service.address())).collect();
    first.send(posted(&hard(30, 0))).expect("it is sent");
    thread::sleep(Duration::from_millis(20));
    for other in &mut others {
        other.send(posted(&hard(1, 0))).expect("it is sent");
    }
    assert_eq!(first.told().expect("an answer").status, 200);
    let answers: Vec<Told> = others.iter_mut().map(|one| one.told().expect("an answer")).collect();
    let refused: Vec<&Told> = answers.iter().filter(|told| told.status != 200).collect();
    assert!(!refused.is_empty(), "one place, and all five were taken");
    for told in refused {
        told.problem(503, "busy");
        assert_eq!(told.header("retry-after"), Some("1"));
        assert!(!told.closes(), "it was read whole, so that the next can follow");
    }
    for other in &mut others {
        other.send(posted(&hard(1, 1))).expect("it is sent");
        assert_eq!(other.told().expect("an answer").status, 200, "a moment later there is one");
    }
}

#[test]
fn a_connection_beyond_the_most_waits_until_another_ends() {
    let service = Service::start_with(&["--workers", "1", "--connections", "3"]);
    let asked = request("GET", "/v1/sites", "", "");
    let mut open: Vec<Raw> = (0..3).map(|_| Raw::to(service.address())).collect();
    for raw in &mut open {
        raw.send(&asked).expect("it is sent");
        assert_eq!(raw.told().expect("an answer").status, 200);
    }
    let mut next = Raw::to(service.address());
    next.send(&asked).expect("it is sent");
    let waits = next.told_within(Duration::from_millis(500));
    assert!(waits.is_err(), "it is answered although three are open");
    drop(open.pop());
    let told = next.told_within(Duration::from_secs(5)).expect("in time").expect("an answer");
    assert_eq!(told.status, 200);
    for raw in &mut open {
        raw.send(&asked).expect("it is sent");
        assert_eq!(raw.told().expect("an answer").status, 200, "the others are served on");
    }
}

/// Source: RFC 6750, section 3: challenges.
#[test]
fn a_service_that_others_can_reach_answers_nobody_without_a_key() {
    let (_folder, file, secrets) = keys_of(&[("till", &[])]);
    let patient = ["--keys", &file, "--requests-per-s", "0", "--head-within-s", "30"];
    let service = Service::start_at("0.0.0.0:0", &patient);
    let document = told(&service, "GET", "/openapi.json", "").json();
    let key = bearer(&secrets[0]);
    let mut paths = String::new();
    for (path, item) in document["paths"].as_object().expect("paths") {
        let _ = writeln!(paths, "{path}");
        let path = path.replace("{ingredient}", "matcha").replace("{id}", "latte");
        for method in item.as_object().expect("operations").keys() {
            let method = method.to_uppercase();
            let answer = told(&service, &method, &path, "");
            let open = path.starts_with("/health/") || path == "/openapi.json";
            if open {
                assert!(answer.status < 300, "{method} {path}: {}", answer.status);
                continue;
            }
            answer.problem(401, "unauthorized");
            let challenge = answer.header("www-authenticate").expect("a challenge");
            assert!(challenge.starts_with("Bearer realm="), "{challenge}");
            for unknown in [bearer("made-up"), "Authorization: Basic YTpi\r\n".to_owned()] {
                let answer = told(&service, &method, &path, &unknown);
                answer.problem(401, "unauthorized");
                let challenge = answer.header("www-authenticate").expect("a challenge");
                assert!(challenge.contains("invalid_token"), "{challenge}");
            }
            let answer = told(&service, &method, &path, &key);
            assert_ne!(answer.status, 401, "{method} {path} with a key");
        }
    }
    assert!(paths.lines().count() >= 12, "{paths}");
    for path in ["/moon", "/v1", "/metrics"] {
        told(&service, "GET", path, "").problem(401, "unauthorized");
        told(&service, "OPTIONS", path, "").problem(401, "unauthorized");
    }
    for path in ["/docs/", "/docs/index.html"] {
        assert_eq!(told(&service, "GET", path, "").status, 200, "{path}");
    }
    let open = Service::start_at("0.0.0.0:0", &["--open"]);
    assert_eq!(told(&open, "GET", "/v1/sites", "").status, 200);
}
