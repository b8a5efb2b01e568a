//! The request: a ticket with its lines.

use std::fmt;

use serde::{
    Deserialize, Deserializer, Serialize,
    de::{self, IntoDeserializer as _, Visitor},
};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

use crate::{
    engine::{Given, Line, What},
    json::{maybe_object, objects},
    units::Figure,
};

/// One order at one site.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Ticket {
    /// The site, by id.
    #[schema(max_length = 64, examples("bookshop"))]
    pub site: String,
    /// Digests that must be in force, else the answer is 409.
    #[serde(default, deserialize_with = "maybe_object", skip_serializing_if = "Option::is_none")]
    pub pin: Option<Pin>,
    /// Language of every text in the answer; the site's first if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 35, examples("en"))]
    pub lang: Option<String>,
    /// Ingredients that this till knows are gone, by id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 200)]
    pub out_of_stock: Vec<String>,
    /// What identifies the order to people; it changes no build.
    #[serde(default, deserialize_with = "maybe_object", skip_serializing_if = "Option::is_none")]
    pub order: Option<OrderInfo>,
    /// The lines, each one drink.
    #[serde(deserialize_with = "objects")]
    #[schema(min_items = 1, max_items = 100)]
    pub lines: Vec<TicketLine>,
}

/// Digests that a ticket was made for.
#[derive(Clone, Debug, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Pin {
    /// Digest or version of the book.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 80)]
    pub book: Option<String>,
    /// Digest of the recall overlay.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 80)]
    pub overlay: Option<String>,
    /// Digest of the site's sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 80)]
    pub site: Option<String>,
}

/// What identifies an order to people.
#[derive(Clone, Debug, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderInfo {
    /// Reference on the ticket.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 32)]
    pub r#ref: Option<String>,
    /// First name, for the sticker. It is kept nowhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 40)]
    pub name: Option<String>,
    /// When it was ordered (RFC 3339); seasons are judged by it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 40, examples("2026-11-25T14:05:00+01:00"))]
    pub at: Option<String>,
}

/// One drink of an order with its modifiers.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TicketLine {
    /// Id of the line, once in the ticket.
    #[schema(min_length = 1, max_length = 64, examples("1"))]
    pub line: String,
    /// The drink, by id; left out where `codes` name it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    #[schema(min_length = 1, max_length = 64, examples("latte"))]
    pub drink: String,
    /// How many; a build is for one.
    #[serde(default = "one")]
    #[schema(minimum = 1, maximum = 99, default = 1)]
    pub quantity: u32,
    /// Modifiers, in any order.
    #[serde(default, deserialize_with = "objects", skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 32)]
    pub modifiers: Vec<TicketModifier>,
    /// Buttons of the site's till, by its own codes, in place of `drink` and beside `modifiers`:
    /// exactly one of them names a drink. A button pressed twice stands twice.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 32)]
    pub codes: Vec<String>,
    /// Declared allergies: allergens or ingredients, by id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 16)]
    pub allergies: Vec<String>,
    /// Declared diets, by id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 8)]
    pub diets: Vec<String>,
    /// What the customer has confirmed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 8)]
    pub confirmed: Vec<String>,
    /// Reason for an override.
    #[serde(default, rename = "override", skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 120)]
    pub override_reason: Option<String>,
    /// A note that is printed unchecked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 40)]
    pub note: Option<String>,
}

const fn one() -> u32 {
    1
}

/// A modifier: an id with `value` for a slot, `count` for a counter, or neither for a flag.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TicketModifier {
    /// The modifier, by id.
    #[schema(min_length = 1, max_length = 64, examples("milk"))]
    pub id: String,
    /// Value of a slot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<TicketValue>,
    /// Number of a counter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = -99, maximum = 99)]
    pub count: Option<i32>,
}

/// A value: one of the slot's, by id, or a number where the slot takes degrees or millilitres.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub enum TicketValue {
    /// By id.
    Id(String),
    /// A number, in the unit of the slot.
    Number(Figure),
}

/// Read by hand: the derived way copies every value once to look at it.
impl<'de> Deserialize<'de> for TicketValue {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Either;
        impl Visitor<'_> for Either {
            type Value = TicketValue;

            fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                out.write_str("a text or a number")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<TicketValue, E> {
                Ok(TicketValue::Id(text.to_owned()))
            }

            fn visit_string<E: de::Error>(self, text: String) -> Result<TicketValue, E> {
                Ok(TicketValue::Id(text))
            }

            fn visit_i64<E: de::Error>(self, number: i64) -> Result<TicketValue, E> {
                Figure::deserialize(number.into_deserializer()).map(TicketValue::Number)
            }

            fn visit_u64<E: de::Error>(self, number: u64) -> Result<TicketValue, E> {
                Figure::deserialize(number.into_deserializer()).map(TicketValue::Number)
            }

            fn visit_f64<E: de::Error>(self, number: f64) -> Result<TicketValue, E> {
                Figure::deserialize(number.into_deserializer()).map(TicketValue::Number)
            }
        }
        input.deserialize_any(Either)
    }
}

impl ToSchema for TicketValue {}

impl PartialSchema for TicketValue {
    fn schema() -> RefOr<Schema> {
        let types = [Type::String, Type::Number];
        // The bounds of a length and of a number stand side by side: each binds its own type.
        ObjectBuilder::new()
            .schema_type(SchemaType::from_iter(types))
            .min_length(Some(1))
            .max_length(Some(64))
            .minimum(Some(Figure::LOW))
            .maximum(Some(Figure::HIGH))
            .description(Some("A value of the slot, by id, or a number in the slot's unit."))
            .into()
    }
}

/// A line in normal form, as answers give it; it can be posted again as it is.
pub type LineView = TicketLine;
/// A modifier in normal form.
pub type ModifierView = TicketModifier;

impl From<TicketModifier> for Given {
    fn from(modifier: TicketModifier) -> Self {
        let TicketModifier { id, value, count } = modifier;
        let what = match (value, count) {
            (Some(TicketValue::Id(value)), _) => What::Value(value),
            (Some(TicketValue::Number(number)), _) => What::Number(number),
            (None, Some(count)) => What::Count(count),
            (None, None) => What::Flag,
        };
        Self { id, what }
    }
}

impl From<TicketLine> for Line {
    fn from(line: TicketLine) -> Self {
        let TicketLine {
            line,
            drink,
            quantity,
            modifiers,
            codes,
            allergies,
            diets,
            confirmed,
            override_reason,
            note,
        } = line;
        Self {
            id: line,
            drink,
            quantity,
            modifiers: modifiers.into_iter().map(Given::from).collect(),
            codes,
            allergies,
            diets,
            confirmed,
            override_reason,
            note,
        }
    }
}

impl From<Given> for TicketModifier {
    fn from(given: Given) -> Self {
        let Given { id, what } = given;
        let (value, count) = match what {
            What::Value(value) => (Some(TicketValue::Id(value)), None),
            What::Number(number) => (Some(TicketValue::Number(number)), None),
            What::Count(count) => (None, Some(count)),
            What::Flag => (None, None),
        };
        Self { id, value, count }
    }
}

impl From<Line> for TicketLine {
    fn from(line: Line) -> Self {
        let Line {
            id,
            drink,
            quantity,
            modifiers,
            codes,
            allergies,
            diets,
            confirmed,
            override_reason,
            note,
        } = line;
        Self {
            line: id,
            drink,
            quantity,
            modifiers: modifiers.into_iter().map(TicketModifier::from).collect(),
            codes,
            allergies,
            diets,
            confirmed,
            override_reason,
            note,
        }
    }
}
