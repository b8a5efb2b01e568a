//! What goes out as tables comes back as it was, whatever a spreadsheet makes of the text.

use cupwright::tables::{Changes, Table, export, merge};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::{Open, different, rfc_4180, text_of};
use crate::{
    changed::{demo_book, pointer, put, take_out},
    support::{chance::cases, text},
};

fn starter_book() -> Value {
    serde_json::from_str(&text("src/cli/starter/book.json")).expect("the starter is JSON")
}

#[test]
fn the_demo_and_the_starter_come_back_as_they_were() {
    for book in [demo_book(), starter_book()] {
        let (back, changes) = Open::of(book.clone()).merged();
        assert_eq!(back, book);
        assert_eq!(back.to_string(), book.to_string(), "fields stay in their order");
        assert_eq!(changes, Changes::default());
    }
}

#[test]
fn every_field_that_the_schema_names_has_a_column() {
    let mut open = Open::of(starter_book());
    for (table, names) in [
        (Table::Drinks, vec!["names.en", "envelope.foam_depth_mm.min", "season.from", "aliases"]),
        (Table::Cups, vec!["drink", "service", "size", "vessel", "foam.depth_mm", "price"]),
        (Table::Parts, vec!["drink", "id", "kind", "amount.g", "set_point", "stages"]),
        (Table::Ingredients, vec!["allergens", "composition.fat", "steaming.cap_c"]),
    ] {
        for name in names {
            open.column(table, name);
        }
        let names = open.table(table)[0].join(" ");
        assert!(!names.contains("cups") && !names.contains("parts"), "{names}");
    }
    let mut open = Open::demo();
    assert_eq!(*open.cell(Table::Cups, &["espresso", "here"], "price"), "2.40");
    let stages = open.cell(Table::Parts, &["brewed-chai", "chai"], "stages");
    assert_eq!(serde_json::from_str::<Value>(stages).unwrap()[0]["with_milk"], false);
    assert_eq!(*open.cell(Table::Ingredients, &["water"], "suits"), "vegetarian; vegan");
    assert_eq!(*open.cell(Table::Ingredients, &["water"], "allergens"), "[]");
    assert_eq!(*open.cell(Table::Ingredients, &["water"], "made_of"), "");
}

/// Source: RFC 4180, section 2, by the reader in this test, which takes nothing else.
#[test]
fn tables_are_written_as_rfc_4180_has_them() {
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/names/en", json!("Latte, \"big\"\nand\r\nwide"));
    for table in export(&book) {
        let cells = rfc_4180(&table.text);
        assert!(cells.len() > 1, "{:?}", table.table);
        if table.table == Table::Drinks {
            let row = cells.iter().find(|row| row[0] == "latte").unwrap();
            assert_eq!(row[1], "Latte, \"big\"\nand\r\nwide");
        }
    }
}

#[test]
fn other_delimiters_line_ends_marks_and_blank_rows_change_nothing() {
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/names/en", json!("Latte; big, \"wide\"\tand\nhigh"));
    let open = Open::of(book.clone());
    for delimiter in [',', ';', '\t'] {
        for line_end in ["\n", "\r\n"] {
            for mark in ["", "\u{feff}"] {
                let texts = open.texts(|cells| {
                    let mut cells = cells.clone();
                    let width = cells[0].len();
                    cells.insert(2, vec![String::new(); width]);
                    cells.push(vec![String::new(); width]);
                    // A column to the right in which nothing stands.
                    for row in &mut cells {
                        row.push(String::new());
                    }
                    let text = text_of(&cells, delimiter, line_end);
                    format!("{mark}{text}{line_end}")
                });
                let merged = merge(&book, texts).expect("the tables can be read");
                assert_eq!(merged.book, book, "{delimiter:?} {line_end:?} {mark:?}");
            }
        }
    }
}

#[test]
fn no_cell_is_a_formula_and_no_guard_stays() {
    let nasty = [
        "=HYPERLINK(\"http://example.org\")",
        "+1",
        "-1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        " =1",
        "＝1",
        "'=1",
        "''",
        "'",
        "11-15",
        "1/2",
    ];
    for text in nasty {
        let mut book = demo_book();
        put(&mut book, "/drinks/latte/names/en", json!(text));
        put(&mut book, "/drinks/latte/aliases", json!([text, "plain"]));
        let mut open = Open::of(book.clone());
        let cell = open.cell(Table::Drinks, &["latte"], "names.en");
        assert_eq!(*cell, format!("'{text}"));
        let cell = open.cell(Table::Drinks, &["latte"], "aliases");
        let first = cell.chars().next().expect("it is not empty");
        assert!(first == '[' || first.is_ascii_digit(), "{text:?} stands as {cell:?}");
        assert_eq!(open.merged().0, book, "{text:?}");
    }
    for table in export(&demo_book()) {
        for cell in rfc_4180(&table.text).into_iter().flatten() {
            let number = cell.parse::<f64>().is_ok();
            assert!(number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell}");
        }
    }
}

