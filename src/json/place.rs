//! From a JSON Pointer (RFC 6901) to the line and column of its value.

use std::{
    borrow::Cow,
    collections::{BTreeMap, HashMap},
};

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
    pub fn of_offset(text: &str, offset: usize) -> Self {
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
    let places = places_of(text, &[pointer.to_owned()]);
    places.first().copied().unwrap_or(Place { line: 1, column: 1 })
}

/// Where each of `pointers` leads, in their order; the text is read once for all of them.
pub(super) fn places_of(text: &str, pointers: &[String]) -> Vec<Place> {
    if pointers.is_empty() {
        return Vec::new();
    }
    let mut wanted = Wanted::default();
    for (at, pointer) in pointers.iter().enumerate() {
        let mut here = &mut wanted;
        for segment in segments(pointer) {
            here = here.below.entry(segment.into_owned()).or_default();
        }
        here.of.push(at);
    }
    let mut offsets = vec![(0, 0); pointers.len()];
    let root: Option<&RawValue> = serde_json::from_str(text).ok();
    wanted.find(text, root, 0, &mut offsets);
    for (at, offset) in offsets.iter_mut().enumerate() {
        offset.1 = at;
    }
    offsets.sort_unstable();
    let (mut place, mut from) = (Place { line: 1, column: 1 }, 0);
    let mut places = vec![place; pointers.len()];
    for (offset, at) in offsets {
        for one in text.get(from..offset).unwrap_or_default().chars() {
            if one == '\n' {
                place = Place { line: place.line + 1, column: 1 };
            } else {
                place.column += 1;
            }
        }
        (from, places[at]) = (offset, place);
    }
    places
}

/// Pointers as a tree of their segments.
#[derive(Default)]
struct Wanted {
    /// Positions of the pointers that end here.
    of: Vec<usize>,
    below: BTreeMap<String, Wanted>,
}

impl Wanted {
    /// Notes for each pointer of this tree how far into `text` its value begins, or else the value
    /// around it, which begins at `around`.
    fn find(
        &self,
        text: &str,
        here: Option<&RawValue>,
        around: usize,
        offsets: &mut [(usize, usize)],
    ) {
        let offset = here.map_or(around, |raw| offset_in(text, raw));
        for at in &self.of {
            offsets[*at].0 = offset;
        }
        if self.below.is_empty() {
            return;
        }
        let inside = here.map(Inside::of);
        for (segment, below) in &self.below {
            let next = inside.as_ref().and_then(|inside| inside.at(segment));
            below.find(text, next, offset, offsets);
        }
    }
}

/// What an object or a list holds, taken apart once.
enum Inside<'a> {
    Members(HashMap<Cow<'a, str>, &'a RawValue>),
    Elements(Vec<&'a RawValue>),
    Nothing,
}

impl<'a> Inside<'a> {
    fn of(raw: &'a RawValue) -> Self {
        let text = raw.get();
        match text.as_bytes().first() {
            Some(b'{') => serde_json::from_str(text)
                .map_or(Self::Nothing, |Members(all)| Self::Members(all.into_iter().collect())),
            Some(b'[') => serde_json::from_str(text).map_or(Self::Nothing, Self::Elements),
            _ => Self::Nothing,
        }
    }

    /// The member or element that `segment` names; of a repeated key the last.
    fn at(&self, segment: &str) -> Option<&'a RawValue> {
        match self {
            Self::Members(members) => members.get(segment).copied(),
            Self::Elements(all) => all.get(segment.parse::<usize>().ok()?).copied(),
            Self::Nothing => None,
        }
    }
}

/// How far into `text` the borrowed value begins.
pub(super) fn offset_in(text: &str, raw: &RawValue) -> usize {
    (raw.get().as_ptr().addr()).saturating_sub(text.as_ptr().addr())
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
