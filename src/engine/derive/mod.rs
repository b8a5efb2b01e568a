//! What follows from an order and its amounts: words for the sticker, allergens, steps, notices.

mod allergens;
mod changes;
mod notices;
mod steps;

pub use allergens::{Allergens, Shared, Via};
pub use changes::{Change, Sticker};
pub use notices::Noticed;
pub use steps::{Station, Step};

pub use allergens::allergens;
pub use changes::changes;
pub use notices::notices;
pub use steps::steps;
