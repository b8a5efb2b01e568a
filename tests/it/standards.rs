//! Published standards, each held against its own examples or its own words.

use std::{collections::BTreeSet, fs};

use cupwright::{
    book::{Bar, BookDocument, SiteDocument},
    contract, demo,
    engine::{Given, Moment, Verdict, What, verdict},
    http,
    in_force::InForce,
    json::{Digest, canonical_bytes, child, place_of, segments},
    units::Figure,
    wire::{Kind, TicketModifier, build_id, digested},
};
use proptest::prelude::*;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use uuid::{Uuid, Variant};

use crate::{
    changed::{demo_book, demo_site, load, put},
    lines::DEMO,
    support::{chance::cases, demo as in_force, root},
};

/// Source: RFC 8785, test data of its author; see `tests/reference/rfc8785/README.md`.
#[test]
fn the_canonical_form_is_that_of_rfc_8785() {
    let folder = root("tests/reference/rfc8785");
    let mut names: Vec<_> = fs::read_dir(folder.join("input"))
        .expect("the test data is there")
        .map(|entry| entry.unwrap().file_name())
        .collect();
    names.sort();
    assert_eq!(names.len(), 6, "{names:?}");
    for name in names {
        let input = fs::read_to_string(folder.join("input").join(&name)).unwrap();
        let output = fs::read(folder.join("output").join(&name)).unwrap();
        let value: Value = serde_json::from_str(&input).unwrap();
        let ours = canonical_bytes(&value);
        assert_eq!(String::from_utf8_lossy(&ours), String::from_utf8_lossy(&output), "{name:?}");
    }
}

