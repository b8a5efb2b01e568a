//! Cautions: what is said to whoever hands a cup over, or works at the bench.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::id::{Id, Words};
use crate::units::Temperature;

/// A caution, with where it comes from and when it is said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Id.
    pub id: Id,
    /// The caution, in each language.
    pub text: Words,
    /// Where it comes from, for people to look up.
    #[schema(min_length = 1, max_length = 300)]
    pub source: String,
    /// The regions in which it is said; every region if none is named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 64)]
    pub regions: Vec<Id>,
    /// When it is said.
    pub when: CautionWhen,
}

/// When a caution is said; give exactly one.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CautionWhen {
    /// With a cup that is handed over hotter than this, or beside which something hotter stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub hotter_than_c: Option<Temperature>,
    /// With a cup that holds one of these ingredients, or something made of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 200)]
    pub contains: Vec<Id>,
    /// With a cup that has caffeine in it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub caffeine: bool,
    /// With one of these drinks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 200)]
    pub for_drinks: Vec<Id>,
    /// With every cup.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub always: bool,
    /// At the bench, and with no cup.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub bench: bool,
}

impl CautionWhen {
    /// How many of them are given; right is one.
    pub(in crate::book) fn count(&self) -> usize {
        let Self { hotter_than_c, contains, caffeine, for_drinks, always, bench } = self;
        let given = [
            hotter_than_c.is_some(),
            !contains.is_empty(),
            *caffeine,
            !for_drinks.is_empty(),
            *always,
            *bench,
        ];
        given.into_iter().filter(|given| *given).count()
    }
}

impl Caution {
    /// Whether it is said in the region.
    pub fn holds_in(&self, region: &str) -> bool {
        self.regions.is_empty() || self.regions.iter().any(|one| *one == *region)
    }
}
