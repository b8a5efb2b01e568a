//! Cupwright: a coffee roaster's drink standards, and any order turned into the exact build.

pub mod book;
pub mod engine;
pub mod json;
pub mod units;
pub mod words;
