//! Explanations: where a build's figures come from.

use actix_web::{HttpRequest, HttpResponse, post, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::guarded,
    posted::posted,
    reply::{Failure, json},
    state::State,
    tickets::read_sent,
};
use crate::{
    answering::explained_json,
    wire::{Explanation, Kind, Problem, Ticket},
};

/// Which figures.
#[derive(Clone, Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Wanted {
    /// JSON Pointer of a figure, or of what figures stand in, such as `/milk`; all if not given.
    #[param(max_length = 80, pattern = "^/", example = "/milk/cold_ml")]
    figure: Option<String>,
}

/// Explain the figures of a ticket's builds
///
/// For every figure of each accepted line's build the terms that come to it, with values, units and
/// where each came from: a field of the book and its layer, a field of the site's sheet, a law with
/// its source, another figure, or the line itself. The terms, added and divided as said, come to
/// the figure.
#[utoipa::path(
    tag = "tickets",
    params(Wanted),
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "The figures of each line with their terms", body = Explanation),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/explain")]
pub(crate) async fn explain_ticket(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<Wanted>,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "ticket")?;
    let only: Vec<String> = query.into_inner().figure.into_iter().collect();
    if let Some(odd) = only.iter().find(|one| !one.starts_with('/') || one.len() > 80) {
        let detail = format!("`{odd}` is no pointer of a figure, such as `/milk/cold_ml`.");
        return Err(Kind::InvalidQuery.with(detail).into());
    }
    let (ticket, sent) = read_sent(&state, &request, &body)?;
    let editions = state.editions();
    Ok(json(guarded(|| explained_json(&editions, ticket, &only, &sent))?))
}
