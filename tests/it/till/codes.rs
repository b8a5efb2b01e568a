//! Lines by the till's codes: the same as the line by ids, or refused at the code.

use serde_json::{Value, json};

use crate::{lines::DEMO, posted::posted};

const NOW: &str = "2026-11-25T14:05:00+01:00";

#[test]
fn a_line_by_codes_is_the_same_cup_at_the_same_price_as_the_line_by_ids() {
    let map = &DEMO.tills["bookshop"];
    let milk = ["latte", "long-black", "black-tea", "iced-coffee"];
    let code_of = |drink: &str| {
        let found = map.buttons.iter().find(|one| one.drink.as_deref() == Some(drink));
        found.expect("a button").clone()
    };
    let (mut by_codes, mut by_ids) = (Vec::new(), Vec::new());
    for button in &map.buttons {
        let bases: Vec<_> = match &button.drink {
            Some(_) => vec![None],
            None => milk.iter().map(|drink| Some(code_of(drink))).collect(),
        };
        for base in bases {
            let pressed = base.iter().chain([button]);
            let codes: Vec<&str> = pressed.clone().map(|one| &*one.code).collect();
            let drink = pressed.clone().find_map(|one| one.drink.clone());
            let modifiers: Vec<_> = pressed.flat_map(|one| one.modifiers.clone()).collect();
            by_codes.push(json!({ "codes": codes }));
            by_ids.push(json!({ "drink": drink, "modifiers": modifiers }));
        }
    }
    let mut accepted = 0;
    for ((one, mut by_code), mut by_id) in by_codes
        .iter()
        .zip(posted("bookshop", "en", NOW, &by_codes))
        .zip(posted("bookshop", "en", NOW, &by_ids))
    {
        if by_code["verdict"] == "accept" {
            for at in ["/build/digest", "/build/build_id", "/price", "/canonical"] {
                assert_eq!(by_code.pointer(at), by_id.pointer(at), "{one}: {at}");
                assert!(by_code.pointer(at).is_some_and(|found| !found.is_null()), "{at}");
            }
            assert!(by_code["canonical"].get("codes").is_none(), "the normal form is by ids");
            accepted += 1;
        }
        // A refusal differs in its place alone.
        for answer in [&mut by_code, &mut by_id] {
            for refusal in answer["refusals"].as_array_mut().into_iter().flatten() {
                refusal["pointer"] = Value::Null;
            }
        }
        assert_eq!(by_code, by_id, "{one}");
    }
    assert!(accepted > 200, "only {accepted} of {} lines", by_codes.len());
}

/// The demo's codes: a latte, vanilla, oat drink, and what a latte does not take with a mocha.
const LATTE: &str = "1101";
const VANILLA: &str = "7023";
const OAT: &str = "7004";
const MOCHA: &str = "1111";

#[test]
fn modifiers_stand_beside_codes_and_a_button_pressed_twice_counts_twice() {
    let lines = [
        json!({ "codes": [LATTE, VANILLA, VANILLA], "modifiers": [{ "id": "milk", "value": "oat-drink" }] }),
        json!({ "codes": [VANILLA, LATTE, OAT], "modifiers": [{ "id": "vanilla", "count": 1 }] }),
        json!({ "drink": "latte", "codes": [OAT, VANILLA, OAT, VANILLA] }),
        json!({ "drink": "latte", "modifiers": [
            { "id": "milk", "value": "oat-drink" }, { "id": "vanilla", "count": 2 }] }),
        json!({ "codes": [LATTE, OAT, VANILLA] }),
    ];
    let answers = posted("bookshop", "en", NOW, &lines);
    let digest = |n: usize| answers[n]["build"]["digest"].as_str().expect("a build").to_owned();
    assert_eq!([digest(0), digest(1), digest(2)], [digest(3), digest(3), digest(3)]);
    assert_ne!(digest(4), digest(3), "once is not twice");
    assert_eq!(answers[0]["price"], answers[3]["price"]);
}

/// The refusals of a line as code and pointer.
fn refused(answer: &Value) -> Vec<(String, String)> {
    assert_eq!(answer["verdict"], "refuse", "{answer:#}");
    let all = answer["refusals"].as_array().unwrap().iter();
    let text = |one: &Value| one.as_str().unwrap().to_owned();
    all.map(|one| (text(&one["code"]), text(&one["pointer"]))).collect()
}

#[test]
fn a_code_at_fault_is_refused_at_its_place_in_the_ticket() {
    let with = json!([{ "id": "foam", "value": "dry" }]);
    let rows = [
        (
            json!({ "codes": [LATTE, "9999", VANILLA, "nine"] }),
            vec![("unknown-code", "/lines/1/codes/1"), ("unknown-code", "/lines/1/codes/3")],
        ),
        (json!({ "codes": ["9999"] }), vec![("unknown-code", "/lines/2/codes/0")]),
        (json!({ "codes": [VANILLA, LATTE, MOCHA] }), vec![("not-one-drink", "/lines/3/codes/2")]),
        (json!({ "codes": [LATTE, LATTE] }), vec![("not-one-drink", "/lines/4/codes/1")]),
        (
            json!({ "drink": "mocha", "codes": [LATTE] }),
            vec![("not-one-drink", "/lines/5/codes/0")],
        ),
        (json!({ "codes": [VANILLA, OAT] }), vec![("not-one-drink", "/lines/6")]),
        (
            json!({ "codes": [LATTE, MOCHA, "9999"] }),
            vec![("unknown-code", "/lines/7/codes/2"), ("not-one-drink", "/lines/7/codes/1")],
        ),
        (
            json!({ "codes": [LATTE], "modifiers": with }),
            vec![("not-applicable", "/lines/8/modifiers/0")],
        ),
        (json!({ "codes": [LATTE, "7049"] }), vec![("not-applicable", "/lines/9/codes/1")]),
    ];
    let first = json!({ "codes": [LATTE] });
    let lines: Vec<Value> =
        [first].into_iter().chain(rows.iter().map(|(line, _)| line.clone())).collect();
    let answers = posted("bookshop", "en", NOW, &lines);
    assert_eq!(answers[0]["verdict"], "accept");
    for ((line, wanted), answer) in rows.iter().zip(&answers[1..]) {
        let wanted: Vec<(String, String)> =
            wanted.iter().map(|(code, at)| ((*code).to_owned(), (*at).to_owned())).collect();
        assert_eq!(refused(answer), wanted, "{line}");
    }
    let near = answers[1]["refusals"][0]["text"].as_str().unwrap();
    assert!(near.contains("9999"), "{near}");
}

#[test]
fn a_site_without_a_sheet_knows_no_code() {
    let answers = posted("ferry-kiosk", "en", NOW, &[json!({ "codes": [LATTE, OAT] })]);
    let wanted = ["/lines/0/codes/0", "/lines/0/codes/1"];
    let found = refused(&answers[0]);
    assert_eq!(found.iter().map(|(_, at)| &**at).collect::<Vec<_>>(), wanted);
    assert!(found.iter().all(|(code, _)| code == "unknown-code"), "{found:?}");
}
