//! The contract as documents: the JSON Schemas and their versions.

use serde_json::Value;

use crate::{
    book::{Book, Site},
    json::schema_of,
    keys::KeysDocument,
    till::MapDocument,
    wire::{Answer, BuildView, FitAnswer, Menu, NeedsAnswer, NeedsRequest, Problem, Ticket},
};

/// Version of every schema; one number until the contract is frozen.
pub const VERSION: &str = "0.1.0";

/// Every published schema: name, and the schema itself.
///
/// Books and sites may carry members named `x-…`; tickets may not, and answers are open.
pub fn schemas() -> Vec<(&'static str, Value)> {
    let id = |name: &str| format!("urn:cupwright:schema:{name}:{VERSION}");
    vec![
        ("drink-book", schema_of::<Book>(&id("drink-book"), true)),
        ("drink-site", schema_of::<Site>(&id("drink-site"), true)),
        ("ticket", schema_of::<Ticket>(&id("ticket"), false)),
        ("ticket-answer", schema_of::<Answer<'static>>(&id("ticket-answer"), false)),
        ("drink-build", schema_of::<BuildView<'static>>(&id("drink-build"), false)),
        ("problem", schema_of::<Problem>(&id("problem"), false)),
        ("menu", schema_of::<Menu<'static>>(&id("menu"), false)),
        ("site-fit", schema_of::<FitAnswer<'static>>(&id("site-fit"), false)),
        ("sales-mix", schema_of::<NeedsRequest>(&id("sales-mix"), false)),
        ("needs", schema_of::<NeedsAnswer<'static>>(&id("needs"), false)),
        ("till-map", schema_of::<MapDocument>(&id("till-map"), true)),
        ("service-keys", schema_of::<KeysDocument>(&id("service-keys"), true)),
    ]
}
