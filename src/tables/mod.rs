//! The book's drinks, cups, parts and ingredients as tables for a spreadsheet, and back.
//!
//! A table is a CSV text (RFC 4180). Which columns there are, and what a cell of each may hold,
//! is read off the published schema of the book, so that a new field needs nothing here. Nothing is
//! lost on the way: a book laid out as tables and read back is the same JSON value.

mod assemble;
mod cell;
mod changes;
mod columns;
mod complaint;
mod export;
mod import;
mod locate;
mod path;
mod record;
mod rows;
pub mod scan;
mod shape;
mod sheet;
mod table;

pub use changes::Changes;
pub use complaint::{Cell, TableComplaint};
pub use export::export;
pub use import::{Merged, merge};
pub use table::{Table, TableText};