/// Source: RFC 8785, Appendix B (number serialisation samples), as the bits of IEEE 754 doubles.
#[test]
fn numbers_are_written_as_in_appendix_b_of_rfc_8785() {
    let table: [(u64, &str); 24] = [
        (0x0000_0000_0000_0000, "0"),
        (0x8000_0000_0000_0000, "0"),
        (0x0000_0000_0000_0001, "5e-324"),
        (0x8000_0000_0000_0001, "-5e-324"),
        (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
        (0xffef_ffff_ffff_ffff, "-1.7976931348623157e+308"),
        (0x4340_0000_0000_0000, "9007199254740992"),
        (0xc340_0000_0000_0000, "-9007199254740992"),
        (0x4430_0000_0000_0000, "295147905179352830000"),
        (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
        (0x44b5_2d02_c7e1_4af6, "1e+23"),
        (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
        (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
        (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
        (0x444b_1ae4_d6e2_ef50, "1e+21"),
        (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
        (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
        (0x41b3_de43_5555_5553, "333333333.3333332"),
        (0x41b3_de43_5555_5554, "333333333.33333325"),
        (0x41b3_de43_5555_5555, "333333333.3333333"),
        (0x41b3_de43_5555_5556, "333333333.3333334"),
        (0x41b3_de43_5555_5557, "333333333.33333343"),
        (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
        (0x4314_3ff3_c1cb_0959, "1424953923781206.2"),
    ];
    for (bits, written) in table {
        let ours = canonical_bytes(&json!(f64::from_bits(bits)));
        assert_eq!(String::from_utf8_lossy(&ours), written, "{bits:#018x}");
    }
}

fn given() -> impl Strategy<Value = Given> {
    let text = "[a-z0-9-]{1,12}|[ -~é€😀\u{1}\u{1f}\u{7f}\"\\\\]{1,6}";
    let what = prop_oneof![
        text.prop_map(What::Value),
        (-1_000_000..=10_000_000_i64).prop_map(|n| What::Number(Figure::from_thousandths(n))),
        (-99..=99_i32).prop_map(What::Count),
        Just(What::Flag),
    ];
    (text, what).prop_map(|(id, what)| Given { id, what })
}

proptest! {
    #![proptest_config(cases(256))]

    /// Source: RFC 8785, by the crate `serde_json_canonicalizer`: what a build's digest covers is
    /// written by hand, and must be what the library makes of the same value.
    #[test]
    fn what_a_digest_covers_is_in_the_canonical_form(
        drink in "[a-z-]{1,12}",
        lang in "[a-z]{2}",
        modifiers in prop::collection::vec(given(), 0..6),
    ) {
        let bar = DEMO.training_bar().expect("a training bar");
        let asked: Vec<TicketModifier> = modifiers.iter().cloned().map(Into::into).collect();
        let value = json!({
            "book": bar.book_digest, "overlay": bar.overlay_digest, "site": bar.site_digest,
            "line": { "drink": drink, "modifiers": asked }, "lang": lang, "contract": "0.1",
        });
        let written = digested(bar, &drink, &modifiers, &lang);
        let canonical = canonical_bytes(&value);
        prop_assert_eq!(String::from_utf8_lossy(&written), String::from_utf8_lossy(&canonical));
    }
}

/// Source: RFC 8785, sections 3.2.3 and 3.2.4: the digest covers the value, not how it is written.
#[test]
fn a_digest_does_not_change_with_white_space_order_or_the_way_a_number_is_written() {
    let same = ["{\"b\": 1, \"a\": [2.5, \"\\u00e9\"]}", "{\n\"a\":[25e-1,\"é\"],\n\"b\":1.0}"];
    let digests = same.map(|text| Digest::of(&serde_json::from_str(text).unwrap()));
    assert_eq!(digests[0], digests[1]);
    let by_hand = Sha256::digest("{\"a\":[2.5,\"é\"],\"b\":1}");
    assert_eq!(digests[0].bytes(), by_hand.as_slice());
    assert!(digests[0].to_string().starts_with(&format!("sha256:{:02x}", by_hand[0])));
}

/// Source: RFC 6901, section 5: the document and the pointers of its examples.
#[test]
fn json_pointers_lead_where_section_5_of_rfc_6901_says() {
    let text = r#"{
      "foo": ["bar", "baz"],
      "": 0,
      "a/b": 1,
      "c%d": 2,
      "e^f": 3,
      "g|h": 4,
      "i\\j": 5,
      "k\"l": 6,
      " ": 7,
      "m~n": 8
   }"#;
    let table: [(&str, &[&str], &str); 12] = [
        ("", &[], "{\n      \"foo\""),
        ("/foo", &["foo"], "[\"bar\", \"baz\"]"),
        ("/foo/0", &["foo", "0"], "\"bar\""),
        ("/", &[""], "0"),
        ("/a~1b", &["a/b"], "1"),
        ("/c%d", &["c%d"], "2"),
        ("/e^f", &["e^f"], "3"),
        ("/g|h", &["g|h"], "4"),
        ("/i\\j", &["i\\j"], "5"),
        ("/k\"l", &["k\"l"], "6"),
        ("/ ", &[" "], "7"),
        ("/m~0n", &["m~n"], "8"),
    ];
    for (pointer, parts, value) in table {
        assert_eq!(segments(pointer).collect::<Vec<_>>(), parts, "{pointer:?}");
        let made = parts.iter().fold(String::new(), |made, part| child(&made, part));
        assert_eq!(made, pointer, "the pointer is written the same way");
        let at = place_of(text, pointer);
        let line = text.lines().nth(at.line - 1).expect("the line is there");
        let rest: String = line.chars().skip(at.column - 1).collect();
        let first = value.lines().next().unwrap();
        assert!(rest.starts_with(first), "{pointer:?} leads to {rest:?}");
    }
}

/// Source: RFC 6901, section 4: `~1` is undone before `~0`, so `~01` is `~1` and not `/`.
#[test]
fn a_tilde_before_a_one_is_read_in_the_order_of_rfc_6901() {
    assert_eq!(segments("/~01").collect::<Vec<_>>(), ["~1"]);
    assert_eq!(child("", "~1"), "/~01");
    assert_eq!(child("", "/~"), "/~1~0");
}

/// Source: JSON Schema 2020-12 (its metaschema, which the validator carries), Core sections 8.1.1
/// and 8.2.1 for `$schema` and `$id`.
#[test]
fn every_published_schema_is_one_of_json_schema_2020_12() {
    let schemas = contract::schemas();
    assert!(schemas.len() >= 6);
    let mut ids = BTreeSet::new();
    for (name, schema) in &schemas {
        if let Err(fault) = jsonschema::draft202012::meta::validate(schema) {
            panic!("{name}: {fault} at {}", fault.instance_path());
        }
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{name}");
        let id = schema["$id"].as_str().expect("an id");
        assert_eq!(id, format!("urn:cupwright:schema:{name}:{}", contract::VERSION));
        assert!(ids.insert(id), "{id} once");
        assert!(
            jsonschema::draft202012::new(schema).is_ok(),
            "{name}: every reference leads somewhere"
        );
    }
    let broken = json!({"type": "strong"});
    assert!(jsonschema::draft202012::meta::validate(&broken).is_err(), "the metaschema does judge");
}

#[test]
fn the_demo_follows_the_published_schemas_and_a_changed_demo_does_not() {
    let schema = |wanted: &str| {
        let found = contract::schemas().into_iter().find(|(name, _)| *name == wanted);
        jsonschema::draft202012::new(&found.expect("it is published").1).unwrap()
    };
    let (book, site) = (schema("drink-book"), schema("drink-site"));
    let mut demo = demo_book();
    assert!(book.is_valid(&demo));
    put(&mut demo, "/drinks/latte/x-note", json!("kept"));
    assert!(book.is_valid(&demo));
    put(&mut demo, "/drinks/latte/note", json!("refused"));
    assert!(!book.is_valid(&demo));
    for source in demo::sites() {
        let mut sheet: Value = serde_json::from_str(&source.text).unwrap();
        assert!(site.is_valid(&sheet), "{}", source.name);
        sheet["groups"] = json!("two");
        assert!(!site.is_valid(&sheet));
    }
}

/// Source: RFC 9457, section 3.1: `type` is a URI reference, `title` a summary that stays the same
/// for a type, `status` the HTTP status code, `detail` an explanation of this case.
#[test]
fn every_problem_has_the_members_of_rfc_9457() {
    let mut types = BTreeSet::new();
    for kind in Kind::ALL {
        let problem = serde_json::to_value(kind.with("what happened here")).unwrap();
        let named = problem["type"].as_str().expect("a type");
        let name = named.strip_prefix("/problems/").expect("a URI reference under /problems/");
        assert!(
            !name.is_empty() && name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'),
            "{name}"
        );
        assert!(types.insert(named.to_owned()), "{named} once");
        assert!(problem["title"].as_str().is_some_and(|title| !title.is_empty()));
        assert_eq!(problem["detail"], "what happened here");
        let status = problem["status"].as_u64().expect("a status");
        assert!((400..600).contains(&status), "{named}: {status}");
        let again = serde_json::to_value(kind.with("something else")).unwrap();
        assert_eq!(again["title"], problem["title"]);
    }
    let listed = http::document().to_json().unwrap();
    assert!(listed.contains("application/problem+json"), "section 3: the media type");
}

/// Source: RFC 9562, sections 4.1, 4.2 and 5.5, and the example of Appendix A.4.
#[test]
fn a_build_id_is_the_uuid_version_5_of_its_digest() {
    let example = Uuid::new_v5(&Uuid::NAMESPACE_DNS, b"www.example.com");
    assert_eq!(example.to_string(), "2ed6657d-e927-568b-95e1-2665a8aea6a2", "Appendix A.4");
    let held = in_force();
    let bar = held.bar("bookshop").unwrap();
    let build = built(&held, bar, json!({"line": "1", "drink": "latte"}), "en");
    let id: Uuid = build["build_id"].as_str().unwrap().parse().expect("a UUID");
    assert_eq!(id.get_version_num(), 5);
    assert_eq!(id.get_variant(), Variant::RFC4122);
    let text = id.to_string();
    assert_eq!(text.as_bytes()[14], b'5', "the version stands in its digit");
    assert!(b"89ab".contains(&text.as_bytes()[19]), "the variant stands in its digit");
    let space = Uuid::new_v5(&Uuid::NAMESPACE_URL, b"urn:cupwright:drink-build");
    assert_eq!(id, Uuid::new_v5(&space, build["digest"].as_str().unwrap().as_bytes()));
    assert_eq!(build_id(&Digest::of(&json!(1))), build_id(&Digest::of(&json!(1.0))));
}

/// The build of `line` at `bar` as the contract shows it.
fn built(held: &InForce, bar: &Bar, line: Value, lang: &str) -> Value {
    let line: cupwright::wire::TicketLine = serde_json::from_value(line).expect("a line");
    let judged = verdict(bar, &line.into(), &Moment::default());
    let Verdict::Accept { build, .. } = &judged else { panic!("it can be made: {judged:?}") };
    let catalogue = held.catalogue(bar, Some(lang)).expect("the book speaks it");
    serde_json::to_value(cupwright::wire::build_view(bar, build, catalogue)).unwrap()
}

/// The digest of that build.
fn digest(held: &InForce, bar: &Bar, line: Value, lang: &str) -> String {
    let build = built(held, bar, line, lang);
    build["digest"].as_str().expect("a digest").to_owned()
}

#[test]
fn the_digest_of_a_build_is_that_of_what_it_was_worked_from() {
    let held = in_force();
    let bar = held.bar("bookshop").unwrap();
    let line = json!({"line": "1", "drink": "latte", "modifiers": [
        {"id": "vanilla", "count": 1}, {"id": "temperature", "value": 58.5}, {"id": "vanilla", "count": 1},
        {"id": "milk", "value": "oat-drink"}, {"id": "spoon"},
    ]});
    let made = digest(&held, bar, line, "en");
    let by_hand = json!({
        "book": held.digest().to_string(),
        "overlay": null,
        "site": bar.site_digest.to_string(),
        "line": {"drink": "latte", "modifiers": [
            {"id": "milk", "value": "oat-drink"}, {"id": "vanilla", "count": 2},
            {"id": "temperature", "value": 58.5}, {"id": "spoon"},
        ]},
        "lang": "en",
        "contract": "0.1",
    });
    assert_eq!(made, Digest::of(&by_hand).to_string());
}

#[test]
fn the_digest_changes_with_book_site_line_and_language_and_with_nothing_else() {
    let held = in_force();
    let bar = held.bar("ferry-kiosk").unwrap();
    let plain = json!({"line": "1", "drink": "latte"});
    let first = digest(&held, bar, plain.clone(), "en");
    let with = |field: &str, value: Value| {
        let mut line = plain.clone();
        line[field] = value;
        digest(&held, bar, line, "en")
    };
    for (field, value) in [
        ("line", json!("seven")),
        ("quantity", json!(9)),
        ("note", json!("by the window")),
        ("confirmed", json!(["shots"])),
        ("diets", json!(["vegetarian"])),
        ("override", json!("asked for twice")),
        ("modifiers", json!([{"id": "milk", "value": "whole-milk"}])),
        ("modifiers", json!([{"id": "shots", "count": 1}, {"id": "shots", "count": -1}])),
    ] {
        assert_eq!(with(field, value.clone()), first, "{field} {value}");
    }
    let mut others = vec![
        with("drink", json!("cappuccino")),
        with("modifiers", json!([{"id": "vanilla", "count": 1}])),
        with("modifiers", json!([{"id": "spoon"}])),
        digest(&held, bar, plain.clone(), "de"),
        digest(&held, held.bar("bookshop").unwrap(), plain.clone(), "en"),
    ];
    let (mut book, mut sheet) = (demo_book(), demo_site("ferry-kiosk"));
    put(&mut book, "/x-edition", json!("second"));
    let other = load(&book, &[sheet.clone()]).expect("a book with a field of its own");
    others.push(digest(&other, other.bar("ferry-kiosk").unwrap(), plain.clone(), "en"));
    put(&mut sheet, "/x-manager", json!("Ines"));
    let text = format!("{sheet:#}");
    let document = BookDocument::read("book.json", &demo::book().text).unwrap();
    let sheet = SiteDocument::read("kiosk.json", &text, &document.book).unwrap();
    let other = Bar::compile(&document, &sheet, None, None).unwrap();
    others.push(digest(&held, &other, plain, "en"));
    let all: BTreeSet<&String> = others.iter().chain([&first]).collect();
    assert_eq!(all.len(), others.len() + 1, "every one of them differs: {others:#?}");
}
