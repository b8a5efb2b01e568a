//! The roaster's book and the sites' sheets: types, checks, resolution, and the compiled index.

mod allergen_set;
mod check;
mod document;
mod equipment;
mod index;
mod layers;
mod lexicon;
mod overlay;
mod types;

pub use allergen_set::{AllergenSet, Brings};
pub use check::{Aside, NEIGHBOUR_KEYS, check_book, check_site};
pub use document::{BookDocument, JudgedBook, SiteDocument, book_schema, site_schema};
pub use equipment::{Equipment, Met, Via};
pub use index::{Bar, CupHere, JugHere};
pub use layers::{Layer, Provenance};
pub use lexicon::{Found, Lexicon, Meaning, Said};
pub use overlay::{Overlay, Substitute};
pub use types::*;
