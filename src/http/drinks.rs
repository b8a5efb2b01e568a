//! Drinks: the list, and one drink's standard builds at a site.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::guarded,
    reply::{Failure, tagged},
    state::State,
};
use crate::{
    answering::{drink_builds, drink_row, unknown_lang, unknown_site},
    book::Bar,
    in_force::InForce,
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
    pub(super) fn bar<'h>(&self, held: &'h InForce) -> Result<&'h Bar, Problem> {
        let own = &held.book().training_bar.id;
        let site = self.site.as_deref().unwrap_or(own);
        let bar = held.bar(site).ok_or_else(|| unknown_site(held, site))?;
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
    let held = state.held();
    let bar = query.bar(&held)?;
    let lang = query.lang.as_deref();
    let found = held.catalogue(bar, lang);
    let catalogue = found.map_err(|known| unknown_lang(&known, "lang"))?;
    let rows = bar.book.drinks.iter().map(|drink| drink_row(bar, drink, catalogue));
    let list = DrinksList {
        book: BookStamp::of(bar),
        lang: catalogue.lang.to_string(),
        drinks: rows.collect(),
    };
    let body = serde_json::to_vec(&list).map_err(|fault| Kind::Internal.with(fault))?;
    tagged(&request, body)
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
    let held = state.held();
    let bar = query.bar(&held)?;
    let lang = query.lang.as_deref();
    let sent = state.sent(&bar.site.id);
    let body = guarded(|| drink_builds(&held, bar, &id, lang, &sent))?;
    tagged(&request, body)
}
