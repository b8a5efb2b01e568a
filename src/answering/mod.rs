//! A ticket's way through: read, judge, answer. HTTP and the command line share it.

mod builds;
mod cautions;
mod matrix;
mod menu;
mod pin;
mod quick;
mod render;
mod respond;
mod text;
mod ticket;
mod till;

pub use builds::Builds;
pub use cautions::cautions;
pub use matrix::{Matrix, csv as matrix_csv, html as matrix_html, matrix, text as matrix_text};
pub use menu::menu;
pub use quick::read_quickly;
pub use render::{Answered, Tally};
pub use respond::{Asked, Paragraphs, Sent, answer, answer_text, drink_builds};
pub(crate) use respond::{drink_row, unknown_lang, unknown_site};
pub use ticket::{read_closely, read_ticket, ticket_schema};
pub use till::checked_till;
