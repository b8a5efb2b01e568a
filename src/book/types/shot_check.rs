//! How a pulled shot is judged beyond its recipe, and how large each remedy is.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::units::{Mass, Ratio, Span, Steps};

/// Limits and remedies for shots of one extraction style. Without this record a shot is only
/// compared with its recipe, and no change is advised.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShotCheck {
    /// A shot that is shorter than the middle of its time window by more than this gushed: the puck
    /// is prepared anew before the grind is touched.
    pub gushing_under_s: Span,
    /// A shot that is longer than the middle of its time window by more than this choked.
    pub choked_over_s: Span,
    /// How much coarser to grind after a shot that choked; a whole number of steps.
    pub choked_steps: Steps,
    /// Seconds by which a shot changes with one step of the grinder, where nothing was measured.
    pub time_per_step_s: Span,
    /// The most steps to go at once for the time; a whole number.
    pub most_steps: Steps,
    /// How much more or less to let run for the taste, or for the extraction.
    pub yield_change_g: Mass,
    /// By how much to lower the ratio of yield to dose for a weak shot.
    pub ratio_change: Ratio,
}
