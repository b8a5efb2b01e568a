//! A sheet's text: either form, every fault at its place, and back again without a loss.

use cupwright::{
    book::{ExampleModifier, ExampleValue, Id},
    demo,
    till::{Button, TillMap, csv_of},
    units::Figure,
};
use proptest::prelude::*;
use serde_json::json;

use super::{button, read, wrong};
use crate::{
    support::chance::cases,
    tables::{Cells, rfc_4180, text_of},
};

fn cells(rows: &[[&str; 4]]) -> Cells {
    rows.iter().map(|row| row.map(str::to_owned).to_vec()).collect()
}

#[test]
fn a_sheet_is_read_however_a_spreadsheet_writes_it() {
    let rows = cells(&[
        ["code", "label", "drink", "modifiers"],
        ["1", "Latte, \"large\"", "latte", "service=here; size=large"],
        ["", "", "", ""],
        ["2", "Oat\nmilk; cold", "", "milk=oat-drink"],
        ["A-3", "Ein Schuss mehr", "", "shots=+1;vanilla=−2; temperature=63.5;lid-off"],
    ]);
    let wanted = [
        button(&json!({ "code": "1", "label": "Latte, \"large\"", "drink": "latte", "modifiers": [
            { "id": "service", "value": "here" }, { "id": "size", "value": "large" }] })),
        button(&json!({ "code": "2", "label": "Oat\nmilk; cold",
            "modifiers": [{ "id": "milk", "value": "oat-drink" }] })),
        button(&json!({ "code": "A-3", "label": "Ein Schuss mehr", "modifiers": [
            { "id": "shots", "count": 1 }, { "id": "vanilla", "count": -2 },
            { "id": "temperature", "value": 63.5 }, { "id": "lid-off" }] })),
    ];
    for delimiter in [',', ';', '\t'] {
        for line_end in ["\n", "\r\n"] {
            for mark in ["", "\u{feff}"] {
                let text = format!("{mark}{}", text_of(&rows, delimiter, line_end));
                assert_eq!(read(&text), wanted, "{text:?}");
                assert_eq!(read(text.trim_end()), wanted, "without the last line end: {text:?}");
            }
        }
    }
    let json = json!({ "schema": "till-map/0.1.0", "site": "bookshop", "buttons": wanted });
    let map = TillMap::read("bookshop.till.json", &json.to_string(), "bookshop").unwrap();
    assert_eq!(map.buttons, wanted);
    assert_eq!(map.button("A-3"), Some(&wanted[2]));
    assert_eq!(map.button("a-3"), None, "a code is what it is");
}

#[test]
fn every_fault_of_a_sheet_is_told_at_once_with_its_line_and_cell() {
    let long = "x".repeat(65);
    let many = vec!["spoon"; 33].join(";");
    let text = format!(
        "code,label,drink,modifiers\r\n\
         1,Latte,latte,size=\r\n\
         \r\n\
         2,\"two\nlines\",latte,SIZE=large; shots=+x\r\n\
         ,no code,latte,\r\n\
         1,again,mocha,\r\n\
         {long},{long},{long},shots=+100\r\n\
         3,more,latte,,extra\r\n\
         4,many,,{many}\r\n\
         5,degrees,,temperature=1.0001\r\n\
         6,\"quoted\" more,latte,\r\n\
         7,\"unended,latte,\r\n"
    );
    let told = wrong("bookshop.till.csv", &text);
    let wanted = [
        "2:4: /buttons/0/modifiers: found `size=`;",
        "4:4: /buttons/1/modifiers: found `SIZE=large`;",
        "4:4: /buttons/1/modifiers: found `shots=+x`;",
        "6:1: /buttons/2/code: found ``;",
        "7:1: /buttons/3/code: found the code `1` a second time; expected each code once",
        "8:1: /buttons/4/code: found `xxxxx",
        "8:2: /buttons/4/label: found 65 characters; expected at most 64",
        "8:3: /buttons/4/drink: found 65 characters; expected at most 64",
        "8:4: /buttons/4/modifiers: found `shots=+100`;",
        "9:5: /buttons/5: found 5 cells; expected 4 cells in a row",
        "10:4: /buttons/6/modifiers: found 33 modifiers; expected at most 32 modifiers",
        "11:4: /buttons/7/modifiers: found `temperature=1.0001`;",
        "12:2: (document): found text behind the quote that ends the cell;",
        "13:2: (document): found a quote that nothing ends;",
    ];
    for (one, wanted) in told.iter().zip(wanted) {
        assert!(one.starts_with(wanted), "`{wanted}` begins {one}\nof {told:#?}");
    }
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
}

#[test]
fn a_sheet_without_its_columns_is_told_so() {
    for (text, line) in [
        ("", 1),
        ("\r\n\n", 1),
        ("code,label,drink\n1,Latte,latte\n", 1),
        ("label,code,drink,modifiers\n", 1),
        ("\n\n1,Latte,latte,\n", 3),
    ] {
        let told = wrong("bookshop.till.csv", text);
        let wanted = format!("{line}:1: /columns: found ");
        assert!(told[0].starts_with(&wanted), "{told:#?}");
        assert!(told[0].ends_with("expected code,label,drink,modifiers"), "{told:#?}");
    }
    assert_eq!(read("Code , Label,DRINK,Modifiers\n"), [], "in any case, with blanks");
}

