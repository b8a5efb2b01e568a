//! Limits of a request, each exceeded over a real connection: what is told, and that the service
//! goes on.

use std::{
    thread,
    time::{Duration, Instant},
};

use serde_json::{Value, json};

use crate::{
    raw::{Raw, chunked, posted, request},
    server::{Service, ticket},
};

/// Most bytes of a body.
const MOST: usize = 1 << 20;
/// A service that waits one second for heads and two for bodies.
const HURRIED: [&str; 4] = ["--head-within-s", "1", "--body-within-s", "2"];

/// A ticket of one latte.
fn latte() -> String {
    ticket(&json!({})).to_string()
}

/// The service still answers a ticket, and at once.
#[track_caller]
fn goes_on(service: &Service) {
    let began = Instant::now();
    let mut raw = Raw::to(service.address());
    raw.send(posted(&latte())).expect("it is sent");
    assert_eq!(raw.told().expect("an answer").status, 200);
    let took = began.elapsed();
    assert!(took < Duration::from_secs(2), "a ticket took {took:?}");
}

/// A line with one field more.
fn line(name: &str, value: Value) -> Value {
    let mut line = json!({"line": "1", "drink": "latte"});
    line[name] = value;
    ticket(&json!({"lines": [line]}))
}

/// `count` times the same value.
fn times(count: usize, value: &Value) -> Value {
    Value::Array(vec![value.clone(); count])
}

/// `count` lines that differ in their ids.
fn lines(count: usize) -> Value {
    let line = |n: usize| json!({"line": n.to_string(), "drink": "latte"});
    ticket(&json!({"lines": (0..count).map(line).collect::<Vec<_>>()}))
}

