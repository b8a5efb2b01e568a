//! What every answer has, whatever was asked: guarding headers, and a connection that goes on or ends
//! as it says.

use cupwright::http::document;

use crate::{
    gate::{bearer, keys_of},
    raw::{Raw, Told, chunked, request},
    server::Service,
};

/// Every operation of the contract as a request would ask for it, and requests that no route takes.
fn asked() -> Vec<(String, String)> {
    let document = serde_json::to_value(document()).expect("JSON");
    let mut all = Vec::new();
    for (path, item) in document["paths"].as_object().expect("paths") {
        let path = path.replace("{ingredient}", "matcha").replace("{id}", "latte");
        let path = if path.starts_with("/v1/stock") || path == "/v1/till-map" {
            format!("{path}?site=bookshop")
        } else {
            path
        };
        for method in item.as_object().expect("operations").keys() {
            all.push((method.to_uppercase(), path.clone()));
        }
        all.push(("PATCH".to_owned(), path.clone()));
        all.push(("OPTIONS".to_owned(), path));
    }
    for (method, path) in [
        ("GET", "/moon"),
        ("POST", "/"),
        ("PUT", "/v1/stock/"),
        ("GET", "/docs"),
        ("GET", "/docs/"),
        ("POST", "/docs/"),
        ("GET", "/docs/moon"),
        ("BREW", "/v1/expand"),
        ("GET", "/v1/drinks?color=blue"),
        ("GET", "/v1/drinks/%00%ff"),
        ("OPTIONS", "*"),
    ] {
        all.push((method.to_owned(), path.to_owned()));
    }
    all
}

/// The same request with each kind of content.
fn forms(method: &str, path: &str, more: &str) -> Vec<(&'static str, String)> {
    let (small, large) = ("{\"a\": 1}", format!("{{{}}}", " ".repeat(200_000)));
    let over = format!("{{{}}}", " ".repeat(2 << 20));
    let in_chunks = |content: &str| {
        let whole = chunked(method, path, content, 30_000);
        whole.replacen("Host: bar\r\n", &format!("Host: bar\r\n{more}"), 1)
    };
    vec![
        ("nothing", request(method, path, more, "")),
        ("a length of 0", request(method, path, &format!("{more}Content-Length: 0\r\n"), "")),
        ("a little", request(method, path, more, small)),
        ("much", request(method, path, more, &large)),
        ("too much", request(method, path, more, &over)),
        ("chunks", in_chunks(small)),
        ("large chunks", in_chunks(&large)),
        ("too many chunks", in_chunks(&over)),
        ("no chunk", in_chunks("")),
    ]
}

/// Holds an answer to the headers that each has.
#[track_caller]
fn is_guarded(told: &Told, what: &str) {
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        ("cross-origin-resource-policy", "same-site"),
    ] {
        assert_eq!(told.header(name), Some(value), "{what}: {}", told.status);
    }
    let policy = told.header("content-security-policy").expect("a policy");
    assert!(policy.contains("frame-ancestors 'none'"), "{what}: {policy}");
    assert!(told.header("cache-control").is_some(), "{what}");
    let id = told.header("x-request-id").expect("an id");
    assert!(id.len() == 36 && id.matches('-').count() == 4, "{what}: {id}");
    let foreign = told.headers.iter().any(|(name, _)| name.starts_with("access-control-"));
    assert!(!foreign, "{what}: pages of other origins are told nothing unless it is set");
    if told.status >= 400 {
        let kind = told.json()["type"].as_str().expect("a kind").to_owned();
        told.problem(told.status, kind.trim_start_matches("/problems/"));
    }
}

/// Each request is followed by another on the same connection, in the same breath: that one is
/// answered right, or the answer says that the connection ends, and it does.
#[track_caller]
fn each_is_read_to_its_end_or_the_connection_ends(service: &Service, more: &str) -> Vec<u16> {
    let mut statuses = Vec::new();
    for (method, path) in asked() {
        for (form, whole) in forms(&method, &path, more) {
            let what = format!("{method} {path} with {form}");
            let mut raw = Raw::to(service.address());
            let next = request("GET", "/health/live", "", "");
            // The service may have had enough of it before all is sent.
            let _ = raw.send([whole.as_bytes(), next.as_bytes()].concat());
            let told = raw.told().unwrap_or_else(|| panic!("{what}: no answer"));
            assert!(told.status < 500 || told.status == 503, "{what}: {}", told.status);
            is_guarded(&told, &what);
            if told.closes() {
                // The service waits a moment for the sender to have read the answer.
                raw.send_no_more();
                assert!(raw.told().is_none(), "{what}: it goes on");
            } else {
                let next = raw.told().unwrap_or_else(|| panic!("{what}: nothing follows"));
                assert_eq!(next.status, 204, "{what}: {next:?}");
                is_guarded(&next, &what);
            }
            statuses.push(told.status);
        }
    }
    statuses.sort_unstable();
    statuses.dedup();
    statuses
}

