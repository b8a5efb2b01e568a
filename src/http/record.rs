//! What is recorded of a request: how it was asked and answered, never what.

use std::{
    sync::{
        LazyLock,
        atomic::{AtomicU64, Ordering},
    },
    time::{Duration, SystemTime, UNIX_EPOCH},
};

use actix_web::{dev::ServiceRequest, http::Method};
use uuid::Uuid;

use super::state::State;
use crate::{
    config::Logged,
    observe::{Parent, Span},
};

/// A request under way, as log, metrics and traces know it.
pub(super) struct Record {
    id: [u8; uuid::fmt::Hyphenated::LENGTH],
    method: &'static str,
    route: &'static str,
    parent: Option<Parent>,
    span: Option<Span>,
}

impl Record {
    pub(super) fn begin(state: &State, request: &ServiceRequest, route: &'static str) -> Self {
        let mut id = [0; uuid::fmt::Hyphenated::LENGTH];
        new_id().hyphenated().encode_lower(&mut id);
        let method = method_of(request.method());
        let mut told = request.headers().get_all("traceparent");
        // Of two, neither is known to be the caller's.
        let only = told.next().filter(|_| told.next().is_none());
        let parent = only.and_then(|value| value.to_str().ok()).and_then(Parent::read);
        let span = state.traces.as_ref().map(|traces| traces.begin(method, route, parent));
        Self { id, method, route, parent, span }
    }

    /// The request's id.
    pub(super) fn id(&self) -> &str {
        std::str::from_utf8(&self.id).unwrap_or_default()
    }

    /// The request was answered.
    pub(super) fn end(self, state: &State, status: u16, took: Duration) {
        state.metrics.answered(self.method, self.route, status, took);
        let logged = match state.settings.log.requests {
            Logged::All => true,
            Logged::Failed => status >= 400,
            Logged::None => false,
        };
        if logged {
            self.log(status, took);
        }
        if let Some(span) = self.span {
            span.end(status);
        }
    }

    fn log(&self, status: u16, took: Duration) {
        let (request_id, method, route) = (self.id(), self.method, self.route);
        let trace_id = match (&self.span, self.parent) {
            (Some(span), _) => Some(span.trace()),
            (None, Some(parent)) => Some(format!("{:032x}", parent.trace)),
            (None, None) => None,
        };
        let seconds = took.as_secs_f64();
        if status >= 500 {
            tracing::warn!(request_id, trace_id, method, route, status, seconds, "answered");
        } else {
            tracing::info!(request_id, trace_id, method, route, status, seconds, "answered");
        }
    }
}

/// The count that ids go on from; where it begins is left to chance.
static NEXT: LazyLock<AtomicU64> = LazyLock::new(|| AtomicU64::new(Uuid::new_v4().as_u64_pair().1));

/// A new id (UUID version 7). It has to differ from others, not to be hard to guess, so it takes a
/// count (RFC 9562, section 6.2) in place of the system's randomness, which costs a call each time.
fn new_id() -> Uuid {
    let mut rest = [0; 10];
    rest[2..].copy_from_slice(&NEXT.fetch_add(1, Ordering::Relaxed).to_be_bytes());
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    let now = u64::try_from(now.as_millis()).unwrap_or(u64::MAX);
    uuid::Builder::from_unix_timestamp_millis(now, &rest).into_uuid()
}

/// The method, or `other`: a sender may make up as many as it likes.
fn method_of(method: &Method) -> &'static str {
    match *method {
        Method::GET => "GET",
        Method::HEAD => "HEAD",
        Method::POST => "POST",
        Method::PUT => "PUT",
        Method::DELETE => "DELETE",
        Method::OPTIONS => "OPTIONS",
        _ => "other",
    }
}
