//! Amounts in a cup in, the drinks that they fit out.

use actix_web::{HttpRequest, HttpResponse, post, web};

use super::{
    app::guarded,
    posted::posted,
    reply::{Failure, json},
    state::State,
};
use crate::{
    answering::{drinks_near, read_cup},
    wire::{CupTicket, DrinksNear, Problem},
};

/// Identify a drink
///
/// The drinks of the book that amounts in a cup are nearest to at a site, at most five: by what makes
/// each drink this drink, then by how it comes. Drinks are told by amounts and named ingredients
/// alone: nothing follows from it for allergens.
#[utoipa::path(
    tag = "drinks",
    request_body = CupTicket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "The drinks, the nearest first", body = DrinksNear),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/identify")]
pub(crate) async fn identify_drink(
    state: web::Data<State>,
    request: HttpRequest,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "cup")?;
    let ticket = read_cup(&body)?;
    let editions = state.editions();
    let now = editions.now();
    let kept = Some((&state.standard_cups, now.number));
    Ok(json(guarded(|| drinks_near(&now.held, &ticket, kept))?))
}
