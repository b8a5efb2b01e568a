//! JSON Schemas (2020-12) made from the Rust types, and documents judged by them.

use jsonschema::{ValidationError, Validator, error::ValidationErrorKind};
use serde_json::{Map, Value, json};
use utoipa::ToSchema;

use super::complaint::Complaint;

/// The stand-alone JSON Schema of `T`, its parts under `$defs`.
///
/// * `id`: the `$id` of the schema.
/// * `extensions`: whether objects may carry members named `x-…`, which readers keep and ignore.
pub fn schema_of<T: ToSchema>(id: &str, extensions: bool) -> Value {
    let mut parts = Vec::new();
    T::schemas(&mut parts);
    let defs: Map<String, Value> =
        parts.into_iter().map(|(name, part)| (name, json!(part))).collect();
    let mut schema = json!(T::schema());
    schema["$defs"] = Value::Object(defs);
    let mut schema = plain_json_schema(schema, extensions);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["$id"] = json!(id);
    schema["title"] = json!(T::name());
    schema
}

/// Rewrites what OpenAPI says in its own way: references, and unions told apart by a member.
fn plain_json_schema(value: Value, extensions: bool) -> Value {
    match value {
        Value::Object(members) => {
            let mut object: Map<String, Value> = members
                .into_iter()
                .map(|(key, member)| (key, plain_json_schema(member, extensions)))
                .collect();
            if let Some(Value::String(reference)) = object.get_mut("$ref") {
                *reference = reference.replace("#/components/schemas/", "#/$defs/");
            }
            if let Some(discriminator) = object.shift_remove("discriminator") {
                object.shift_remove("oneOf");
                object.extend(told_apart(&discriminator));
            }
            if let Some(present) = unless_null(&object) {
                object.shift_remove("oneOf");
                object.insert("if".to_owned(), json!({ "not": { "type": "null" } }));
                object.insert("then".to_owned(), present);
            }
            if object.get("format") == Some(&json!("int32")) {
                object.entry("minimum").or_insert_with(|| json!(i32::MIN));
                object.entry("maximum").or_insert_with(|| json!(i32::MAX));
            }
            if extensions && object.get("additionalProperties") == Some(&json!(false)) {
                object.insert("patternProperties".to_owned(), json!({ "^x-": true }));
            }
            Value::Object(object)
        }
        Value::Array(elements) => {
            elements.into_iter().map(|element| plain_json_schema(element, extensions)).collect()
        }
        scalar @ (Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_)) => scalar,
    }
}

/// What a union of a schema with null asks of a value that is there; as an `if`/`then`, a fault
/// inside such a value is told in its own place, and not as one of the whole union.
fn unless_null(object: &Map<String, Value>) -> Option<Value> {
    match object.get("oneOf")?.as_array()?.as_slice() {
        [present, null] if *null == json!({ "type": "null" }) => Some(present.clone()),
        _ => None,
    }
}

/// A union as one `if`/`then` per value of its telling member, so that faults are told one by one.
fn told_apart(discriminator: &Value) -> Map<String, Value> {
    let property = &discriminator["propertyName"];
    let name = property.as_str().unwrap_or_default();
    let mapping = discriminator["mapping"].as_object();
    let rows = || mapping.into_iter().flatten();
    let branches: Vec<Value> = rows()
        .map(|(value, reference)| {
            let reference = reference.as_str().unwrap_or_default();
            let reference = reference.replace("#/components/schemas/", "#/$defs/");
            json!({
                "if": { "properties": { name: { "const": value } }, "required": [name] },
                "then": { "$ref": reference },
            })
        })
        .collect();
    let values: Vec<&String> = rows().map(|(value, _)| value).collect();
    let mut union = Map::new();
    union.insert("type".to_owned(), json!("object"));
    union.insert("required".to_owned(), json!([name]));
    union.insert("properties".to_owned(), json!({ name: { "enum": values } }));
    union.insert("allOf".to_owned(), Value::Array(branches));
    union
}

/// A compiled schema that tells every fault of a value.
pub struct SchemaCheck {
    schema: Value,
    validator: Validator,
    extensions: bool,
}

