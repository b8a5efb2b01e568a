//! Documents changed on purpose, and the complaints that each change must bring.
//!
//! Fields are named by a path of ids, as in `/drinks/latte/names/de`, so that a demo which grows
//! breaks no test. Where a complaint must stand is found without the code under test: the value is
//! replaced by a mark, and the text before the mark gives line and column.

use std::cmp::Ordering;

use cupwright::{
    book::BookDocument,
    demo,
    in_force::{InForce, Source},
    json::{Complaint, Place},
};
use serde_json::Value;

/// A change of a document, and the complaint that it must bring.
pub(crate) struct Row {
    /// The field that is changed.
    path: &'static str,
    /// What it becomes; nothing takes it out.
    becomes: Option<Value>,
    /// The field that is complained about; `=` for the one that is changed.
    at: &'static str,
    /// What is found, word for word.
    found: &'static str,
    /// Something that the sentence about the right value must say.
    expected: &'static str,
}

/// The field at `path` becomes `becomes`, and that field is complained about.
pub(crate) fn row(
    path: &'static str,
    becomes: Value,
    found: &'static str,
    expected: &'static str,
) -> Row {
    Row { path, becomes: Some(becomes), at: "=", found, expected }
}

impl Row {
    /// The complaint is about the field `at` instead.
    pub(crate) fn at(self, at: &'static str) -> Self {
        Self { at, ..self }
    }

    /// Whether `one` finds what this row found, and says what would be right.
    pub(crate) fn told_by(&self, one: &Complaint) -> bool {
        one.found == self.found && one.expected.contains(self.expected)
    }

    /// The field is taken out.
    pub(crate) fn taken_out(self) -> Self {
        Self { becomes: None, ..self }
    }
}

/// The demo book as a value.
pub(crate) fn demo_book() -> Value {
    serde_json::from_str(&demo::book().text).expect("the demo book is JSON")
}

/// The sheet of one of the demo's sites as a value.
pub(crate) fn demo_site(id: &str) -> Value {
    let values = demo::sites().into_iter().map(|one| serde_json::from_str::<Value>(&one.text));
    let mut sheets = values.map(|one| one.expect("a demo sheet is JSON"));
    sheets.find(|sheet| sheet["id"] == id).expect("a site of the demo")
}

/// A document as text, one value a line.
pub(crate) fn source(name: &str, document: &Value) -> Source {
    Source { name: name.to_owned(), text: format!("{document:#}") }
}

/// Whether `book` loads with `sites`; if not, everything that is complained about.
pub(crate) fn load(
    book: &Value,
    sites: &[Value],
) -> Result<InForce, Vec<cupwright::json::Complaints>> {
    let sheets = sites.iter().enumerate();
    let sheets: Vec<Source> =
        sheets.map(|(n, one)| source(&format!("site-{n}.json"), one)).collect();
    InForce::load(&source("book.json", book), &sheets)
}

/// The JSON Pointer to the field at `path`, whose segments are ids, positions or field names.
pub(crate) fn pointer(document: &Value, path: &str) -> String {
    let (mut here, mut pointer) = (document, String::new());
    for segment in path.split('/').skip(1) {
        let name = match here {
            Value::Array(elements) => {
                let named = |one: &Value| one["id"] == segment;
                elements.iter().position(named).map_or(segment.to_owned(), |at| at.to_string())
            }
            Value::Null
            | Value::Bool(_)
            | Value::Number(_)
            | Value::String(_)
            | Value::Object(_) => segment.to_owned(),
        };
        pointer = format!("{pointer}/{name}");
        here = document.pointer(&pointer).unwrap_or(&Value::Null);
    }
    pointer
}

/// Puts `value` at `path`; a missing field of an object is made, and `-` adds to a list.
pub(crate) fn put(document: &mut Value, path: &str, value: Value) {
    let (parent, last) = path.rsplit_once('/').expect("a path");
    let parent = pointer(document, parent);
    let place = document.pointer_mut(&parent).unwrap_or_else(|| panic!("nothing at {parent}"));
    let at = pointer(place, &format!("/{last}"));
    match place {
        Value::Array(elements) if last == "-" => elements.push(value),
        Value::Array(_) => *place.pointer_mut(&at).expect("an element") = value,
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) | Value::Object(_) => {
            place[last.replace("~1", "/")] = value;
        }
    }
}

/// Takes out the field at `path`.
pub(crate) fn take_out(document: &mut Value, path: &str) {
    let (parent, last) = path.rsplit_once('/').expect("a path");
    let parent = pointer(document, parent);
    let members = document.pointer_mut(&parent).and_then(Value::as_object_mut);
    members.and_then(|members| members.shift_remove(last)).expect("the field was there");
}

/// Where the value at `pointer`, or else the nearest value around it, begins in the text of
/// `document`.
pub(crate) fn place(document: &Value, pointer: &str) -> Place {
    const MARK: &str = "the mark stands here";
    let mut marked = document.clone();
    let mut here = pointer;
    while marked.pointer(here).is_none() {
        here = here.rsplit_once('/').expect("the whole document is there").0;
    }
    *marked.pointer_mut(here).expect("it is there") = Value::from(MARK);
    let text = format!("{marked:#}");
    let before = &text[..text.find(MARK).expect("the mark was set") - 1];
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|one| *one != '\n').count() + 1;
    Place { line, column }
}

/// Changes `document` as `rows` say, all of them.
pub(crate) fn change(document: &mut Value, rows: &[Row]) {
    for row in rows {
        match &row.becomes {
            Some(value) => put(document, row.path, value.clone()),
            None => take_out(document, row.path),
        }
    }
}

/// Holds the complaints about `document` to those of `rows`: each of them once, no other, each at
/// its place, in the order of the text.
#[track_caller]
pub(crate) fn assert_complaints(document: &Value, all: &[Complaint], rows: &[Row]) {
    let mut rest: Vec<&Complaint> = all.iter().collect();
    let mut missed = Vec::new();
    for row in rows {
        let at = if row.at == "=" { row.path } else { row.at };
        let wanted = pointer(document, at);
        let hit = |one: &&Complaint| one.pointer == wanted && row.told_by(one);
        let Some(n) = rest.iter().position(hit) else {
            missed.push(format!("{wanted}: found {}; expected {}", row.found, row.expected));
            continue;
        };
        let one = rest.remove(n);
        assert_eq!(one.place, Some(place(document, &wanted)), "place of {one}");
    }
    let told: Vec<String> = rest.iter().map(ToString::to_string).collect();
    assert!(
        missed.is_empty() && told.is_empty(),
        "not complained about:\n  {}\nnot looked for:\n  {}",
        missed.join("\n  "),
        told.join("\n  ")
    );
    let order = all.windows(2).map(|two| two[0].place.cmp(&two[1].place));
    assert!(
        order.into_iter().all(Ordering::is_le),
        "the complaints stand in the order of the text"
    );
}

/// Breaks the demo book as `rows` say, all at once, and holds its complaints to them.
#[track_caller]
pub(crate) fn assert_broken(rows: &[Row]) {
    let mut book = demo_book();
    change(&mut book, rows);
    let text = format!("{book:#}");
    let faulty = BookDocument::read("book.json", &text).expect_err("the book is wrong");
    assert_complaints(&book, &faulty.all, rows);
}
