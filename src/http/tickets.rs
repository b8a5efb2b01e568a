//! Tickets: an order in, verdicts and exact builds out.

use actix_web::{HttpRequest, HttpResponse, http::header, post, web};

use super::{
    accept::first_of,
    app::guarded,
    key::may_override,
    reply::{Failure, chosen, json, plain},
    state::State,
};
use crate::{
    answering::{Asked, Sent, Tally, answer, answer_text, read_ticket},
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
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
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
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    respond(&state, &request, &body, Asked::Verdicts)
}

fn respond(
    state: &State,
    request: &HttpRequest,
    body: &[u8],
    asked: Asked,
) -> Result<HttpResponse, Failure> {
    declared_as_json(request, "ticket")?;
    let forms: &[&'static str] = match asked {
        Asked::Builds => &["application/json", "text/plain"],
        Asked::Verdicts => &["application/json"],
    };
    let form = first_of(request, forms)?;
    let (ticket, sent) = read_sent(state, request, body)?;
    let editions = state.editions();
    if form == "text/plain" {
        let answered = guarded(|| answer_text(&editions, ticket, asked, &sent))?;
        count(state, &answered.tally);
        return Ok(chosen(plain(answered.text)));
    }
    let builds = state.builds.as_ref();
    let answered = guarded(|| answer(&editions, ticket, asked, &sent, builds))?;
    count(state, &answered.tally);
    let reply = json(answered.bytes);
    Ok(if asked == Asked::Builds { chosen(reply) } else { reply })
}

/// A ticket with what is true of whoever sent it.
pub(super) fn read_sent(
    state: &State,
    request: &HttpRequest,
    body: &[u8],
) -> Result<(Ticket, Sent), Failure> {
    let ticket = read_ticket(body)?;
    let mut sent = state.sent(&ticket.site);
    sent.may_override = may_override(state, request, &ticket.site)?;
    Ok((ticket, sent))
}

/// Refuses a body that is not declared as JSON.
///
/// * `what`: what the body is.
pub(super) fn declared_as_json(request: &HttpRequest, what: &str) -> Result<(), Problem> {
    let declared = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    if declared.is_some_and(is_json) {
        return Ok(());
    }
    let detail = format!("Send the {what} with `Content-Type: application/json`.");
    Err(Kind::UnsupportedMediaType.with(detail))
}

/// Counts verdicts and codes; nothing else of a ticket is told.
fn count(state: &State, tally: &Tally) {
    state.metrics.judged(tally.accepted, tally.asked, tally.refused, tally.kept);
    tally.codes.iter().for_each(|code| state.metrics.objected(code));
}

fn is_json(declared: &str) -> bool {
    let kind = declared.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
    kind == "application/json" || (kind.starts_with("application/") && kind.ends_with("+json"))
}
