//! Health: whether the process lives, and whether it should get requests.

use actix_web::{HttpResponse, get, web};

use super::{reply::Failure, serve::State};
use crate::wire::{Kind, Problem};

/// Tell that the process lives
///
/// Answers as long as the process can answer at all.
#[utoipa::path(tag = "health", responses((status = 204, description = "It lives")))]
#[get("/health/live")]
pub(crate) async fn live() -> HttpResponse {
    HttpResponse::NoContent().finish()
}

/// Tell whether the process is ready
///
/// Ready once a book with at least one site is in force.
#[utoipa::path(
    tag = "health",
    responses(
        (status = 204, description = "It is ready"),
        (status = 503, description = "It is not ready", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/health/ready")]
pub(crate) async fn ready(state: web::Data<State>) -> Result<HttpResponse, Failure> {
    if state.held.bars.is_empty() {
        return Err(Kind::NotReady.with("No site is in force.").into());
    }
    Ok(HttpResponse::NoContent().finish())
}
