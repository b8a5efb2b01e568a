//! Set-points for wanted temperatures.

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
    answering::set_points,
    units::Temperature,
    wire::{Kind, Problem, SetPoints, Ticket},
};

/// How warm the drinks are wanted.
#[derive(Clone, Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Wanted {
    /// Temperature of the drinks as served, °C; it is taken to a thousandth.
    #[param(minimum = 20, maximum = 90, example = 58)]
    serve_c: f64,
}

/// Find the set-point for a wanted temperature of the drink
///
/// For each line of the ticket the set-point of its milk with which the drink is served at the wanted
/// temperature, its cup and everything else in it counted. A set-point above the milk's cap is never
/// answered: the hottest that is allowed is, with what it comes to.
#[utoipa::path(
    tag = "tickets",
    params(Wanted),
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "A set-point for each line", body = SetPoints),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/set-points")]
pub(crate) async fn find_set_points(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<Wanted>,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "ticket")?;
    let serve_c = Some(query.serve_c).filter(|c| (20.0..=90.0).contains(c));
    let wanted = serve_c.map(Temperature::from_c).ok_or_else(|| {
        Kind::InvalidQuery.with("`serve_c` is a temperature from 20 to 90 °C, such as 58.")
    })?;
    let (ticket, sent) = read_sent(&state, &request, &body)?;
    let editions = state.editions();
    let body = guarded(|| {
        let found = set_points(&editions, ticket, wanted, &sent)?;
        serde_json::to_vec(&found).map_err(|fault| Kind::Internal.with(fault))
    })?;
    Ok(json(body))
}
