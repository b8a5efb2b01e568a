//! The log: what each record tells, and which requests get one.

use std::{collections::BTreeMap, time::Duration};

use jiff::Timestamp;
use reqwest::{StatusCode, blocking::Response};
use serde_json::{Value, json};

use crate::{
    observed::{Observed, PATIENCE},
    server::ticket,
};

const TRACE: &str = "4bf92f3577b34da6a3ce929d0e0e4736";

/// The id that an answer has of the service.
fn id_of(answer: &Response) -> String {
    answer.headers()["x-request-id"].to_str().expect("text").to_owned()
}

/// A good ticket, a bad one, a read and a path that is not there, each with a traceparent: the id of
/// each answer, with its method, route and status.
fn asked(service: &Observed) -> BTreeMap<String, (&'static str, &'static str, u16)> {
    let parent = format!("00-{TRACE}-00f067aa0ba902b7-01");
    let send = |request: reqwest::blocking::RequestBuilder| {
        request.header("traceparent", &parent).send().expect("an answer")
    };
    let post = |body: String| {
        let request = service.client.post(service.url("/v1/expand"));
        send(request.header("content-type", "application/json").body(body))
    };
    let get = |path: &str| send(service.client.get(service.url(path)));
    let mut all = BTreeMap::new();
    let mut keep = |answer: Response, method, route| {
        all.insert(id_of(&answer), (method, route, answer.status().as_u16()));
    };
    keep(post(ticket(&json!({})).to_string()), "POST", "/v1/expand");
    keep(post("{".to_owned()), "POST", "/v1/expand");
    keep(get("/v1/drinks/latte"), "GET", "/v1/drinks/{id}");
    keep(get("/nowhere/at/all"), "GET", "other");
    assert_eq!(all.len(), 4, "no two ids are alike");
    all
}

/// The records of requests in a log.
fn of_requests(records: &[Value]) -> Vec<&Value> {
    records.iter().filter(|record| record["message"] == "answered").collect()
}

/// Sources: RFC 8259, RFC 3339 section 5.6, W3C Trace Context section 3.2.2, RFC 9562 section 5.7.
#[test]
fn every_line_is_a_json_object_that_tells_when_how_and_which_request() {
    let before = Timestamp::now();
    let mut service = Observed::start(&["--log-requests", "all", "--log-level", "trace"]);
    let asked = asked(&service);
    assert_eq!(service.terminate().0, Some(0));
    let records = service.records();
    for record in &records {
        let at = record["timestamp"].as_str().expect("a time");
        let time: Timestamp = at.parse().expect("RFC 3339");
        assert!(at.ends_with('Z') && at.contains('T'), "{at}");
        assert!(before - Duration::from_millis(1) <= time && time <= Timestamp::now(), "{at}");
        let level = record["level"].as_str().expect("a level");
        assert!(["ERROR", "WARN", "INFO", "DEBUG", "TRACE"].contains(&level), "{record}");
    }
    let answered = of_requests(&records);
    assert_eq!(answered.len(), asked.len(), "one record a request: {records:#?}");
    for record in answered {
        let id = record["request_id"].as_str().expect("an id");
        let uuid: uuid::Uuid = id.parse().expect("a UUID");
        assert_eq!(uuid.get_version_num(), 7);
        let (method, route, status) = asked[id];
        assert_eq!(record["method"], method);
        assert_eq!(record["route"], route);
        assert_eq!(record["status"], status);
        assert_eq!(record["trace_id"], TRACE);
        assert_eq!(record["level"], "INFO");
        let seconds = record["seconds"].as_f64().expect("a time");
        assert!(seconds > 0.0 && seconds < PATIENCE.as_secs_f64(), "{record}");
        let known = ["timestamp", "level", "message", "target", "request_id", "trace_id", "method"];
        let known = [&known[..], &["route", "status", "seconds"]].concat();
        let fields = record.as_object().expect("an object").keys();
        assert!(fields.clone().all(|field| known.contains(&&**field)), "and no more: {record}");
    }
    assert!(records.iter().any(|record| record["message"] == "told to stop"), "{records:#?}");
}

#[test]
fn all_requests_are_logged_or_those_that_failed_or_none() {
    for (which, expected) in [("all", 4), ("failed", 2), ("none", 0)] {
        let mut service = Observed::start(&["--log-requests", which]);
        let asked = asked(&service);
        service.terminate();
        let records = service.records();
        let answered = of_requests(&records);
        assert_eq!(answered.len(), expected, "{which}: {records:#?}");
        for record in answered {
            let (_, _, status) = asked[record["request_id"].as_str().expect("an id")];
            assert!(which == "all" || status >= 400, "{which}: {record}");
        }
    }
}

#[test]
fn without_a_level_that_takes_them_requests_are_not_logged() {
    let mut service = Observed::start(&["--log-requests", "all", "--log-level", "warn"]);
    asked(&service);
    service.terminate();
    assert_eq!(service.log(), Vec::<String>::new());
}

#[test]
fn the_text_form_has_one_line_a_record_with_the_same_words() {
    let mut service = Observed::start(&["--log-form", "text", "--log-requests", "all"]);
    let asked = asked(&service);
    service.terminate();
    let log = service.log();
    for (id, (method, route, status)) in &asked {
        let mut lines = log.iter().filter(|line| line.contains(&**id));
        let line = lines.next().expect("a line for it");
        assert!(lines.next().is_none(), "and one alone");
        let time = line.split(' ').next().expect("a time");
        assert!(time.parse::<Timestamp>().is_ok(), "{line}");
        for word in [
            "INFO answered",
            &format!("trace_id=\"{TRACE}\""),
            &format!("method=\"{method}\""),
            &format!("route=\"{route}\""),
            &format!("status={status}"),
        ] {
            assert!(line.contains(word), "`{word}` is in {line}");
        }
        assert!(!line.contains('\u{1b}'), "no colours: {line}");
    }
}

#[test]
fn an_id_that_a_sender_makes_up_is_not_taken() {
    let mut service = Observed::start(&["--log-requests", "all"]);
    let request = service.client.get(service.url("/v1/book")).header("x-request-id", "made-up");
    let answer = request.header("traceparent", "made-up").send().expect("an answer");
    assert_eq!(answer.status(), StatusCode::OK);
    let id = id_of(&answer);
    service.terminate();
    let records = service.records();
    let record = of_requests(&records)[0];
    assert_eq!(record["request_id"], id);
    assert!(record.get("trace_id").is_none(), "no trace goes on: {record}");
    assert!(service.log().iter().all(|line| !line.contains("made-up")));
}
