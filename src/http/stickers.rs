//! Stickers: a ticket in, what is stuck on its cups out.

use actix_web::{HttpRequest, HttpResponse, post, web};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

use super::{
    accept::first_of,
    reply::{Failure, chosen},
    state::State,
    tickets::{declared_as_json, read_sent},
};
use crate::{
    answering::{MOST_CUPS as MOST, StickerForm, StickersAsked, label_size, ticket_stickers},
    label::{draw::PwgType, sticker::MOST_PARTS},
    wire::{Kind, Problem, StickersAnswer, Ticket},
};

/// Which stickers, and for which label.
#[derive(Clone, Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct StickerQuery {
    /// The site's printer, by id; its first if not given.
    #[param(max_length = 64)]
    printer: Option<String>,
    /// A label of another size than the printer's: width and height in whole millimetres, 30x20 to 210x300. Pictures of a
    /// request have at most 40 million dots in all.
    #[param(
        pattern = "^(3[0-9]|[4-9][0-9]|1[0-9]{2}|20[0-9]|210)x([2-9][0-9]|[12][0-9]{2}|300)$",
        example = "58x40"
    )]
    label: Option<String>,
    /// Other dots per inch than the printer's; 203 if neither is known.
    #[param(minimum = 100, maximum = 1200)]
    dpi: Option<u16>,
    /// Only the stickers of this line.
    #[param(max_length = 64)]
    line: Option<String>,
    /// Only those of this cup of the ticket, from 1.
    #[param(minimum = 1, maximum = 100)]
    n: Option<usize>,
    /// Only this one of a cup's stickers, from 1.
    #[param(minimum = 1, maximum = 40)]
    part: Option<usize>,
    /// Whether they were printed before, which they then say.
    #[serde(default)]
    reprint: bool,
    /// How PWG raster has its dots: black or white, or shades of grey.
    #[serde(default)]
    #[param(inline)]
    raster: Raster,
}

/// How PWG raster has its dots (PWG 5102.4).
#[derive(Clone, Copy, Debug, Default, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Raster {
    /// One bit a dot.
    #[default]
    #[serde(rename = "black_1")]
    Black1,
    /// Eight bits a dot.
    #[serde(rename = "sgray_8")]
    Sgray8,
}

impl StickerQuery {
    fn asked(self) -> Result<(StickersAsked, Raster), Problem> {
        let Self { printer, label, dpi, line, n, part, reprint, raster } = self;
        let counts = [("n", n, MOST), ("part", part, MOST_PARTS)];
        if let Some((name, _, most)) =
            counts.into_iter().find(|(_, given, most)| given.is_some_and(|n| n == 0 || n > *most))
        {
            let detail = format!("`{name}` is a whole number from 1 to {most}.");
            return Err(Kind::InvalidQuery.with(detail));
        }
        let size = label.as_deref().map(label_size).transpose()?;
        if let Some(odd) = dpi.filter(|dpi| !(100..=1_200).contains(dpi)) {
            let detail = format!("`dpi` is a whole number from 100 to 1200, and not {odd}.");
            return Err(Kind::InvalidQuery.with(detail));
        }
        let public_base = None;
        Ok((StickersAsked { printer, size, dpi, line, n, part, reprint, public_base }, raster))
    }
}

const FORMS: &[&str] = &[
    "application/json",
    "image/svg+xml",
    "image/png",
    "application/pdf",
    "image/pwg-raster",
    "text/plain",
];

/// Lay out and draw the stickers of a ticket
///
/// One sticker for each cup, for the site's label printer: declared allergies first, then the drink,
/// its cup, what is different, whose it is, and its allergens in words. Letters are as large as the
/// distance asks for that the site's sheet names. What has no room goes to a second sticker of that
/// cup; nothing is cut off. Without `Accept` the answer is the layout; `application/pdf` and
/// `image/pwg-raster` have a page for each sticker; `image/svg+xml` and `image/png` are of one
/// sticker, which `n` and `part` choose where the ticket has more. A line that is asked about or
/// refused has no sticker: the layout says why, and nothing else is answered then.
#[utoipa::path(
    tag = "stickers",
    params(StickerQuery),
    request_body = Ticket,
    security((), ("key" = [])),
    responses(
        (status = 200, description = "The stickers", content(
            (StickersAnswer = "application/json"), (String = "image/svg+xml"),
            (Vec<u8> = "image/png"), (Vec<u8> = "application/pdf"),
            (Vec<u8> = "image/pwg-raster"), (String = "text/plain"))),
        (status = "4XX", description = "No stickers, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[post("/v1/stickers")]
pub(crate) async fn draw_stickers(
    state: web::Data<State>,
    request: HttpRequest,
    query: web::Query<StickerQuery>,
    body: web::Bytes,
) -> Result<HttpResponse, Failure> {
    declared_as_json(&request, "ticket")?;
    let (mut asked, raster) = query.into_inner().asked()?;
    asked.public_base.clone_from(&state.settings.public_base);
    let form = form(first_of(&request, FORMS)?, raster);
    let (ticket, sent) = read_sent(&state, &request, &body)?;
    let held = state.clone();
    let drawn = state
        .drawing
        .of(move || ticket_stickers(&held.editions(), ticket, &sent, &asked)?.as_bytes(form));
    let bytes = drawn.await?;
    let reply = HttpResponse::Ok().content_type(form.content_type()).body(bytes);
    Ok(chosen(reply))
}

fn form(kind: &str, raster: Raster) -> StickerForm {
    match (kind, raster) {
        ("image/svg+xml", _) => StickerForm::Svg,
        ("image/png", _) => StickerForm::Png,
        ("application/pdf", _) => StickerForm::Pdf,
        ("image/pwg-raster", Raster::Black1) => StickerForm::Pwg(PwgType::Black1),
        ("image/pwg-raster", Raster::Sgray8) => StickerForm::Pwg(PwgType::Sgray8),
        ("text/plain", _) => StickerForm::Text,
        _ => StickerForm::Json,
    }
}
