//! The OpenAPI document, made from the route list.

use std::sync::LazyLock;

use actix_web::{App, HttpRequest, HttpResponse, get};
use utoipa::openapi::{
    ComponentsBuilder, ContentBuilder, Info, License, OpenApi, OpenApiBuilder, PathItem, Ref,
    ResponseBuilder, Server,
    path::Operation,
    security::{HttpAuthScheme, HttpBuilder, SecurityScheme},
    tag::TagBuilder,
};
use utoipa_actix_web::AppExt;

use super::{
    reply::{Failure, tagged},
    routes,
};

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
        ("stickers", "What is stuck on the cups of an order."),
        ("prints", "Stickers to the site's printers, and what became of them."),
        ("cards", "One drink on a sheet, with a section of its cup."),
        ("shots", "A pulled shot in, the one change to make out."),
        ("drinks", "What the book can make, and its standard builds at a site."),
        ("sites", "The cafés."),
        ("menu", "What a till may offer at a site now, and what its buttons mean."),
        ("allergens", "What is recorded of allergens at a site, and which cautions are due."),
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
    let (_, mut document) =
        App::new().into_utoipa_app().openapi(base).configure(routes).split_for_parts();
    for item in document.paths.paths.values_mut() {
        operations(item).for_each(with_problems);
    }
    document
}

fn operations(item: &mut PathItem) -> impl Iterator<Item = &mut Operation> {
    let PathItem { get, put, post, delete, .. } = item;
    [get, put, post, delete].into_iter().flatten()
}

/// Whatever is asked can meet a limit or a service that is busy; it is said of each operation.
fn with_problems(operation: &mut Operation) {
    for (status, about) in [("4XX", "No answer, and why"), ("5XX", "No answer now, and why")] {
        let problem = ContentBuilder::new().schema(Some(Ref::from_schema_name("Problem"))).build();
        let response = ResponseBuilder::new()
            .description(about)
            .content("application/problem+json", problem)
            .build();
        operation.responses.responses.entry(status.to_owned()).or_insert_with(|| response.into());
    }
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
pub(crate) async fn read_openapi(request: HttpRequest) -> Result<HttpResponse, Failure> {
    tagged(&request, TEXT.clone())
}