#[test]
fn what_is_absent_and_what_is_empty_stay_apart() {
    let absent = |path: &str| {
        let mut book = demo_book();
        if book.pointer(&pointer(&book, path)).is_some() {
            take_out(&mut book, path);
        }
        book
    };
    for (path, empty) in [
        ("/drinks/latte/aliases", json!([])),
        ("/drinks/latte/envelope", json!({})),
        ("/drinks/latte/neighbours", json!({})),
        ("/drinks/latte/season", Value::Null),
        ("/drinks/latte/cups/own", json!({})),
        ("/drinks/latte/cups/here/regular/amounts", json!({})),
        ("/drinks/latte/cups/here/regular/foam", json!({})),
        ("/drinks/latte/names/en", json!("")),
        ("/drinks/latte/parts/milk/set_point", json!("55")),
        ("/drinks/latte/parts/milk/set_point", json!(55.5)),
        ("/ingredients/water/allergens", json!([])),
        ("/ingredients/water/x-note", json!({"a.b": ["=1", null, {"c": {}}]})),
        ("/ingredients/water/x-a.b", json!("plain")),
    ] {
        let without = absent(path);
        let mut with = without.clone();
        put(&mut with, path, empty);
        for book in [without, with] {
            let (back, changes) = Open::of(book.clone()).merged();
            assert_eq!(different(&book, &back, ""), [""; 0], "{path}");
            assert_eq!(back.to_string(), book.to_string(), "{path}");
            assert_eq!(changes, Changes::default(), "{path}");
        }
    }
}

#[test]
fn a_number_stays_as_the_document_writes_it() {
    let mut book = demo_book();
    put(&mut book, "/ingredients/ice/displacement_ml_g", json!(1.0));
    let mut open = Open::of(book.clone());
    let cell = open.cell(Table::Ingredients, &["ice"], "displacement_ml_g");
    assert_eq!(*cell, "1.0");
    // As a spreadsheet writes it back.
    *cell = "1".to_owned();
    let (back, changes) = open.merged();
    assert_eq!(back.to_string(), book.to_string());
    assert_eq!(changes, Changes::default());
}

/// A text as nobody would name a drink.
fn nasty() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[ '\"=+\\-@;,.\\[\\]{}\t\r\n0-9a-z]{0,8}",
        Just("null".to_owned()),
        Just("true".to_owned()),
        Just("[]".to_owned()),
        Just("\"\"".to_owned()),
        Just("\u{feff}x".to_owned()),
    ]
}

/// A value of somebody's own, as a field `x-…` may hold.
fn own() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        nasty().prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 12, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..3).prop_map(Value::from),
            prop::collection::vec((nasty(), inner), 0..3)
                .prop_map(|members| Value::Object(members.into_iter().collect())),
        ]
    })
}

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn nasty_texts_come_back(
        name in nasty(),
        statement in nasty(),
        aliases in prop::option::of(prop::collection::vec(nasty(), 0..4)),
        note in own(),
        key in nasty(),
        delimiter in prop::sample::select(vec![',', ';', '\t']),
    ) {
        let mut book = starter_book();
        put(&mut book, "/drinks/latte/names/en", json!(name));
        put(&mut book, "/ingredients/oat-drink/pack_statement", json!({"en": statement}));
        if let Some(aliases) = aliases {
            put(&mut book, "/drinks/latte/aliases", json!(aliases));
        }
        let latte = pointer(&book, "/drinks/latte");
        book.pointer_mut(&latte).unwrap()[format!("x-{key}")] = note.clone();
        let milk = pointer(&book, "/drinks/latte/parts/milk");
        book.pointer_mut(&milk).unwrap()["x-note"] = note;
        let open = Open::of(book.clone());
        let merged = merge(&book, open.texts(|cells| text_of(cells, delimiter, "\r\n")));
        let merged = merged.map_err(|faults| TestCaseError::fail(super::lines(&faults).join("\n")))?;
        prop_assert_eq!(different(&book, &merged.book, ""), vec![""; 0]);
        let [back, was] = [&merged.book, &book].map(ToString::to_string);
        prop_assert!(back == was, "fields stay in their order");
        prop_assert_eq!(merged.changes, Changes::default());
    }
}
