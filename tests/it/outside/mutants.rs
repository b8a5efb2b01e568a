//! Mutants of a document: each differs from it in one place, and the same ones come out every time.

use serde_json::{Value, json};

/// What is done to the value at one place.
const CHANGES: [fn(&Value) -> Option<Value>; 9] = [
    |_| Some(Value::Null),
    |_| Some(json!(true)),
    |value| Some(if value.is_string() { json!(7) } else { json!("seven") }),
    |value| Some(if value.is_array() { json!({}) } else { json!([]) }),
    |value| value.is_number().then(|| json!(1_000_001)),
    |value| value.is_number().then(|| json!(-1_000_001)),
    |value| value.is_number().then(|| json!(0.5)),
    |value| value.is_string().then(|| json!("")),
    |value| value.is_string().then(|| json!("é".repeat(65))),
];

/// The document with `value` in place of what is at `pointer`, or without that field.
pub(crate) fn with(mut document: Value, pointer: &str, value: Option<Value>) -> Value {
    let here = document.pointer_mut(pointer).unwrap_or_else(|| panic!("nothing at {pointer}"));
    if let Some(value) = value {
        *here = value;
        return document;
    }
    let (parent, field) = pointer.rsplit_once('/').unwrap();
    document.pointer_mut(parent).unwrap().as_object_mut().unwrap().shift_remove(field);
    document
}

/// The pointers of `value` and of everything in it, in the order of the document.
fn places(at: &str, value: &Value, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Object(members) => {
            for (key, member) in members {
                let key = key.replace('~', "~0").replace('/', "~1");
                places(&format!("{at}/{key}"), member, found);
            }
        }
        Value::Array(elements) => {
            for (n, element) in elements.iter().enumerate() {
                places(&format!("{at}/{n}"), element, found);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// What may stand in place of `old`: other values, or the same object with a field more or less.
fn changes(old: &Value) -> Vec<Value> {
    let mut new: Vec<Value> = CHANGES.iter().filter_map(|change| change(old)).collect();
    let Some(members) = old.as_object() else { return new };
    for extra in ["stranger", "x-own"] {
        let mut more = members.clone();
        more.insert(extra.to_owned(), json!(1));
        new.push(Value::Object(more));
    }
    for key in members.keys() {
        let mut fewer = members.clone();
        fewer.shift_remove(key);
        new.push(Value::Object(fewer));
    }
    new
}

/// Every `every`-th of the mutants that can be made of `document`.
pub(crate) fn mutants(document: &Value, every: usize) -> Vec<Value> {
    let mut pointers = Vec::new();
    places("", document, &mut pointers);
    let edits = pointers.iter().flat_map(|pointer| {
        let new = changes(document.pointer(pointer).unwrap());
        new.into_iter().map(move |new| (pointer, new))
    });
    let mutant = |(pointer, new): (&String, Value)| with(document.clone(), pointer, Some(new));
    edits.step_by(every).map(mutant).collect()
}
