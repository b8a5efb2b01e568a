//! What a till may offer at a site, and what its buttons mean.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    accept::first_of,
    app::guarded,
    drinks::AtSite,
    reply::{Failure, chosen, tagged, tagged_as},
    state::State,
};
use crate::{
    answering::{checked_till, menu, unknown_lang},
    till::csv_of,
    wire::{Kind, Menu, Problem, TillMapView},
};

/// Read the menu of a site
///
/// What a till may offer now: the drinks that can be made with their cups and prices, what each of
/// them takes, the modifiers with values, bounds, prices and what excludes what and why, and the
/// drinks that cannot be made with the reason. Its tag changes when anything of this does.
#[utoipa::path(
    tag = "menu",
    params(AtSite),
    responses(
        (status = 200, description = "The menu", body = Menu),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No menu, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/menu")]
pub(crate) async fn read_menu(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<AtSite>,
) -> Result<HttpResponse, Failure> {
    let editions = state.editions();
    let (edition, held) = (editions.now(), &editions.now().held);
    let bar = query.bar(held)?;
    let (lang, sent) = (query.lang.as_deref(), state.sent(&bar.site.id));
    let make = || menu(held, bar, lang, &sent);
    let body = guarded(|| state.menus.get(edition, bar, lang, &sent, make))?;
    tagged(&request, body)
}

/// In which form and language.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OfTill {
    /// The site, by id.
    pub(crate) site: String,
    /// Language of the texts; the site's first if not given.
    pub(crate) lang: Option<String>,
}

/// Read the sheet of a site's till
///
/// What each button of the till means, whether it maps to nothing, to a refusal or to the same as
/// another, and which drinks no button reaches. As CSV with `Accept: text/csv`, the sheet itself.
#[utoipa::path(
    tag = "menu",
    params(OfTill),
    responses(
        (status = 200, description = "The sheet", content(
            (TillMapView = "application/json"), (String = "text/csv"))),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No sheet, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/till-map")]
pub(crate) async fn read_till_map(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<OfTill>,
) -> Result<HttpResponse, Failure> {
    let at = AtSite { site: Some(query.site.clone()), lang: query.lang.clone() };
    let held = state.held();
    let bar = at.bar(&held)?;
    let Some(map) = held.tills.get(&bar.site.id) else {
        let detail = format!("There is no sheet for the till of `{}`.", bar.site.id);
        return Err(Kind::NoTillMap.with(detail).into());
    };
    let form = first_of(&request, &["application/json", "text/csv"])?;
    if form == "text/csv" {
        let sheet = csv_of(&map.buttons).into_bytes();
        return Ok(chosen(tagged_as(&request, sheet, "text/csv; charset=utf-8")));
    }
    let lang = query.lang.as_deref();
    let found = held.catalogue(bar, lang);
    let catalogue = found.map_err(|known| unknown_lang(&known, "lang"))?;
    let body = guarded(|| {
        let view = checked_till(bar, map, catalogue);
        serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))
    })?;
    Ok(chosen(tagged(&request, body)?))
}
