//! The answer as plain text, for tills that can only attach a note: narrow, whole, and hard to break.

use std::process::Output;

use cupwright::{
    answering::{Asked, Sent, answer_text, menu, read_ticket},
    book::Bar,
    words::allergen,
};
use reqwest::header;
use serde_json::{Value, json};

use crate::{
    cli::{complained, run, said},
    lines::DEMO,
    server::{Service, kind, problem, ticket},
    support::{answer_to, edition},
};

const TEXT: &str = "text/plain; charset=utf-8";
const JSON: &str = "application/json";

/// Columns that a line may take, as the contract says.
const COLUMNS: usize = 42;

fn sent() -> Sent {
    Sent {
        now: "2026-11-25T14:05:00+01:00".parse().unwrap(),
        may_override: true,
        ..Sent::default()
    }
}

/// The answer to a ticket, as JSON and as text.
fn both(ticket: &Value) -> (Value, String) {
    let read = read_ticket(ticket.to_string().as_bytes()).expect("a ticket");
    let told = answer_text(&edition(&DEMO), read, Asked::Builds, &sent()).expect("a text");
    (answer_to(&DEMO, ticket, Asked::Builds, &sent()), told.text)
}

fn list<'v>(value: &'v Value, name: &str) -> &'v [Value] {
    value[name].as_array().map(Vec::as_slice).unwrap_or_default()
}

/// How many columns a text takes: a combining mark none, a wide character two (UAX #11). Only the
/// blocks that the tests below write are known here.
fn columns(text: &str) -> usize {
    let width = |c: char| match c {
        '\u{300}'..='\u{36f}' | '\u{200b}' | '\u{200d}' | '\u{fe0f}' => 0,
        '\u{1100}'..='\u{115f}'
        | '\u{2e80}'..='\u{a4cf}'
        | '\u{ac00}'..='\u{d7a3}'
        | '\u{f900}'..='\u{faff}'
        | '\u{ff00}'..='\u{ff60}'
        | '\u{1f300}'..='\u{1f64f}'
        | '\u{1f900}'..='\u{1f9ff}' => 2,
        _ => 1,
    };
    text.chars().map(width).sum()
}

/// Fails where a line is too wide, ends in blanks, or could steer what shows it.
#[track_caller]
fn narrow(text: &str) {
    for line in text.lines() {
        assert!(columns(line) <= COLUMNS, "{} columns: `{line}` in:\n{text}", columns(line));
        assert!(!line.ends_with(' '), "`{line}`");
        assert!(!line.chars().any(char::is_control), "{line:?}");
    }
    assert!(text.ends_with('\n') && !text.ends_with("\n\n"), "{text:?}");
}

/// A text without blanks and line ends, which is what breaking lines leaves as it is.
fn bare(text: &str) -> String {
    text.split_whitespace().collect()
}

/// The words of a text, each line of which begins with a mark, a number or blanks.
fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn paragraphs(text: &str) -> Vec<&str> {
    text.trim_end().split("\n\n").collect()
}

/// Lines for every drink of a site: in its first cup with several modifiers, as far as its menu goes.
fn lines_of(site: &str) -> Vec<Value> {
    let bytes = menu(&DEMO, &DEMO.bars[site], Some("en"), &sent()).expect("a menu");
    let menu: Value = serde_json::from_slice(&bytes).unwrap();
    let mut lines = Vec::new();
    for drink in list(&menu, "drinks") {
        let mut modifiers = Vec::new();
        for offer in list(drink, "modifiers") {
            let id = offer["id"].as_str().unwrap();
            if ["milk", "shots", "vanilla", "sugar", "cinnamon", "spoon", "lid-off"].contains(&id) {
                let one = match (list(offer, "values").last(), offer["max"].as_i64()) {
                    (Some(value), _) => json!({ "id": id, "value": value }),
                    (None, Some(max)) => json!({ "id": id, "count": max.min(2) }),
                    (None, None) => json!({ "id": id }),
                };
                modifiers.push(one);
            }
        }
        let id = &drink["id"];
        lines
            .push(json!({ "drink": id, "modifiers": modifiers, "quantity": 2, "note": "for Ada" }));
        lines.push(json!({ "drink": id, "allergies": ["milk"] }));
        lines.push(json!({ "drink": id, "modifiers": [{ "id": "foam", "value": "none" }] }));
    }
    lines
}

