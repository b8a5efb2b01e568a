//! The pure engine: a line, a book and a site make a verdict. No clock, no chance, no I/O.

pub mod line;
pub mod objection;
pub mod order;
pub mod physics;
