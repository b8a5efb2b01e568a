//! A till's own buttons: a sheet that says what each code means, its check, and tickets by codes.

mod check;
mod draft;
mod map;
mod resolve;
mod sheet;

pub use check::{Button as CheckedButton, Checked, Finding, check};
pub use draft::draft;
pub use map::{Button, MapDocument, TillMap};
pub use resolve::{Resolved, resolve};
pub use sheet::{csv_of, modifier_of, rows_of};