/// For a limit: its pointer, the number of it, and a ticket of that many.
type Bound = (&'static str, usize, fn(usize) -> Value);

/// Every limit of a ticket's members; texts count characters, not bytes.
const BOUNDS: &[Bound] = &[
    ("/lines", 100, lines),
    ("/lines/0/modifiers", 32, |n| line("modifiers", times(n, &json!({"id": "spoon"})))),
    ("/lines/0/codes", 32, |n| line("codes", times(n, &json!("1101")))),
    ("/lines/0/allergies", 16, |n| line("allergies", times(n, &json!("milk")))),
    ("/lines/0/diets", 8, |n| line("diets", times(n, &json!("vegan")))),
    ("/lines/0/confirmed", 8, |n| line("confirmed", times(n, &json!("shots")))),
    ("/lines/0/quantity", 99, |n| line("quantity", json!(n))),
    ("/lines/0/note", 40, |n| line("note", json!("ü".repeat(n)))),
    ("/lines/0/override", 120, |n| line("override", json!("ü".repeat(n)))),
    ("/lines/0/line", 64, |n| line("line", json!("ü".repeat(n)))),
    ("/lines/0/drink", 64, |n| line("drink", json!("ü".repeat(n)))),
    ("/lines/0/modifiers/0/id", 64, |n| line("modifiers", json!([{"id": "ü".repeat(n)}]))),
    ("/lines/0/modifiers/0/value", 64, |n| {
        line("modifiers", json!([{"id": "milk", "value": "ü".repeat(n)}]))
    }),
    ("/lines/0/modifiers/0/count", 99, |n| line("modifiers", json!([{"id": "shots", "count": n}]))),
    ("/out_of_stock", 200, |n| ticket(&json!({"out_of_stock": times(n, &json!("matcha"))}))),
    ("/order/ref", 32, |n| ticket(&json!({"order": {"ref": "ü".repeat(n)}}))),
    ("/order/name", 40, |n| ticket(&json!({"order": {"name": "ü".repeat(n)}}))),
];

#[test]
fn every_member_of_a_ticket_has_a_limit_that_is_allowed_and_one_more_is_a_fault() {
    let service = Service::start();
    let mut raw = Raw::to(service.address());
    for (pointer, most, made) in BOUNDS {
        raw.send(posted(&made(*most).to_string())).expect("it is sent");
        let told = raw.told().expect("an answer");
        assert_eq!(told.status, 200, "{pointer}: {}", String::from_utf8_lossy(&told.body));
        raw.send(posted(&made(most + 1).to_string())).expect("it is sent");
        let problem = raw.told().expect("an answer").problem(422, "invalid-body");
        assert_eq!(problem["errors"][0]["pointer"], *pointer, "{problem}");
    }
    goes_on(&service);
}

#[test]
fn a_body_is_nested_twelve_levels_deep_at_most() {
    let service = Service::start();
    let mut raw = Raw::to(service.address());
    let nested = |levels: usize| format!("{}1{}", "[".repeat(levels), "]".repeat(levels));
    raw.send(posted(&nested(12))).expect("it is sent");
    raw.told().expect("an answer").problem(422, "invalid-body");
    for levels in [13, 1_000, 100_000, 500_000] {
        raw.send(posted(&nested(levels))).expect("it is sent");
        raw.told().expect("an answer").problem(400, "malformed-body");
    }
    goes_on(&service);
}

#[test]
fn a_body_over_one_mebibyte_is_refused_however_it_is_sent() {
    let service = Service::start();
    let mut body = latte();
    body.push_str(&" ".repeat(MOST - body.len()));
    let more = format!("{body} ");
    for (whole, over) in [
        (posted(&body), posted(&more)),
        (
            chunked("POST", "/v1/expand", &body, 10_000),
            chunked("POST", "/v1/expand", &more, 10_000),
        ),
        (chunked("POST", "/v1/validate", &body, 31), chunked("POST", "/v1/validate", &more, 31)),
    ] {
        let mut raw = Raw::to(service.address());
        raw.send(whole).expect("it is sent");
        assert_eq!(raw.told().expect("an answer").status, 200, "the limit itself is allowed");
        // It may be refused before all of it is sent.
        let _ = raw.send(over);
        let told = raw.told().expect("an answer");
        told.problem(413, "body-too-large");
        assert!(told.closes(), "the rest of the body is not read");
        assert!(raw.ends_within(Duration::from_secs(5)));
    }
    // A body that only says that it is large is refused before it is sent.
    let mut raw = Raw::to(service.address());
    let head = "POST /v1/expand HTTP/1.1\r\nHost: bar\r\nContent-Type: application/json\r\n\
                Content-Length: 99999999999\r\n\r\n{";
    raw.send(head).expect("it is sent");
    let told = raw.told_within(Duration::from_secs(1)).expect("told at once").expect("an answer");
    told.problem(413, "body-too-large");
    assert!(told.closes());
    goes_on(&service);
}

/// A body without end is not read for ever, not even to close the connection politely.
#[test]
fn a_body_in_chunks_without_end_ends_the_connection() {
    let service = Service::start_with(&HURRIED);
    for path in ["/v1/expand", "/v1/drinks", "/moon", "/health/live"] {
        let mut raw = Raw::to(service.address());
        let head =
            format!("POST {path} HTTP/1.1\r\nHost: bar\r\nTransfer-Encoding: chunked\r\n\r\n");
        raw.send(head).expect("it is sent");
        let chunk = format!("4000\r\n{}\r\n", " ".repeat(0x4000));
        let began = Instant::now();
        while raw.send(&chunk).is_ok() {
            assert!(began.elapsed() < Duration::from_secs(15), "{path} reads for ever");
        }
    }
    goes_on(&service);
}

/// Of a head that does not come the layer below says 408 itself, and has no body for it. Source: RFC
/// 9110, section 15.5.9.
#[test]
fn a_head_that_does_not_come_ends_the_connection() {
    let service = Service::start_with(&HURRIED);
    for start in ["", "GET /v1/book HTTP/1.1\r\nHost: b"] {
        let mut raw = Raw::to(service.address());
        raw.send(start).expect("it is sent");
        let told = raw.told_within(Duration::from_secs(4)).expect("in time").expect("an answer");
        assert_eq!((told.status, told.body.len()), (408, 0));
        assert!(raw.ends_within(Duration::from_secs(4)));
    }
    goes_on(&service);
}

/// A head that drips ends a connection too, be it the first or a later one.
#[test]
fn a_head_that_drips_ends_the_connection_be_it_the_first_or_a_later_one() {
    let service = Service::start_with(&HURRIED);
    thread::scope(|scope| {
        for before in [0, 1, 3] {
            let service = &service;
            scope.spawn(move || {
                let mut raw = Raw::to(service.address());
                for _ in 0..before {
                    raw.send(posted(&latte())).expect("it is sent");
                    assert_eq!(raw.told().expect("an answer").status, 200);
                }
                let began = Instant::now();
                let drips =
                    "GET /v1/book HTTP/1.1\r\nX-Slow: aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa";
                let sent = drips.bytes().take_while(|byte| {
                    thread::sleep(Duration::from_millis(200));
                    raw.send([*byte]).is_ok()
                });
                let sent = sent.count();
                assert!(sent < drips.len(), "{before} before: all {sent} bytes were taken");
                let took = began.elapsed();
                assert!(took < Duration::from_secs(6), "{before} before: it took {took:?}");
            });
        }
    });
    goes_on(&service);
}

/// A connection on which many requests come one after the other is never cut, however long it lasts.
#[test]
fn a_connection_that_is_used_outlives_the_time_for_a_head() {
    let service = Service::start_with(&HURRIED);
    let mut raw = Raw::to(service.address());
    let began = Instant::now();
    while began.elapsed() < Duration::from_millis(3_500) {
        raw.send(posted(&latte())).expect("it is sent");
        assert_eq!(raw.told().expect("an answer").status, 200);
        thread::sleep(Duration::from_millis(70));
    }
}

#[test]
fn a_body_that_drips_is_told_so_and_three_hundred_of_them_hold_up_nobody() {
    let service = Service::start_with(&["--requests-per-s", "0", "--body-within-s", "4"]);
    let head = "POST /v1/expand HTTP/1.1\r\nHost: bar\r\nContent-Type: application/json\r\n\
                Content-Length: 200\r\n\r\n";
    let mut slow: Vec<Raw> = (0..300).map(|_| Raw::to(service.address())).collect();
    for raw in &mut slow {
        raw.send(head).expect("it is sent");
    }
    let body = latte();
    for byte in body.bytes().take(2) {
        for raw in &mut slow {
            // Those for which there is no place were told so.
            let _ = raw.send([byte]);
        }
        goes_on(&service);
        thread::sleep(Duration::from_secs(1));
    }
    goes_on(&service);
    let (mut too_slow, mut busy) = (0, 0);
    for raw in &mut slow {
        let told = raw.told().expect("an answer");
        assert!(told.closes());
        if told.status == 408 {
            told.problem(408, "body-too-slow");
            too_slow += 1;
        } else {
            told.problem(503, "busy");
            assert!(told.header("retry-after").is_some());
            busy += 1;
        }
    }
    // Places for bodies that are on their way are as many as those for work.
    assert_eq!((too_slow, busy), (256, 44));
    goes_on(&service);
}

/// Source: RFC 6585, section 5: 431 for a head that is too large.
#[test]
fn a_head_without_end_is_refused_and_the_connection_closed() {
    let service = Service::start();
    let header = format!("X-Long: {}\r\n", "a".repeat(4_000));
    let target = format!("GET /{} HTTP/1.1\r\nHost: bar\r\n\r\n", "a".repeat(500_000));
    let many = format!("GET / HTTP/1.1\r\nHost: bar\r\n{}\r\n", "a: b\r\n".repeat(2_000));
    let long = format!("GET / HTTP/1.1\r\nHost: bar\r\n{}\r\n", header.repeat(60));
    for (head, expected) in
        [(target, [400, 414, 431]), (many, [400, 431, 431]), (long, [400, 431, 431])]
    {
        let mut raw = Raw::to(service.address());
        let _ = raw.send(&head);
        if let Some(told) = raw.told() {
            assert!(expected.contains(&told.status), "{}", told.status);
        }
        assert!(raw.ends_within(Duration::from_secs(5)));
    }
    goes_on(&service);
}

#[test]
fn a_reader_who_takes_nothing_of_the_answers_is_cut_off() {
    let service = Service::start_with(&["--requests-per-s", "0", "--body-within-s", "1"]);
    let mut raw = Raw::to(service.address());
    let asked = request("GET", "/openapi.json", "", "").repeat(16);
    let began = Instant::now();
    // Buffers on the way take some megabytes before the service notices that nobody reads.
    while raw.send(&asked).is_ok() {
        assert!(began.elapsed() < Duration::from_secs(20), "it is written to for ever");
        thread::sleep(Duration::from_millis(5));
    }
    goes_on(&service);
}
