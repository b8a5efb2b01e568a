//! Printing by the Internet Printing Protocol (RFC 8010, RFC 8011): one document of one label to one
//! of several printers, its outcome known or said not to be, and nothing that may have been printed sent again.
//!
//! It knows neither tickets nor stickers: what is printed is made elsewhere, when its turn comes.

mod address;
mod attempt;
mod capabilities;
mod client;
mod deliver;
mod form;
mod media;
mod message;
mod naming;
mod pace;
mod queue;
mod reasons;
mod standing;
mod trouble;

pub use address::Address;
pub use deliver::Target;
pub use form::{Document, Dots, Form};
pub use pace::Pace;
pub use queue::{Digested, Order, Prints, Refused, Sheet, Taken, View, Which};
pub use reasons::Reason;
pub use standing::{Stage, Standing};
pub use trouble::Trouble;
