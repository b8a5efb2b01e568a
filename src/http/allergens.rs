//! The drinks of a site by allergens, to look at and to print, and the site's cautions.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    accept::first_of,
    app::guarded,
    drinks::AtSite,
    menu::OfTill,
    reply::{Failure, chosen, tagged, tagged_as},
    state::State,
};
use crate::{
    answering::{cautions, matrix, matrix_csv, matrix_html, matrix_text},
    wire::{AllergenMatrix, CautionsList, Kind, Problem},
};

/// Which site, in which language, and for which day.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OfMatrix {
    /// The site, by id.
    site: String,
    /// Language of the texts; the site's first if not given.
    lang: Option<String>,
    /// The day that is printed on it (ISO 8601 date); today at the site if not given.
    #[param(value_type = Option<String>, format = Date)]
    at: Option<String>,
}

const JSON: &str = "application/json";
const HTML: &str = "text/html; charset=utf-8";
const CSV: &str = "text/csv; charset=utf-8";
const TEXT: &str = "text/plain; charset=utf-8";

/// Read the drinks of a site by allergens
///
/// For each drink as it is usually made there, and each allergen of the region's table, whether it
/// is contained, may be contained, is on shared equipment, or nothing is recorded; none of these
/// says that it is absent. As a page to print with `Accept: text/html`, as a table with
/// `Accept: text/csv`, as plain text with `Accept: text/plain`.
#[utoipa::path(
    tag = "allergens",
    params(OfMatrix),
    responses(
        (status = 200, description = "The drinks by allergens", content(
            (AllergenMatrix = "application/json"), (String = "text/html"), (String = "text/csv"),
            (String = "text/plain"))),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No such table, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/allergens")]
pub(crate) async fn read_allergens(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<OfMatrix>,
) -> Result<HttpResponse, Failure> {
    let OfMatrix { site, lang, at } = query.into_inner();
    let held = state.held();
    let bar = AtSite { site: Some(site), lang: None }.bar(&held)?;
    let form = first_of(&request, &[JSON, "text/html", "text/csv", "text/plain"])?;
    let now = (state.clock)();
    let (body, kind) = guarded(|| {
        let made = matrix(&held, bar, lang.as_deref(), at.as_deref(), now)?;
        Ok(match form {
            "text/html" => (matrix_html(&made).into_bytes(), HTML),
            "text/csv" => (matrix_csv(&made).into_bytes(), CSV),
            "text/plain" => (matrix_text(&made).into_bytes(), TEXT),
            _ => {
                let body = serde_json::to_vec(&made.view);
                (body.map_err(|fault| Kind::Internal.with(fault))?, JSON)
            }
        })
    })?;
    Ok(chosen(tagged_as(&request, body, kind)))
}

/// Read the cautions of a site
///
/// Those for its bench, such as how cold milk is kept, and those that come with cups, each with
/// where it comes from and when it is said. Local codes and licensed practice come first.
#[utoipa::path(
    tag = "allergens",
    params(OfTill),
    responses(
        (status = 200, description = "The cautions", body = CautionsList),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No cautions, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/cautions")]
pub(crate) async fn read_cautions(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<OfTill>,
) -> Result<HttpResponse, Failure> {
    let OfTill { site, lang } = query.into_inner();
    let held = state.held();
    let bar = AtSite { site: Some(site), lang: None }.bar(&held)?;
    let list = cautions(&held, bar, lang.as_deref())?;
    let body = serde_json::to_vec(&list).map_err(|fault| Kind::Internal.with(fault))?;
    tagged(&request, body)
}
