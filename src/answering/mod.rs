//! A ticket's way through: read, judge, answer. HTTP and the command line share it.

mod body;
mod builds;
mod cards;
mod cautions;
mod coded;
mod costs;
mod explained;
mod fit;
mod identify;
mod matrix;
mod menu;
mod needs;
mod pin;
mod prints;
mod quick;
mod reached;
mod render;
mod respond;
mod shot;
mod stickers;
mod strength;
mod text;
mod ticket;
mod till;

pub use builds::Builds;
pub use cards::{
    CardForm, CardSet, CardSetWish, CardWish, card_bytes, card_of, card_set, drink_card,
    ticket_card,
};
pub use cautions::cautions;
pub use coded::{Coded, code_url, coded, tokens};
pub use costs::costs;
pub use explained::{explained, explained_json};
pub use fit::fit;
pub use identify::{StandardCups, drinks_near, read_cup};
pub use matrix::{Matrix, csv as matrix_csv, html as matrix_html, matrix, text as matrix_text};
pub use menu::menu;
pub use needs::{needs_of, read_needs};
pub use prints::{PrintAsked, not_taken, print_answer, print_order};
pub use quick::read_quickly;
pub use reached::set_points;
pub use render::{Answered, Tally};
pub use respond::{Asked, Paragraphs, Sent, answer, answer_text, drink_builds};
pub(crate) use respond::{drink_row, unknown_lang, unknown_site};
pub use shot::{read_shot, shot_answer};
pub use stickers::{
    CupSticker, DrinkFit, LabelOfSite, MOST_CUPS, StickerForm, StickersAsked, TicketStickers,
    Unfit, label_size, labels_of, sold_fit, stickers_fit, ticket_stickers,
};
pub use strength::strength_table;
pub use ticket::{read_closely, read_ticket, ticket_schema};
pub use till::checked_till;
