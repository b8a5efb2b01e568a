//! What a request that brings a JSON body must say of itself.

use actix_web::{HttpRequest, http::header};

use super::{accept::first_of, reply::Failure, tickets::is_json};
use crate::wire::Kind;

/// Holds a request to a body that is declared as JSON, and a reader who takes JSON.
///
/// * `what`: what the body is called.
/// * Errors: another content type, or a reader who does not accept JSON.
pub(super) fn posted(request: &HttpRequest, what: &str) -> Result<(), Failure> {
    let declared = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    if !declared.is_some_and(is_json) {
        let detail = format!("Send the {what} with `Content-Type: application/json`.");
        return Err(Kind::UnsupportedMediaType.with(detail).into());
    }
    first_of(request, &["application/json"]).map(|_| ())
}
