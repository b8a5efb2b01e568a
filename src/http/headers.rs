//! Headers that every answer has.

use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};

/// Nothing of an answer is to be run, framed or guessed at (WHATWG Fetch and Content Security
/// Policy 3).
const ALWAYS: [(HeaderName, HeaderValue); 3] = [
    (header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff")),
    (header::REFERRER_POLICY, HeaderValue::from_static("no-referrer")),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        HeaderValue::from_static("same-site"),
    ),
];

/// An answer is data.
const DATA_ONLY: HeaderValue =
    HeaderValue::from_static("default-src 'none'; frame-ancestors 'none'");

/// The page of the contract runs its own scripts, and draws with its own styles.
const OWN_PAGE: HeaderValue = HeaderValue::from_static(
    "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; \
     frame-ancestors 'none'; form-action 'none'; base-uri 'none'",
);

/// A page to print draws with its own styles, and runs nothing.
const SHEET: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; form-action 'none'; \
     base-uri 'none'",
);

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// Adds what guards a reader; an answer that says nothing of caching is kept by nobody, since it
/// may tell of somebody's health.
pub(super) fn guard(headers: &mut HeaderMap, route: &str) {
    for (name, value) in ALWAYS {
        headers.insert(name, value);
    }
    let kind = headers.get(header::CONTENT_TYPE).map(HeaderValue::as_bytes);
    let policy = match kind {
        _ if route == "/docs/" => OWN_PAGE,
        Some(kind) if kind.starts_with(b"text/html") => SHEET,
        Some(_) | None => DATA_ONLY,
    };
    headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
}

/// Tells the sender by which id the log knows the request.
pub(super) fn name_request(headers: &mut HeaderMap, id: &str) {
    if let Ok(value) = HeaderValue::from_str(id) {
        headers.insert(REQUEST_ID, value);
    }
}
