//! Replies: JSON with a digest as its tag, and problems.

use actix_web::{
    HttpRequest, HttpResponse, ResponseError,
    body::BoxBody,
    http::{StatusCode, header},
};

use super::accept::first_of;
use crate::{json::Digest, wire::Problem};

/// A problem as the error of a handler.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{}", problem.detail)]
pub(crate) struct Failure {
    pub(crate) problem: Box<Problem>,
    /// What a key is missing or lacks, as RFC 6750, section 3, has it.
    challenge: Option<&'static str>,
    /// Seconds after which to come again (RFC 9110, section 10.2.3).
    after: Option<u64>,
    /// Whether the connection ends with this answer, since the request was not read to its end.
    closes: bool,
}

impl Failure {
    /// A problem of keys with the challenge that says so.
    pub(super) fn challenged(problem: Problem, challenge: &'static str) -> Self {
        Self { challenge: Some(challenge), ..Self::from(problem) }
    }

    /// The same, with the seconds after which to come again.
    pub(super) fn after(self, seconds: u64) -> Self {
        Self { after: Some(seconds), ..self }
    }

    /// The same, as the last answer on its connection.
    pub(super) fn and_close(self) -> Self {
        Self { closes: true, ..self }
    }

    pub(super) fn closes(&self) -> bool {
        self.closes
    }
}

impl From<Problem> for Failure {
    fn from(problem: Problem) -> Self {
        Self { problem: Box::new(problem), challenge: None, after: None, closes: false }
    }
}

impl ResponseError for Failure {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.problem.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse<BoxBody> {
        let body = serde_json::to_vec(&self.problem).unwrap_or_default();
        let mut reply = HttpResponse::build(self.status_code());
        if let Some(challenge) = self.challenge {
            reply.insert_header((header::WWW_AUTHENTICATE, challenge));
        }
        if let Some(seconds) = self.after {
            reply.insert_header((header::RETRY_AFTER, seconds));
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
    HttpResponse::Ok().content_type("text/plain; charset=utf-8").body(text)
}

/// Says that the answer was chosen by `Accept` (RFC 9110, section 12.5.5).
pub(crate) fn chosen(mut response: HttpResponse) -> HttpResponse {
    let vary = header::HeaderValue::from_static("accept");
    response.headers_mut().insert(header::VARY, vary);
    response
}

/// A read: tagged with the digest of its bytes, and 304 for a reader who has it.
///
/// * Errors: the reader does not accept JSON.
pub(crate) fn tagged(request: &HttpRequest, body: Vec<u8>) -> Result<HttpResponse, Failure> {
    let kind = first_of(request, &["application/json"])?;
    Ok(tagged_as(request, body, kind))
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
