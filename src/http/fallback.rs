//! Requests that no handler takes: no such path, no such method, a body or query at fault.

use std::{collections::HashMap, fmt::Display, sync::LazyLock};

use actix_web::{
    HttpRequest, HttpResponse, ResponseError,
    error::QueryPayloadError,
    http::{Method, header},
};
use serde_json::Value;

use super::{openapi::document, reply::Failure};
use crate::{
    json::Limits,
    wire::{Kind, Problem},
};

/// A path of the contract.
struct Route {
    template: String,
    /// Its methods, as `Allow` lists them.
    allow: String,
    /// Whether its `POST` takes a body.
    takes_body: bool,
}

/// The paths of the contract, from the document itself.
static ROUTES: LazyLock<Vec<Route>> = LazyLock::new(|| {
    let document = serde_json::to_value(document()).unwrap_or_default();
    let paths = document["paths"].as_object().cloned().unwrap_or_default();
    let route = |(template, item): (String, Value)| {
        let names = item.as_object().into_iter().flat_map(|item| item.keys());
        let mut names: Vec<String> = names.map(|name| name.to_uppercase()).collect();
        if names.iter().any(|name| name == "GET") {
            names.push("HEAD".to_owned());
        }
        names.push("OPTIONS".to_owned());
        let takes_body = item["post"]["requestBody"].is_object();
        Route { template, allow: names.join(", "), takes_body }
    };
    paths.into_iter().map(route).collect()
});

/// The paths without a part that varies, which are found at once.
static PLAIN: LazyLock<HashMap<&'static str, &'static Route>> = LazyLock::new(|| {
    let plain = ROUTES.iter().filter(|route| !route.template.contains('{'));
    plain.map(|route| (&*route.template, route)).collect()
});

/// Where the pages of the contract are, which the document itself does not list.
const PAGES: &str = "/docs/";

fn found(path: &str) -> Option<&'static Route> {
    let plain = PLAIN.get(path).copied();
    plain.or_else(|| ROUTES.iter().find(|route| matches(&route.template, path)))
}

/// The path of the contract to which a request goes, as metrics and logs name it.
pub(super) fn route_of(path: &str) -> &'static str {
    match found(path) {
        Some(route) => &route.template,
        None if path == "/docs" || path.starts_with(PAGES) => PAGES,
        None => "other",
    }
}

/// Whether a request to the route brings a body.
pub(super) fn takes_body(route: &str, method: &Method) -> bool {
    *method == Method::POST && ROUTES.iter().any(|one| one.takes_body && one.template == route)
}

/// 405 with `Allow` for a path of the contract, else 404; `OPTIONS` is told what there is
/// (RFC 9110, section 9.3.7).
pub(super) async fn nothing_here(request: HttpRequest) -> HttpResponse {
    let path = request.path();
    let allow = match found(path) {
        Some(route) => &*route.allow,
        None if route_of(path) == PAGES => "GET, HEAD, OPTIONS",
        None => return Failure::from(nothing_at(path)).error_response(),
    };
    let mut response = if *request.method() == Method::OPTIONS {
        HttpResponse::NoContent().finish()
    } else {
        let detail = format!("`{path}` takes {allow}.");
        Failure::from(Kind::MethodNotAllowed.with(detail)).error_response()
    };
    if let Ok(value) = header::HeaderValue::from_str(allow) {
        response.headers_mut().insert(header::ALLOW, value);
    }
    response
}

fn matches(template: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (template.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(want), Some(have))
                if want == have || (want.starts_with('{') && !have.is_empty()) => {}
            _ => return false,
        }
    }
}

/// The problem of a path that leads nowhere.
pub(super) fn nothing_at(path: &str) -> Problem {
    Kind::NotFound.with(format_args!("There is nothing at `{path}`. See /openapi.json."))
}

/// The problem of a body over the limit.
pub(super) fn too_large() -> Problem {
    let most = Limits::TICKET.bytes;
    Kind::BodyTooLarge.with(format_args!("A body has at most {most} bytes."))
}

/// The problem of a body that does not come.
pub(super) fn too_slow() -> Problem {
    Kind::BodyTooSlow.with("The body did not come whole in time.")
}

/// The problem of a body that broke off.
pub(super) fn broken_off(fault: impl Display) -> Problem {
    Kind::MalformedBody.with(format_args!("The body broke off: {fault}."))
}

/// The problem of a query string.
pub(super) fn query_fault(fault: &QueryPayloadError) -> Problem {
    Kind::InvalidQuery.with(format_args!("{fault}."))
}
