//! What a modifier does, where it applies, and with what it cannot be combined.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    id::{Id, Words},
    part::{Amount, SetPoint, Stage},
};
use crate::units::{Length, LengthChange, Ratio, Share, Temperature, Volume};

/// What one value, one unit of a counter, or one flag does; most do exactly one of these.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// Makes another form of the drink, such as `iced` (phase `form`, slots).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub form: Option<Id>,
    /// Sets the halves of coffee (phase `count`, slots).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 1, maximum = 6)]
    pub halves: Option<u8>,
    /// Adds halves of coffee for each unit (phase `count`, counters).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 1, maximum = 2)]
    pub halves_each: Option<u8>,
    /// Makes the coffee from another bean (phase `class`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bean: Option<Id>,
    /// Makes the coffee at another pull (phase `pull`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pull: Option<Id>,
    /// Uses this share of the liquid coffee (phase `strength`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coffee_share: Option<Share>,
    /// Uses another milk (phase `milk`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub milk: Option<Id>,
    /// Adds an ingredient, once or for each unit (phase `addition`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub add: Option<Addition>,
    /// Takes parts off, by part id (phase `addition`).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remove: Vec<Id>,
    /// Serves these beside the cup instead of in it: part ids, kinds of parts, or kinds of added
    /// ingredients (phase `placement`).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub aside: Vec<Id>,
    /// Uses this many times the usual ice (phase `ice`); what its lack leaves free, the site's
    /// `ice_policy` decides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ice_times: Option<Ratio>,
    /// Steams to another set-point (phase `temperature`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_point: Option<SetPoint>,
    /// Serves in a cup brought to this temperature (phase `temperature`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cup_c: Option<Temperature>,
    /// Sets the depth of foam (phase `foam`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foam_depth_mm: Option<Length>,
    /// Changes the depth of foam (phase `foam`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foam_change_mm: Option<LengthChange>,
    /// Fills to this share of the drink's line (phase `fill`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill_share: Option<Share>,
    /// Leaves the lid off (phase `handover`).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub without_lid: bool,
    /// Leaves this much room under the drink's line (phase `fill`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub space_ml: Option<Volume>,
}

/// An ingredient that a modifier adds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Addition {
    /// The ingredient.
    pub ingredient: Id,
    /// When and where it goes.
    pub stage: Stage,
    /// How much, for each unit of a counter.
    pub amount: Amount,
}

/// Which drinks a modifier or a value can act on; everything given must hold.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AppliesTo {
    /// The standard drink has each of these: a part id, a part kind, `steamed-milk`, `foam`, or
    /// `coffee` (at least one half).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Id>,
    /// The standard drink has none of these, named in the same way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub without: Vec<Id>,
    /// Only these drinks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drinks: Vec<Id>,
}

/// Something that cannot stand in the same line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Exclusion {
    /// The other modifier.
    pub id: Id,
    /// Only this value of it; without it, any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<Id>,
    /// Why, in each language.
    pub because: Words,
}
