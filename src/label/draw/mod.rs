//! A sheet in the forms in which it is looked at, printed and sent.

mod escaped;
mod outline;
mod pdf;
mod pixels;
mod png;
mod pwg;
mod svg;

pub(crate) use escaped::escaped;
pub use pdf::pdf;
pub use pixels::{Pixels, pixels};
pub use png::{png_bits, png_grey};
pub use pwg::{PwgType, pwg};
pub use svg::svg;
