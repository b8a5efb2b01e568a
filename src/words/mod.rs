//! Sentences in each language: catalogues of templates, and what the engine says put into them.
//!
//! English and German are compiled in. A book may word a sentence otherwise, or bring a language
//! of its own by giving every sentence.

mod allergen;
mod catalogue;
mod say;
mod template;

pub use allergen::{allergen, declared};
pub use catalogue::{Catalogue, Speech};
pub use say::{alternative, gaps, objection, sticker};
