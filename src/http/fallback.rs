//! Requests that no handler takes: no such path, no such method, a body or query at fault.

use std::sync::LazyLock;

use actix_web::{
    Error, HttpRequest, HttpResponse, ResponseError, error::QueryPayloadError, http::header,
};
use serde_json::Value;

use super::{openapi::document, reply::Failure};
use crate::{
    json::Limits,
    wire::{Kind, Problem},
};

/// Path templates of the contract with their methods, from the document itself.
static PATHS: LazyLock<Vec<(String, String)>> = LazyLock::new(|| {
    let document = serde_json::to_value(document()).unwrap_or_default();
    let paths = document["paths"].as_object().cloned().unwrap_or_default();
    let methods = |item: &Value| {
        let names = item.as_object().into_iter().flat_map(|item| item.keys());
        let mut names: Vec<String> = names.map(|name| name.to_uppercase()).collect();
        if names.iter().any(|name| name == "GET") {
            names.push("HEAD".to_owned());
        }
        names.join(", ")
    };
    paths.iter().map(|(path, item)| (path.clone(), methods(item))).collect()
});

/// 405 with `Allow` for a path of the contract, else 404.
pub(super) async fn nothing_here(request: HttpRequest) -> HttpResponse {
    let path = request.path();
    let Some((_, allow)) = PATHS.iter().find(|(template, _)| matches(template, path)) else {
        let detail = format!("There is nothing at `{path}`. See /openapi.json.");
        return Failure::from(Kind::NotFound.with(detail)).error_response();
    };
    let detail = format!("`{path}` takes {allow}.");
    let mut response = Failure::from(Kind::MethodNotAllowed.with(detail)).error_response();
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
pub(super) fn broken_off(fault: &Error) -> Problem {
    Kind::MalformedBody.with(format_args!("The body broke off: {fault}."))
}

/// The problem of a query string.
pub(super) fn query_fault(fault: &QueryPayloadError) -> Problem {
    Kind::InvalidQuery.with(format_args!("{fault}."))
}
