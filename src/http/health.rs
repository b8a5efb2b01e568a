//! Health: whether the process lives, and whether it should get requests.

use actix_web::{HttpResponse, get, web};

use super::{reply::Failure, state::State};
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
/// Ready while a book with at least one site is in force, until the process is told to stop.
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
    if state.is_leaving() {
        return Err(Failure::from(Kind::NotReady.with("The process was told to stop.")).after(1));
    }
    if state.held().bars.is_empty() {
        return Err(Failure::from(Kind::NotReady.with("No site is in force.")).after(1));
    }
    Ok(HttpResponse::NoContent().finish())
}
