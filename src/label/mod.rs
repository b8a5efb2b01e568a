//! Stickers and build cards: text measured with its font, laid out, and drawn. Knows nothing of
//! printers, HTTP, books or recipes; what is to be said comes as finished sentences.

pub mod card;
mod clean;
pub mod draw;
mod face;
mod fault;
mod run;
mod sheet;
mod square;
pub mod sticker;
mod wrap;

pub(crate) use clean::steers;
pub use clean::{Cleaned, cleaned, isolated, plain};
pub use face::Face;
pub use fault::Fault;
pub use run::{Glyph, Run, shape};
pub use sheet::{Ink, Mark, Paint, Path, Seg, Sheet, Text};
pub use square::{ModuleSize, QUIET_MODULES, Square, module_size};
pub use wrap::wrapped;
