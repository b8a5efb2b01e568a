//! The book in force.

use actix_web::{HttpRequest, HttpResponse, get, web};

use super::{
    reply::{Failure, tagged},
    serve::State,
};
use crate::wire::{BookInForce, Kind};

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
    let digest = state.held.digest().to_string();
    // An overlay is in force at every bar or at none, so the book's own bar tells of all.
    let bar = state.held.training_bar();
    let view = BookInForce {
        id: state.held.book().id.to_string(),
        version: state.held.book().version.clone(),
        digest: digest.clone(),
        overlay: bar.and_then(|bar| bar.overlay_digest).map(|digest| digest.to_string()),
        since: state.since.to_string(),
        held: vec![digest],
        out_of_stock: state.stock.all(),
    };
    let body = serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))?;
    Ok(tagged(&request, body))
}
