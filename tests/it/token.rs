//! Tokens: what is read back, how long they are, what a slip does, and which book they need.

use std::sync::Arc;

use cupwright::{
    answering::{code_url, coded},
    book::{Bar, Overlay},
    engine::{Build, Line, Moment, build_line},
    in_force::{InForce, Source},
    json::Digest,
    label::Square,
    token::{Token, Unreadable, token},
    wire::{TicketLine, build_digest, build_view},
};
use jiff::Timestamp;
use proptest::{prelude::*, strategy::ValueTree, test_runner::TestRunner};
use serde_json::{Value, json};

use crate::{
    lines::{DEMO, Posted, posted},
    support::{chance::cases, edition, text},
};

const BASE: &str = "https://cups.example";

fn line_of(line: &Value) -> Line {
    serde_json::from_value::<TicketLine>(line.clone()).expect("a line").into()
}

fn bar(site: &str) -> &'static Bar {
    &DEMO.bars[site]
}

/// The token of a build of the demo.
fn token_of(bar: &Bar, build: &Build<'_>, lang: &str) -> String {
    token(bar, &build.order.asked.id, &build.modifiers(), lang).expect("a token")
}

/// The token of a line that is accepted.
#[track_caller]
fn token_at(held: &InForce, site: &str, line: &Value) -> String {
    let bar = &held.bars[site];
    let mut line = line.clone();
    line["line"] = "1".into();
    let build = build_line(bar, &line_of(&line), &Moment::default()).expect("it is made");
    token_of(bar, &build, "en")
}

proptest! {
    #![proptest_config(cases(1_024))]

    #[test]
    fn a_token_is_read_back_to_the_same_build_and_digest(
        (posted, german) in (posted(), any::<bool>()),
    ) {
        let (bar, lang) = (bar(&posted.site), if german { "de" } else { "en" });
        let Ok(build) = build_line(bar, &line_of(&posted.line()), &Moment::default()) else {
            return Ok(());
        };
        let (drink, modifiers) = (&build.order.asked.id, build.modifiers());
        let text = token_of(bar, &build, lang);
        prop_assert!(text.bytes().all(|c| c.is_ascii_uppercase() || (b'2'..=b'7').contains(&c)));
        let read = Token::read(&text.to_lowercase()).unwrap();
        prop_assert_eq!(read.text(), &text);
        let line = read.line_at(bar).unwrap();
        prop_assert_eq!((&*line.drink, &line.modifiers, &*line.lang), (&**drink, &modifiers, lang));
        // The whole build comes again, byte for byte, whatever was confirmed or declared for it.
        let editions = edition(&DEMO);
        let found = coded(&editions, &text).unwrap();
        let again = serde_json::to_value(&found.view().unwrap().build).unwrap();
        let catalogue = DEMO.catalogue(bar, Some(lang)).unwrap();
        let first = serde_json::to_value(build_view(bar, &build, catalogue)).unwrap();
        prop_assert_eq!(&again, &first);
        let digest = build_digest(bar, drink, &modifiers, lang).to_string();
        prop_assert_eq!(&again["digest"], &json!(digest));
        for (other_site, other) in &DEMO.bars {
            if **other_site != *posted.site {
                prop_assert_eq!(read.line_at(other), None, "{} is another site", other_site);
            }
        }
        // What is answered can be posted, and comes to the same.
        let canonical = serde_json::to_value(&found.view().unwrap().canonical).unwrap();
        let posted_again = build_line(bar, &line_of(&canonical), &Moment::default()).unwrap();
        prop_assert_eq!(token_of(bar, &posted_again, lang), text);
    }

    #[test]
    fn a_cup_for_an_allergy_has_no_code_and_any_other_has(posted in posted()) {
        let bar = bar(&posted.site);
        if let Ok(build) = build_line(bar, &line_of(&posted.line()), &Moment::default()) {
            let url = code_url(BASE, bar, &build, "en");
            prop_assert_eq!(url.is_some(), posted.allergies.is_empty());
            if let Some(url) = url {
                let token = token_of(bar, &build, "en");
                prop_assert_eq!(&url, &format!("HTTPS://CUPS.EXAMPLE/V1/B/{token}"));
                prop_assert!(Square::of(&url).is_some());
            }
        }
    }
}

/// Lengths in order: as people order, and with whatever else each drink still takes of four orders.
fn lengths(orders: usize) -> [Vec<usize>; 2] {
    let (mut runner, strategy) = (TestRunner::new(cases(1)), posted());
    let mut draw = || strategy.new_tree(&mut runner).expect("a line").current();
    let made = |posted: &Posted| {
        let bar = bar(&posted.site);
        let build = build_line(bar, &line_of(&posted.line()), &Moment::default()).ok()?;
        Some(token_of(bar, &build, "en").len())
    };
    let mut lengths = [Vec::new(), Vec::new()];
    while lengths[0].len() < orders {
        let mut posted = draw();
        let Some(mut length) = made(&posted) else { continue };
        lengths[0].push(length);
        for way in (0..4).flat_map(|_| draw().modifiers).collect::<Vec<_>>() {
            if posted.modifiers.iter().all(|one| one["id"] != way["id"]) {
                posted.modifiers.push(way);
                match made(&posted) {
                    Some(longer) => length = longer,
                    None => drop(posted.modifiers.pop()),
                }
            }
        }
        lengths[1].push(length);
    }
    lengths.each_mut().map(|all| {
        all.sort_unstable();
        std::mem::take(all)
    })
}

