//! Prints: a ticket's stickers to the site's printer, and what became of them.

use actix_web::{
    HttpRequest, HttpResponse, get,
    http::header::{self, HeaderMap},
    post, web,
};
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

use super::{
    app::guarded,
    key::{key, keyed},
    posted::posted,
    reply::{Failure, json},
    state::State,
    tickets::read_sent,
};
use crate::{
    answering::{PrintAsked, not_taken, print_answer, print_order},
    json::Digest,
    keys::Role,
    print::{Digested, Refused, Taken},
    wire::{Kind, PrintAnswer, Problem, Ticket},
};

/// The header by which a sender names a request of its own.
const IDEMPOTENCY_KEY: &str = "Idempotency-Key";
/// Most characters of it.
const KEY_MOST: usize = 255;
/// Seconds after which there may be room again.
const FULL_FOR: u64 = 5;

/// On which printer, and whether again.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct PrintQuery {
    /// The site's printer, by id; its first that has an address if not given.
    #[param(max_length = 64)]
    printer: Option<String>,
    /// Whether they were printed before, which the stickers then say.
    #[serde(default)]
    reprint: bool,
}

/// Print the stickers of a ticket
///
/// Sends the stickers of a ticket's cups to a printer of its site, by the Internet Printing Protocol
/// (RFC 8011), and answers at once with an id by which to ask what became of them. A printer that is
/// busy is waited for; after that, and where one cannot be reached or something is the matter with it,
/// the sticker goes to another of the same station and then of the same site that has labels of the
/// same size. A sticker that may have been printed is never sent again: it is `unknown`. With an
/// `Idempotency-Key` a request that is sent twice is printed once, for as long as this process keeps
/// the first (the last 1,000 prints), and after a restart for as long as the printer lists its jobs. For
/// 15 minutes after a start, a printer that may have it and cannot be asked leaves it `unknown`, and no
/// other prints it; with `reprint` another does.
/// The queue is in memory, bounded, and lost when the process ends. Where the service takes keys, one
/// of the role `till` or above is needed.
#[utoipa::path(
    tag = "prints",
    params(
        PrintQuery,
        ("Idempotency-Key" = Option<String>, Header,
         description = "The sender's own name for this request, of 1 to 255 visible characters",
         min_length = 1, max_length = 255, pattern = "^[!-~]+$"),
    ),
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 202, description = "They are taken; how they stand is told at `Location`",
         body = PrintAnswer, headers(("Location" = String, description = "Where that is told"))),
        (status = "4XX", description = "Nothing is printed, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/prints")]
pub(crate) async fn print_stickers(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<PrintQuery>,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "ticket")?;
    let (ticket, sent) = read_sent(&state, &request, &body)?;
    may_print(&state, &request, &ticket.site)?;
    let own = own_key(request.headers())?;
    let key = own.map(|own| scoped(&state, &request, &ticket.site, own)).transpose()?;
    let PrintQuery { printer, reprint } = query.into_inner();
    let asked =
        digest(&[&body, printer.as_deref().unwrap_or_default().as_bytes(), &[reprint.into()]]);
    let known = key.map_or(Ok(None), |key| state.prints.known(&key, &asked));
    let taken = if let Some(taken) = known.map_err(refusal)? {
        taken
    } else {
        let editions = state.editions();
        let public_base = state.settings.public_base.clone();
        let asked = PrintAsked { printer, reprint, public_base, key, asked };
        let order = guarded(|| print_order(&editions, ticket, &sent, &asked))?;
        state.prints.take(order).map_err(refusal)?
    };
    let Taken { view, .. } = taken;
    let place = format!("/v1/prints/{}", view.id);
    let answer = print_answer(&state.held(), view);
    let body = serde_json::to_vec(&answer).map_err(|fault| Kind::Internal.with(fault))?;
    let mut reply = HttpResponse::Accepted();
    reply.insert_header((header::LOCATION, place)).content_type("application/json");
    Ok(reply.body(body))
}

/// Read what became of stickers
///
/// Where each sticker of a print stands. It is kept in memory: nothing is known of prints of an
/// earlier process, nor of any but the last 1,000. It names lines and printers, and nobody.
#[utoipa::path(
    tag = "prints",
    params(("id" = String, Path, description = "The print, by the id that it was given")),
    security((), ("key" = [])),
    responses(
        (status = 200, description = "How they stand now", body = PrintAnswer),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/prints/{id}")]
pub(crate) async fn read_print(
    state: web::Data<State>,
    request: HttpRequest,
    id: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    super::accept::first_of(&request, &["application/json"])?;
    let view = Uuid::try_parse(&id).ok().and_then(|id| state.prints.view(&id));
    let view = view.ok_or_else(|| {
        Kind::UnknownPrint.with("This process has taken no such print, or no longer keeps it.")
    })?;
    may_print(&state, &request, &view.site)?;
    let answer = print_answer(&state.held(), view);
    Ok(json(serde_json::to_vec(&answer).map_err(|fault| Kind::Internal.with(fault))?))
}

/// Holds a request to a key of the site, where the service takes any.
fn may_print(state: &State, request: &HttpRequest, site: &str) -> Result<(), Failure> {
    if state.keys().is_empty() {
        return Ok(());
    }
    keyed(state, request, Role::Till, Some(site))
}

/// The sender's own key for a request, if it gives one.
///
/// * Errors: more than one, or one that nobody could write down.
fn own_key(headers: &HeaderMap) -> Result<Option<&str>, Problem> {
    let mut given = headers.get_all(IDEMPOTENCY_KEY);
    let Some(first) = given.next() else { return Ok(None) };
    let is_visible = |text: &&str| text.bytes().all(|byte| byte.is_ascii_graphic());
    let text = first.to_str().ok().filter(|text| (1..=KEY_MOST).contains(&text.len()));
    let text = text.filter(is_visible);
    if let Some(text) = text.filter(|_| given.next().is_none()) {
        return Ok(Some(text));
    }
    let detail = "Send one `Idempotency-Key` of 1 to 255 visible characters, or none.";
    Err(Kind::OddIdempotencyKey.with(detail))
}

/// The digest of a sender's own key: another sender's, or one of another site, is another key.
fn scoped(
    state: &State,
    request: &HttpRequest,
    site: &str,
    own: &str,
) -> Result<Digested, Failure> {
    let keys = state.keys();
    let sender = key(&keys, request.headers())?.map(|key| key.id.to_string());
    Ok(digest(&[site.as_bytes(), sender.unwrap_or_default().as_bytes(), own.as_bytes()]))
}

/// The digest of parts, each of which begins and ends where it does.
fn digest(parts: &[&[u8]]) -> Digested {
    let mut all = Vec::new();
    for part in parts {
        all.extend_from_slice(&part.len().to_be_bytes());
        all.extend_from_slice(part);
    }
    *Digest::of_bytes(&all).bytes()
}

fn refusal(refused: Refused) -> Failure {
    let failure = Failure::from(not_taken(refused));
    if refused == Refused::Full { failure.after(FULL_FOR) } else { failure }
}
