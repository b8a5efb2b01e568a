//! The OpenAPI document, made from the route list.

use std::sync::LazyLock;

use actix_web::{App, HttpRequest, HttpResponse, get};
use utoipa::openapi::{
    ComponentsBuilder, Info, License, OpenApi, OpenApiBuilder, Server,
    security::{HttpAuthScheme, HttpBuilder, SecurityScheme},
    tag::TagBuilder,
};
use utoipa_actix_web::AppExt;

use super::{reply::tagged, routes};

static TEXT: LazyLock<Vec<u8>> =
    LazyLock::new(|| document().to_json().unwrap_or_default().into_bytes());

/// The document, as served and as kept in `openapi/`.
pub fn document() -> OpenApi {
    let mut info = Info::new("Cupwright", env!("CARGO_PKG_VERSION"));
    info.description = Some(env!("CARGO_PKG_DESCRIPTION").to_owned());
    let mut license = License::new(env!("CARGO_PKG_LICENSE"));
    license.identifier = Some(env!("CARGO_PKG_LICENSE").to_owned());
    info.license = Some(license);
    let tags = [
        ("tickets", "An order in, verdicts and exact builds out."),
        ("drinks", "What the book can make, and its standard builds at a site."),
        ("sites", "The cafés."),
        ("menu", "What a till may offer at a site now, and what its buttons mean."),
        ("stock", "What has run out during service."),
        ("book", "The roaster's standards in force, and this contract."),
        ("health", "For whoever runs the service."),
    ];
    let tags =
        tags.map(|(name, about)| TagBuilder::new().name(name).description(Some(about)).build());
    // Most of it needs no key, and whoever runs the service knows its address: both are said.
    let base = OpenApiBuilder::new()
        .info(info)
        .tags(Some(tags))
        .servers(Some([Server::new("/")]))
        .security(Some([]))
        .components(Some(
            ComponentsBuilder::new()
                .security_scheme(
                    "key",
                    SecurityScheme::Http(
                        HttpBuilder::new()
                            .scheme(HttpAuthScheme::Bearer)
                            .description(Some("A key that the service knows by its digest."))
                            .build(),
                    ),
                )
                .build(),
        ))
        .build();
    let (_, document) =
        App::new().into_utoipa_app().openapi(base).configure(routes).split_for_parts();
    document
}

/// Read the contract
///
/// This document (OpenAPI 3.1).
#[utoipa::path(
    tag = "book",
    responses(
        (status = 200, description = "The OpenAPI document", content_type = "application/json",
         body = Object),
        (status = 304, description = "The reader has it already"),
    ),
)]
#[get("/openapi.json")]
pub(crate) async fn read_openapi(request: HttpRequest) -> HttpResponse {
    tagged(&request, TEXT.clone())
}
