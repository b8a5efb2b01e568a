//! How the service ends: whom it sends elsewhere, what it still answers, and when it is over.

use std::{
    io::{Read as _, Write as _},
    net::TcpStream,
    process::Command,
    thread,
    time::{Duration, Instant},
};

use reqwest::StatusCode;
use serde_json::json;

use crate::{
    observed::{Observed, PATIENCE, Standards},
    server::ticket,
};

/// What anything may take on a machine that is busy with other things.
const SLACK: Duration = Duration::from_secs(6);

/// A request for one latte: its head, and its body.
fn request() -> (String, String) {
    let body = ticket(&json!({})).to_string();
    let length = body.len();
    let head = format!(
        "POST /v1/expand HTTP/1.1\r\nHost: bar\r\nContent-Type: application/json\r\n\
         Content-Length: {length}\r\n\r\n"
    );
    (head, body)
}

fn connection(service: &Observed) -> TcpStream {
    let stream = TcpStream::connect(service.address()).expect("a connection");
    stream.set_read_timeout(Some(PATIENCE)).expect("a time-out");
    stream
}

/// Everything that comes until the service ends the connection.
fn rest(mut stream: TcpStream) -> String {
    let mut said = Vec::new();
    stream.read_to_end(&mut said).expect("the connection is ended in good order");
    String::from_utf8(said).expect("text")
}

/// A connection on which the first half of a ticket was sent.
fn half_sent(service: &Observed) -> (TcpStream, String) {
    let (head, body) = request();
    let mut stream = connection(service);
    let (first, second) = body.split_at(body.len() / 2);
    stream.write_all(format!("{head}{first}").as_bytes()).expect("it is sent");
    // The head has arrived once something else has been answered after it.
    thread::sleep(Duration::from_millis(100));
    assert_eq!(service.get("/health/live").status(), StatusCode::NO_CONTENT);
    (stream, second.to_owned())
}

fn until_closed(service: &Observed) {
    let began = Instant::now();
    while TcpStream::connect(service.address()).is_ok() {
        assert!(began.elapsed() < PATIENCE, "it still listens");
        thread::sleep(Duration::from_millis(10));
    }
}

/// Source: RFC 9112, section 9.6: a server that will close says so with `Connection: close`.
#[test]
fn while_the_notice_lasts_tickets_are_answered_and_everybody_is_sent_elsewhere() {
    let mut service = Observed::start(&["--stop-notice-s", "2"]);
    let (head, body) = request();
    // It is open from before, as a balancer's connections are.
    let mut kept = connection(&service);
    kept.write_all(b"GET /health/ready HTTP/1.1\r\nHost: bar\r\n\r\n").expect("it is sent");
    let mut first = [0; 1_024];
    let length = kept.read(&mut first).expect("an answer");
    let first = String::from_utf8_lossy(&first[..length]).to_ascii_lowercase();
    assert!(first.starts_with("http/1.1 204") && !first.contains("connection: close"), "{first}");
    let began = Instant::now();
    service.signal("TERM");
    service.until("it is not ready", |service| {
        service.get("/health/ready").status() == StatusCode::SERVICE_UNAVAILABLE
    });
    assert!(began.elapsed() < Duration::from_secs(1), "at once, not after the notice");
    let ready = service.get("/health/ready");
    assert_eq!(ready.headers()["retry-after"], "1");
    assert_eq!(service.get("/health/live").status(), StatusCode::NO_CONTENT, "it lives");
    let new = service.post("/v1/expand", body.clone());
    assert_eq!(new.status(), StatusCode::OK, "a new connection is still served");
    kept.write_all(format!("{head}{body}").as_bytes()).expect("it is sent");
    let said = rest(kept).to_ascii_lowercase();
    assert!(said.starts_with("http/1.1 200"), "{said}");
    assert!(said.contains("connection: close"), "and the connection has ended: {said}");
    let (code, took) = service.over(began);
    assert_eq!(code, Some(0));
    assert!(took >= Duration::from_secs(2) && took < Duration::from_secs(2) + SLACK, "{took:?}");
    assert!(TcpStream::connect(service.address()).is_err(), "nobody listens any more");
}

