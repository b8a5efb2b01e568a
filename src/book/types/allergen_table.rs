//! Which allergens a region requires to be declared, and by which name: data that people review.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::id::{Id, Words};
use crate::units::MassFraction;

/// The allergens that the law of a region requires to be declared, as somebody reviewed them.
///
/// It names and marks allergens; it never takes one out of an answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllergenTable {
    /// The law or standard that it is taken from, for people to look up.
    #[schema(min_length = 1, max_length = 300)]
    pub source: String,
    /// Since when that law is in force in this wording (ISO 8601 date).
    #[schema(pattern = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
    pub in_force: String,
    /// Who has compared the table with the law.
    #[schema(min_length = 1, max_length = 120)]
    pub reviewer: String,
    /// When (ISO 8601 date).
    #[schema(pattern = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
    pub reviewed: String,
    /// The allergens, each once, in the order in which lists show them.
    #[schema(min_items = 1, max_items = 128)]
    pub rows: Vec<AllergenRow>,
    /// The region's names for the book's groups of allergens.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 32)]
    pub groups: Vec<AllergenGroup>,
}

/// An allergen that a region requires to be declared.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllergenRow {
    /// The allergen, by the book's allergen ids; it covers no others.
    pub allergen: Id,
    /// The name that the region requires, in each language.
    pub name: Words,
    /// A word that the region wants beside the name, such as that for gluten.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub summary: Option<Words>,
    /// Amount from which it must be declared; without it, in any amount.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_mg_kg: Option<MassFraction>,
    /// Whether that amount itself must be declared, and not only more than it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub inclusive: bool,
}

/// A region's name for a group of the book's allergens.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllergenGroup {
    /// The group, by the book's allergen ids; it covers others.
    pub allergen: Id,
    /// The region's name for it, in each language.
    pub name: Words,
}

impl AllergenRow {
    /// Whether an ingredient with so much of the allergen must declare it here.
    ///
    /// * `amount`: milligrams in a kilogram of the ingredient; `None` where it is not known, which
    ///   counts as any amount.
    /// * Source: sulphites are declared above 10 mg/kg in the EU (Regulation (EU) No 1169/2011, Annex
    ///   II), and from 10 mg/kg in Australia and New Zealand (Standard 1.2.3). The laws speak of the
    ///   food as it is sold. Judging each ingredient errs on the strict side: a mixture never has
    ///   more in a kilogram than the richest of its ingredients.
    pub fn requires(&self, amount: Option<MassFraction>) -> bool {
        let Some((from, amount)) = self.from_mg_kg.zip(amount) else { return true };
        amount > from || (self.inclusive && amount == from)
    }
}

impl AllergenTable {
    /// The row of an allergen.
    pub fn row(&self, allergen: &str) -> Option<&AllergenRow> {
        self.rows.iter().find(|row| row.allergen == *allergen)
    }

    /// The region's name of an allergen or of a group of them.
    pub fn name(&self, allergen: &str) -> Option<&Words> {
        let group = || self.groups.iter().find(|group| group.allergen == *allergen);
        self.row(allergen).map(|row| &row.name).or_else(|| group().map(|group| &group.name))
    }
}
