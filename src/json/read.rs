//! Reading a JSON text within limits: syntax, repeated keys, depth and decimal places.

use std::{borrow::Cow, fmt};

use serde::{
    Deserialize, Deserializer,
    de::{DeserializeOwned, MapAccess, Visitor},
};
use serde_json::{Map, Value, value::RawValue};

use super::{
    Digest,
    complaint::{Complaint, Complaints, shortened},
    place::{Place, child, offset_in},
    schema::SchemaCheck,
};
use crate::units::decimal_places;

/// How large a document may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most bytes of text.
    pub bytes: usize,
    /// Most levels of nesting.
    pub depth: usize,
    /// Most values, those within others counted: a value takes many times the memory of its text.
    pub values: usize,
}

impl Limits {
    /// For books and site sheets: 16 MiB and 32 levels; a book of 2,000 drinks takes about 6 MiB.
    pub const DOCUMENT: Self = Self { bytes: 16 << 20, depth: 32, values: 4_000_000 };
    /// For a ticket, or any other body: 1 MiB, 12 levels and 100,000 values; a ticket itself needs 5
    /// levels, and the largest mix 60,000 values.
    pub const TICKET: Self = Self { bytes: 1 << 20, depth: 12, values: 100_000 };
}

/// The members of an object in the order of the text, repeated keys included.
pub(super) struct Members<'a>(pub(super) Vec<(Cow<'a, str>, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Members<'a> {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Collect;
        impl<'de> Visitor<'de> for Collect {
            type Value = Members<'de>;

            fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                out.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut members = Vec::new();
                while let Some(key) = map.next_key::<Key<'de>>()? {
                    members.push((key.0, map.next_value()?));
                }
                Ok(Members(members))
            }
        }
        input.deserialize_map(Collect)
    }
}

/// A key, borrowed from the text unless it holds escapes.
#[derive(Deserialize)]
struct Key<'a>(#[serde(borrow)] Cow<'a, str>);

/// A document as read: its value, and the faults that the value alone cannot show any more.
#[derive(Debug)]
pub struct Read {
    /// The value; of a repeated key the last.
    pub value: Value,
    /// Repeated keys and decimals that no quantity can hold.
    pub complaints: Vec<Complaint>,
}

/// Reads `text` as JSON.
///
/// * Errors: a text over the limits, or one that is not JSON, has one complaint and no value.
pub fn read(text: &str, limits: Limits) -> Result<Read, Complaint> {
    let whole = |place, found: String, expected: String| Complaint {
        pointer: String::new(),
        place: Some(place),
        found,
        expected,
    };
    let start = Place { line: 1, column: 1 };
    if text.len() > limits.bytes {
        let found = format!("{} bytes", text.len());
        return Err(whole(start, found, format!("at most {} bytes", limits.bytes)));
    }
    let root: &RawValue = serde_json::from_str(text).map_err(|fault| {
        let place = Place { line: fault.line().max(1), column: fault.column().max(1) };
        whole(place, said_of(&fault), "a JSON text (RFC 8259)".to_owned())
    })?;
    let mut reader = Reader { text, limits, seen: 0, complaints: Vec::new() };
    let value = reader.value(root, "", 1)?;
    Ok(Read { value, complaints: reader.complaints })
}

/// What the library says of a fault, without its place, as what was found.
fn said_of(fault: &serde_json::Error) -> String {
    let message = fault.to_string();
    let message = message.split(" at line ").next().unwrap_or(&message);
    // Whoever reads it has `found` before it.
    match message.strip_prefix("expected ") {
        Some(missing) => format!("no {missing}"),
        None => message.replace(" found while parsing a string", " within a string"),
    }
}

/// Most faults that are told of one text; whoever wrote it mends these first.
const MOST: usize = 200;
/// Longest key, in bytes; pointers repeat it, so that a longer one would cost its square.
const LONGEST_KEY: usize = 1_024;

/// Walks the text once more for what a parsed value no longer shows.
struct Reader<'a> {
    text: &'a str,
    limits: Limits,
    /// Values so far.
    seen: usize,
    complaints: Vec<Complaint>,
}