#[test]
fn every_body_is_read_to_its_end_or_the_connection_ends() {
    let (folder, file, secrets) = keys_of(&[("admin", &[])]);
    let state = folder.path().join("state");
    let kept = ["--keys", &file, "--state", state.to_str().expect("text"), "--requests-per-s", "0"];
    let service = Service::start_with(&[&kept[..], &["--log-requests", "none"]].concat());
    let statuses = each_is_read_to_its_end_or_the_connection_ends(&service, &bearer(&secrets[0]));
    for wanted in [200, 204, 400, 404, 405, 411, 413, 415] {
        assert!(statuses.contains(&wanted), "{wanted} was never said: {statuses:?}");
    }
}

#[test]
fn every_body_of_a_request_that_is_not_welcome_is_read_to_its_end_or_the_connection_ends() {
    let (_folder, file, _) = keys_of(&[("admin", &[])]);
    let closed = Service::start_at(
        "0.0.0.0:0",
        &["--keys", &file, "--requests-per-s", "0", "--log-requests", "none"],
    );
    let statuses = each_is_read_to_its_end_or_the_connection_ends(&closed, "");
    assert!(statuses.contains(&401), "{statuses:?}");
    let rated =
        Service::start_with(&["--requests-per-s", "1", "--burst", "1", "--log-requests", "none"]);
    let statuses = each_is_read_to_its_end_or_the_connection_ends(&rated, "");
    assert!(statuses.contains(&429), "{statuses:?}");
}

/// Source: RFC 9110, section 9.3.2: HEAD is GET without the content, with its headers.
#[test]
fn head_is_get_without_the_content_and_the_next_request_is_answered() {
    let service = Service::start();
    let mut raw = Raw::to(service.address());
    for path in ["/v1/book", "/v1/drinks/latte", "/v1/drinks/moon", "/moon", "/metrics", "/docs/"] {
        raw.send(request("GET", path, "", "")).expect("it is sent");
        let get = raw.told().expect("an answer");
        raw.send(request("HEAD", path, "", "")).expect("it is sent");
        let head = raw.told_of_head().expect("an answer");
        assert_eq!(head.status, get.status, "{path}");
        for name in ["content-type", "etag", "cache-control", "content-security-policy"] {
            assert_eq!(head.header(name), get.header(name), "{path}: {name}");
        }
        if path != "/metrics" {
            let length = get.body.len().to_string();
            assert_eq!(head.header("content-length"), Some(&*length), "{path}");
        }
    }
    raw.send(request("GET", "/health/live", "", "")).expect("it is sent");
    assert_eq!(raw.told().expect("an answer").status, 204);
}

/// Source: RFC 9110, section 9.3.7: OPTIONS, and section 10.2.1: `Allow`.
#[test]
fn options_tells_what_a_path_takes_and_every_other_method_is_refused_with_the_same() {
    let service = Service::start();
    let document = serde_json::to_value(document()).expect("JSON");
    let mut raw = Raw::to(service.address());
    for (path, item) in document["paths"].as_object().expect("paths") {
        let asked = path.replace("{ingredient}", "matcha").replace("{id}", "latte");
        let mut wanted: Vec<String> =
            item.as_object().expect("methods").keys().map(|name| name.to_uppercase()).collect();
        if wanted.iter().any(|name| name == "GET") {
            wanted.push("HEAD".to_owned());
        }
        wanted.push("OPTIONS".to_owned());
        wanted.sort();
        let allowed = |told: &Told| {
            let allow = told.header("allow").expect("what is allowed");
            let mut allow: Vec<String> = allow.split(", ").map(str::to_owned).collect();
            allow.sort();
            allow
        };
        raw.send(request("OPTIONS", &asked, "", "")).expect("it is sent");
        let told = raw.told().expect("an answer");
        assert_eq!((told.status, allowed(&told)), (204, wanted.clone()), "{path}");
        for method in ["GET", "POST", "PUT", "DELETE", "PATCH", "TRACE", "BREW"] {
            if !wanted.iter().any(|one| one == method) {
                raw.send(request(method, &asked, "", "")).expect("it is sent");
                let told = raw.told().expect("an answer");
                told.problem(405, "method-not-allowed");
                assert_eq!(allowed(&told), wanted, "{method} {path}");
            }
        }
    }
}

