//! The book in force.

use actix_web::{HttpRequest, HttpResponse, get, web};

use super::{
    key::keyed,
    reply::{Failure, tagged},
    state::State,
};
use crate::{
    keys::Role,
    wire::{BookInForce, Kind},
};

/// Read which book is in force
///
/// Its id, version and digest, since when this process has it, and the digests that a ticket may
/// be pinned to.
#[utoipa::path(
    tag = "book",
    responses(
        (status = 200, description = "The book in force", body = BookInForce),
        (status = 304, description = "The reader has it already"),
    ),
)]
#[get("/v1/book")]
pub(crate) async fn read_book(
    state: web::Data<State>,
    request: HttpRequest,
) -> Result<HttpResponse, Failure> {
    let editions = state.editions();
    let now = editions.now();
    // An overlay is in force at every bar or at none, so the book's own bar tells of all.
    let bar = now.held.training_bar();
    let view = BookInForce {
        id: now.held.book().id.to_string(),
        version: now.held.book().version.clone(),
        digest: now.held.digest().to_string(),
        overlay: bar.and_then(|bar| bar.overlay_digest).map(|digest| digest.to_string()),
        since: now.since.to_string(),
        held: editions.books().iter().map(ToString::to_string).collect(),
        not_taken: state.not_taken(),
        out_of_stock: state.stock.all(),
    };
    let body = serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))?;
    tagged(&request, body)
}

/// Read the book itself
///
/// The document as the roaster wrote it, byte for byte, with everything that it holds of recipes.
/// Needs a key of the role `trainer` or above.
#[utoipa::path(
    tag = "book",
    security(("key" = [])),
    responses(
        (status = 200, description = "The book", body = Object),
        (status = 304, description = "The reader has it already"),
    ),
)]
#[get("/v1/book/document")]
pub(crate) async fn read_document(
    state: web::Data<State>,
    request: HttpRequest,
) -> Result<HttpResponse, Failure> {
    keyed(&state, &request, Role::Trainer, None)?;
    tagged(&request, state.held().document.text.as_bytes().to_vec())
}
