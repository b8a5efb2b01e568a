//! A drink: its names, its cups, its parts in pour order, and the bounds of its identity.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    id::{Id, Words},
    part::{Amount, Foam, Part},
    season::Season,
    site::Service,
};
use crate::units::{Length, Money, Quotient, Range, Temperature, Volume};

/// One drink of the book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Drink {
    /// Stable id; names are for people and may change.
    pub id: Id,
    /// Name in each language; region variants may say another.
    pub names: Words,
    /// Name for a narrow sticker, in each language, where the name is long.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_names: Option<Words>,
    /// Other names by which people ask for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub aliases: Vec<String>,
    /// What fills the cup up to its line.
    pub remainder: Remainder,
    /// Size made when none is asked for; where a way of serving lacks it, the first size it has.
    pub default_size: Id,
    /// The cup table: way of serving, then size.
    pub cups: BTreeMap<Service, BTreeMap<Id, Cup>>,
    /// Parts in the order in which they go into the cup.
    #[schema(min_items = 1, max_items = 24)]
    pub parts: Vec<Part>,
    /// Bounds outside which it is not this drink any more.
    #[serde(default)]
    pub envelope: Envelope,
    /// Grams of liquid milk in the cup, condensate included, for each gram of coffee, as it is usually
    /// made; outside, a notice says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usual_milk_ratio: Option<Range<Quotient>>,
    /// The drink to offer instead, for each way of leaving the envelope.
    #[serde(default)]
    pub neighbours: BTreeMap<Id, Id>,
    /// The drink whose recipe is made when another form is asked for, by the id of the form, such as
    /// `iced`; a drink that is of that form already names itself.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub forms: BTreeMap<Id, Id>,
    /// When it is offered; without it, all year.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub season: Option<Season>,
}

/// What fills a cup up to its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Remainder {
    /// Milk.
    Milk,
    /// Water.
    Water,
    /// Nothing: the fill is the sum of the parts.
    None,
}

/// One row of a drink's cup table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Cup {
    /// Vessel, by id.
    pub vessel: Id,
    /// Volume from the floor to this drink's serving line; a drink without a remainder has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill_ml: Option<Volume>,
    /// Halves of coffee.
    #[schema(minimum = 0, maximum = 6)]
    pub halves: u8,
    /// Foam, where this cup needs another than the drink's milk part says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foam: Option<Foam>,
    /// Amounts of parts, by part id, where this cup needs others than the parts say.
    #[serde(default)]
    pub amounts: BTreeMap<Id, Amount>,
    /// Price with tax.
    pub price: Money,
}

/// Bounds of a drink's identity, apart from its defaults; what is not given is not judged.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Envelope {
    /// Depth of foam.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foam_depth_mm: Option<Range<Length>>,
    /// Fill.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill_ml: Option<Range<Volume>>,
    /// Brim of the cup it is served in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brim_ml: Option<Range<Volume>>,
    /// Set-point of the milk.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_point_c: Option<Range<Temperature>>,
    /// Whether leaving these bounds is a matter of safety, as for a drink made for small children.
    #[serde(default)]
    pub safety: bool,
    /// Pulls that it is made with; any where none is named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pulls: Vec<Id>,
    /// Parts that it must have, by part id.
    #[serde(default)]
    pub requires: Vec<Id>,
    /// Ingredients that it must never have.
    #[serde(default)]
    pub forbids: Vec<Id>,
    /// Ingredients that it must not have unless the line carries this word in `confirmed`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub forbids_unless: BTreeMap<Id, Id>,
}
