//! A ticket's way through: read, judge, answer. HTTP and the command line share it.

mod respond;
mod ticket;

pub use respond::{Asked, answer, drink_builds};
pub(crate) use respond::{drink_row, unknown_lang, unknown_site};
pub use ticket::{read_ticket, ticket_schema};
