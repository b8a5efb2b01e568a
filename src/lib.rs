//! Cupwright: a coffee roaster's drink standards, and any order turned into the exact build.

pub mod book;
pub mod demo;
pub mod engine;
pub mod in_force;
pub mod json;
pub mod units;
pub mod wire;
pub mod words;
