//! What a site cannot make or offer, why, and the one purchase that would enable most.
//!
//! Nothing is inferred: every cup and every value of a modifier is tried by building it, here and
//! once more at a bar that is the same but for one purchase. What has run out for the day and which
//! drinks are out of season is no matter of equipment, and is left out of it.

mod purchase;
mod survey;
mod tries;

pub use purchase::{Gain, Purchase, gains, whole};
pub use survey::{Survey, Unmade, survey};
pub use tries::{Thing, cup_lines, takes};
