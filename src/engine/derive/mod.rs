//! What follows from an order and its amounts: words for the sticker, allergens, steps, notices.

mod allergens;
mod allergy;
mod caffeine;
mod cautions;
mod changes;
mod cost;
mod notices;
mod nutrition;
mod steps;
mod strength;

pub use allergens::{Allergens, Shared};
pub use allergy::Declaration;
pub use caffeine::Caffeine;
pub use changes::{Change, Sticker};
pub use cost::{Cost, CostItem, CostOf, Used};
pub use notices::Noticed;
pub use nutrition::{Fed, Label, Labelled};
pub use steps::{Station, Step};
pub use strength::{Interval, Strength};

pub use allergens::allergens;
pub use allergy::allergies;
pub use caffeine::{bean_caffeine, caffeine, extracted_share};
pub use cautions::cautions;
pub use changes::changes;
pub use cost::{cost, cost_of};
pub(in crate::engine) use notices::hottest;
pub use notices::notices;
pub use nutrition::{eaten, fed, label, rounded, rule};
pub use steps::steps;
pub use strength::{fills_up, liquid, milk_ratio, strength};
