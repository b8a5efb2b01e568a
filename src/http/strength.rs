//! Strength across sites.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::guarded,
    reply::{Failure, tagged},
    state::State,
};
use crate::{
    answering::{strength_table, unknown_site},
    wire::{Kind, Problem, StrengthTable},
};

/// Which site.
#[derive(Clone, Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OneSite {
    /// One site only, by id; all if not given.
    site: Option<String>,
}

/// Compare the strength of drinks across sites
///
/// Each cup of each drink at each site beside the same cup at the book's own bar, those that differ
/// most first: grams of dissolved coffee in 100 mL of liquid, and the fill with which the halves of
/// the site would come to the book's strength. Halves cannot be cut; who makes what of it decides.
#[utoipa::path(
    tag = "sites",
    params(OneSite),
    responses(
        (status = 200, description = "Cups, those that differ most first", body = StrengthTable),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No comparison, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/strength")]
pub(crate) async fn compare_strength(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<OneSite>,
) -> Result<HttpResponse, Failure> {
    let held = state.held();
    let site = query.site.as_deref();
    if let Some(site) = site.filter(|site| held.bar(site).is_none()) {
        return Err(unknown_site(&held, site).into());
    }
    let body = guarded(|| {
        let mut table =
            strength_table(&held).ok_or_else(|| Kind::Internal.with("No bar is held."))?;
        table.rows.retain(|row| site.is_none_or(|site| row.site == *site));
        serde_json::to_vec(&table).map_err(|fault| Kind::Internal.with(fault))
    })?;
    tagged(&request, body)
}
