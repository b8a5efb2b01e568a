//! One value as the text of a cell, and back.
//!
//! - An empty cell is a field that is not there. `""`, `[]`, `{}` and `null` are the empty text, the
//!   empty list, the empty object and null.
//! - A text stands as it is. An apostrophe before it says that it is a text and nothing else, and is
//!   no part of it: so stand texts that a spreadsheet would run as a formula or turn into a date,
//!   and texts that would read as something else here, among them those that begin with an
//!   apostrophe of their own.
//! - A list of plain words stands as `one; two`, and anything deeper as compact JSON.

use serde_json::{Number, Value};

use super::shape::{Kind, Shape};

/// Between the words of a list.
const JOINT: &str = "; ";

/// The cell for `value` at a place of the given shape; reading it there gives the value again.
pub(super) fn write(value: &Value, shape: &Shape<'_>) -> String {
    let as_read = |cell: &str| read(cell, shape).is_ok_and(|read| read.as_ref() == Some(value));
    match value {
        Value::String(text) if shape.holds(Kind::Text) => {
            if text.is_empty() {
                return "\"\"".to_owned();
            }
            if is_run(text) || is_day(text) || !as_read(text) {
                return format!("'{text}");
            }
            text.clone()
        }
        Value::Array(elements) if shape.lists_words() => {
            let words: Vec<&str> = elements.iter().filter_map(Value::as_str).collect();
            let joined = words.join(JOINT);
            let plain = !words.iter().any(|word| is_run(word) || word.contains(char::is_control));
            if plain && !is_day(&joined) && as_read(&joined) { joined } else { value.to_string() }
        }
        Value::Null
        | Value::Bool(_)
        | Value::Number(_)
        | Value::String(_)
        | Value::Array(_)
        | Value::Object(_) => value.to_string(),
    }
}

/// The value that `cell` says at a place of the given shape; `None` for an empty cell.
///
/// * Errors: what may stand in such a cell.
pub(super) fn read(cell: &str, shape: &Shape<'_>) -> Result<Option<Value>, String> {
    if cell.is_empty() {
        return Ok(None);
    }
    let cell = match cell.strip_prefix('\'') {
        Some(text) if shape.holds(Kind::Text) => return Ok(Some(Value::from(text))),
        Some(rest) => rest,
        None => cell,
    };
    let trimmed = cell.trim();
    if trimmed.is_empty() && !shape.holds(Kind::Text) {
        return Ok(None);
    }
    if let Some(value) = scalar(trimmed, shape) {
        return Ok(Some(value));
    }
    if trimmed.starts_with(['[', '{']) && !only_text(shape) {
        let value = serde_json::from_str(trimmed).ok().filter(|value| fits(value, shape));
        return value.map(Some).ok_or_else(|| expected(trimmed, shape));
    }
    if shape.holds(Kind::Any) {
        return serde_json::from_str(trimmed).map(Some).map_err(|_| expected(trimmed, shape));
    }
    if shape.holds(Kind::Text) {
        return Ok(Some(Value::from(if cell == "\"\"" { "" } else { cell })));
    }
    if shape.lists_words() {
        let words: Vec<&str> = trimmed.split(JOINT.trim()).map(str::trim).collect();
        if !words.contains(&"") {
            return Ok(Some(words.into()));
        }
    }
    Err(expected(trimmed, shape))
}

/// Null, a truth or a number, if that is what the cell says and the place may hold.
fn scalar(cell: &str, shape: &Shape<'_>) -> Option<Value> {
    if cell == "null" && shape.holds(Kind::Null) {
        return Some(Value::Null);
    }
    if shape.holds(Kind::Truth) {
        // Spreadsheets write them in capitals.
        for (word, truth) in [("true", true), ("false", false)] {
            if cell.eq_ignore_ascii_case(word) {
                return Some(Value::from(truth));
            }
        }
    }
    if shape.holds(Kind::Number) || shape.holds(Kind::Whole) {
        return serde_json::from_str::<Number>(cell).ok().map(Value::Number);
    }
    None
}

/// Whether the place holds texts and no list, object or other JSON.
fn only_text(shape: &Shape<'_>) -> bool {
    shape.holds(Kind::Text)
        && ![Kind::List, Kind::Object, Kind::Any].iter().any(|kind| shape.holds(*kind))
}

/// Whether a list or an object written as JSON may stand in one cell of this shape: an object whose
/// fields have columns of their own only without any.
fn fits(value: &Value, shape: &Shape<'_>) -> bool {
    let kind = if value.is_array() { Kind::List } else { Kind::Object };
    let empty = value.as_object().is_none_or(serde_json::Map::is_empty);
    shape.holds(Kind::Any) || (shape.holds(kind) && (empty || !shape.has_fields()))
}

