//! Sheets of tills: how they are read, what their buttons come to, and tickets by their codes.

mod codes;
mod meaning;
mod program;
mod sheet;

use cupwright::till::{Button, TillMap};
use serde_json::{Value, json};

/// The sheet of the bookshop's till as CSV.
#[track_caller]
fn read(text: &str) -> Vec<Button> {
    let map = TillMap::read("bookshop.till.csv", text, "bookshop");
    map.unwrap_or_else(|told| panic!("{told}\n{text}")).buttons
}

/// What is wrong with a sheet, each as `line:column: pointer: …`.
#[track_caller]
fn wrong(name: &str, text: &str) -> Vec<String> {
    let told = TillMap::read(name, text, "bookshop").expect_err("it is wrong");
    assert_eq!(told.document, name);
    told.all.iter().map(ToString::to_string).collect()
}

/// A button as JSON writes it.
fn button(value: &Value) -> Button {
    let mut value = value.clone();
    value.as_object_mut().unwrap().entry("code").or_insert_with(|| json!("1"));
    serde_json::from_value(value).expect("a button")
}