#[test]
fn every_drink_at_every_site_in_each_language_is_whole_and_fits_the_narrow_paper() {
    let (mut cups, mut refusals) = (0, 0);
    for (site, bar) in &DEMO.bars {
        for lang in &bar.site.languages {
            for some in lines_of(site).chunks(50) {
                let numbered = some.iter().enumerate().map(|(n, line)| {
                    let mut line = line.clone();
                    line["line"] = json!(format!("{n}"));
                    line
                });
                let lines: Vec<Value> = numbered.collect();
                let ticket = json!({ "site": **site, "lang": **lang, "lines": lines });
                let (answer, text) = both(&ticket);
                narrow(&text);
                let paragraphs = paragraphs(&text);
                let answers = list(&answer, "lines");
                assert_eq!(paragraphs.len(), answers.len(), "a paragraph a cup:\n{text}");
                for (paragraph, line) in paragraphs.into_iter().zip(answers) {
                    if line["verdict"] == "accept" {
                        whole(bar, lang, paragraph, line);
                        cups += 1;
                    } else {
                        reasoned(paragraph, line);
                        refusals += 1;
                    }
                }
            }
        }
    }
    assert!(cups > 300 && refusals > 100, "{cups} cups and {refusals} refusals");
}

/// Holds the paragraph of a cup to its answer: name, changes, notices, note, steps in order, and
/// allergens by name.
fn whole(bar: &Bar, lang: &str, paragraph: &str, line: &Value) {
    let build = &line["build"];
    let mut rest = bare(paragraph);
    let mut next = |part: &str| {
        let part = bare(part);
        let at = rest.find(&part).unwrap_or_else(|| panic!("`{part}` in order in:\n{paragraph}"));
        rest.drain(..at + part.len());
    };
    let quantity = line["canonical"]["quantity"].as_i64().unwrap();
    let each = if quantity == 1 { String::new() } else { format!("{quantity} x ") };
    let name = build["name"].as_str().unwrap();
    next(&format!("{}: {each}{name}", line["line"].as_str().unwrap()));
    for change in list(build, "changes") {
        next(change.as_str().unwrap());
    }
    for notice in list(line, "notices").iter().filter(|one| one["severity"] == "caution") {
        next(notice["text"].as_str().unwrap());
    }
    if let Some(note) = line["canonical"]["note"].as_str() {
        next(note);
    }
    for step in list(build, "steps") {
        next(&format!("{} {}", step["n"], step["text"].as_str().unwrap()));
    }
    let named = |id: &Value| allergen(bar, lang, id.as_str().unwrap());
    let allergens = &build["allergens"];
    for id in list(allergens, "ingredients").iter().chain(list(allergens, "may_contain")) {
        next(&named(id));
    }
    for one in list(allergens, "shared_equipment") {
        next(&named(&one["allergen"]));
    }
}

/// Holds the paragraph of a line that is not made to its answer: reasons or question, and ways out.
fn reasoned(paragraph: &str, line: &Value) {
    let told = bare(paragraph);
    let (reasons, ways) = if line["verdict"] == "ask" {
        (vec![&line["question"]], list(line, "choices"))
    } else {
        let all = list(line, "refusals").iter().map(|one| &one["text"]);
        (all.collect(), list(line, "alternatives"))
    };
    assert!(!reasons.is_empty());
    for text in reasons.into_iter().chain(ways.iter().map(|one| &one["text"])) {
        assert!(told.contains(&bare(text.as_str().unwrap())), "{text} in:\n{paragraph}");
    }
}

