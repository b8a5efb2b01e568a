//! What a request that brings a JSON body must say of itself.

use actix_web::HttpRequest;

use super::{accept::first_of, reply::Failure, tickets::declared_as_json};

/// Holds a request to a body that is declared as JSON, and a reader who takes JSON.
///
/// * `what`: what the body is called.
/// * Errors: another content type, or a reader who does not accept JSON.
pub(super) fn posted(request: &HttpRequest, what: &str) -> Result<(), Failure> {
    declared_as_json(request, what)?;
    first_of(request, &["application/json"]).map(|_| ())
}
