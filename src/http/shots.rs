//! Shots: one that was pulled in, and the one change to make out.

use actix_web::{HttpRequest, HttpResponse, post, web};

use super::{
    app::guarded,
    posted::posted,
    reply::{Failure, json},
    state::State,
};
use crate::{
    answering::{read_shot, shot_answer},
    wire::{Problem, ShotAnswer, ShotTicket},
};

/// Check a shot
///
/// Holds a pulled shot to the site's recipe: whether dose, yield, time and extraction are within it,
/// and exactly one change to make, or none, with its reason. One thing is changed at a time: dose,
/// then how the puck is prepared (once; if the next shot gushes too, the grind), then yield, then grind, then yield for the taste. The size of a
/// grinder's step is learned from the recent shots that come along, where they show it; else it is
/// the book's usual one. Nothing of a shot is kept.
#[utoipa::path(
    tag = "shots",
    request_body = ShotTicket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "The shot beside its recipe", body = ShotAnswer),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/shots/check")]
pub(crate) async fn check_shot(
    state: web::Data<State>,
    request: HttpRequest,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "shot")?;
    let ticket = read_shot(&body)?;
    let held = state.held();
    Ok(json(guarded(|| shot_answer(&held, &ticket))?))
}