#[test]
fn an_override_and_an_allergy_stand_before_the_work() {
    let lines = json!([
        { "line": "1", "drink": "cappuccino", "override": "guest insists",
          "modifiers": [{ "id": "foam", "value": "none" }] },
    ]);
    let (answer, text) = both(&ticket(&json!({ "lines": lines })));
    assert_eq!(answer["lines"][0]["overridden"][0]["code"], "foam-outside-identity");
    let step = text.find("\n 1 ").expect("the first step");
    let said = text.find("\nOVERRIDE. Reason: guest insists\n").expect("the word and the reason");
    assert!(said < step, "{text}");
    let allergy = json!([{ "line": "1", "drink": "latte", "allergies": ["milk"],
        "modifiers": [{ "id": "milk", "value": "oat-drink" }] }]);
    let (_, text) = both(&json!({ "site": "hospital-foyer", "lang": "en", "lines": allergy }));
    let step = text.find("\n 1 ").expect("the first step");
    let (name, change) = (text.find("\nALLERGY: MILK\n"), text.find("  * OAT MILK"));
    assert!(name.expect("the allergy") < change.expect("the change"), "{text}");
    assert!(text.find("  ! Allergy declared: Milk.").expect("the notice") < step, "{text}");
    let (_, text) = both(&json!({ "site": "bookshop", "lang": "en", "lines": allergy }));
    assert!(text.starts_with("1: NOT MADE, FOR SAFETY\n"), "{text}");
}

#[test]
fn nothing_that_a_ticket_may_contain_breaks_a_line_or_makes_it_wide() {
    let odd = [
        "a\nb",
        "a\r\nb",
        "a\u{85}b",
        "a\u{2028}b",
        "a\u{2029}b",
        "a\u{b}b\u{c}c",
        "\u{1b}[31mred",
        "\u{7}bell\u{0}nul",
        "\u{202e}turned\u{202c}",
        "\u{2066}apart\u{2069}",
        "\u{200f}mark",
        "tab\tbed",
    ];
    for text in odd {
        let line = json!({ "line": text, "drink": "latte", "note": text, "override": text });
        let order = json!({ "ref": text, "name": text });
        let (_, told) = both(&ticket(&json!({ "lines": [line], "order": order })));
        narrow(&told);
        assert_eq!(paragraphs(&told).len(), 2, "a head and one cup:\n{told}");
        assert_eq!(paragraphs(&told)[0].lines().count(), 1, "{told:?}");
        let steers = |c: char| {
            matches!(c, '\u{2028}' | '\u{2029}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}')
        };
        assert!(!told.chars().any(steers), "{told:?}");
    }
    let wide = "\u{8336}".repeat(32);
    let marks = "e\u{301}".repeat(20);
    let long = "x".repeat(40);
    for note in ["\u{1f375}".repeat(30), wide.clone(), marks.clone(), long.clone()] {
        let line = json!({ "line": long, "drink": "latte", "note": note });
        let order = json!({ "ref": wide, "name": marks });
        let (_, told) = both(&ticket(&json!({ "lines": [line], "order": order })));
        narrow(&told);
        assert!(bare(&told).contains(&note), "{told}");
    }
    let unknown = json!({ "line": "1", "drink": "\u{1b}[2J\nlatte\u{2028}".repeat(3),
        "modifiers": [{ "id": "m\n", "value": "v\r" }], "allergies": ["\n\n"] });
    let (_, told) = both(&ticket(&json!({ "lines": [unknown] })));
    narrow(&told);
    assert_eq!(paragraphs(&told).len(), 1, "{told}");
}

fn expand(more: &[&str], ticket: &Value) -> Output {
    run(&[&["expand", "--text"], more].concat(), &ticket.to_string())
}

