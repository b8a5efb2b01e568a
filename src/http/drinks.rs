//! Drinks: the list, and one drink's standard builds at a site.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    reply::{Failure, tagged},
    serve::{State, guarded},
};
use crate::{
    answering::{drink_builds, drink_row, unknown_lang, unknown_site},
    book::Bar,
    wire::{BookStamp, DrinkBuilds, DrinksList, Kind, Problem},
};

/// Where and in which language.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct AtSite {
    /// The site, by id; the book's training bar if not given.
    pub(crate) site: Option<String>,
    /// Language of the texts; the site's first if not given.
    pub(crate) lang: Option<String>,
}

impl AtSite {
    pub(super) fn bar<'s>(&self, state: &'s State) -> Result<&'s Bar, Problem> {
        let own = &state.held.book().training_bar.id;
        let site = self.site.as_deref().unwrap_or(own);
        let bar = state.held.bar(site).ok_or_else(|| unknown_site(&state.held, site))?;
        Ok(bar)
    }
}

/// List the drinks
///
/// Every drink of the book in force with its names and cups, as they hold at the site.
#[utoipa::path(
    tag = "drinks",
    params(AtSite),
    responses(
        (status = 200, description = "The drinks", body = DrinksList),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No list, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/drinks")]
pub(crate) async fn list_drinks(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<AtSite>,
) -> Result<HttpResponse, Failure> {
    let bar = query.bar(&state)?;
    let lang = query.lang.as_deref();
    let found = state.held.catalogue(bar, lang);
    let catalogue = found.map_err(|known| unknown_lang(&known, "lang"))?;
    let rows = bar.book.drinks.iter().map(|drink| drink_row(bar, drink, catalogue));
    let list = DrinksList {
        book: BookStamp::of(bar),
        lang: catalogue.lang.to_string(),
        drinks: rows.collect(),
    };
    let body = serde_json::to_vec(&list).map_err(|fault| Kind::Internal.with(fault))?;
    Ok(tagged(&request, body))
}

/// Read a drink
///
/// The standard build of each of its cups at the site, or why a cup cannot be made there.
#[utoipa::path(
    tag = "drinks",
    params(("id" = String, Path, description = "The drink, by id"), AtSite),
    responses(
        (status = 200, description = "The drink with its builds", body = DrinkBuilds),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No drink, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/drinks/{id}")]
pub(crate) async fn read_drink(
    state: web::Data<State>,
    request: HttpRequest,
    id: web::Path<String>,
    query: web::Query<AtSite>,
) -> Result<HttpResponse, Failure> {
    let bar = query.bar(&state)?;
    let lang = query.lang.as_deref();
    let sent = state.sent(&bar.site.id);
    let body = guarded(|| drink_builds(&state.held, bar, &id, lang, &sent))?;
    Ok(tagged(&request, body))
}
