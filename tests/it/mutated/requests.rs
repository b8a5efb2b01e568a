//! Requests that are almost right: those of the contract's cases, each changed in some places.

use std::{fs, sync::LazyLock};

use serde_json::{Value, json};

use super::chance::Chance;
use crate::support::root;

/// A request before it is put on the wire.
#[derive(Clone, Debug)]
pub(super) struct Mutant {
    pub(super) method: String,
    /// Path and query.
    pub(super) path: Vec<u8>,
    pub(super) headers: Vec<(&'static str, Vec<u8>)>,
    pub(super) body: Option<Vec<u8>>,
}

/// What the contract's cases ask for: method, path and body.
static ASKED: LazyLock<Vec<(String, String, Value)>> = LazyLock::new(|| {
    let mut asked = Vec::new();
    for folder in fs::read_dir(root("tests/contract")).expect("the cases") {
        for case in fs::read_dir(folder.expect("a folder").path()).expect("cases") {
            let text = fs::read_to_string(case.expect("a case").path()).expect("a text");
            let case: Value = serde_json::from_str(&text).expect("JSON");
            let request = &case["request"];
            let part = |name: &str| request[name].as_str().expect("a text").to_owned();
            asked.push((part("method"), part("path"), request["body"].clone()));
        }
    }
    for path in ["/openapi.json", "/health/live", "/health/ready", "/v1/sites", "/docs/"] {
        asked.push(("GET".to_owned(), path.to_owned(), Value::Null));
    }
    // The folder may list its files in any order.
    asked.sort_by_cached_key(|one| format!("{one:?}"));
    asked
});

const METHODS: [&str; 10] =
    ["GET", "POST", "PUT", "DELETE", "PATCH", "HEAD", "OPTIONS", "TRACE", "BREW", "get"];

const SEGMENTS: [&str; 14] = [
    "", ".", "..", "%2e%2e", "%00", "%ff", "%2F", "%", "%zz", "latte", "{id}", "*", "\u{e9}",
    "a;b=c",
];

const QUERIES: [&str; 16] = [
    "site=bookshop",
    "site=",
    "site=moon",
    "site",
    "site=bookshop&site=bookshop",
    "lang=en",
    "lang=",
    "lang=xx",
    "color=blue",
    "=",
    "&&&",
    "site=%ff",
    "site=%00",
    "lang=e%6E",
    "site[]=a",
    "%",
];

/// Headers with values that are odd; the first of each is plain.
const HEADERS: [(&str, &[&str]); 12] = [
    (
        "Accept",
        &[
            "*/*",
            "",
            "application/json",
            "text/plain",
            "text/csv;q=0.3",
            "image/png",
            "a/b;q=x",
            ",,,",
            "*/*;q=0",
        ],
    ),
    (
        "Content-Type",
        &[
            "application/json",
            "text/plain",
            "",
            "application/json; charset=latin1",
            "application/vnd.x+json",
            ";;;",
        ],
    ),
    ("If-None-Match", &["*", "\"x\"", "*", "*", "", "W/\"x\", \"y\"", "\"", ",,,"]),
    ("Authorization", &["Bearer x", "Bearer", "Basic YTpi", "", "Bearer  ", "bearer \u{e9}"]),
    (
        "traceparent",
        &["00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01", "00-0-0-0", "", "ff-ff"],
    ),
    ("X-Forwarded-For", &["192.0.2.1", "moon", "", "::1, ,x"]),
    ("Origin", &["https://moon.example", "null", ""]),
    ("Access-Control-Request-Method", &["POST", "", "BREW"]),
    ("Range", &["bytes=0-1", "moon", "bytes=9-1"]),
    ("If-Modified-Since", &["Wed, 25 Nov 2026 14:05:00 GMT", "moon"]),
    ("Accept-Encoding", &["gzip", "identity;q=0", "moon"]),
    ("Cookie", &["a=b", "=", ";;;"]),
];

/// What may stand in a body that a value of JSON cannot hold, or that is odd; as it is written.
const ODD: [&str; 26] = [
    "null",
    "true",
    "[]",
    "{}",
    "\"\"",
    "0",
    "-0",
    "-1",
    "1e999",
    "1e-400",
    "0.1234",
    "99999999999999999999999",
    "1.0",
    "1E2",
    "\"\\ud800\"",
    "\"\\udc00\\ud800\"",
    "\"\\u0000\"",
    "\"\u{202e}\u{feff}\u{1f642}\"",
    "\"oat-drink\"",
    "NaN",
    "01",
    "'x'",
    "[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]",
    "{\"a\":1,\"a\":1}",
    "{\"\":{\"\":{\"\":{}}}}",
    "18446744073709551616",
];

/// A mark that stands for something odd until the body is a text.
const MARK: &str = "\"@mark@\"";

/// A request of the contract, changed in one place or a few.
pub(super) fn mutant(chance: &mut Chance, key: &str) -> Mutant {
    let (method, path, body) = chance.of_these(&ASKED).clone();
    let mut made = Mutant {
        method,
        path: path.into_bytes(),
        headers: Vec::new(),
        body: (!body.is_null()).then(|| body.to_string().into_bytes()),
    };
    made.headers.push(("Content-Type", b"application/json".to_vec()));
    if chance.one_in(2) {
        made.headers.push(("Authorization", format!("Bearer {key}").into_bytes()));
    }
    for _ in 0..=chance.below(3) {
        match chance.below(10) {
            0 => made.method = (*chance.of_these(&METHODS)).to_owned(),
            1 => change_path(&mut made.path, chance),
            2 => change_query(&mut made.path, chance),
            3 | 4 => change_header(&mut made, chance),
            5..=7 if body.is_object() => made.body = Some(odd_body(&body, chance)),
            _ => change_bytes(made.body.get_or_insert_default(), chance),
        }
    }
    made
}

fn change_path(path: &mut Vec<u8>, chance: &mut Chance) {
    let text = String::from_utf8_lossy(path).into_owned();
    let (before, query) = text.split_once('?').map_or((&*text, None), |(a, b)| (a, Some(b)));
    let mut segments: Vec<&str> = before.split('/').skip(1).collect();
    let long = "a".repeat(3_000);
    let odd = if chance.one_in(12) { &*long } else { *chance.of_these(&SEGMENTS) };
    let at = chance.below(segments.len() + 1);
    if at < segments.len() && chance.one_in(2) {
        segments[at] = odd;
    } else {
        segments.insert(at, odd);
    }
    let query = query.map(|query| format!("?{query}")).unwrap_or_default();
    *path = format!("/{}{query}", segments.join("/")).into_bytes();
}

fn change_query(path: &mut Vec<u8>, chance: &mut Chance) {
    let join = if path.contains(&b'?') { b'&' } else { b'?' };
    path.push(join);
    path.extend_from_slice(chance.of_these(&QUERIES).as_bytes());
}

fn change_header(made: &mut Mutant, chance: &mut Chance) {
    let (name, values) = chance.of_these(&HEADERS);
    let value = chance.of_these(values).as_bytes().to_vec();
    if chance.one_in(2) {
        made.headers.retain(|(known, _)| known != name);
    }
    if !chance.one_in(6) {
        made.headers.push((name, value));
    }
}

/// The pointers of everything in a value.
fn places(at: &str, value: &Value, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Object(members) => {
            members.iter().for_each(|(key, member)| places(&format!("{at}/{key}"), member, found));
        }
        Value::Array(all) => {
            all.iter().enumerate().for_each(|(n, one)| places(&format!("{at}/{n}"), one, found));
        }
        _ => {}
    }
}