impl<'a> Reader<'a> {
    fn value(&mut self, raw: &'a RawValue, at: &str, depth: usize) -> Result<Value, Complaint> {
        self.seen += 1;
        if self.seen > self.limits.values {
            let most = self.limits.values;
            let found = format!("more than {most} values");
            return Err(self.complaint(raw, at, found, format!("at most {most} in all")));
        }
        let opening = raw.get().as_bytes().first().copied();
        if depth > self.limits.depth && matches!(opening, Some(b'{' | b'[')) {
            let expected = format!("at most {}", self.limits.depth);
            return Err(self.complaint(raw, at, format!("nesting {depth} levels deep"), expected));
        }
        match opening {
            Some(b'{') => self.object(raw, at, depth),
            Some(b'[') => {
                let elements: Vec<&RawValue> =
                    serde_json::from_str(raw.get()).map_err(|fault| self.odd(raw, at, &fault))?;
                let values = elements.iter().enumerate();
                values.map(|(n, element)| self.value(element, &child(at, n), depth + 1)).collect()
            }
            _ => self.scalar(raw, at),
        }
    }

    fn object(&mut self, raw: &'a RawValue, at: &str, depth: usize) -> Result<Value, Complaint> {
        let Members(members) =
            serde_json::from_str(raw.get()).map_err(|fault| self.odd(raw, at, &fault))?;
        let mut object = Map::new();
        for (key, member) in members {
            if key.len() > LONGEST_KEY {
                let expected = format!("at most {LONGEST_KEY} bytes");
                return Err(self.complaint(
                    raw,
                    at,
                    format!("a key of {} bytes", key.len()),
                    expected,
                ));
            }
            let here = child(at, &key);
            let value = self.value(member, &here, depth + 1)?;
            if self.complaints.len() < MOST && object.contains_key(&*key) {
                let found = format!("the key `{key}` a second time");
                let again = self.complaint(member, &here, found, "each key once".to_owned());
                self.complaints.push(again);
            }
            object.insert(key.into_owned(), value);
        }
        Ok(Value::Object(object))
    }

    fn scalar(&mut self, raw: &RawValue, at: &str) -> Result<Value, Complaint> {
        let text = raw.get();
        if text.starts_with(|first: char| first == '-' || first.is_ascii_digit()) {
            let places = decimal_places(text);
            if places > 3 && self.complaints.len() < MOST {
                let expected = "a number with at most three decimal places".to_owned();
                let many = self.complaint(raw, at, shortened(text), expected);
                self.complaints.push(many);
            }
        }
        serde_json::from_str(text).map(whole).map_err(|fault| self.odd(raw, at, &fault))
    }

    /// A value the library refuses although its syntax is JSON, such as a lone surrogate or `1e999`.
    fn odd(&self, raw: &RawValue, at: &str, fault: &serde_json::Error) -> Complaint {
        self.complaint(raw, at, said_of(fault), "a JSON value that can be held".to_owned())
    }

    fn complaint(&self, raw: &RawValue, at: &str, found: String, expected: String) -> Complaint {
        let place = Some(Place::of_offset(self.text, offset_in(self.text, raw)));
        Complaint { pointer: at.to_owned(), place, found, expected }
    }
}

/// A whole number however it is written: `1.0` and `1e0` are `1`, as JSON Schema has it.
#[expect(
    clippy::cast_possible_truncation,
    reason = "whole, and of a size that floats hold exactly"
)]
fn whole(value: Value) -> Value {
    const EXACT: f64 = 9_007_199_254_740_992.0;
    match value.as_f64() {
        Some(number) if value.is_f64() && number.fract() == 0.0 && number.abs() <= EXACT => {
            Value::from(number as i64)
        }
        _ => value,
    }
}

/// The newest contract that this program reads, as documents state it in `min_reader`.
const READER: &str = "0.1.0";

/// The complaint about a document that only a newer program can read.
///
/// * `min_reader`: the oldest contract that can read it, as the document says.
pub fn newer(min_reader: Option<&str>) -> Option<Complaint> {
    let version = |text: &str| semver::Version::parse(text).ok();
    let wanted = min_reader.and_then(version)?;
    let ours = version(READER)?;
    let expected = format!("at most {READER}; a newer program reads this");
    (wanted > ours).then(|| Complaint::at("/min_reader", wanted.to_string(), expected))
}

/// A document as it was read, with every fault of its structure.
#[derive(Debug)]
pub struct Structure {
    /// Digest of the document as written.
    pub digest: Digest,
    /// Its value without `x-…` members.
    pub value: Value,
    /// Repeated keys, decimals, and faults against the schema.
    pub complaints: Vec<Complaint>,
}

