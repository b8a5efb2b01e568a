//! Requests that no handler takes: no such path, no such method, a body or query at fault.

use std::fmt::Display;

use actix_web::{
    HttpRequest, HttpResponse, ResponseError,
    error::QueryPayloadError,
    http::{Method, header},
};

use super::{paths::allowed_at, reply::Failure};
use crate::{
    json::Limits,
    wire::{Kind, Problem},
};

/// 405 with `Allow` for a path of the contract, else 404; `OPTIONS` is told what there is
/// (RFC 9110, section 9.3.7).
pub(super) async fn nothing_here(request: HttpRequest) -> HttpResponse {
    let path = request.path();
    let Some(allow) = allowed_at(path) else {
        return Failure::from(nothing_at(path)).error_response();
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
    let said = fault.to_string();
    // Whose words they are helps nobody.
    let said = said.strip_prefix("Query deserialize error: ").unwrap_or(&said);
    Kind::InvalidQuery.with(format_args!(
        "{said}. The names and values that this path takes stand in /openapi.json."
    ))
}
