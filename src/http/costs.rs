//! Costs of an order, for whoever may see them.

use actix_web::{HttpRequest, HttpResponse, post, web};

use super::{
    app::guarded,
    key::keyed,
    posted::posted,
    reply::{Failure, json},
    state::State,
    tickets::read_sent,
};
use crate::{
    answering::costs,
    keys::Role,
    wire::{CostsAnswer, Problem, Ticket},
};

/// Work out what an order costs the site
///
/// Cost of goods item by item with waste, the spare half that a line alone leaves, packaging, tax
/// and margin, and what each modifier really adds beside its surcharge. Needs a key of the role
/// `trainer` or above for the site.
#[utoipa::path(
    tag = "tickets",
    request_body = Ticket,
    security(("key" = [])),
    responses(
        (status = 200, description = "Costs of each line", body = CostsAnswer),
        (status = "4XX", description = "No answer, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/costs")]
pub(crate) async fn cost_ticket(
    state: web::Data<State>,
    request: HttpRequest,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    posted(&request, "ticket")?;
    keyed(&state, &request, Role::Trainer, None)?;
    let (ticket, sent) = read_sent(&state, &request, &body)?;
    keyed(&state, &request, Role::Trainer, Some(&ticket.site))?;
    let editions = state.editions();
    Ok(json(guarded(|| costs(&editions, ticket, &sent))?))
}
