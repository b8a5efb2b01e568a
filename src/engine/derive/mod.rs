//! What follows from an order and its amounts: words for the sticker, allergens, steps, notices.

mod allergens;
mod allergy;
mod cautions;
mod changes;
mod notices;
mod steps;

pub use allergens::{Allergens, Shared};
pub use allergy::Declaration;
pub use changes::{Change, Sticker};
pub use notices::Noticed;
pub use steps::{Station, Step};

pub use allergens::allergens;
pub use allergy::allergies;
pub use cautions::cautions;
pub use changes::changes;
pub use notices::notices;
pub use steps::steps;
