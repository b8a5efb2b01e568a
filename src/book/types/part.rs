//! The parts of a drink, listed in the order in which they go into the cup.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

use super::id::Id;
use crate::json::word;
use crate::units::{Density, Length, Mass, Percent, Share, Span, Temperature, Volume};

word! { /// The kind of a coffee part.
CoffeeWord = "coffee" }
word! { /// The kind of a milk part.
MilkWord = "milk" }
word! { /// The kind of a water part.
WaterWord = "water" }
word! { /// The kind of an ice part.
IceWord = "ice" }
word! { /// The kind of an ingredient part.
IngredientWord = "ingredient" }
word! { /// The kind of a paste part.
PasteWord = "paste" }
word! { /// The kind of a steep part.
SteepWord = "steep" }
word! { /// The kind of a brew part.
BrewWord = "brew" }

/// One part of a drink.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(untagged)]
#[schema(discriminator(property_name = "kind", mapping(
    ("coffee" = "#/components/schemas/CoffeePart"),
    ("milk" = "#/components/schemas/MilkPart"),
    ("water" = "#/components/schemas/WaterPart"),
    ("ice" = "#/components/schemas/IcePart"),
    ("ingredient" = "#/components/schemas/IngredientPart"),
    ("paste" = "#/components/schemas/PastePart"),
    ("steep" = "#/components/schemas/SteepPart"),
    ("brew" = "#/components/schemas/BrewPart"),
)))]
pub enum Part {
    /// Coffee; how many halves stands in the cup table.
    Coffee(CoffeePart),
    /// Milk, steamed or cold.
    Milk(MilkPart),
    /// Water, hot or cold.
    Water(WaterPart),
    /// Ice.
    Ice(IcePart),
    /// Anything measured straight into, onto or beside the cup.
    Ingredient(IngredientPart),
    /// A powder stirred with a little hot water in the cup.
    Paste(PastePart),
    /// A leaf steeped in water, then in hot milk, and strained into the cup.
    Steep(SteepPart),
    /// A brew by the litre: filter coffee or cold brew, made for the cup or drawn from a batch.
    Brew(BrewPart),
}

/// Where coffee goes in; a drink without coffee lists it if coffee may be added ("dirty").
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CoffeePart {
    /// Id within the drink.
    pub id: Id,
    /// Always `coffee`.
    pub kind: CoffeeWord,
    /// How it is made, by the book's extraction ids.
    pub extraction: Id,
    /// Usual bean, by the book's bean ids.
    pub bean: Id,
    /// Usual pull, by the book's pull ids.
    pub pull: Id,
}

/// Milk; its volume is the remainder unless an amount is given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MilkPart {
    /// Id within the drink.
    pub id: Id,
    /// Always `milk`.
    pub kind: MilkWord,
    /// Usual milk, by ingredient id.
    pub ingredient: Id,
    /// Texture, by the book's texture ids.
    pub texture: Id,
    /// Foam at service; a cold texture has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foam: Option<Foam>,
    /// Usual set-point; a cold texture has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_point: Option<SetPoint>,
    /// Textured volume where the milk is not the remainder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub textured_ml: Option<Volume>,
    /// Cold volume into the jug where the milk is not the remainder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cold_ml: Option<Volume>,
    /// How long it stands in the cup before the next pour, so that it parts from its foam.
    #[serde(default, rename = "rest_s", skip_serializing_if = "Option::is_none")]
    pub rest: Option<Span>,
}

/// Foam in one of three measures; give exactly one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Foam {
    /// Depth of the layer at the serving line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<Length>,
    /// Volume of the layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml: Option<Volume>,
    /// Share of gas in the textured milk as a whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gas_fraction: Option<Share>,
}

/// A set-point: one of the milk's own names, or degrees Celsius.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum SetPoint {
    /// One of the names in the milk's `set_points_c`.
    Named(Id),
    /// Degrees Celsius.
    Celsius(Temperature),
}

impl ToSchema for SetPoint {}

impl PartialSchema for SetPoint {
    fn schema() -> RefOr<Schema> {
        // The bounds of a text and of a number stand side by side: each binds its own type.
        ObjectBuilder::new()
            .schema_type(SchemaType::from_iter([Type::String, Type::Number]))
            .pattern(Some("^[a-z0-9]+(-[a-z0-9]+)*$"))
            .max_length(Some(64))
            .minimum(Some(Temperature::LOW))
            .maximum(Some(Temperature::HIGH))
            .description(Some("One of the names in the milk's `set_points_c`, or degrees Celsius."))
            .into()
    }
}

/// Water; its volume is the remainder unless an amount is given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaterPart {
    /// Id within the drink.
    pub id: Id,
    /// Always `water`.
    pub kind: WaterWord,
    /// The water, by ingredient id.
    pub ingredient: Id,
    /// Temperature as poured.
    pub temperature_c: Temperature,
    /// Volume where the water is not the remainder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml: Option<Volume>,
}

/// Ice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IcePart {
    /// Id within the drink.
    pub id: Id,
    /// Always `ice`.
    pub kind: IceWord,
    /// The ice, by ingredient id.
    pub ingredient: Id,
    /// Mass; a row of the cup table may say another.
    pub g: Mass,
}

/// An amount of an ingredient, by mass or by volume.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Amount {
    /// Mass; give this or `ml`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub g: Option<Mass>,
    /// Volume; give this or `g`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml: Option<Volume>,
}

/// When and where an ingredient goes.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Into the dry cup, before anything is poured.
    CupBefore,
    /// Into the cup, in its place among the pours.
    Pour,
    /// Onto the finished drink.
    Top,
    /// Beside the cup, in a vessel of its own; not in the fill.
    Side,
    /// Beside the cup in its own pack, which nobody has opened.
    Sealed,
}