#[test]
fn the_command_line_prints_the_same_text_and_ends_as_the_verdicts_are() {
    let good = ticket(&json!({ "lines": [{ "line": "1", "drink": "latte" }] }));
    let output = expand(&[], &good);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    assert_eq!(said(&output), both(&good).1);
    let refused = json!({ "line": "2", "drink": "cappuccino", "modifiers": [{ "id": "foam", "value": "none" }] });
    let refused = ticket(&json!({ "lines": [refused] }));
    let asked = json!({ "line": "3", "drink": "long-black", "modifiers": [{ "id": "milk", "value": "oat-drink" }] });
    let asked = ticket(&json!({ "lines": [asked] }));
    for ticket in [refused, asked] {
        let output = expand(&[], &ticket);
        assert_eq!(output.status.code(), Some(1), "{}", said(&output));
        assert_eq!(said(&output), both(&ticket).1);
    }
    assert_eq!(expand(&["--json"], &good).status.code(), Some(2), "one form at a time");
    let broken = run(&["expand", "--text"], "{");
    assert_eq!((broken.status.code(), &*said(&broken)), (Some(3), ""));
}

#[test]
fn verdicts_alone_as_text_name_the_cup_and_tell_no_work() {
    let lines = json!([
        { "line": "1", "drink": "latte", "quantity": 2, "note": "for Ada" },
        { "line": "2", "drink": "cappuccino", "modifiers": [{ "id": "foam", "value": "none" }] },
    ]);
    let output = run(&["validate", "--text"], &ticket(&json!({ "lines": lines })).to_string());
    assert_eq!(output.status.code(), Some(1));
    let told = said(&output);
    narrow(&told);
    let all = paragraphs(&told);
    assert_eq!(all.len(), 2, "{told}");
    assert!(all[0].starts_with("1: 2 x Latte\n") && words(all[0]).contains("for Ada"), "{told}");
    assert!(!told.contains("\n 1 ") && !told.contains("Ingredients contain"), "{told}");
    assert!(all[1].starts_with("2: NOT MADE\n"), "{told}");
}

/// Source: RFC 9110, sections 12.4.2 and 12.5.1: weights decide, a closer range counts before a wider
/// one; section 12.5.5: the answer says that it was chosen by `Accept`.
#[test]
fn the_reader_who_says_what_it_would_rather_have_gets_it() {
    let service = Service::start();
    let body = ticket(&json!({})).to_string();
    let ask = |path: &str, accept: &[&str]| {
        let mut request = service.client.post(service.url(path));
        for one in accept {
            request = request.header(header::ACCEPT, *one);
        }
        let request = request.header(header::CONTENT_TYPE, "application/json");
        request.body(body.clone()).send().unwrap()
    };
    for (accept, wanted) in [
        (&["text/plain"][..], TEXT),
        (&["text/plain, */*;q=0.1"], TEXT),
        (&["application/json;q=0.2, text/plain;q=0.9"], TEXT),
        (&["application/json;q=0.2", "text/plain"], TEXT),
        (&["*/*"], JSON),
        (&["application/json"], JSON),
        (&["application/json, text/plain, */*"], JSON),
        (&["text/plain;q=0.2, application/json"], JSON),
        (&["text/plain;q=0, */*"], JSON),
    ] {
        let answer = ask("/v1/expand", accept);
        assert_eq!(answer.status(), 200, "{accept:?}");
        assert_eq!(kind(&answer), wanted, "{accept:?}");
        assert_eq!(answer.headers()[header::VARY], "accept", "{accept:?}");
        let body = answer.text().unwrap();
        if wanted == TEXT {
            assert_eq!(body, both(&ticket(&json!({}))).1);
        } else {
            serde_json::from_str::<Value>(&body).expect("JSON");
        }
    }
    // Verdicts have one form, and nothing comes as a page.
    for (path, accept) in [("/v1/validate", "text/plain"), ("/v1/expand", "text/html")] {
        problem(ask(path, &[accept]), 406, "not-acceptable");
    }
}