/// Of orders such as guests make, 99 in 100 have a token of at most 48 characters.
#[test]
fn tokens_are_short() {
    for (what, lengths) in ["as ordered", "with more"].into_iter().zip(lengths(2_000)) {
        let at = |hundredths: usize| lengths[(lengths.len() - 1) * hundredths / 100];
        let [least, half, most] = [at(0), at(50), at(100)];
        let share = lengths.iter().filter(|length| **length <= 48).count() * 1_000 / lengths.len();
        eprintln!("{what}: {least} to {most}, half at most {half}; {share} ‰ at most 48");
        assert!(share >= 990, "{what}: {share} ‰ of {lengths:?}");
    }
}

#[test]
fn an_override_leaves_no_code() {
    let bar = bar("bookshop");
    let mut line = line_of(&json!({
        "line": "1", "drink": "cappuccino", "modifiers": [{ "id": "foam", "value": "none" }],
    }));
    line.override_reason = Some("agreed with the guest".to_owned());
    let moment = Moment { may_override: true, ..Moment::default() };
    let build = build_line(bar, &line, &moment).expect("it is overridden");
    assert!(!build.order.waived.is_empty());
    assert_eq!(code_url(BASE, bar, &build, "en"), None);
}

/// Every character that is another, and every two neighbours that changed places.
#[test]
fn a_slip_is_always_told() {
    let modifiers = json!([
        { "id": "service", "value": "own" }, { "id": "capacity", "value": 401.5 },
        { "id": "milk", "value": "oat-drink" }, { "id": "temperature", "value": 58.5 },
        { "id": "vanilla", "count": 2 }, { "id": "spoon" },
    ]);
    for line in [
        json!({ "drink": "espresso" }),
        json!({ "drink": "latte" }),
        json!({ "drink": "latte", "modifiers": modifiers }),
    ] {
        let text = token_at(&DEMO, "bookshop", &line);
        let mut tried = 0;
        let mut told = |slip: Vec<u8>| {
            let slip = String::from_utf8(slip).unwrap();
            if slip != text {
                let read = Token::read(&slip).map(|token| token.text().to_owned());
                let letters = Err(Unreadable::Letters);
                assert!(read == Err(Unreadable::Check) || read == letters, "{text} as {slip}");
                tried += 1;
            }
        };
        for at in 0..text.len() {
            for other in b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567" {
                let mut slip = text.clone().into_bytes();
                slip[at] = *other;
                told(slip);
            }
            let mut turned = text.clone().into_bytes();
            turned.swap(at, (at + 1).min(text.len() - 1));
            told(turned);
            let mut without = text.clone().into_bytes();
            without.remove(at);
            told(without);
        }
        assert!(tried > text.len() * 32, "{tried}");
    }
}

#[test]
fn nothing_that_people_make_up_is_a_token_and_a_newer_form_is_told() {
    for odd in ["", "latte", "AAAA", "----", "é", "\u{0}", &"A".repeat(600), &"7".repeat(512)] {
        assert!(Token::read(odd).is_err(), "{odd}");
    }
    let problem = coded(&edition(&DEMO), "LATTE").unwrap_err();
    assert_eq!((problem.kind, problem.status), ("/problems/unreadable-token", 404));
}

/// The demo under another version, which gives it another digest.
fn another_book() -> InForce {
    let mut book: Value = serde_json::from_str(&text("src/demo/book.json")).unwrap();
    book["version"] = "9.9.9".into();
    let book = Source { name: "book.json".to_owned(), text: book.to_string() };
    InForce::load(&book, &cupwright::demo::sites()).expect("a book")
}

#[test]
fn a_token_finds_its_book_among_all_that_are_held_and_else_says_what_it_needs() {
    let other = Arc::new(another_book());
    let line = json!({ "drink": "flat-white", "modifiers": [{ "id": "shots", "count": 1 }] });
    let text = token_at(&DEMO, "ferry-kiosk", &line);
    let editions = edition(&DEMO).followed_by(Arc::clone(&other), Timestamp::UNIX_EPOCH, 3);
    let found = coded(&editions, &text).expect("the book before is held");
    assert_eq!(found.view().unwrap().book.digest, DEMO.digest().to_string());
    let problem = coded(&edition(&other), &text).unwrap_err();
    assert_eq!((problem.kind, problem.status), ("/problems/build-not-held", 409));
    let needed = &DEMO.digest().to_string()[..15];
    assert!(problem.detail.contains(&format!("book {needed}…")), "{}", problem.detail);
    assert_eq!(problem.held, [other.digest().to_string()]);

    let sites = cupwright::demo::sites();
    let fewer: Vec<Source> =
        sites.into_iter().filter(|one| !one.text.contains("\"ferry-kiosk\"")).collect();
    let fewer = Arc::new(InForce::load(&cupwright::demo::book(), &fewer).expect("fewer sites"));
    let problem = coded(&edition(&fewer), &text).unwrap_err();
    let needed = &bar("ferry-kiosk").site_digest.to_string()[..13];
    assert!(problem.detail.contains(&format!("site sheet {needed}…")), "{}", problem.detail);
    assert!(problem.held.contains(&fewer.bars["bookshop"].site_digest.to_string()));
}