impl SchemaCheck {
    /// Compiles the schema of `T`.
    ///
    /// # Panics
    /// If a schema made from our own types is not a schema: a fault in the program, seen by tests.
    pub fn of<T: ToSchema>(extensions: bool) -> Self {
        let schema = schema_of::<T>(&format!("urn:cupwright:{}", T::name()), extensions);
        #[expect(clippy::expect_used, reason = "the schema is made from our own types")]
        let validator = jsonschema::draft202012::new(&schema).expect("our own schema compiles");
        Self { schema, validator, extensions }
    }

    /// Whether `value` follows the schema; unlike its complaints, this costs little however wrong it is.
    pub fn is_followed_by(&self, value: &Value) -> bool {
        self.validator.is_valid(value)
    }

    /// Every fault of `value`; empty if it follows the schema.
    pub fn complaints(&self, value: &Value) -> Vec<Complaint> {
        self.validator.iter_errors(value).flat_map(|fault| self.tell(&fault)).collect()
    }

    /// What the schema says of the value whose keyword failed, such as "An id in kebab-case".
    fn described(&self, fault: &ValidationError<'_>) -> Option<&str> {
        let path = fault.schema_path().to_string();
        let (mut here, mut around) = (&self.schema, &self.schema);
        for segment in super::segments(&path) {
            around = here;
            here = if segment == "$ref" {
                let reference = here["$ref"].as_str()?;
                self.schema.pointer(reference.strip_prefix('#')?)?
            } else if let Some(at) = here.as_array().and(segment.parse::<usize>().ok()) {
                here.get(at)?
            } else {
                here.get(&*segment)?
            };
        }
        around["description"].as_str().map(|text| text.trim_end_matches('.'))
    }

    /// One or more complaints for a fault: several unknown members are several complaints.
    fn tell(&self, fault: &ValidationError<'_>) -> Vec<Complaint> {
        let at = fault.instance_path().to_string();
        let one =
            |expected: String| vec![Complaint::at(at.clone(), shown(fault.instance()), expected)];
        #[expect(
            clippy::wildcard_enum_match_arm,
            reason = "the library's own sentence serves the rest"
        )]
        match fault.kind() {
            ValidationErrorKind::AdditionalProperties { unexpected } => unexpected
                .iter()
                .map(|name| {
                    let expected = if self.extensions {
                        "no such field here (a field of your own is named `x-…`)"
                    } else {
                        "no such field here"
                    };
                    Complaint::at(super::child(&at, name), format!("the field `{name}`"), expected)
                })
                .collect(),
            ValidationErrorKind::Required { property } => {
                let name = property.as_str().unwrap_or_default();
                let found = format!("no field `{name}`");
                vec![Complaint::at(at, found, format!("the field `{name}`, which is required"))]
            }
            ValidationErrorKind::Minimum { limit } => one(format!("a number of at least {limit}")),
            ValidationErrorKind::Maximum { limit } => one(format!("a number of at most {limit}")),
            ValidationErrorKind::MinItems { limit } => one(format!("at least {limit} elements")),
            ValidationErrorKind::MaxItems { limit } => one(format!("at most {limit} elements")),
            ValidationErrorKind::MinLength { limit } => one(format!("at least {limit} characters")),
            ValidationErrorKind::MaxLength { limit } => one(format!("at most {limit} characters")),
            ValidationErrorKind::Pattern { pattern } => one(match self.described(fault) {
                Some(about) => format!("a text like `{pattern}`: {about}"),
                None => format!("a text like `{pattern}`"),
            }),
            ValidationErrorKind::Enum { options } => one(format!("one of {options}")),
            ValidationErrorKind::Constant { expected_value } => one(expected_value.to_string()),
            ValidationErrorKind::Type { kind } => one(kind_named(kind)),
            ValidationErrorKind::FalseSchema => one("nothing here".to_owned()),
            _ => one(fault.to_string()),
        }
    }
}

/// The wanted JSON type in words.
fn kind_named(kind: &jsonschema::error::TypeKind) -> String {
    match kind {
        jsonschema::error::TypeKind::Single(one) => format!("a value of type {one}"),
        jsonschema::error::TypeKind::Multiple(several) => {
            let names: Vec<String> = several.iter().map(|one| one.to_string()).collect();
            format!("a value of type {}", names.join(" or "))
        }
    }
}

/// A value as it is quoted in a complaint: whole if short, else its beginning.
fn shown(value: &Value) -> String {
    super::complaint::shortened(&value.to_string())
}