#[test]
fn what_is_under_way_gets_its_answer_after_the_listener_is_closed() {
    let mut service = Observed::start(&["--stop-notice-s", "0.2", "--stop-within-s", "30"]);
    let (mut slow, second) = half_sent(&service);
    let began = Instant::now();
    service.signal("TERM");
    until_closed(&service);
    slow.write_all(second.as_bytes()).expect("it is sent");
    let said = rest(slow);
    assert!(said.starts_with("HTTP/1.1 200"), "{said}");
    assert!(said.to_ascii_lowercase().contains("connection: close"), "{said}");
    let (code, took) = service.over(began);
    assert_eq!(code, Some(0));
    assert!(took < SLACK, "it ends with the last answer, not with its time: {took:?}");
}

#[test]
fn a_connection_that_nobody_uses_does_not_hold_it_up() {
    let mut service = Observed::start(&["--stop-notice-s", "0", "--stop-within-s", "30"]);
    let mut idle = connection(&service);
    idle.write_all(b"GET /health/live HTTP/1.1\r\nHost: bar\r\n\r\n").expect("it is sent");
    assert!(idle.read(&mut [0; 1_024]).expect("an answer") > 0);
    let _silent = connection(&service);
    let (code, took) = service.terminate();
    assert_eq!(code, Some(0));
    assert!(took < Duration::from_secs(6) + SLACK, "{took:?}");
}

#[test]
fn a_request_that_never_ends_does_not_hold_it_up_longer_than_was_set() {
    let slow = ["--stop-notice-s", "0", "--stop-within-s", "1", "--body-within-s", "60"];
    let mut service = Observed::start(&slow);
    let _never = half_sent(&service);
    let (code, took) = service.terminate();
    assert_eq!(code, Some(0));
    assert!(took >= Duration::from_secs(1), "it has its time: {took:?}");
    assert!(took < Duration::from_secs(1) + SLACK, "{took:?}");
}

#[test]
fn an_interrupt_ends_it_without_notice() {
    let mut service = Observed::start(&["--stop-notice-s", "60"]);
    assert_eq!(service.get("/health/ready").status(), StatusCode::NO_CONTENT);
    let began = Instant::now();
    service.signal("INT");
    let (code, took) = service.over(began);
    assert_eq!(code, Some(0));
    assert!(took < SLACK, "{took:?}");
}

/// Source: POSIX.1-2017, Shell Command Language, section 2.8.2: a command that a signal ended has a
/// status over 128; shells add the signal's number (from memory), which is 2 or 15.
#[test]
fn a_second_signal_ends_it_at_once_whatever_it_waits_for() {
    let slow = ["--stop-within-s", "60", "--body-within-s", "60", "--stop-notice-s"];
    for (notice, first, second, expected) in
        [("60", "TERM", "TERM", 143), ("60", "TERM", "INT", 130), ("0", "TERM", "TERM", 143)]
    {
        let mut service = Observed::start(&[&slow[..], &[notice]].concat());
        let _never = half_sent(&service);
        service.signal(first);
        if notice == "0" {
            until_closed(&service);
        } else {
            service.until("it is not ready", |service| {
                service.get("/health/ready").status() == StatusCode::SERVICE_UNAVAILABLE
            });
        }
        let began = Instant::now();
        service.signal(second);
        let (code, took) = service.over(began);
        assert_eq!(code, Some(expected), "{notice} s, {first}, {second}");
        assert!(took < Duration::from_secs(3), "{took:?}");
    }
}

#[test]
fn a_reload_under_way_does_not_hold_it_up() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--stop-notice-s", "0.2"]);
    // Reading what nobody writes takes for ever, as on a file system that hangs.
    std::fs::remove_file(standards.book()).expect("it was there");
    let made = Command::new("mkfifo").arg(standards.book()).status();
    assert!(made.expect("`mkfifo` is there").success());
    service.signal("HUP");
    thread::sleep(Duration::from_millis(300));
    assert_eq!(service.get("/v1/book").status(), StatusCode::OK, "answers go on meanwhile");
    let (code, took) = service.terminate();
    assert_eq!(code, Some(0));
    assert!(took < SLACK, "{took:?}");
}

#[test]
fn told_to_stop_amid_many_reloads_it_ends_in_good_order() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--stop-notice-s", "0.1"]);
    for n in 1..6 {
        standards.edition(n);
        service.signal("HUP");
    }
    let (code, _) = service.terminate();
    assert_eq!(code, Some(0), "{:#?}", service.log());
}
