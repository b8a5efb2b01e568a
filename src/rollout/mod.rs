//! A roaster's standards as a repository that its sites can trust without trusting the way there: The
//! Update Framework (TUF), specification 1.0.
//!
//! Who signs what:
//!
//! * `root`: three keys, of which any two say which keys the others are. Off line.
//! * `targets`: one key, which signs what each document is. Off line.
//! * `overlay`: one key, which may sign documents named `overlay.…` alone. Off line.
//! * `snapshot` and `timestamp`: one key on line, which says which of these is newest, and no more.
//!
//! Formats, signatures and the rules of a client are the crate's (`tough`). This module decides when a
//! file is written, what is kept, and what is refused.

mod fault;
mod fetch;
mod folder;
mod kept;
mod key_folder;
mod lasting;
mod plan;
mod publish;
mod renew;
mod rotate;
mod secret;
mod sign;
mod signers;
mod standing;
mod transport;

pub use fault::Fault;
pub use fetch::{Seen, SeenDocument, Source, fetch};
pub use key_folder::{KeyFolder, KeyHeld};
pub use lasting::{Expiries, Lasting};
pub use plan::{Plan, Versions};
pub use publish::{Document, Publication, publish};
pub use renew::{Renewal, renew};
pub use rotate::{Rotated, Which, rotate};
pub use secret::Passphrase;
