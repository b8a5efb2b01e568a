//! From a JSON Pointer (RFC 6901) to the line and column of its value.

use std::borrow::Cow;

use serde_json::value::RawValue;

use super::read::Members;

/// Where a value begins in a text; both count from 1, columns in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl Place {
    /// The place of the byte at `offset` of `text`.
    pub(super) fn of_offset(text: &str, offset: usize) -> Self {
        let before = text.get(..offset).unwrap_or(text);
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let column = before[start..].chars().count() + 1;
        Self { line: before.bytes().filter(|byte| *byte == b'\n').count() + 1, column }
    }
}

/// The segments of a JSON Pointer, their `~1` and `~0` undone.
///
/// ```
/// use cupwright::json::segments;
///
/// assert_eq!(segments("/a~1b/0").collect::<Vec<_>>(), ["a/b", "0"]);
/// assert_eq!(segments("").count(), 0);
/// ```
pub fn segments(pointer: &str) -> impl Iterator<Item = Cow<'_, str>> {
    pointer.split('/').skip(1).map(|segment| {
        if segment.contains('~') {
            Cow::Owned(segment.replace("~1", "/").replace("~0", "~"))
        } else {
            Cow::Borrowed(segment)
        }
    })
}

/// `pointer` with one more segment, escaped.
pub fn child(pointer: &str, segment: impl std::fmt::Display) -> String {
    let segment = segment.to_string().replace('~', "~0").replace('/', "~1");
    format!("{pointer}/{segment}")
}

/// Where the value that `pointer` names begins in `text`, or its nearest ancestor that is there.
pub fn place_of(text: &str, pointer: &str) -> Place {
    let mut here: Option<&RawValue> = serde_json::from_str(text).ok();
    let mut offset = here.map_or(0, |raw| offset_in(text, raw));
    for segment in segments(pointer) {
        here = here.and_then(|raw| step(raw, &segment));
        match here {
            Some(raw) => offset = offset_in(text, raw),
            None => break,
        }
    }
    Place::of_offset(text, offset)
}

/// How far into `text` the borrowed value begins.
pub(super) fn offset_in(text: &str, raw: &RawValue) -> usize {
    (raw.get().as_ptr().addr()).saturating_sub(text.as_ptr().addr())
}

/// The member or element of `raw` that `segment` names; of a repeated key the last.
fn step<'a>(raw: &'a RawValue, segment: &str) -> Option<&'a RawValue> {
    match raw.get().as_bytes().first()? {
        b'{' => {
            let Members(members) = serde_json::from_str(raw.get()).ok()?;
            members.into_iter().rev().find(|(key, _)| key == segment).map(|(_, value)| value)
        }
        b'[' => {
            let elements: Vec<&RawValue> = serde_json::from_str(raw.get()).ok()?;
            elements.get(segment.parse::<usize>().ok()?).copied()
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{Place, place_of};

    #[test]
    fn a_pointer_leads_to_the_line_and_column_of_its_value() {
        let text = "{\n  \"é\": [1, {\"b\": 2}],\n  \"x~/y\": true\n}";
        let at = |line, column| Place { line, column };
        assert_eq!(place_of(text, ""), at(1, 1));
        assert_eq!(place_of(text, "/é/1/b"), at(2, 18));
        assert_eq!(place_of(text, "/x~0~1y"), at(3, 11));
        assert_eq!(place_of(text, "/é/7"), at(2, 8), "the nearest ancestor that is there");
    }
}
