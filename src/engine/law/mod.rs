//! Rules of law that are arithmetic: pure functions with their boundary cases.
//!
//! Each names its source. None of them is advice: local codes and licensed practice come first.

mod caffeine;
mod cold_chain;

pub use caffeine::high_caffeine_statement;
pub use cold_chain::{TimeOut, time_out};
