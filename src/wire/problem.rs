//! Problems: RFC 9457, one table, one row per kind.

use serde::Serialize;
use utoipa::ToSchema;

use crate::json::{Complaint, Place};

/// Why a request has no answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Problem {
    /// Kind: the only field on which programs should switch.
    #[serde(rename = "type")]
    #[schema(examples("/problems/unknown-site"))]
    pub kind: &'static str,
    /// The kind in words.
    pub title: &'static str,
    /// HTTP status.
    pub status: u16,
    /// This case in words.
    pub detail: String,
    /// Each fault of the body; empty if it is not about the body.
    pub errors: Vec<Fault>,
    /// Digests that are held, where another was asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub held: Vec<String>,
}

/// One fault of a body.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Fault {
    /// JSON Pointer (RFC 6901) to the value at fault.
    pub pointer: String,
    /// What was found and what is expected.
    pub detail: String,
    /// Line in the body, from 1; null if it is not known.
    pub line: Option<usize>,
    /// Column in the body, from 1; null if it is not known.
    pub column: Option<usize>,
}

impl Fault {
    /// A fault of the value at `pointer`, whose place in the text is not known.
    pub fn at(pointer: impl Into<String>, detail: impl Into<String>) -> Self {
        Self { pointer: pointer.into(), detail: detail.into(), line: None, column: None }
    }
}

impl From<Complaint> for Fault {
    fn from(complaint: Complaint) -> Self {
        let Complaint { pointer, place, found, expected } = complaint;
        let place = place.map(|Place { line, column }| (line, column));
        Self {
            pointer,
            detail: format!("found {found}; expected {expected}"),
            line: place.map(|(line, _)| line),
            column: place.map(|(_, column)| column),
        }
    }
}

/// One row per kind: variant, status, name, title.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident, $status:literal, $path:literal, $title:literal;)*) => {
        /// Every kind of problem. Rows may be added, never changed or dropped.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Kind { $($(#[$doc])* $kind,)* }

        impl Kind {
            /// All kinds, in the order in which they are documented.
            pub const ALL: &[Self] = &[$(Self::$kind,)*];

            /// A problem of this kind.
            pub fn with(self, detail: impl ToString) -> Problem {
                let (status, kind, title) = match self {
                    $(Self::$kind => ($status, concat!("/problems/", $path), $title),)*
                };
                let detail = detail.to_string();
                Problem { kind, title, status, detail, errors: Vec::new(), held: Vec::new() }
            }
        }
    };
}

kinds! {
    /// The body is not JSON.
    MalformedBody, 400, "malformed-body", "The body is not JSON";
    /// The query string is not what the operation takes.
    InvalidQuery, 400, "invalid-query", "The query is not what the operation takes";
    /// A header `Idempotency-Key` that is none.
    OddIdempotencyKey, 400, "odd-idempotency-key", "The Idempotency-Key is none";
    /// No key, or one that the service does not know.
    Unauthorized, 401, "unauthorized", "This needs a key that the service knows";
    /// A key without the right, or for other sites.
    Forbidden, 403, "forbidden", "The key does not have this right";
    /// No such path.
    NotFound, 404, "not-found", "There is nothing at this path";
    /// No site of that id.
    UnknownSite, 404, "unknown-site", "There is no such site";
    /// No drink of that id.
    UnknownDrink, 404, "unknown-drink", "The book has no such drink";
    /// No ingredient of that id.
    UnknownIngredient, 404, "unknown-ingredient", "The book has no such ingredient";
    /// No till map for the site.
    NoTillMap, 404, "no-till-map", "The site has no sheet for its till";
    /// No costs in the site's sheet.
    NoCosts, 404, "no-costs", "The site's sheet says nothing of costs";
    /// No printer, so no size of label.
    NoPrinter, 404, "no-printer", "The site has no such printer";
    /// No print of that id, or no longer.
    UnknownPrint, 404, "unknown-print", "There is no such print";
    /// No such sticker of the ticket.
    NoSticker, 404, "no-sticker", "The ticket has no such sticker";
    /// A token that is none, or that a slip has changed.
    UnreadableToken, 404, "unreadable-token", "This is no token of a build";
    /// A drink that is not made in the cup that a card is wanted of.
    NoCard, 404, "no-card", "There is no card of this cup here";
    /// No figure at a pointer.
    NoFigure, 404, "no-figure", "The build has no such figure";
    /// The path has no such method.
    MethodNotAllowed, 405, "method-not-allowed", "The path does not take this method";
    /// None of the forms that the answer comes in is accepted.
    NotAcceptable, 406, "not-acceptable", "The answer does not come in a form that is accepted";
    /// The body did not come whole in time.
    BodyTooSlow, 408, "body-too-slow", "The body did not come in time";
    /// A pinned book, overlay or site sheet is not held.
    NotHeld, 409, "not-held", "What the ticket is pinned to is not held";
    /// What the build of a token was worked from is not held.
    BuildNotHeld, 409, "build-not-held", "What the build was worked from is not held";
    /// This process keeps no state.
    NoStateHere, 409, "no-state-here", "This process keeps no state";
    /// The site's sheet has no address of the printer.
    NoPrinterAddress, 409, "no-printer-address", "The site's sheet has no address of the printer";
    /// A body is wanted, and the request does not say how long it is.
    LengthRequired, 411, "length-required", "The request does not say how long its body is";
    /// The body is larger than the limit.
    BodyTooLarge, 413, "body-too-large", "The body is larger than the limit";
    /// The body is not declared as JSON.
    UnsupportedMediaType, 415, "unsupported-media-type", "The body is not declared as JSON";
    /// The body is JSON, but not what the contract describes.
    InvalidBody, 422, "invalid-body", "The body does not follow the contract";
    /// A line that is asked about or refused has no sticker.
    NotAllAccepted, 422, "not-all-accepted", "Not every line of the ticket is accepted";
    /// The Idempotency-Key stood for something else before.
    KeyForOther, 422, "idempotency-key-reused", "The Idempotency-Key stood for something else";
    /// A text that cannot be set on a label without loss.
    NotDrawn, 422, "not-drawn", "It cannot be drawn without loss";
    /// More requests than the key, or the address, may send.
    TooManyRequests, 429, "too-many-requests", "More requests came than may come from one sender";
    /// Something failed inside the service.
    Internal, 500, "internal", "The service failed";
    /// More is under way than can be worked on.
    Busy, 503, "busy", "More is asked at once than the service can work on";
    /// More stickers wait than there is room for.
    PrintsFull, 503, "prints-full", "More stickers wait than there is room for";
    /// The service is shutting down or not ready.
    NotReady, 503, "not-ready", "The service is not ready";
}

impl Problem {
    /// With the faults of the body.
    #[must_use]
    pub fn about(mut self, faults: impl IntoIterator<Item = Fault>) -> Self {
        self.errors.extend(faults);
        self
    }

    /// With the digests that are held.
    #[must_use]
    pub fn holding(mut self, held: impl IntoIterator<Item = String>) -> Self {
        self.held.extend(held);
        self
    }
}
