//! What a site uses beside what goes into cups, and how long things keep there.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::id::Id;
use crate::units::{Days, Mass, Share};

/// What a site uses beside what goes into cups, and how long things keep there.
///
/// It changes no build. What a site needs is worked out from it, and what a cup costs.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Usage {
    /// Coffee ground away on each day until the grind is right: at each grinder, for each bean in it
    /// that is wanted that day.
    #[serde(default)]
    pub dial_in_g_per_day: Mass,
    /// Coffee ground away before each basket is dosed.
    #[serde(default)]
    pub purge_g_per_grind: Mass,
    /// Share of what is bought that never reaches a cup, by ingredient; under 1.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub waste: BTreeMap<Id, Share>,
    /// Days for which it keeps here, by ingredient; more than none.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub shelf_life_days: BTreeMap<Id, Days>,
}
