//! The hardware of a bar that recipes depend on: cups, jugs, their materials, and milk textures.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    id::{Id, Words},
    site::Service,
};
use crate::units::{Length, Mass, Share, SpecificHeat, Temperature, Volume};

/// A cup or glass.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Vessel {
    /// Id, by which the cup tables of drinks name it.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// Volume to the very edge.
    pub brim_ml: Volume,
    /// Volume to the serving line; the headspace is the rest.
    pub fill_ml: Volume,
    /// Inner diameter at the serving line, which turns a foam depth into a volume.
    pub diameter_at_fill_mm: Length,
    /// Inner diameter at the floor, for drawings, which show the cup as a cone cut off; without it
    /// they show upright walls.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter_at_floor_mm: Option<Length>,
    /// Material, by the book's material ids.
    pub material: Id,
    /// Mass when empty.
    pub mass_g: Mass,
    /// Temperature at which it stands ready.
    pub rests_at_c: Temperature,
}

/// A milk jug.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Jug {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// Volume to the brim.
    pub brim_ml: Volume,
    /// Mass when empty.
    pub mass_g: Mass,
    /// Material, by the book's material ids.
    pub material: Id,
    /// Largest share of the brim that milk may reach once stretched.
    pub stretched_max: Share,
    /// Smallest share of the brim that cold milk must reach, so that the steam tip stays under.
    pub cold_min: Share,
}

/// A material of cups and jugs, for the heat that they take from a drink.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// Specific heat.
    pub specific_heat_kj_kg_k: SpecificHeat,
    /// Share of the mass that follows the drink's temperature while it is made.
    pub heat_share: Share,
}

/// A texture of milk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Texture {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// Whether steam makes it; the others are poured cold.
    pub steamed: bool,
    /// Share of gas in the layer of foam that is measured as depth.
    pub foam_gas_share: Share,
}

/// A size that a customer can ask for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Size {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// What the sticker says when it is not the drink's usual size.
    pub sticker: Words,
}

/// What the book says of one way of serving.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ServiceRow {
    /// Which way of serving.
    pub id: Service,
    /// Name in each language.
    pub names: Words,
    /// What the sticker says when it is not the site's usual way.
    pub sticker: Words,
    /// Whether the cup is handed over with a lid.
    #[serde(default)]
    pub lid: bool,
}