/// An ingredient measured straight into, onto or beside the cup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IngredientPart {
    /// Id within the drink, by which modifiers take it off.
    pub id: Id,
    /// Always `ingredient`.
    pub kind: IngredientWord,
    /// The ingredient.
    pub ingredient: Id,
    /// When and where it goes.
    pub stage: Stage,
    /// How much; a row of the cup table may say another amount.
    pub amount: Amount,
}

/// A powder made into a paste with a little hot water, in the dry cup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PastePart {
    /// Id within the drink.
    pub id: Id,
    /// Always `paste`.
    pub kind: PasteWord,
    /// The powder or concentrate.
    pub ingredient: Id,
    /// How much; a row of the cup table may say another amount.
    pub amount: Amount,
    /// The water, by ingredient id.
    pub water: Id,
    /// How much water.
    pub water_ml: Volume,
    /// Temperature of the water.
    pub water_c: Temperature,
    /// Whether it is sifted and whisked, as powdered tea is, rather than stirred.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sift: bool,
}

/// A leaf that is steeped and strained.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SteepPart {
    /// Id within the drink.
    pub id: Id,
    /// Always `steep`.
    pub kind: SteepWord,
    /// The leaf, by ingredient id; its record says what it keeps when strained.
    pub ingredient: Id,
    /// How much leaf; a row of the cup table may say another amount.
    pub g: Mass,
    /// The water, by ingredient id.
    pub water: Id,
    /// Water on the leaf.
    pub water_ml: Volume,
    /// Temperature of that water.
    pub water_c: Temperature,
    /// The steeps, in order.
    #[schema(min_items = 1, max_items = 4)]
    pub stages: Vec<SteepStage>,
}

/// One steep of a leaf.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SteepStage {
    /// Whether the drink's hot milk is added for this steep.
    pub with_milk: bool,
    /// How long.
    #[serde(rename = "time_s")]
    pub time: Span,
}

/// A brew by the litre: ground coffee and water in a fixed proportion.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BrewPart {
    /// Id within the drink.
    pub id: Id,
    /// Always `brew`.
    pub kind: BrewWord,
    /// The ground coffee, by ingredient id; its record says what it keeps.
    pub ingredient: Id,
    /// Brew in the cup; a row of the cup table may say another volume.
    pub ml: Volume,
    /// Ground coffee for each litre of water.
    pub dose_g_l: Density,
    /// Share of the ground coffee that dissolves, in per cent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extraction_yield_percent: Option<Percent>,
    /// The water, by ingredient id.
    pub water: Id,
    /// Temperature of the water on the coffee.
    pub water_c: Temperature,
    /// How long it brews.
    #[serde(rename = "time_s")]
    pub time: Span,
    /// Temperature at which it reaches the cup.
    pub poured_c: Temperature,
    /// How long a batch may stand; without it, each cup is brewed for itself.
    #[serde(default, rename = "batch_holds_s", skip_serializing_if = "Option::is_none")]
    pub batch_holds: Option<Span>,
}

impl Part {
    /// Id within the drink.
    pub fn id(&self) -> &Id {
        match self {
            Self::Coffee(part) => &part.id,
            Self::Milk(part) => &part.id,
            Self::Water(part) => &part.id,
            Self::Ice(part) => &part.id,
            Self::Ingredient(part) => &part.id,
            Self::Paste(part) => &part.id,
            Self::Steep(part) => &part.id,
            Self::Brew(part) => &part.id,
        }
    }

    /// The kind, as the document writes it.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Coffee(_) => "coffee",
            Self::Milk(_) => "milk",
            Self::Water(_) => "water",
            Self::Ice(_) => "ice",
            Self::Ingredient(_) => "ingredient",
            Self::Paste(_) => "paste",
            Self::Steep(_) => "steep",
            Self::Brew(_) => "brew",
        }
    }

    /// The ingredient it is mainly of, by id; a coffee's comes from its bean.
    pub fn ingredient(&self) -> Option<&Id> {
        match self {
            Self::Coffee(_) => None,
            Self::Milk(part) => Some(&part.ingredient),
            Self::Water(part) => Some(&part.ingredient),
            Self::Ice(part) => Some(&part.ingredient),
            Self::Ingredient(part) => Some(&part.ingredient),
            Self::Paste(part) => Some(&part.ingredient),
            Self::Steep(part) => Some(&part.ingredient),
            Self::Brew(part) => Some(&part.ingredient),
        }
    }

    /// The coffee part, if it is one.
    pub fn as_coffee(&self) -> Option<&CoffeePart> {
        if let Self::Coffee(part) = self { Some(part) } else { None }
    }

    /// The milk part, if it is one.
    pub fn as_milk(&self) -> Option<&MilkPart> {
        if let Self::Milk(part) = self { Some(part) } else { None }
    }

    /// The water part, if it is one.
    pub fn as_water(&self) -> Option<&WaterPart> {
        if let Self::Water(part) = self { Some(part) } else { None }
    }

    /// The steep part, if it is one.
    pub fn as_steep(&self) -> Option<&SteepPart> {
        if let Self::Steep(part) = self { Some(part) } else { None }
    }

    /// The brew part, if it is one.
    pub fn as_brew(&self) -> Option<&BrewPart> {
        if let Self::Brew(part) = self { Some(part) } else { None }
    }

    /// The amount that a row of the cup table says instead, if it does.
    pub fn amount_in(&self, amounts: &BTreeMap<Id, Amount>) -> Option<Amount> {
        amounts.get(self.id()).copied()
    }
}
