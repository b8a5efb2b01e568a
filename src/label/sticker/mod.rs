//! Stickers: what is said on a cup, laid out so that it is read, and nothing of it is ever cut off.

mod content;
mod flow;
mod layout;
mod page;
mod shaped;
mod sizes;
mod square;

pub use content::{Content, Zone};
pub use layout::{CodePlace, Label, Sticker, ZoneBox, over, stickers};
pub use sizes::cap_at;
pub use square::Square;
