//! Two readers of tickets, one quick and one that follows the published schema, judge alike.

use std::{fs, sync::LazyLock};

use cupwright::answering::{read_closely, read_needs, read_quickly};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    outside::mutants::mutants,
    support::{chance::cases, root},
};

/// A ticket with every field, so that each bound has a place where it can be broken.
fn full() -> Value {
    json!({
        "site": "bookshop", "lang": "en", "out_of_stock": ["oat-drink"],
        "pin": { "book": "1.1.0", "overlay": "none", "site": "sha256:1e5" },
        "order": { "ref": "A-217", "name": "Ada", "at": "2026-11-25T14:05:00+01:00" },
        "lines": [
            { "line": "1", "drink": "latte", "quantity": 2, "modifiers": [
                { "id": "milk", "value": "oat-drink" }, { "id": "shots", "count": -1 },
                { "id": "temperature", "value": 58.5 }, { "id": "lid-off" } ],
              "allergies": ["milk"], "diets": ["vegan"], "confirmed": ["over-12-months"],
              "override": "agreed", "note": "by the window" },
            { "line": "2", "drink": "tea", "codes": [] } ],
    })
}

/// What each reader makes of a body; the quick one may leave a sound body to the other.
fn both(body: &[u8]) -> (Option<Value>, Option<Value>) {
    let value = |ticket| serde_json::to_value(ticket).unwrap();
    (read_quickly(body).map(value), read_closely(body).ok().map(value))
}

#[track_caller]
fn assert_alike(body: &[u8]) {
    let (quick, close) = both(body);
    if quick.is_some() {
        assert_eq!(quick, close, "{}", String::from_utf8_lossy(body));
    }
}

/// Every bound of the schema, from both sides.
#[test]
fn what_one_edit_makes_of_a_ticket_is_judged_alike() {
    let all = mutants(&full(), 1);
    let (mut quick, mut left) = (0, 0);
    for mutant in &all {
        let body = mutant.to_string();
        let (by_quick, by_close) = both(body.as_bytes());
        quick += usize::from(by_quick.is_some());
        left += usize::from(by_quick.is_none() && by_close.is_some());
        if by_quick.is_some() {
            assert_eq!(by_quick, by_close, "{body}");
        }
    }
    assert!(all.len() > 250 && quick > 30, "{quick} of {} are read quickly", all.len());
    assert!(left <= all.len() / 50, "{left} sound bodies of {} are left to the other", all.len());
}

#[test]
fn lengths_and_numbers_are_bounded_alike_at_their_very_ends() {
    let long = |most: usize| [most, most + 1].map(|n| json!("é".repeat(n)));
    let many = |most: usize| [most, most + 1].map(|n| json!(vec!["x"; n]));
    let bounds = [
        ("/site", long(64)),
        ("/lang", long(35)),
        ("/pin/book", long(80)),
        ("/pin/overlay", long(80)),
        ("/pin/site", long(80)),
        ("/order/ref", long(32)),
        ("/order/name", long(40)),
        ("/out_of_stock", many(200)),
        ("/lines/0/line", long(64)),
        ("/lines/0/drink", long(64)),
        ("/lines/0/quantity", [json!(99), json!(100)]),
        ("/lines/0/quantity", [json!(1), json!(0)]),
        ("/lines/0/modifiers/0/id", long(64)),
        ("/lines/0/modifiers/0/value", long(64)),
        ("/lines/0/modifiers/1/count", [json!(99), json!(100)]),
        ("/lines/0/modifiers/1/count", [json!(-99), json!(-100)]),
        ("/lines/0/modifiers/2/value", [json!(10_000), json!(10_000.001)]),
        ("/lines/0/modifiers/2/value", [json!(-1_000), json!(-1_000.001)]),
        ("/lines/0/allergies", many(16)),
        ("/lines/0/diets", many(8)),
        ("/lines/0/confirmed", many(8)),
        ("/lines/1/codes", many(32)),
        ("/lines/0/override", long(120)),
        ("/lines/0/note", long(40)),
    ];
    for (pointer, [right, wrong]) in bounds {
        for (value, sound) in [(right, true), (wrong, false)] {
            let mut ticket = full();
            *ticket.pointer_mut(pointer).unwrap() = value;
            let (quick, close) = both(ticket.to_string().as_bytes());
            assert_eq!((quick.is_some(), close.is_some()), (sound, sound), "{pointer} {ticket}");
        }
    }
    let numbered = |count: usize| {
        let lines = (0..count).map(|n| json!({ "line": n.to_string(), "drink": "latte" }));
        json!({ "site": "bookshop", "lines": lines.collect::<Vec<_>>() }).to_string()
    };
    let sound = |count| both(numbered(count).as_bytes());
    assert!(sound(100).0.is_some() && sound(100).1.is_some());
    assert!([0, 101].into_iter().all(|count| sound(count) == (None, None)));
}

