//! Sites.

use actix_web::{HttpRequest, HttpResponse, get, web};

use super::{
    reply::{Failure, tagged},
    state::State,
};
use crate::{
    book::Bar,
    wire::{Kind, SiteRow, SitesList},
};

/// List the sites
///
/// Every site that tickets may name, the book's training bar among them.
#[utoipa::path(
    tag = "sites",
    responses(
        (status = 200, description = "The sites", body = SitesList),
        (status = 304, description = "The reader has it already"),
    ),
)]
#[get("/v1/sites")]
pub(crate) async fn list_sites(
    state: web::Data<State>,
    request: HttpRequest,
) -> Result<HttpResponse, Failure> {
    let held = state.held();
    let sites = held.bars.values().map(|bar| row(bar)).collect();
    let body =
        serde_json::to_vec(&SitesList { sites }).map_err(|fault| Kind::Internal.with(fault))?;
    tagged(&request, body)
}

fn row(bar: &Bar) -> SiteRow {
    let site = &bar.site;
    let first = site.languages.first().map_or("", |lang| &**lang);
    SiteRow {
        id: site.id.to_string(),
        name: site.names.in_lang(first).to_owned(),
        region: site.region.to_string(),
        languages: site.languages.iter().map(ToString::to_string).collect(),
        time_zone: site.time_zone.clone(),
        digest: bar.site_digest.to_string(),
    }
}