/// The body with something odd in one place.
fn odd_body(body: &Value, chance: &mut Chance) -> Vec<u8> {
    let mut body = body.clone();
    let mut all = Vec::new();
    places("", &body, &mut all);
    let place: &String = chance.of_these(&all);
    let here = body.pointer_mut(place).expect("a place");
    match here {
        Value::Object(members) if chance.one_in(2) => {
            let names = ["stranger", "x-own", "line", "drink", "note", "@mark@"];
            members.insert((*chance.of_these(&names)).to_owned(), json!("@mark@"));
        }
        Value::Array(all) if chance.one_in(2) && !all.is_empty() => {
            let one = all[chance.below(all.len())].clone();
            let more = if chance.one_in(20) { 150 } else { 1 };
            all.extend(std::iter::repeat_n(one, more));
        }
        other => *other = json!("@mark@"),
    }
    let long = format!("\"{}\"", "\u{e9}".repeat(chance.below(5_000)));
    let odd = if chance.one_in(12) { &*long } else { *chance.of_these(&ODD) };
    body.to_string().replace(MARK, odd).into_bytes()
}

fn change_bytes(body: &mut Vec<u8>, chance: &mut Chance) {
    let at = chance.below(body.len() + 1);
    let end = (at + chance.below(12)).min(body.len());
    match chance.below(6) {
        0 => body.truncate(at),
        1 => drop(body.drain(at..end)),
        2 => {
            let again = body[at..end].to_vec();
            body.splice(at..at, again);
        }
        3 => {
            let odd: [&[u8]; 6] =
                [b"\xff", b"\xc3", b"\x00", b"\xef\xbb\xbf", b"\xed\xa0\x80", b"\""];
            body.splice(at..at, chance.of_these(&odd).to_vec());
        }
        4 if at < body.len() => {
            let bit = 1_u8 << chance.below(8);
            body[at] ^= bit;
        }
        _ => body.splice(at..at, b"[{".repeat(chance.below(30))).for_each(drop),
    }
}
