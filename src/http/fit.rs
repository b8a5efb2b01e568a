//! What a site cannot make, and what one purchase would enable.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::guarded,
    reply::{Failure, tagged},
    state::State,
};
use crate::{
    answering::{fit, unknown_site},
    wire::{FitAnswer, Problem},
};

/// In which language.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct InLang {
    /// Language of the texts; the site's first if not given.
    pub(crate) lang: Option<String>,
}

/// Read what a site cannot make
///
/// The drinks, cup by cup, and the modifiers, value by value, that the site cannot make or offer, with
/// the reasons; and of what it lacks of the book's equipment and ingredients, the one purchase that
/// would enable most, each tried by building everything again with it. What has run out for the day
/// is not looked at; a drink out of season, or made on the training bar only, is told as such.
#[utoipa::path(
    tag = "sites",
    params(("site" = String, Path, description = "The site, by id"), InLang),
    responses(
        (status = 200, description = "What is not made, and what would enable most", body = FitAnswer),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/sites/{site}/fit")]
pub(crate) async fn read_fit(
    state: web::Data<State>,
    request: HttpRequest,
    site: web::Path<String>,
    query: web::Query<InLang>,
) -> Result<HttpResponse, Failure> {
    let editions = state.editions();
    let (edition, held) = (editions.now(), &editions.now().held);
    let bar = held.bar(&site).ok_or_else(|| unknown_site(held, &site))?;
    let (lang, sent) = (query.lang.as_deref(), state.sent(&bar.site.id));
    let make = || fit(held, bar, lang, &sent);
    let body = guarded(|| state.fits.get(edition, bar, lang, &sent, make))?;
    tagged(&request, body)
}