/// Reads `text` and judges its structure by `schema`; every complaint at once.
///
/// * Errors: the one complaint about a text that is not JSON, is over the limits, or has faults and
///   is for a newer program.
pub fn read_structure(
    text: &str,
    limits: Limits,
    schema: &SchemaCheck,
) -> Result<Structure, Complaint> {
    let Read { value, mut complaints } = read(text, limits)?;
    let digest = Digest::of(&value);
    let value = without_extensions(value);
    complaints.extend(schema.complaints(&value));
    if !complaints.is_empty()
        && let Some(newer) = newer(value["min_reader"].as_str())
    {
        // A newer document has fields that only look wrong: say the one thing that helps.
        return Err(newer);
    }
    Ok(Structure { digest, value, complaints })
}

/// Why a request's text is not what was expected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unread {
    /// It is not JSON, or over the limits.
    NotJson(Complaint),
    /// It is JSON, but not of the expected structure.
    Wrong(Vec<Complaint>),
}

/// Reads `text` as a `T` whose structure `schema` states, without any member of its own.
///
/// * Errors: the fault of the syntax, or every fault of the structure with its place.
pub fn read_request<T: DeserializeOwned>(
    text: &str,
    limits: Limits,
    schema: &SchemaCheck,
) -> Result<T, Unread> {
    let Read { value, mut complaints } = read(text, limits).map_err(Unread::NotJson)?;
    let mut value = value;
    complaints.extend(complaints_of_request(&mut value, schema));
    let placed = |all| Unread::Wrong(Complaints::placed("", text, all).all);
    if !complaints.is_empty() {
        return Err(placed(complaints));
    }
    T::deserialize(value)
        .map_err(|fault| placed(vec![Complaint::at("", fault.to_string(), "the published schema")]))
}

/// Values that a body may have before only the beginnings of its lists are judged: a fault takes a
/// thousand times the memory of the value that has it.
const CLOSELY: usize = 8_000;
/// Elements of each list of a larger body that are judged.
const BEGINNING: usize = 60;

/// The faults of a request's body; of a very large one that is wrong, those at the beginnings of its
/// lists.
///
/// Nobody reads it any further then, so it is cut down in place.
fn complaints_of_request(value: &mut Value, schema: &SchemaCheck) -> Vec<Complaint> {
    if count(value) <= CLOSELY {
        return schema.complaints(value);
    }
    if schema.is_followed_by(value) {
        return Vec::new();
    }
    let mut complaints = Vec::new();
    shorten(value, "", &mut complaints);
    complaints.truncate(BEGINNING);
    let judged = schema.complaints(value);
    if judged.is_empty() {
        let expected = "a shorter body, so that the fault can be named";
        complaints.push(Complaint::at("", "a fault further back in a list", expected));
    }
    complaints.extend(judged);
    complaints
}

/// How many values there are, those within others counted.
fn count(value: &Value) -> usize {
    match value {
        Value::Array(elements) => 1 + elements.iter().map(count).sum::<usize>(),
        Value::Object(members) => 1 + members.values().map(count).sum::<usize>(),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => 1,
    }
}

/// Cuts each list down to its beginning, and complains about those longer than any list may be.
fn shorten(value: &mut Value, here: &str, complaints: &mut Vec<Complaint>) {
    /// The longest list of any request.
    const LONGEST: usize = 500;
    match value {
        Value::Array(elements) => {
            if elements.len() > LONGEST {
                let found = format!("{} elements", elements.len());
                let expected = format!("at most {LONGEST}, and fewer in most lists");
                complaints.push(Complaint::at(here, found, expected));
            }
            elements.truncate(BEGINNING);
            for (at, element) in elements.iter_mut().enumerate() {
                shorten(element, &format!("{here}/{at}"), complaints);
            }
        }
        Value::Object(members) => {
            for (name, member) in members {
                shorten(member, &super::child(here, name), complaints);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// The value without the members that readers keep and ignore, those whose names begin `x-`.
fn without_extensions(value: Value) -> Value {
    match value {
        Value::Object(members) => Value::Object(
            members
                .into_iter()
                .filter(|(key, _)| !key.starts_with("x-"))
                .map(|(key, member)| (key, without_extensions(member)))
                .collect(),
        ),
        Value::Array(elements) => {
            Value::Array(elements.into_iter().map(without_extensions).collect())
        }
        scalar @ (Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_)) => scalar,
    }
}
