//! Replies: JSON with a digest as its tag, and problems.

use actix_web::{
    HttpRequest, HttpResponse, ResponseError,
    body::BoxBody,
    http::{StatusCode, header},
};

use crate::{json::Digest, wire::Problem};

/// A problem as the error of a handler.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{}", .0.detail)]
pub(crate) struct Failure(pub(crate) Box<Problem>);

impl From<Problem> for Failure {
    fn from(problem: Problem) -> Self {
        Self(Box::new(problem))
    }
}

impl ResponseError for Failure {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.0.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse<BoxBody> {
        let body = serde_json::to_vec(&self.0).unwrap_or_default();
        let mut reply = HttpResponse::build(self.status_code());
        if self.status_code() == StatusCode::UNAUTHORIZED {
            reply.insert_header((header::WWW_AUTHENTICATE, "Bearer"));
        }
        reply.content_type("application/problem+json").body(body)
    }
}

/// An answer that may differ each time.
pub(crate) fn json(body: Vec<u8>) -> HttpResponse {
    HttpResponse::Ok().content_type("application/json").body(body)
}

/// A plain text that may differ each time.
pub(crate) fn plain(text: String) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/plain; charset=utf-8")
        .insert_header((header::VARY, "accept"))
        .body(text)
}

/// Whether the reader would rather have `wanted` than JSON: it names it, and JSON not before it.
pub(crate) fn wants(request: &HttpRequest, wanted: &str) -> bool {
    let accept = request.headers().get(header::ACCEPT).and_then(|value| value.to_str().ok());
    let kinds = accept.unwrap_or_default().split(',');
    let mut kinds = kinds.map(|kind| kind.split(';').next().unwrap_or_default().trim());
    kinds.find(|kind| *kind == wanted || *kind == "application/json") == Some(wanted)
}

/// A read: tagged with the digest of its bytes, and 304 for a reader who has it.
pub(crate) fn tagged(request: &HttpRequest, body: Vec<u8>) -> HttpResponse {
    tagged_as(request, body, "application/json")
}

/// The same, of another content type.
pub(crate) fn tagged_as(request: &HttpRequest, body: Vec<u8>, kind: &'static str) -> HttpResponse {
    let tag = format!("\"{}\"", Digest::of_bytes(&body));
    let known = request.headers().get(header::IF_NONE_MATCH).and_then(|value| value.to_str().ok());
    let same = |one: &str| one.trim().trim_start_matches("W/") == tag || one.trim() == "*";
    if known.is_some_and(|list| list.split(',').any(same)) {
        return HttpResponse::NotModified()
            .insert_header((header::ETAG, tag))
            .insert_header((header::CACHE_CONTROL, "no-cache"))
            .finish();
    }
    HttpResponse::Ok()
        .content_type(kind)
        .insert_header((header::ETAG, tag))
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(body)
}
