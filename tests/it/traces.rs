//! Traces: what a receiver that is not ours gets, and that one which is gone holds nobody up.

use std::{
    collections::{BTreeMap, BTreeSet},
    net::TcpListener,
    time::{Duration, Instant, SystemTime, UNIX_EPOCH},
};

use reqwest::StatusCode;
use serde_json::{Value, json};

use crate::{
    collector::Collector,
    observed::{Observed, free_port},
    server::ticket,
};

/// `SPAN_KIND_SERVER` and `STATUS_CODE_ERROR` of the messages of OTLP 1.
const SERVER: u64 = 2;
const ERROR: u64 = 2;

/// A service that sends traces to `address`, and more arguments.
fn traced(address: &str, more: &[&str]) -> Observed {
    Observed::start(&[&["--otlp", address], more].concat())
}

/// Sends a request with these headers; the status.
fn send(service: &Observed, path: &str, headers: &[(&str, &str)]) -> StatusCode {
    let request = service.client.get(service.url(path));
    let request =
        headers.iter().fold(request, |request, (name, value)| request.header(*name, *value));
    request.send().expect("an answer").status()
}

fn since_epoch() -> u64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).expect("a clock");
    u64::try_from(since.as_nanos()).expect("a time")
}

/// Sources: OTLP 1 (its published messages judge what is sent); OpenTelemetry semantic conventions
/// for HTTP spans 1.23, of which `url.path` and `url.scheme` are left out on purpose.
#[test]
fn each_request_is_a_span_with_name_kind_times_and_attributes_and_nothing_else() {
    let mut collector = Collector::start();
    let before = since_epoch();
    let mut service = traced(collector.address(), &["--stop-notice-s", "0"]);
    assert_eq!(service.post("/v1/expand", ticket(&json!({})).to_string()).status(), 200);
    assert_eq!(send(&service, "/v1/drinks/latte?site=bookshop", &[]), 200);
    assert_eq!(send(&service, "/made/up", &[]), 404);
    let odd = reqwest::Method::from_bytes(b"MADEUP").unwrap();
    let answer = service.client.request(odd, service.url("/v1/book")).send().unwrap();
    assert_eq!(answer.status(), 405);
    assert_eq!(service.terminate().0, Some(0));
    let after = since_epoch();
    let spans = collector.end();
    let expected = [
        ("POST /v1/expand", "POST", Some("/v1/expand"), 200),
        ("GET /v1/drinks/{id}", "GET", Some("/v1/drinks/{id}"), 200),
        ("GET", "GET", None, 404),
        ("HTTP /v1/book", "_OTHER", Some("/v1/book"), 405),
    ];
    assert_eq!(spans.len(), expected.len(), "{spans:#?}");
    for (span, (name, method, route, status)) in spans.iter().zip(expected) {
        let mut attributes =
            json!({ "http.request.method": method, "http.response.status_code": status });
        if let Some(route) = route {
            attributes["http.route"] = json!(route);
        }
        assert_eq!(span["name"], name);
        assert_eq!(span["attributes"], attributes, "{name}");
        assert_eq!(span["kind"], SERVER);
        assert_eq!(span["status"], 0, "a fault of the client is none of the span");
        assert_eq!(span["resource"]["service.name"], "cupwright");
        assert_eq!(span["resource"]["service.version"], env!("CARGO_PKG_VERSION"));
        assert_eq!((&span["parent"], &span["state"]), (&json!(""), &json!("")));
        let times = ["begin", "end"].map(|time| span[time].as_u64().expect("a time"));
        assert!(before <= times[0] && times[0] <= times[1] && times[1] <= after, "{span}");
    }
    let traces: BTreeSet<&str> = spans.iter().map(|span| span["trace"].as_str().unwrap()).collect();
    assert_eq!(traces.len(), spans.len(), "each begins a trace of its own");
}

