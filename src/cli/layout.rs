//! Laying out text for a screen: counted nouns, hanging paragraphs, and JSON that is short and wide.

use anstream::adapter::strip_str;
use serde_json::Value;

/// Columns that a line may take.
pub(super) const COLUMNS: usize = 100;

/// A number with its noun: `1 field`, `2 fields`; `many` where an s is not enough.
pub(super) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Writes `text` after `head`, broken between words; every further line begins under the first.
///
/// A number and the word behind it, such as its unit, stay together. Marks of colour take no room.
pub(super) fn hang(out: &mut String, head: &str, text: &str) {
    let indent = width(head);
    let mut column = indent;
    out.push_str(head);
    for (at, word) in words(text.trim_end()).iter().enumerate() {
        let gap = usize::from(at > 0);
        if at > 0 && column + gap + width(word) > COLUMNS {
            out.truncate(out.trim_end().len());
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else {
            out.push_str(&" ".repeat(gap));
            column += gap;
        }
        out.push_str(word);
        column += width(word);
    }
    out.push('\n');
}

/// The words of `text`, each number joined to the word behind it.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match words.last_mut() {
            Some(last) if last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn width(text: &str) -> usize {
    strip_str(text).map(|part| part.chars().count()).sum()
}

/// `value` as JSON that keeps whatever fits into a line on one line.
pub(super) fn json(value: &Value) -> String {
    let mut out = String::new();
    write(&mut out, value, 0, 0);
    out
}

/// * `depth`: levels around `value`; `taken`: columns of its line that are taken already.
fn write(out: &mut String, value: &Value, depth: usize, taken: usize) {
    let flat = flat(value);
    // One column is left for the comma.
    if taken + flat.chars().count() < COLUMNS {
        out.push_str(&flat);
        return;
    }
    let (open, close, members): (_, _, Vec<(String, &Value)>) = match value {
        Value::Object(members) => {
            let members = members.iter();
            ('{', '}', members.map(|(name, one)| (format!("{}: ", quoted(name)), one)).collect())
        }
        Value::Array(elements) => {
            ('[', ']', elements.iter().map(|one| (String::new(), one)).collect())
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {
            out.push_str(&flat);
            return;
        }
    };
    let indent = "  ".repeat(depth + 1);
    out.push(open);
    for (at, (name, member)) in members.iter().enumerate() {
        out.push_str(if at == 0 { "\n" } else { ",\n" });
        out.push_str(&indent);
        out.push_str(name);
        write(out, member, depth + 1, indent.len() + name.chars().count());
    }
    out.push('\n');
    out.push_str(&"  ".repeat(depth));
    out.push(close);
}

/// `value` on one line, with room after commas and colons.
fn flat(value: &Value) -> String {
    match value {
        Value::Object(members) => {
            let members = members.iter();
            let members = members.map(|(name, one)| format!("{}: {}", quoted(name), flat(one)));
            format!("{{{}}}", members.collect::<Vec<_>>().join(", "))
        }
        Value::Array(elements) => {
            format!("[{}]", elements.iter().map(flat).collect::<Vec<_>>().join(", "))
        }
        scalar @ (Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_)) => {
            scalar.to_string()
        }
    }
}

fn quoted(name: &str) -> String {
    Value::from(name).to_string()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{COLUMNS, counted, hang, json};

    #[test]
    fn one_is_one_and_more_are_many() {
        assert_eq!(counted(1, "half", "halves"), "1 half");
        assert_eq!(counted(2, "half", "halves"), "2 halves");
    }

    #[test]
    fn a_long_text_hangs_under_its_first_word_and_keeps_numbers_with_their_units() {
        let mut out = String::new();
        hang(&mut out, "\u{1b}[1m 1 cold\u{1b}[0m  ", &"pour 180 mL ".repeat(20));
        let lines: Vec<&str> = out.lines().collect();
        assert!(lines.len() > 1);
        for line in &lines[1..] {
            let indent = line.len() - line.trim_start().len();
            assert_eq!(indent, "_1 cold__".len(), "`{line}`");
            assert!(line.len() <= COLUMNS && !line.ends_with(' '), "`{line}`");
        }
        assert_eq!(out.matches("180 mL").count(), 20, "no number is parted from its unit");
    }

    #[test]
    fn json_on_many_lines_is_the_same_value_in_the_same_order() {
        let long = "x".repeat(80);
        let value = json!({"b": [], "a": {"long": long, "list": [1, "two \"2\"", null]}, "c": {}});
        let text = json(&value);
        assert_eq!(serde_json::from_str::<serde_json::Value>(&text).ok(), Some(value));
        assert!(text.starts_with("{\n  \"b\": [],\n  \"a\": {\n    \"long\": "), "{text}");
        assert!(text.contains("    \"list\": [1, \"two \\\"2\\\"\", null]\n"), "{text}");
    }
}
