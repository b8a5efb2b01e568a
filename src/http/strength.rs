//! Strength across sites.

use actix_web::{HttpRequest, HttpResponse, get, web};

use super::{
    app::guarded,
    reply::{Failure, tagged},
    state::State,
};
use crate::{
    answering::strength_table,
    wire::{Kind, StrengthTable},
};

/// Compare the strength of drinks across sites
///
/// Each cup of each drink at each site beside the same cup at the book's own bar, those that differ
/// most first: grams of dissolved coffee in 100 mL of liquid, and the fill with which the halves of
/// the site would come to the book's strength. Halves cannot be cut; who makes what of it decides.
#[utoipa::path(
    tag = "sites",
    responses(
        (status = 200, description = "Cups, those that differ most first", body = StrengthTable),
        (status = 304, description = "The reader has it already"),
    ),
)]
#[get("/v1/strength")]
pub(crate) async fn compare_strength(
    state: web::Data<State>,
    request: HttpRequest,
) -> Result<HttpResponse, Failure> {
    let held = state.held();
    let body = guarded(|| {
        let table = strength_table(&held).ok_or_else(|| Kind::Internal.with("No bar is held."))?;
        serde_json::to_vec(&table).map_err(|fault| Kind::Internal.with(fault))
    })?;
    tagged(&request, body)
}
