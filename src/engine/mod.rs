//! The pure engine: a line, a book and a site make a verdict. No clock, no chance, no I/O.

pub mod build_line;
pub mod derive;
pub mod expand;
pub mod explain;
pub mod identify;
pub mod law;
pub mod line;
pub mod neighbours;
pub mod objection;
pub mod order;
pub mod phrase;
pub mod physics;
pub mod reach;
pub mod shot;
pub mod solve;

pub use build_line::{Build, build_line};
pub use expand::{Verdict, expand, verdict};
pub use line::{Given, Line, Moment, What};
