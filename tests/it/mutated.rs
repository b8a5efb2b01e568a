//! Requests of the contract, each changed in a few places: every answer is one that the OpenAPI
//! document describes, whatever is asked.

mod chance;
mod judge;
mod requests;

use actix_web::{
    http::{Method, Uri, header::HeaderValue},
    test,
    web::Data,
};
use cupwright::{
    config::Settings,
    http::{State, app},
    keys::{Key, KeyRing, Role},
    state::{StateDir, StockOuts},
};
use serde_json::json;

use chance::Chance;
use judge::{Answered, Judge};
use requests::{Mutant, mutant};

use crate::{
    gate::keys_of,
    lines::DEMO,
    raw::{Raw, Told},
    server::Service,
};

/// How many mutants there are; `CUPWRIGHT_MUTANTS` sets another number.
fn how_many() -> usize {
    let set = std::env::var("CUPWRIGHT_MUTANTS").ok();
    set.map_or(20_000, |text| text.parse().expect("CUPWRIGHT_MUTANTS is a number"))
}

/// One of so many is sent over a real connection.
const SENT: usize = 8;

/// A mutant as the app takes it; `None` where its head cannot be read as HTTP at all.
fn request_of(made: &Mutant) -> Option<test::TestRequest> {
    let uri = std::str::from_utf8(&made.path).ok()?;
    uri.parse::<Uri>().ok()?;
    let method = Method::from_bytes(made.method.as_bytes()).ok()?;
    let mut request = test::TestRequest::default().method(method).uri(uri);
    for (name, value) in &made.headers {
        request = request.append_header((*name, HeaderValue::from_bytes(value).ok()?));
    }
    if let Some(body) = &made.body {
        request = request.insert_header(("content-length", body.len()));
        request = request.set_payload(body.clone());
    }
    Some(request)
}

/// Asks so many mutants of an app in this process, and holds each answer to the document.
async fn ask(seed: u64, wanted: usize) -> Judge {
    let folder = tempfile::tempdir().unwrap();
    let stock = StockOuts::kept_in(StateDir::open(folder.path()).unwrap()).unwrap();
    let (secret, record) = Key::new("one".into(), Role::Admin, Vec::new());
    let file = json!({ "schema": "service-keys/0.1.0", "keys": [record] });
    let keys = KeyRing::read("keys", &file.to_string()).unwrap();
    let mut settings = Settings::default();
    settings.limits.requests_per_s = 0;
    let state = State::new(DEMO.clone(), keys, stock, settings);
    let service = test::init_service(app(Data::new(state))).await;
    let (mut judge, mut chance) = (Judge::new(), Chance::of(seed));
    let mut asked = 0;
    while asked < wanted {
        let made = mutant(&mut chance, &secret);
        let Some(request) = request_of(&made) else { continue };
        asked += 1;
        let answer = test::call_service(&service, request.to_request()).await;
        let status = answer.status().as_u16();
        let kind = answer.headers().get("content-type").cloned();
        let kind = kind.as_ref().and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let kind = kind.split(';').next().unwrap_or_default();
        let body = test::read_body(answer).await;
        let path = std::str::from_utf8(&made.path).unwrap();
        // Only the encoder leaves the content out.
        let body = if made.method == "HEAD" { &[][..] } else { &body[..] };
        let fault = judge.judge(&made.method, path, &Answered { status, kind, body });
        assert_eq!(fault, None, "number {asked}: {made:#?}");
    }
    judge
}

/// Holds the answers to having been of every kind.
fn judged(judge: &Judge) {
    let seen = |status: u16| -> usize {
        judge.seen.iter().filter(|((_, one), _)| *one == status).map(|(_, count)| count).sum()
    };
    for status in [200, 204, 304, 400, 401, 404, 406, 409, 411, 415, 422] {
        assert!(seen(status) >= 1, "{status} was hardly ever said: {:?}", judge.seen);
    }
}

#[actix_web::test]
async fn every_answer_to_a_mutated_request_is_one_that_is_described() {
    judged(&ask(1, how_many() / 2 - how_many() / SENT / 2).await);
}

/// The same with others, so that two threads share the work.
#[actix_web::test]
async fn every_answer_to_another_mutated_request_is_one_that_is_described() {
    judged(&ask(3, how_many() / 2 - how_many() / SENT / 2).await);
}

