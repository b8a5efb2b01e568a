//! What ingredients feed: nutrients of a label, and a region's rule for adding them up.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::units::{EnergyFactor, Per100, Quotient};

/// Nutrients of 100 g, as the label of that very product says. One that is not given is not known,
/// and whatever depends on it is said to be incomplete.
///
/// Of a leaf or of ground coffee that is strained: what 100 g of it give to the cup.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Nutrition {
    /// Fat.
    #[serde(default, rename = "fat_g", skip_serializing_if = "Option::is_none")]
    pub fat: Option<Per100>,
    /// Of it, saturates.
    #[serde(default, rename = "saturates_g", skip_serializing_if = "Option::is_none")]
    pub saturates: Option<Per100>,
    /// Carbohydrate without fibre.
    #[serde(default, rename = "carbohydrate_g", skip_serializing_if = "Option::is_none")]
    pub carbohydrate: Option<Per100>,
    /// Of it, sugars.
    #[serde(default, rename = "sugars_g", skip_serializing_if = "Option::is_none")]
    pub sugars: Option<Per100>,
    /// Fibre.
    #[serde(default, rename = "fibre_g", skip_serializing_if = "Option::is_none")]
    pub fibre: Option<Per100>,
    /// Protein.
    #[serde(default, rename = "protein_g", skip_serializing_if = "Option::is_none")]
    pub protein: Option<Per100>,
    /// Salt: sodium times 2.5.
    #[serde(default, rename = "salt_g", skip_serializing_if = "Option::is_none")]
    pub salt: Option<Per100>,
    /// Polyols, within the carbohydrate; none if not given.
    #[serde(default, rename = "polyols_g", skip_serializing_if = "Option::is_none")]
    pub polyols: Option<Per100>,
    /// Alcohol; none if not given.
    #[serde(default, rename = "alcohol_g", skip_serializing_if = "Option::is_none")]
    pub alcohol: Option<Per100>,
    /// Organic acids; none if not given.
    #[serde(default, rename = "organic_acids_g", skip_serializing_if = "Option::is_none")]
    pub organic_acids: Option<Per100>,
}

/// A nutrient that a label names.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Nutrient {
    /// Fat.
    Fat,
    /// Saturates.
    Saturates,
    /// Carbohydrate without fibre.
    Carbohydrate,
    /// Sugars.
    Sugars,
    /// Fibre.
    Fibre,
    /// Protein.
    Protein,
    /// Salt.
    Salt,
    /// Polyols.
    Polyols,
    /// Alcohol.
    Alcohol,
    /// Organic acids.
    OrganicAcids,
}

impl Nutrient {
    /// All of them, in the order of a label.
    pub const ALL: [Self; 10] = [
        Self::Fat,
        Self::Saturates,
        Self::Carbohydrate,
        Self::Sugars,
        Self::Fibre,
        Self::Protein,
        Self::Salt,
        Self::Polyols,
        Self::Alcohol,
        Self::OrganicAcids,
    ];

    /// Those that every label has to give; the others count as none where they are not given.
    pub const NEEDED: usize = 7;

    /// As documents write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Fat => "fat",
            Self::Saturates => "saturates",
            Self::Carbohydrate => "carbohydrate",
            Self::Sugars => "sugars",
            Self::Fibre => "fibre",
            Self::Protein => "protein",
            Self::Salt => "salt",
            Self::Polyols => "polyols",
            Self::Alcohol => "alcohol",
            Self::OrganicAcids => "organic_acids",
        }
    }
}

impl Nutrition {
    /// Grams of a nutrient in 100 g; `None` where it is not known.
    pub fn per_100(&self, nutrient: Nutrient) -> Option<Per100> {
        let or_none = |given: Option<Per100>| Some(given.unwrap_or(Per100::ZERO));
        match nutrient {
            Nutrient::Fat => self.fat,
            Nutrient::Saturates => self.saturates,
            Nutrient::Carbohydrate => self.carbohydrate,
            Nutrient::Sugars => self.sugars,
            Nutrient::Fibre => self.fibre,
            Nutrient::Protein => self.protein,
            Nutrient::Salt => self.salt,
            Nutrient::Polyols => or_none(self.polyols),
            Nutrient::Alcohol => or_none(self.alcohol),
            Nutrient::OrganicAcids => or_none(self.organic_acids),
        }
    }
}

/// How a region works out energy, and how it rounds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NutritionRule {
    /// The rule in force, by its published name.
    #[schema(min_length = 1, max_length = 400)]
    pub source: String,
    /// Energy in a gram of each nutrient; one that is not listed gives none.
    pub energy: BTreeMap<Nutrient, Energy>,
    /// Kilojoules of a calorie, where the rule works calories out of kilojoules; where it is not
    /// given each is worked out by factors of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kj_per_kcal: Option<Quotient>,
    /// Rounding by the name of the figure, such as `energy_kj` or `fat_g`: the first row whose
    /// bound holds. A figure without rows is rounded to 0.1.
    #[serde(default)]
    pub rounding: BTreeMap<String, Vec<RoundingRow>>,
}

/// Energy in a gram.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Energy {
    /// Kilojoules.
    pub kj_g: EnergyFactor,
    /// Kilocalories.
    pub kcal_g: EnergyFactor,
}

/// How figures of one size are rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoundingRow {
    /// Holds for figures up to this one, itself included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_to: Option<Quotient>,
    /// Holds for figures under this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under: Option<Quotient>,
    /// To the nearest multiple of this; 0 says nothing at all is counted.
    pub step: Quotient,
}

impl RoundingRow {
    /// Whether a figure is one that this row is for.
    pub fn holds(&self, value: f64) -> bool {
        self.up_to.is_none_or(|most| value <= most.value())
            && self.under.is_none_or(|bound| value < bound.value())
    }
}
