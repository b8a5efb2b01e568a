//! Stickers: what is said on a cup, laid out so that it is read, and nothing of it is ever cut off.

mod code;
mod content;
mod flow;
mod layout;
mod page;
mod shaped;
mod sizes;

pub use code::Code;
pub use content::{Content, Sentence, Zone};
pub use layout::{CodePlace, Label, MOST_PARTS, Sticker, ZoneBox, over, stickers};
pub use sizes::cap_at;
