//! JSON read with places: every complaint about a document at once, each at its line and column.
//!
//! Syntax is the JSON library's; structure is judged by the published schema of the type, so what
//! a document may hold is written down once.

mod complaint;
mod digest;
mod object;
mod place;
mod read;
mod schema;
mod word;

pub use complaint::{Complaint, Complaints};
pub use digest::{Digest, canonical_bytes};
pub(crate) use object::{Object, maybe_object, objects};
pub use place::{Place, child, place_of, segments};
pub use read::{Limits, Read, Structure, Unread, newer, read, read_request, read_structure};
pub use schema::{SchemaCheck, schema_of};
pub(crate) use word::word;
