//! What has run out during service: said with a key, kept in the state directory.

use actix_web::{HttpRequest, HttpResponse, delete, put, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    key::keyed,
    reply::{Failure, json},
    state::State,
};
use crate::{
    answering::unknown_site,
    keys::Role,
    wire::{Kind, Problem, StockView},
};

/// At which site.
#[derive(Clone, Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OfSite {
    /// The site, by id.
    pub(crate) site: String,
}

/// Say that an ingredient has run out
///
/// From then on lines of that site that need it are refused, with stocked alternatives. Saying it
/// again changes nothing. Needs a key of the role `till` or above.
#[utoipa::path(
    tag = "stock",
    params(("ingredient" = String, Path, description = "The ingredient, by id"), OfSite),
    security(("key" = [])),
    responses(
        (status = 200, description = "What has run out there now", body = StockView),
        (status = "4XX", description = "Nothing is changed, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[put("/v1/stock/{ingredient}")]
pub(crate) async fn run_out(
    state: web::Data<State>,
    request: HttpRequest,
    ingredient: web::Path<String>,
    query: web::Query<OfSite>,
) -> Result<HttpResponse, Failure> {
    change(&state, &request, &ingredient, &query.site, true)
}

/// Say that an ingredient is there again
///
/// From then on answers are, byte for byte, what they were before it ran out. Needs a key of the
/// role `till` or above.
#[utoipa::path(
    tag = "stock",
    params(("ingredient" = String, Path, description = "The ingredient, by id"), OfSite),
    security(("key" = [])),
    responses(
        (status = 200, description = "What has run out there now", body = StockView),
        (status = "4XX", description = "Nothing is changed, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[delete("/v1/stock/{ingredient}")]
pub(crate) async fn back_again(
    state: web::Data<State>,
    request: HttpRequest,
    ingredient: web::Path<String>,
    query: web::Query<OfSite>,
) -> Result<HttpResponse, Failure> {
    change(&state, &request, &ingredient, &query.site, false)
}

fn change(
    state: &State,
    request: &HttpRequest,
    ingredient: &str,
    site: &str,
    gone: bool,
) -> Result<HttpResponse, Failure> {
    keyed(state, request, Role::Till, Some(site))?;
    let held = state.held();
    let bar = held.bar(site).ok_or_else(|| unknown_site(&held, site))?;
    // What is said to be back may be something that a newer book no longer has.
    let known = bar.ingredient(ingredient).is_some() || (!gone && was_out(state, site, ingredient));
    if !known {
        let detail = format!("The book has no ingredient `{ingredient}`.");
        return Err(Kind::UnknownIngredient.with(detail).into());
    }
    if !state.stock.is_kept() {
        let detail = "Start the service with `--state DIR` to keep what has run out.";
        return Err(Kind::NoStateHere.with(detail).into());
    }
    let kept = state.stock.set(site, ingredient, gone);
    kept.map_err(|fault| Kind::Internal.with(format_args!("It cannot be kept: {fault}.")))?;
    let view = StockView { site: site.to_owned(), out_of_stock: state.stock.at(site) };
    let body = serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))?;
    Ok(json(body))
}

fn was_out(state: &State, site: &str, ingredient: &str) -> bool {
    state.stock.at(site).iter().any(|one| one == ingredient)
}