/// A mutant as bytes, its content in one piece, in chunks or in odd ones; whether a reader can tell
/// where it ends.
fn bytes_of(made: &Mutant, chance: &mut Chance) -> (Vec<u8>, bool) {
    let mut bytes =
        [made.method.as_bytes(), b" ", &made.path, b" HTTP/1.1\r\nHost: bar\r\n"].concat();
    for (name, value) in &made.headers {
        bytes.extend([name.as_bytes(), b": ", value, b"\r\n"].concat());
    }
    let Some(body) = &made.body else {
        bytes.extend(b"\r\n");
        return (bytes, true);
    };
    match chance.below(8) {
        0..=3 => {
            bytes.extend(format!("Content-Length: {}\r\n\r\n", body.len()).bytes());
            bytes.extend(body);
            (bytes, true)
        }
        4 | 5 => {
            bytes.extend(b"Transfer-Encoding: chunked\r\n\r\n");
            for chunk in body.chunks(1 + chance.below(40)) {
                bytes.extend(format!("{:X};a=b\r\n", chunk.len()).bytes());
                bytes.extend([chunk, b"\r\n"].concat());
            }
            bytes.extend(b"0\r\n\r\n");
            (bytes, true)
        }
        _ => {
            let odd = [
                "Content-Length: 99999\r\n\r\n",
                "Content-Length: -1\r\n\r\n",
                "Content-Length: 4\r\nContent-Length: 5\r\n\r\n",
                "Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n",
                "Transfer-Encoding: chunked\r\n\r\nzz\r\n",
                "Transfer-Encoding: chunked\r\n\r\nffffffffffffffffff\r\n",
                "Transfer-Encoding: gzip, chunked\r\n\r\n",
                "Transfer-Encoding: chunked, chunked\r\n\r\n3\r\nabcd\r\n",
                "Expect: 100-continue\r\nContent-Length: 3\r\n\r\n",
                "Content-Length : 3\r\n\r\n",
                "\r\nGET / HTTP/9.9\r\n\r\n",
            ];
            bytes.extend(chance.of_these(&odd).bytes());
            bytes.extend(body);
            (bytes, false)
        }
    }
}

/// Holds an answer that came over a connection to the document.
fn judge_told(judge: &mut Judge, made: &Mutant, told: &Told) -> Option<String> {
    let status = told.status;
    // What the layer of HTTP cannot read it refuses itself, and ends the connection.
    if [400, 417, 431].contains(&status) && told.body.is_empty() && made.method != "HEAD" {
        return None;
    }
    let kind = told.header("content-type").unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default();
    let path = String::from_utf8_lossy(&made.path).into_owned();
    judge.judge(&made.method, &path, &Answered { status, kind, body: &told.body })
}

#[::core::prelude::v1::test]
fn every_mutated_request_on_a_connection_is_answered_or_ends_it() {
    let (folder, file, secrets) = keys_of(&[("admin", &[])]);
    let state = folder.path().join("state");
    let state = state.to_str().expect("text");
    let quiet = ["--requests-per-s", "0", "--log-requests", "none"];
    let service = Service::start_with(&[&["--keys", &file, "--state", state], &quiet[..]].concat());
    let (mut judge, mut chance) = (Judge::new(), Chance::of(2));
    let mut raw = Raw::to(service.address());
    let (mut answered, mut refused) = (0, 0);
    for n in 0..how_many() / SENT {
        let made = mutant(&mut chance, &secrets[0]);
        let (bytes, is_whole) = bytes_of(&made, &mut chance);
        let shown = || format!("number {n}: {}", String::from_utf8_lossy(&bytes));
        // The service may have had enough of it before all is sent.
        let _ = raw.send(&bytes);
        if !is_whole {
            // Whatever it is taken for, it comes to an end, and nothing fails.
            raw.send_no_more();
            let told = if made.method == "HEAD" { raw.told_of_head() } else { raw.told() };
            assert!(told.as_ref().is_none_or(|told| told.status < 500), "{}: {told:?}", shown());
            raw = Raw::to(service.address());
            refused += 1;
            continue;
        }
        let told = if made.method == "HEAD" { raw.told_of_head() } else { raw.told() };
        let ends = told
            .as_ref()
            .is_none_or(|told| told.closes() || told.body.is_empty() && told.status == 400);
        if let Some(told) = told {
            let fault = judge_told(&mut judge, &made, &told);
            assert_eq!(fault, None, "{}", shown());
        }
        if ends {
            raw = Raw::to(service.address());
            continue;
        }
        // The next request on the connection is not taken for a part of this one.
        raw.send("GET /health/live HTTP/1.1\r\nHost: bar\r\n\r\n").expect("it is sent");
        assert_eq!(raw.told().expect("an answer").status, 204, "{}", shown());
        answered += 1;
    }
    assert!(answered > refused && refused > 0, "{answered} answered, {refused} refused");
}
