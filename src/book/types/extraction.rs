//! Extraction styles: how coffee is made from a bean at a pull.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    id::{Id, Words},
    nutrition::Nutrition,
    shot_check::ShotCheck,
};
use crate::units::{Density, Mass, Percent, Range, Span, SpecificHeat, Temperature};

/// A way of making coffee, with one row for each bean, pull and basket.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Extraction {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// Temperature at which the coffee reaches the cup.
    pub poured_c: Temperature,
    /// Density of the coffee in the cup.
    pub density_kg_m3: Density,
    /// Specific heat of the coffee in the cup.
    pub specific_heat_kj_kg_k: SpecificHeat,
    /// Nutrients of 100 g of the coffee in the cup.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nutrition: Option<Nutrition>,
    /// Share of the dry coffee that should end up dissolved in the cup; not judged without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extraction_yield_percent: Option<Range<Percent>>,
    /// How pulled shots are judged, and what is advised; without it nothing is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shot_check: Option<ShotCheck>,
    /// The recipes.
    #[schema(min_items = 1, max_items = 1000)]
    pub rows: Vec<ExtractionRow>,
}

/// The recipe for one basket.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExtractionRow {
    /// Bean, by the book's bean ids.
    pub bean: Id,
    /// Pull, by the book's pull ids.
    pub pull: Id,
    /// Halves that the basket gives: 2 for a double, 1 for a single basket.
    #[schema(minimum = 1, maximum = 2)]
    pub halves: u8,
    /// Dry coffee in the basket.
    pub dose_g: Mass,
    /// How far the dose may be off, either way.
    pub dose_tolerance_g: Mass,
    /// Coffee in the cup from the basket.
    pub yield_g: Mass,
    /// How far the yield may be off, either way.
    pub yield_tolerance_g: Mass,
    /// Dissolved solids in the coffee that the recipe is meant to give, as a refractometer shows them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tds_percent: Option<Percent>,
    /// Time from the first to the last moment of flow that is within the recipe.
    pub time_s: Seconds,
    /// Water temperature at the machine.
    pub water_c: Temperature,
}

/// A time window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Seconds {
    /// Shortest time.
    pub min: Span,
    /// Longest time; not under `min`.
    pub max: Span,
}
