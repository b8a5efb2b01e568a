//! Caffeine: what beans and other ingredients bring, and how much of it reaches the cup.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::id::{Id, Words};
use crate::units::{Mass, PerGram, Ratio, Share};

/// What the book knows about caffeine in coffee.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaffeineBook {
    /// Share of a dose's caffeine that is in the coffee, by yield over dose: between two points on a
    /// line, beyond the ends as at the ends.
    #[schema(min_items = 2, max_items = 100)]
    pub curve: Vec<CurvePoint>,
    /// Where the curve comes from.
    #[schema(max_length = 400)]
    pub source: String,
    /// Guide values; a cup above one carries a notice, which informs and advises nobody.
    #[serde(default)]
    #[schema(max_items = 16)]
    pub guides: Vec<CaffeineGuide>,
}

/// One point of the curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CurvePoint {
    /// Yield over dose.
    pub ratio: Ratio,
    /// Share of the caffeine of the dose.
    pub share: Share,
}

/// An amount of caffeine that somebody published as a guide.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaffeineGuide {
    /// Id.
    pub id: Id,
    /// The amount of one occasion.
    pub mg: Milligrams,
    /// For whom and for how long it holds, in each language.
    pub about: Words,
    /// Who published it.
    #[schema(max_length = 400)]
    pub source: String,
}

/// Whole milligrams.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(transparent)]
#[schema(minimum = 0, maximum = 10_000)]
pub struct Milligrams(pub u16);

impl Milligrams {
    /// As a mass.
    pub fn mass(self) -> Mass {
        Mass::from_mg(i64::from(self.0))
    }
}

/// Caffeine of a bean, by two methods that differ; a cup's answer is the interval between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BeanCaffeine {
    /// In a gram of the coffee in the cup, as tables of foods have it: the low end.
    pub beverage_mg_g: PerGram,
    /// In a gram of the roasted bean, usually.
    pub roasted_mg_g: PerGram,
    /// In a gram of the roasted bean, at most: the high end.
    pub roasted_most_mg_g: PerGram,
}

/// Caffeine of anything else, for each gram that is used.
///
/// Of a leaf or of ground coffee that is strained: what each gram gives to the cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IngredientCaffeine {
    /// At least.
    pub low_mg_g: PerGram,
    /// Usually.
    pub typical_mg_g: PerGram,
    /// At most.
    pub high_mg_g: PerGram,
}
