//! Builds by the tokens on their cups.

use actix_web::{HttpRequest, HttpResponse, get, web};

use super::{
    accept::first_of,
    app::guarded,
    reply::{Failure, chosen, tagged_as},
    state::State,
};
use crate::{
    answering::coded,
    wire::{CodedBuild, Problem},
};

/// The path, as metrics and logs name it.
pub(super) const BUILDS: &str = "/v1/b/{token}";

/// Read a build by its token
///
/// What the 2-D code on a cup leads to: the build of that cup again, with the same digest, while the
/// book, the overlay and the site's sheet that it was worked from are held; else the problem says
/// which of them it needs. Path and token are taken in letters of either case; codes have them in
/// capitals. The token holds the drink, its modifiers and the language, and nothing of an order or a
/// guest. As a page for guests with `Accept: text/html`, as text of at most 42 columns with
/// `Accept: text/plain`.
#[utoipa::path(
    tag = "tickets",
    params(("token" = String, Path, description = "The token", max_length = 512,
            pattern = "^[A-Za-z2-7]+$")),
    security((), ("key" = [])),
    responses(
        (status = 200, description = "The build", content(
            (CodedBuild = "application/json"), (String = "text/html"), (String = "text/plain"))),
        (status = 304, description = "The reader has it already"),
        (status = "4XX", description = "No build, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/v1/b/{token}")]
pub(crate) async fn read_build(
    state: web::Data<State>,
    request: HttpRequest,
    token: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let form = first_of(&request, &["application/json", "text/html", "text/plain"])?;
    let editions = state.editions();
    let (body, kind) = guarded(|| {
        let found = coded(&editions, &token)?;
        Ok(match form {
            "text/html" => (found.html()?.into_bytes(), "text/html; charset=utf-8"),
            "text/plain" => (found.text().into_bytes(), "text/plain; charset=utf-8"),
            _ => (found.json()?, "application/json"),
        })
    })?;
    Ok(chosen(tagged_as(&request, body, kind)))
}