/// Whether a spreadsheet would run the text as a formula.
fn is_run(text: &str) -> bool {
    const FIRST: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
    text.starts_with(char::is_control) || text.trim_start().starts_with(FIRST)
}

/// Whether a spreadsheet would turn the text into a day, as `11-15` or `1/2`.
fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.trim().split(['-', '/']).collect();
    let number = |part: &&str| {
        (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
    };
    (2..=3).contains(&parts.len()) && parts.iter().all(number)
}

/// What may stand in a cell of this shape, in words.
fn expected(cell: &str, shape: &Shape<'_>) -> String {
    let point =
        cell.contains(',') && serde_json::from_str::<Number>(&cell.replace(',', ".")).is_ok();
    let say = |kind: Kind| match kind {
        Kind::Text => "a text",
        Kind::Whole | Kind::Number if point => "a number with a point, such as 12.5",
        Kind::Whole => "a whole number",
        Kind::Number => "a number such as 12.5",
        Kind::Truth => "true or false",
        Kind::List if shape.lists_words() => "words joined by `; `, or a JSON list of texts",
        Kind::List => "a list as JSON",
        Kind::Object if shape.has_fields() => "`{}`, since its fields have columns of their own",
        Kind::Object => "an object as JSON",
        Kind::Null => "null",
        Kind::Any => "a JSON value, a text in double quotes",
    };
    let words: Vec<&str> = shape.kinds().map(say).collect();
    words.join(", or ")
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::{read, write};
    use crate::tables::shape::Shape;

    #[track_caller]
    fn holds(schema: &Value, value: &Value, cell: &str) {
        let shape = Shape::of(schema);
        assert_eq!(write(value, &shape), cell);
        assert_eq!(read(cell, &shape), Ok(Some(value.clone())), "`{cell}`");
    }

    #[test]
    fn each_value_has_its_cell_and_each_cell_its_value() {
        let text = json!({"type": "string"});
        holds(&text, &json!("plain"), "plain");
        holds(&text, &json!(""), "\"\"");
        holds(&text, &json!("\"\""), "'\"\"");
        holds(&text, &json!("=1+1"), "'=1+1");
        holds(&text, &json!(" -1"), "' -1");
        holds(&text, &json!("'tis"), "''tis");
        holds(&text, &json!("11-15"), "'11-15");
        holds(&text, &json!("3.10"), "3.10");
        holds(&text, &json!("[x"), "[x");
        let either = json!({"type": ["string", "number"]});
        holds(&either, &json!(55), "55");
        holds(&either, &json!("55"), "'55");
        holds(&json!({"type": "number"}), &json!(-6.5), "-6.5");
        holds(&json!({"type": ["string", "null"]}), &json!("null"), "'null");
        holds(&json!({"type": ["string", "null"]}), &Value::Null, "null");
        let words = json!({"type": "array", "items": {"type": "string"}});
        holds(&words, &json!([]), "[]");
        holds(&words, &json!(["a", "b c"]), "a; b c");
        holds(&words, &json!(["a;b"]), "[\"a;b\"]");
        holds(&words, &json!(["", " a"]), "[\"\",\" a\"]");
        holds(&words, &json!(["=a"]), "[\"=a\"]");
        holds(&words, &json!(["'a"]), "[\"'a\"]");
        holds(&json!(true), &json!({"a": ["=b"]}), "{\"a\":[\"=b\"]}");
        holds(&json!(true), &json!("12"), "\"12\"");
    }

    #[test]
    fn a_cell_that_says_nothing_right_is_told_what_may_stand_there() {
        let told = |schema: Value, cell: &str| read(cell, &Shape::of(&schema)).unwrap_err();
        assert_eq!(told(json!({"type": "number"}), "much"), "a number such as 12.5");
        assert_eq!(told(json!({"type": "number"}), "1,5"), "a number with a point, such as 12.5");
        assert_eq!(told(json!({"type": "boolean"}), "yes"), "true or false");
        let words = json!({"type": "array", "items": {"type": "string"}});
        assert_eq!(told(words, "a;;b"), "words joined by `; `, or a JSON list of texts");
        assert_eq!(told(json!(true), "plain"), "a JSON value, a text in double quotes");
        let object = json!({"type": "object", "properties": {"a": {"type": "string"}}});
        let only = "`{}`, since its fields have columns of their own";
        assert_eq!(told(object, "{\"a\":\"b\"}"), only);
        assert_eq!(read("TRUE", &Shape::of(&json!({"type": "boolean"}))), Ok(Some(json!(true))));
        assert_eq!(read("'12", &Shape::of(&json!({"type": "integer"}))), Ok(Some(json!(12))));
    }
}
