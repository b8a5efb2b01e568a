//! What a sales mix takes.

use actix_web::{HttpRequest, HttpResponse, post, web};

use super::{
    app::guarded,
    posted::posted,
    reply::{Failure, json},
    state::State,
};
use crate::{
    answering::{needs_of, read_needs},
    wire::{NeedsAnswer, NeedsRequest, Problem},
};

/// Work out what a sales mix takes
///
/// Baskets with halves paired and each cup by itself, ground coffee with dialling in and purging,
/// milk with film and what is left over, every ingredient before and after waste, cups and lids, and
/// with a forecast the par level of each ingredient. Every line is built once and multiplied. A line
/// that is asked about or refused is told with its reason and left out of the totals.
#[utoipa::path(
    tag = "sites",
    request_body = NeedsRequest,
    responses(
        (status = 200, description = "What the mix takes", body = NeedsAnswer),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/needs")]
pub(crate) async fn work_out_needs(
    state: web::Data<State>,
    request: HttpRequest,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "mix")?;
    let mix = read_needs(&body)?;
    let (held, sent) = (state.held(), state.sent(&mix.site));
    let answer = guarded(|| needs_of(&held, mix, &sent))?;
    Ok(json(answer))
}
