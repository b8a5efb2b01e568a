//! Worked examples: lines with what must come out of them, which travel with the book.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

use super::id::Id;
use crate::units::Figure;

/// A line and what must come out of it at the book's training bar.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Example {
    /// What it shows.
    #[schema(max_length = 200)]
    pub about: String,
    /// The line.
    pub line: ExampleLine,
    /// What must come out: `verdict` (an accepted line if not given), and JSON Pointers into the
    /// build, or into the whole answer line where it is not accepted.
    #[schema(value_type = BTreeMap<String, Value>)]
    pub expect: BTreeMap<String, Expected>,
}

/// The line of an example.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExampleLine {
    /// Drink, by id.
    #[schema(max_length = 64)]
    pub drink: String,
    /// Modifiers.
    #[serde(default)]
    #[schema(max_items = 32)]
    pub modifiers: Vec<ExampleModifier>,
    /// What has been confirmed.
    #[serde(default)]
    pub confirmed: Vec<Id>,
}

/// A modifier of an example's line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExampleModifier {
    /// Modifier, by id.
    #[schema(max_length = 64)]
    pub id: String,
    /// Value of a slot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<ExampleValue>,
    /// Number of a counter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = -99, maximum = 99)]
    pub count: Option<i32>,
}

/// A value of a slot: an id, or a number where the slot takes one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum ExampleValue {
    /// By id.
    Id(Id),
    /// A number, in the unit of the slot.
    Number(Figure),
}

impl ToSchema for ExampleValue {}

impl PartialSchema for ExampleValue {
    fn schema() -> RefOr<Schema> {
        // The bounds of a text and of a number stand side by side: each binds its own type.
        ObjectBuilder::new()
            .schema_type(SchemaType::from_iter([Type::String, Type::Number]))
            .max_length(Some(64))
            .minimum(Some(Figure::LOW))
            .maximum(Some(Figure::HIGH))
            .description(Some("A value of the slot, by id, or a number in the slot's unit."))
            .into()
    }
}

/// What must stand at a place: a number within a tolerance, or exactly this value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(untagged)]
pub enum Expected {
    /// A number, give or take.
    Near(Near),
    /// Exactly this.
    Exact(Value),
}

/// A number, give or take.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Near {
    /// The number.
    pub value: f64,
    /// How far off it may be, either way.
    pub tolerance: f64,
}

/// A verdict, as documents write it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum VerdictName {
    /// It can be made as asked.
    Accept,
    /// It needs an answer first.
    Ask,
    /// It cannot be made.
    Refuse,
}