#[test]
fn the_faults_of_a_json_sheet_have_the_line_and_column_of_the_value() {
    let text = r#"{
  "schema": "till-map/0.1.0",
  "site": "ferry-kiosk",
  "buttons": [
    { "code": "1", "drink": "latte" },
    { "code": "1", "label": " blank" },
    { "code": "2", "modifiers": [{ "id": "milk", "value": "oat; shots=+9" }] },
    { "code": "3", "modifiers": [{ "id": "shots", "value": 1, "count": 1 }] },
    { "code": "4", "drink": "", "modifiers": [{ "id": "t", "value": -1 }] }
  ]
}"#;
    let told = wrong("bookshop.till.json", text);
    let wanted = [
        "3:11: /site: found `ferry-kiosk`; expected `bookshop`",
        "6:15: /buttons/1/code: found the code `1` a second time",
        "6:29: /buttons/1/label: found ` blank`;",
        "7:59: /buttons/2/modifiers/0/value: found `oat; shots=+9`; expected an id",
        "8:34: /buttons/3/modifiers/0: found both `value` and `count`",
        "9:29: /buttons/4/drink: found ``",
        "9:69: /buttons/4/modifiers/0/value: found -1",
    ];
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for (one, wanted) in told.iter().zip(wanted) {
        assert!(one.starts_with(wanted), "`{wanted}` begins {one}");
    }
    let told = wrong(
        "bookshop.till.json",
        "{\"schema\": \"till-map/0.1.0\",\n\"buttons\": [{\"cod\": 1}]}",
    );
    assert!(told.len() >= 3, "the site, the code, and the field that is none: {told:#?}");
    assert_eq!(wrong("bookshop.till.json", "{\n]").len(), 1);
}

#[test]
fn the_sheet_of_the_demo_comes_back_as_it_was() {
    let source = demo::tills().remove(0);
    let map = TillMap::read(&source.name, &source.text, "bookshop").unwrap();
    assert!(map.buttons.len() > 200);
    let text = csv_of(&map.buttons);
    assert_eq!(rfc_4180(&text).len(), map.buttons.len() + 1);
    assert_eq!(read(&text), map.buttons);
    assert_eq!(csv_of(&read(&text)), text);
}

/// What a spreadsheet takes for a formula begins so.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

#[test]
fn no_cell_is_taken_for_a_formula() {
    let buttons: Vec<Button> = ["=1+1", "+1", "-1", "@sum", "=HYPERLINK(\"x\")"]
        .iter()
        .enumerate()
        .map(|(n, text)| Button {
            code: format!("{text}{n}"),
            label: (*text).to_owned(),
            drink: Some((*text).to_owned()),
            modifiers: Vec::new(),
        })
        .collect();
    let text = csv_of(&buttons);
    for cell in rfc_4180(&text).iter().flatten() {
        assert!(!cell.starts_with(FORMULA), "`{cell}`");
    }
    assert_eq!(read(&text), buttons, "and it is the same when it is read again");
}

fn modifier() -> impl Strategy<Value = ExampleModifier> {
    let id = "[a-wyz][a-z]{0,9}(-[a-z0-9]{1,5}){0,2}";
    let what = prop_oneof![
        Just((None, None)),
        id.prop_map(|value| (Some(ExampleValue::Id(Id::from(&*value))), None)),
        (0..=10_000_000_i64)
            .prop_map(|n| (Some(ExampleValue::Number(Figure::from_thousandths(n))), None)),
        (-99..=99).prop_map(|n| (None, Some(n))),
    ];
    (id, what).prop_map(|(id, (value, count))| ExampleModifier { id, value, count })
}

fn buttons() -> impl Strategy<Value = Vec<Button>> {
    let label = prop_oneof!["[=+@-]?\\PC{0,30}", "[a-z \",;'\r\n\t]{0,30}"];
    let code = "[!-~]([ -~]{0,20}[!-~])?";
    let drink = prop::option::of("[a-wyz][a-z0-9]{0,20}");
    let one = (code, label, drink, prop::collection::vec(modifier(), 0..5));
    let all = prop::collection::vec(one, 0..12);
    all.prop_map(|all| {
        let numbered = all.into_iter().enumerate();
        numbered
            .map(|(n, (code, label, drink, modifiers))| Button {
                code: format!("{code}{n}"),
                label: label.trim().to_owned(),
                drink,
                modifiers,
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn whatever_is_on_the_buttons_comes_back_from_csv_and_from_json(buttons in buttons()) {
        let text = csv_of(&buttons);
        prop_assert_eq!(&read(&text), &buttons, "{}", text);
        for cell in rfc_4180(&text).iter().flatten() {
            prop_assert!(!cell.starts_with(FORMULA), "`{}`", cell);
        }
        let json = json!({ "schema": "till-map/0.1.0", "site": "bookshop", "buttons": buttons });
        let map = TillMap::read("bookshop.till.json", &json.to_string(), "bookshop").unwrap();
        prop_assert_eq!(map.buttons, buttons);
    }
}