/// What pages of other origins are told, by header.
fn told_to_pages(told: &Told) -> Vec<(&str, &str)> {
    let named = |name: &str| name.starts_with("access-control-") || name == "vary";
    told.headers
        .iter()
        .filter(|(name, _)| named(name))
        .map(|(name, value)| (&**name, &**value))
        .collect()
}

/// Source: WHATWG Fetch, section 3.3 (CORS protocol).
#[test]
fn pages_of_allowed_origins_may_read_every_answer_and_those_of_others_none() {
    let (_folder, file, _) = keys_of(&[("till", &[])]);
    let origin = "https://till.example";
    let service = Service::start_at(
        "0.0.0.0:0",
        &["--keys", &file, "--allowed-origin", origin, "--requests-per-s", "1", "--burst", "8"],
    );
    let ask = |method: &str, path: &str, more: &str| {
        let mut raw = Raw::to(service.address());
        raw.send(request(method, path, more, "")).expect("it is sent");
        raw.told().expect("an answer")
    };
    let from = |origin: &str| format!("Origin: {origin}\r\n");
    let first = |origin: &str| {
        format!(
            "Origin: {origin}\r\nAccess-Control-Request-Method: POST\r\n\
             Access-Control-Request-Headers: authorization, content-type\r\n"
        )
    };
    let told = ask("OPTIONS", "/v1/expand", &first(origin));
    assert_eq!(told.status, 204, "a browser asks in advance without a key");
    let said = told_to_pages(&told);
    assert!(said.contains(&("access-control-allow-origin", origin)), "{said:?}");
    assert!(said.contains(&("access-control-allow-methods", "POST, OPTIONS")), "{said:?}");
    let headers = told.header("access-control-allow-headers").expect("headers");
    for name in ["authorization", "content-type", "if-none-match", "traceparent"] {
        assert!(headers.split(", ").any(|one| one == name), "{headers}");
    }
    assert!(told.header("vary").expect("vary").contains("origin"));
    assert!(told.header("access-control-allow-credentials").is_none());
    // An origin is compared whole.
    for other in
        ["https://moon.example", "https://till.example.moon.example", "null", "http://till.example"]
    {
        let told = ask("OPTIONS", "/v1/expand", &first(other));
        assert_eq!(told_to_pages(&told), [("vary", "origin")], "{other}");
        assert_eq!(told.status, 401, "{other}: it is asked as anybody");
    }
    // Answers, and problems of every kind, can be read by the page that asked.
    for (path, status) in [("/openapi.json", 200), ("/v1/sites", 401)] {
        let told = ask("GET", path, &from(origin));
        assert_eq!(told.status, status);
        assert_eq!(told.header("access-control-allow-origin"), Some(origin));
        let read = told.header("access-control-expose-headers").expect("headers");
        assert!(read.contains("etag") && read.contains("retry-after"), "{read}");
    }
    let rated = (0..9).map(|_| ask("GET", "/v1/sites", &from(origin)));
    let rated: Vec<Told> = rated.filter(|told| told.status == 429).collect();
    let rated = rated.first().expect("one too many");
    assert_eq!(rated.header("access-control-allow-origin"), Some(origin));
}

#[test]
fn a_preflight_is_answered_as_any_options_where_no_origin_is_allowed() {
    let service = Service::start();
    let mut raw = Raw::to(service.address());
    let more = "Origin: https://till.example\r\nAccess-Control-Request-Method: POST\r\n";
    raw.send(request("OPTIONS", "/v1/expand", more, "")).expect("it is sent");
    let told = raw.told().expect("an answer");
    assert_eq!((told.status, told_to_pages(&told)), (204, Vec::new()));
}
