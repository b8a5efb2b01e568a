//! What a site pays: purchase prices, packaging, and the tax within its prices.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{id::Id, site::Service};
use crate::units::{Mass, Money, Share, Volume};

/// Costs of one site, in the currency that the book has there. Whoever asks for them needs a key.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Costs {
    /// What each ingredient costs without tax, by ingredient id.
    #[serde(default)]
    pub ingredients: BTreeMap<Id, Purchase>,
    /// What a cup with its lid and sleeve costs when it is given away, by the book's vessel id.
    #[serde(default)]
    pub packaging: BTreeMap<Id, Money>,
    /// Share of the price before tax that is added to it as tax, by way of serving.
    #[serde(default)]
    pub tax: BTreeMap<Service, Share>,
}

/// A price paid for so much of an ingredient; give exactly one of `g` and `ml`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Purchase {
    /// The price, without tax.
    pub price: Money,
    /// For so many grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub g: Option<Mass>,
    /// For so many millilitres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml: Option<Volume>,
}
