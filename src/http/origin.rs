//! Pages of other origins: which of them may read answers (WHATWG Fetch, section 3.3).

use actix_web::http::{
    Method,
    header::{self, HeaderMap, HeaderName, HeaderValue},
};

/// What a page may send beside the headers that it may send anyway.
const SENT: HeaderValue = HeaderValue::from_static(
    "accept, authorization, content-type, idempotency-key, if-none-match, traceparent",
);
/// What a page may read beside the headers that it may read anyway.
const READ: HeaderValue = HeaderValue::from_static("etag, location, retry-after, x-request-id");
/// Seconds for which a browser need not ask again.
const KEPT: HeaderValue = HeaderValue::from_static("3600");

/// What an answer says to a page of another origin.
#[derive(Debug)]
pub(super) struct Page {
    /// The origin, if its pages may read answers.
    allowed: Option<HeaderValue>,
    /// Whether a browser only asks what it may send.
    asks_first: bool,
}

impl Page {
    /// The page that sends a request; `None` where no origin is allowed at all.
    pub(super) fn of(method: &Method, headers: &HeaderMap, allowed: &[String]) -> Option<Self> {
        if allowed.is_empty() {
            return None;
        }
        let origin = headers.get(header::ORIGIN);
        let known =
            |origin: &&HeaderValue| allowed.iter().any(|one| one.as_bytes() == origin.as_bytes());
        let asks_first = *method == Method::OPTIONS
            && headers.contains_key(header::ACCESS_CONTROL_REQUEST_METHOD);
        Some(Self { allowed: origin.filter(known).cloned(), asks_first })
    }

    /// Whether a browser asks in advance, which it does without the page's key.
    pub(super) fn asks_first(&self) -> bool {
        self.asks_first && self.allowed.is_some()
    }

    /// Says what the page may do; to a page of an origin that is not allowed, nothing.
    pub(super) fn tell(self, headers: &mut HeaderMap) {
        // A cache must not give one origin what was said to another.
        headers.append(header::VARY, HeaderValue::from_static("origin"));
        let Some(origin) = self.allowed else { return };
        headers.insert(header::ACCESS_CONTROL_ALLOW_ORIGIN, origin);
        let told: [(HeaderName, HeaderValue); 3] = if self.asks_first {
            let methods = headers.get(header::ALLOW).cloned();
            let methods = methods.unwrap_or(HeaderValue::from_static("GET"));
            [
                (header::ACCESS_CONTROL_ALLOW_METHODS, methods),
                (header::ACCESS_CONTROL_ALLOW_HEADERS, SENT),
                (header::ACCESS_CONTROL_MAX_AGE, KEPT),
            ]
        } else {
            headers.insert(header::ACCESS_CONTROL_EXPOSE_HEADERS, READ);
            return;
        };
        for (name, value) in told {
            headers.insert(name, value);
        }
    }
}