#[test]
fn a_token_of_a_recall_needs_that_recall() {
    let overlay = Overlay { remove: ["soya-drink".into()].into(), substitute: Vec::new() };
    let digest = Digest::of_bytes(b"a recall");
    let sheet = DEMO.document.training_bar();
    let under = Bar::compile(&DEMO.document, &sheet, None, Some((&overlay, digest))).unwrap();
    let line = line_of(&json!({ "line": "1", "drink": "latte" }));
    let build = build_line(&under, &line, &Moment::default()).expect("it is made");
    let text = token_of(&under, &build, "en");
    let plain = &DEMO.bars[&under.site.id];
    assert_ne!(text, token_of(plain, &build, "en"));
    let read = Token::read(&text).unwrap();
    assert!(read.line_at(&under).is_some() && read.line_at(plain).is_none());
    let problem = coded(&edition(&DEMO), &text).unwrap_err();
    let needed = &digest.to_string()[..13];
    assert!(problem.detail.contains(&format!("overlay {needed}…")), "{}", problem.detail);
    assert_eq!(problem.held, ["none"]);
}

/// A cup that was made can be looked at when something in it has run out, or its season is over: its
/// token asks for no clock and no stock. A drink that needed a word of confirmation needs none again.
#[test]
fn what_was_confirmed_is_found_again_and_no_more_than_that() {
    let line = json!({
        "drink": "latte", "modifiers": [{ "id": "shots", "count": 4 }], "confirmed": ["shots"],
    });
    let text = token_at(&DEMO, "bookshop", &line);
    let editions = edition(&DEMO);
    let view = serde_json::to_value(coded(&editions, &text).unwrap().view().unwrap()).unwrap();
    assert_eq!(view["canonical"]["confirmed"], json!(["shots"]));
    let text = token_at(&DEMO, "bookshop", &json!({ "drink": "latte" }));
    let view = serde_json::to_value(coded(&editions, &text).unwrap().view().unwrap()).unwrap();
    assert!(view["canonical"]["confirmed"].is_null(), "{}", view["canonical"]);
}

#[test]
fn a_page_says_what_the_build_says_and_escapes_names() {
    let line = json!({
        "drink": "mocha", "modifiers": [{ "id": "milk", "value": "oat-drink" }],
    });
    let token = token_at(&DEMO, "bookshop", &line);
    let editions = edition(&DEMO);
    let found = coded(&editions, &token).unwrap();
    let view = serde_json::to_value(found.view().unwrap()).unwrap();
    let build = &view["build"];
    let (page, plain) = (found.html().unwrap(), found.text());
    let wording = &build["allergens"]["wording"];
    for sentence in wording.as_object().unwrap().values().filter_map(Value::as_str) {
        assert!(page.contains(sentence), "{sentence} in {page}");
    }
    for change in build["changes"].as_array().unwrap() {
        assert!(
            page.contains(change.as_str().unwrap()) && plain.contains(change.as_str().unwrap())
        );
    }
    assert!(
        page.contains("varies from cup to cup") && page.contains(build["digest"].as_str().unwrap())
    );
    assert!(page.contains("ask at the bar") && page.contains("<h1>Mocha</h1>"));
    assert!(!page.contains("<script") && !page.contains("http://") && !page.contains("src="));
    assert!(plain.lines().all(|line| line.chars().count() <= 42), "{plain}");

    let mut book: Value = serde_json::from_str(&text("src/demo/book.json")).unwrap();
    let drinks = book["drinks"].as_array_mut().unwrap();
    let mocha = drinks.iter_mut().find(|one| one["id"] == "mocha").unwrap();
    mocha["names"]["en"] = "<b>Mocha & \"more\"</b>".into();
    let book = Source { name: "book.json".to_owned(), text: book.to_string() };
    let held = Arc::new(InForce::load(&book, &cupwright::demo::sites()).expect("a book"));
    let token = token_at(&held, "bookshop", &line);
    let editions = edition(&held);
    let page = coded(&editions, &token).unwrap().html().unwrap();
    assert!(
        page.contains("&lt;b&gt;Mocha &amp; &quot;more&quot;&lt;/b&gt;") && !page.contains("<b>")
    );
}
