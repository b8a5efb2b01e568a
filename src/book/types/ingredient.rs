//! Ingredients: what goes into cups, with what the physics and the allergen answers need of it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    caffeine::IngredientCaffeine,
    id::{Id, Words},
    nutrition::Nutrition,
};
use crate::units::{Density, Displacement, MassFraction, Per100, Share, SpecificHeat, Temperature};

/// One thing that is bought, stored and used; allergens come from here and nowhere else.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Ingredient {
    /// Id, by which drinks, sites and declared allergies name it.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// What kind of thing it is.
    pub kind: IngredientKind,
    /// Density when cold (4 °C for milk, else as stored). A liquid needs it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density_kg_m3: Option<Density>,
    /// A measured density when hot; without it the density follows the composition's expansion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density_hot: Option<HotDensity>,
    /// Room taken up in the cup per gram, for what is weighed: a dissolved powder about 0.6, a
    /// dusting on the foam 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub displacement_ml_g: Option<Displacement>,
    /// Specific heat; without it the composition gives it (Choi and Okos 1986).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub specific_heat_kj_kg_k: Option<SpecificHeat>,
    /// Composition, for specific heat and the density's change with temperature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub composition: Option<Composition>,
    /// Temperature at which it comes to hand.
    pub stored_c: Temperature,
    /// How it takes steam; a milk that is never steamed has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steaming: Option<Steaming>,
    /// Liquid that each gram of a leaf or ground keeps when strained, in mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keeps_ml_g: Option<Displacement>,
    /// Nutrients of 100 g, from its label; water and ice have none and need none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nutrition: Option<Nutrition>,
    /// Caffeine that each gram brings; without it, it brings none. A coffee's stands with its bean.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caffeine: Option<IngredientCaffeine>,
    /// Ingredients it is made of; their allergens are its own too.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub made_of: Vec<Id>,
    /// Allergens it contains, by the book's allergen ids.
    #[serde(default)]
    pub allergens: Vec<Id>,
    /// How much it has of an allergen that it contains; where it is not known, leave it out, and
    /// the allergen counts as contained in any amount.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub allergen_mg_kg: BTreeMap<Id, MassFraction>,
    /// Allergens that its pack says it may contain.
    #[serde(default)]
    pub may_contain: Vec<Id>,
    /// Allergens, or groups of them, that it does not count among, although people with that
    /// allergy are asked about it, as coconut beside tree nuts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ask_about: Vec<Id>,
    /// The pack's own precautionary statement, word for word.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_statement: Option<Words>,
    /// Diets it suits, by the book's diet ids.
    #[serde(default)]
    pub suits: Vec<Id>,
}

/// What kind of thing an ingredient is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum IngredientKind {
    /// Roasted coffee.
    Coffee,
    /// Milk, dairy or plant.
    Milk,
    /// Drinking water.
    Water,
    /// Ice.
    Ice,
    /// A powder.
    Powder,
    /// A syrup, sauce or concentrate.
    Syrup,
    /// A leaf mix that is steeped and strained, or ground coffee that is brewed.
    Leaf,
    /// Anything else that goes in, on or beside a cup.
    Other,
}

/// A density measured at a named temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HotDensity {
    /// Temperature of the measurement; above the cold 4 °C.
    pub at_c: Temperature,
    /// The density there.
    pub kg_m3: Density,
}

/// Proximate composition in grams per 100 g; the parts sum to about 100.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Composition {
    /// Water.
    pub water: Per100,
    /// Protein.
    pub protein: Per100,
    /// Fat.
    pub fat: Per100,
    /// Carbohydrate without fibre.
    pub carbohydrate: Per100,
    /// Fibre.
    pub fibre: Per100,
    /// Ash: minerals.
    pub ash: Per100,
}

/// How a milk takes steam.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Steaming {
    /// Named set-points; `standard` must be among them.
    pub set_points_c: BTreeMap<Id, Temperature>,
    /// Temperature above which this milk is never taken.
    pub cap_c: Temperature,
    /// Largest share of gas that its texture holds.
    pub gas_fraction_max: Share,
}

impl IngredientKind {
    /// As documents write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Coffee => "coffee",
            Self::Milk => "milk",
            Self::Water => "water",
            Self::Ice => "ice",
            Self::Powder => "powder",
            Self::Syrup => "syrup",
            Self::Leaf => "leaf",
            Self::Other => "other",
        }
    }
}