/// Source: W3C Trace Context (level 1), sections 3.2 and 4.3: a malformed `traceparent` is as none,
/// and so are two of them.
#[test]
fn a_trace_goes_on_from_whoever_called_and_begins_anew_where_that_is_not_said_well() {
    const TRACE: &str = "4bf92f3577b34da6a3ce929d0e0e4736";
    const SPAN: &str = "00f067aa0ba902b7";
    let parent = |version: &str, flags: &str| format!("{version}-{TRACE}-{SPAN}-{flags}");
    let goes_on =
        [parent("00", "01"), parent("00", "03"), parent("cc", "01"), parent("cc", "01-what-comes")];
    let malformed = [
        "made-up".to_owned(),
        String::new(),
        parent("ff", "01"),
        parent("00", "01-more"),
        parent("cc", "01.what"),
        parent("00", "1"),
        parent("00", "01").to_uppercase(),
        format!("00-{}-{SPAN}-01", "0".repeat(32)),
        format!("00-{TRACE}-{}-01", "0".repeat(16)),
        format!("00-{TRACE}-{SPAN}"),
    ];
    let mut collector = Collector::start();
    let mut service = traced(collector.address(), &["--stop-notice-s", "0"]);
    for told in goes_on.iter().chain(&malformed) {
        send(&service, "/v1/book", &[("traceparent", told), ("tracestate", "made=up")]);
    }
    let twice = parent("00", "01");
    send(&service, "/v1/book", &[("traceparent", &twice), ("traceparent", &twice)]);
    for unsampled in [parent("00", "00"), parent("00", "02"), parent("cc", "00")] {
        send(&service, "/v1/sites", &[("traceparent", &unsampled)]);
    }
    service.terminate();
    let spans = collector.end();
    assert_eq!(spans.len(), goes_on.len() + malformed.len() + 1, "{spans:#?}");
    let (on, anew) = spans.split_at(goes_on.len());
    for (span, told) in on.iter().zip(&goes_on) {
        assert_eq!((&span["trace"], &span["parent"]), (&json!(TRACE), &json!(SPAN)), "{told}");
        assert_ne!(span["span"], SPAN);
    }
    for (span, told) in anew.iter().zip(malformed.iter().chain([&twice])) {
        assert_ne!(span["trace"], TRACE, "{told}");
        assert_eq!(span["parent"], "", "{told}");
    }
    assert!(spans.iter().all(|span| span["name"] == "GET /v1/book"), "not sampled is not sent");
}

#[test]
fn a_failure_of_the_service_is_an_error_of_the_span() {
    let mut collector = Collector::start();
    let mut service = traced(collector.address(), &["--stop-notice-s", "2"]);
    service.signal("TERM");
    service.until("it is not ready", |service| send(service, "/health/ready", &[]) == 503);
    service.over(Instant::now());
    let spans = collector.end();
    let failed = |span: &&Value| span["attributes"]["http.response.status_code"] == 503;
    let span = spans.iter().find(failed).expect("a span of it");
    assert_eq!(span["status"], ERROR);
    assert_eq!(span["attributes"]["error.type"], "503");
}

/// The queue of spans holds 2,048; here it is not full.
#[test]
fn every_span_has_been_sent_when_the_process_has_ended() {
    const REQUESTS: usize = 1_500;
    let mut collector = Collector::start();
    let mut service =
        traced(collector.address(), &["--stop-notice-s", "0", "--requests-per-s", "0"]);
    let mut ids = BTreeMap::new();
    for n in 0..REQUESTS {
        let trace = format!("{:032x}", n + 1);
        let parent = format!("00-{trace}-00f067aa0ba902b7-01");
        assert_eq!(send(&service, "/health/live", &[("traceparent", &parent)]), 204);
        ids.insert(trace, 0);
    }
    assert_eq!(service.terminate().0, Some(0));
    for span in collector.end() {
        *ids.get_mut(span["trace"].as_str().unwrap()).expect("a trace that was begun") += 1;
    }
    let lost = ids.iter().filter(|(_, times)| **times != 1).count();
    assert_eq!(lost, 0, "each once");
}

/// Asks far more than the queue of spans holds, of a service whose receiver is at `address`.
fn unhindered(address: &str) {
    let mut service = traced(address, &["--stop-notice-s", "0", "--requests-per-s", "0"]);
    let mut slowest = Duration::ZERO;
    for _ in 0..3_000 {
        let began = Instant::now();
        assert_eq!(send(&service, "/health/live", &[]), 204);
        slowest = slowest.max(began.elapsed());
    }
    // One attempt to send takes up to five seconds, so whoever waited for one would show.
    assert!(slowest < Duration::from_secs(2), "{slowest:?}");
    let (code, took) = service.terminate();
    assert_eq!(code, Some(0));
    assert!(took < Duration::from_secs(9), "five seconds for what is left, then it ends: {took:?}");
}

#[test]
fn a_receiver_that_is_gone_holds_nobody_up() {
    unhindered(&format!("http://127.0.0.1:{}", free_port()));
}

#[test]
fn a_receiver_that_takes_connections_and_never_answers_holds_nobody_up() {
    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    unhindered(&format!("http://{}", silent.local_addr().unwrap()));
}
