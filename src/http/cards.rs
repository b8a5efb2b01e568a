//! Build cards: one drink, or one line of a ticket, on a sheet.

use actix_web::{HttpRequest, HttpResponse, get, post, web};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

use super::{
    accept::first_of,
    app::guarded,
    drinks::AtSite,
    reply::{Failure, chosen, tagged_as},
    state::State,
    tickets::{declared_as_json, read_sent},
};
use crate::{
    answering::{CardForm, CardWish, card_bytes, drink_card, ticket_card},
    book::Service,
    label::card::Paper,
    wire::{Problem, Ticket},
};

/// Size of paper.
#[derive(Clone, Copy, Debug, Default, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub(crate) enum OnPaper {
    /// 105 × 148 mm.
    #[default]
    A6,
    /// 210 × 297 mm.
    A4,
}

impl From<OnPaper> for Paper {
    fn from(paper: OnPaper) -> Self {
        match paper {
            OnPaper::A6 => Self::A6,
            OnPaper::A4 => Self::A4,
        }
    }
}

/// Which cup, where, and on which paper.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OfCard {
    /// The site, by id; the book's training bar if not given.
    site: Option<String>,
    /// Language of the texts; the site's first if not given.
    lang: Option<String>,
    /// Way of serving; the site's usual if not given.
    #[param(inline)]
    service: Option<Service>,
    /// Size, by id; the drink's usual if not given.
    #[param(max_length = 64)]
    size: Option<String>,
    /// Paper.
    #[serde(default)]
    #[param(inline)]
    paper: OnPaper,
    /// Day from which it is in force (ISO 8601 date); it is printed as given.
    #[param(value_type = Option<String>, format = Date)]
    effective: Option<String>,
}

/// Which line, and on which paper.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OfLine {
    /// The line, by its id; it may be left out where the ticket has one.
    #[param(max_length = 64)]
    line: Option<String>,
    /// Paper.
    #[serde(default)]
    #[param(inline)]
    paper: OnPaper,
    /// Day from which it is in force (ISO 8601 date); it is printed as given.
    #[param(value_type = Option<String>, format = Date)]
    effective: Option<String>,
}

const FORMS: [&str; 4] = ["image/svg+xml", "application/pdf", "image/png", "text/html"];
const HTML: &str = "text/html; charset=utf-8";

/// The form that the reader would rather have, and what it is declared as.
fn form(request: &HttpRequest) -> Result<(CardForm, &'static str), Failure> {
    let kind = first_of(request, &FORMS)?;
    let form = CardForm::ALL.into_iter().find(|form| form.media_type() == kind);
    let form = form.unwrap_or(CardForm::Svg);
    Ok((form, if form == CardForm::Html { HTML } else { form.media_type() }))
}

/// Draw the build card of a drink
///
/// A section of its cup to scale with what is in it, the numbers of the work with how far each may
/// be off, the steps, the allergens in words, cautions, and the book's version with a short digest.
/// It reads in black and white. `image/svg+xml` unless `Accept` says otherwise; `application/pdf`
/// has pages as large as the paper; `image/png` is in shades of grey, at 300 dots an inch for A6 and
/// 150 for A4; `text/html` has the section as a drawing and everything else as text.
#[utoipa::path(
    tag = "cards",
    params(("id" = String, Path, description = "The drink, by id"), OfCard),
    responses(
        (status = 200, description = "The card", content(
            (String = "image/svg+xml"), (Vec<u8> = "application/pdf"), (Vec<u8> = "image/png"),
            (String = "text/html"))),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No card, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/drinks/{id}/card")]
pub(crate) async fn draw_drink_card(
    state: web::Data<State>,
    request: HttpRequest,
    id: web::Path<String>,
    query: web::Query<OfCard>,
) -> Result<HttpResponse, Failure> {
    let (form, kind) = form(&request)?;
    let OfCard { site, lang, service, size, paper, effective } = query.into_inner();
    let held = state.held();
    let at = AtSite { site, lang: None };
    let bar = at.bar(&held)?;
    let service = service.map(|service| service.as_str().to_owned());
    let wish = CardWish { lang, service, size, effective };
    let sent = state.sent(&bar.site.id);
    let bytes = guarded(|| {
        let card = drink_card(&held, bar, &id, &wish, &sent)?;
        card_bytes(&card, paper.into(), form)
    })?;
    Ok(chosen(tagged_as(&request, bytes, kind)))
}

/// Draw the build card of a ticket's line
///
/// The card of a drink with everything that was asked for: changes stand under its name, and every
/// number and allergen is that of this line. Declared allergies stand in a frame above everything
/// else, with the stamp of an override; what to beware of and the note stand under the drink's name.
/// A line that is asked about or refused has no card. The order's name and reference are not on it.
#[utoipa::path(
    tag = "cards",
    params(OfLine),
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "The card", content(
            (String = "image/svg+xml"), (Vec<u8> = "application/pdf"), (Vec<u8> = "image/png"),
            (String = "text/html"))),
        (status = "4XX", description = "No card, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/cards")]
pub(crate) async fn draw_line_card(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<OfLine>,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    declared_as_json(&request, "ticket")?;
    let (form, kind) = form(&request)?;
    let OfLine { line, paper, effective } = query.into_inner();
    let (ticket, sent) = read_sent(&state, &request, &body)?;
    let wish = CardWish { effective, ..CardWish::default() };
    let editions = state.editions();
    let bytes = guarded(|| {
        let card = ticket_card(&editions, ticket, line.as_deref(), &wish, &sent)?;
        card_bytes(&card, paper.into(), form)
    })?;
    Ok(chosen(HttpResponse::Ok().content_type(kind).body(bytes)))
}
