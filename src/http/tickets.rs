//! Tickets: an order in, verdicts and exact builds out.

use actix_web::{HttpRequest, HttpResponse, http::header, post, web};

use super::{
    accept::wants,
    key::may_override,
    reply::{Failure, chosen, json, plain},
    serve::{State, guarded, whole_body},
};
use crate::{
    answering::{Asked, answer, answer_text, read_ticket},
    wire::{Answer, Kind, Problem, Ticket},
};

/// Expand a ticket
///
/// Answers a verdict for each line: the exact build of one cup, a question with choices, or a
/// refusal with alternatives. Asking twice under one book and one site's sheet gives the same
/// builds, byte for byte. A line that cannot be made is an answer, not an error. With
/// `Accept: text/plain` the answer is a text of at most 42 columns, one cup a paragraph, for tills
/// that can only attach a note. An override is taken with a key of the role `trainer` or above.
#[utoipa::path(
    tag = "tickets",
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "A verdict for each line", content(
            (Answer = "application/json"), (String = "text/plain"))),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/expand")]
pub(crate) async fn expand_ticket(
    state: web::Data<State>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<HttpResponse, Failure> {
    let body = whole_body(payload).await?;
    respond(&state, &request, &body, Asked::Builds)
}

/// Validate a ticket
///
/// The answer of `/v1/expand` without the builds.
#[utoipa::path(
    tag = "tickets",
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "A verdict for each line", body = Answer),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/validate")]
pub(crate) async fn validate_ticket(
    state: web::Data<State>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<HttpResponse, Failure> {
    let body = whole_body(payload).await?;
    respond(&state, &request, &body, Asked::Verdicts)
}

fn respond(
    state: &State,
    request: &HttpRequest,
    body: &[u8],
    asked: Asked,
) -> Result<HttpResponse, Failure> {
    let declared = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    if !declared.is_some_and(is_json) {
        let detail = "Send the ticket with `Content-Type: application/json`.";
        return Err(Kind::UnsupportedMediaType.with(detail).into());
    }
    let ticket = read_ticket(body)?;
    let mut sent = state.sent(&ticket.site);
    sent.may_override = may_override(state, request, &ticket.site)?;
    if asked == Asked::Verdicts {
        return Ok(json(guarded(|| answer(&state.held, ticket, asked, &sent))?));
    }
    Ok(chosen(if wants(request, "text/plain") {
        plain(guarded(|| answer_text(&state.held, ticket, asked, &sent))?.text)
    } else {
        json(guarded(|| answer(&state.held, ticket, asked, &sent))?)
    }))
}

fn is_json(declared: &str) -> bool {
    let kind = declared.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
    kind == "application/json" || (kind.starts_with("application/") && kind.ends_with("+json"))
}