#[test]
fn numbers_are_read_alike_however_they_are_written() {
    let at = |number: &str| {
        format!(
            r#"{{"site":"a","lines":[{{"line":"1","drink":"b","modifiers":[{{"id":"c","value":{number}}}]}}]}}"#
        )
    };
    for number in [
        "1",
        "1.0",
        "1.5",
        "1.500",
        "1.5000",
        "1.0000",
        "1.0001",
        "1.00000000000000000001",
        "1e0",
        "1e3",
        "1E3",
        "15e-1",
        "10000e-4",
        "1.5e-3",
        "-0",
        "-0.0",
        "0.001",
        "0.0005",
        "1e999",
        "9999.999",
        "10000.0",
        "1e-400",
        "0.1e1",
        "100000000000000000000e-20",
        "01",
        "+1",
        ".5",
    ] {
        assert_alike(at(number).as_bytes());
        let counted = at(number).replace("\"value\"", "\"count\"");
        assert_alike(counted.as_bytes());
        let quantity =
            format!(r#"{{"site":"a","lines":[{{"line":"1","drink":"b","quantity":{number}}}]}}"#);
        assert_alike(quantity.as_bytes());
    }
    for body in [
        r#"{"site":"a","site":"b","lines":[{"line":"1","drink":"b"}]}"#,
        r#"{"\u0073ite":"a","lines":[{"line":"1","drink":"b"}]}"#,
        r#"{"site":"\ud800","lines":[{"line":"1","drink":"b"}]}"#,
        r#"{"site":"a","lines":[{"line":"1","drink":"b"},{"line":"1","drink":"b"}]}"#,
        r#"{"site":"a","lines":[["1","b"]]}"#,
        r#"["a",null,null,[],null,[{"line":"1","drink":"b"}]]"#,
        "{\"site\":\"a\",\"lines\":[{\"line\":\"1\",\"drink\":\"b\"}]}\u{0}",
        "\u{feff}{\"site\":\"a\",\"lines\":[{\"line\":\"1\",\"drink\":\"b\"}]}",
    ] {
        assert_alike(body.as_bytes());
    }
}

/// Bodies of the contract's cases, as bytes to spoil.
static BODIES: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| {
    let mut all = vec![full().to_string().into_bytes()];
    for folder in ["accept", "ask", "refuse", "validate"] {
        for case in fs::read_dir(root("tests/contract").join(folder)).unwrap() {
            let case: Value =
                serde_json::from_slice(&fs::read(case.unwrap().path()).unwrap()).unwrap();
            all.push(case["request"]["body"].to_string().into_bytes());
        }
    }
    assert!(all.len() > 100);
    all.sort();
    all
});

proptest! {
    #![proptest_config(cases(4_000))]

    /// Bytes are overwritten, taken out, put in twice or swapped for what JSON is made of.
    #[test]
    fn spoilt_bodies_are_judged_alike(
        which in any::<prop::sample::Index>(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0..4_u8, any::<u8>()), 0..4),
    ) {
        const PIECES: &[u8] = br#"{}[]",:0123456789.-+eEtfnu\/ "#;
        let mut body = which.get(&BODIES).clone();
        for (at, how, byte) in edits {
            let at = at.index(body.len());
            match how {
                0 => body[at] = byte,
                1 => { body.remove(at); }
                2 => body.insert(at, PIECES[usize::from(byte) % PIECES.len()]),
                _ => body[at] = PIECES[usize::from(byte) % PIECES.len()],
            }
            if body.is_empty() { break; }
        }
        let (quick, close) = both(&body);
        if quick.is_some() {
            prop_assert_eq!(quick, close);
        }
    }
}

/// A fault takes a thousand times the memory of what has it, and a body of a mebibyte can hold half a
/// million.
#[test]
fn a_large_wrong_body_is_judged_by_the_beginnings_of_its_lists() {
    let lines = vec!["{}"; 40_000].join(",");
    let body = format!("{{\"lines\":[{lines}]}}");
    for problem in
        [read_closely(body.as_bytes()).unwrap_err(), read_needs(body.as_bytes()).unwrap_err()]
    {
        assert_eq!(problem.errors.len(), 100, "{}", problem.detail);
        let told = problem.errors.iter().map(|one| one.detail.as_str());
        let long = "found 40000 elements; expected at most 500, and fewer in most lists";
        assert!(told.clone().any(|one| one == long), "{:?}", told.take(3).collect::<Vec<_>>());
    }
    let more = vec!["{}"; 110_000].join(",");
    let body = format!("{{\"lines\":[{more}]}}");
    let problem = read_closely(body.as_bytes()).unwrap_err();
    assert_eq!(problem.status, 400, "{}", problem.detail);
    assert_eq!(
        problem.errors[0].detail,
        "found more than 100000 values; expected at most 100000 in all"
    );
    // What is right is read, however much it is.
    let modifier = r#"{"id":"vanilla","count":1}"#;
    let modifiers = vec![modifier; 32].join(",");
    let line = |n: usize| format!(r#"{{"line":"{n}","drink":"latte","modifiers":[{modifiers}]}}"#);
    let lines: Vec<String> = (0..100).map(line).collect();
    let ticket = format!(r#"{{"site":"bookshop","lines":[{}]}}"#, lines.join(","));
    assert!(read_closely(ticket.as_bytes()).is_ok());
}
