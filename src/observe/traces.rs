//! Traces, sent by OTLP over HTTP to whoever collects them; the receiver is slower than a request,
//! so spans wait in a queue of their own and are dropped when it is full.

use std::time::Duration;

use opentelemetry::{
    Context, KeyValue, SpanId, TraceFlags, TraceId,
    trace::{
        Span as _, SpanContext, SpanKind, Status, TraceContextExt as _, TraceState, Tracer as _,
        TracerProvider as _,
    },
};
use opentelemetry_otlp::{SpanExporter, WithExportConfig as _, WithHttpConfig as _};
use opentelemetry_sdk::{
    Resource,
    trace::{SdkTracer, SdkTracerProvider},
};

use super::Parent;
use crate::roots::roots;

/// How long the receiver has for one batch.
const WITHIN: Duration = Duration::from_secs(5);

/// Why no traces can be sent.
#[derive(Debug, thiserror::Error)]
pub enum TracesFault {
    /// No client for the receiver can be made.
    #[error("no client for the receiver of traces: {0}")]
    NoClient(#[from] reqwest::Error),
    /// The receiver's address is not one.
    #[error("the receiver of traces: {0}")]
    NoExporter(String),
}

/// The sender of traces.
#[derive(Debug)]
pub struct Traces {
    provider: SdkTracerProvider,
    tracer: SdkTracer,
}

/// One request under way, as a span.
#[derive(Debug)]
pub struct Span(opentelemetry_sdk::trace::Span);

impl Traces {
    /// A sender to the receiver at `address`, such as `http://127.0.0.1:4318`.
    ///
    /// * Errors: no client can be made. Whether somebody listens there is seen only later.
    pub fn to(address: &str) -> Result<Self, TracesFault> {
        let client = reqwest::blocking::Client::builder()
            .tls_certs_only(roots())
            .no_proxy()
            .timeout(WITHIN)
            .build()?;
        let exporter = SpanExporter::builder()
            .with_http()
            .with_http_client(client)
            .with_endpoint(format!("{}/v1/traces", address.trim_end_matches('/')))
            .build()
            .map_err(|fault| TracesFault::NoExporter(fault.to_string()))?;
        let about = Resource::builder_empty()
            .with_service_name("cupwright")
            .with_attribute(KeyValue::new("service.version", env!("CARGO_PKG_VERSION")))
            .build();
        let provider =
            SdkTracerProvider::builder().with_batch_exporter(exporter).with_resource(about).build();
        let tracer = provider.tracer("cupwright");
        Ok(Self { provider, tracer })
    }

    /// A request begins; whether it is recorded is decided by whoever called, else it is.
    pub fn begin(&self, method: &'static str, route: &'static str, parent: Option<Parent>) -> Span {
        let context = parent.map_or_else(Context::new, |parent| {
            let flags = if parent.sampled { TraceFlags::SAMPLED } else { TraceFlags::default() };
            let (trace, span) = (TraceId::from(parent.trace), SpanId::from(parent.span));
            let caller = SpanContext::new(trace, span, flags, true, TraceState::default());
            Context::new().with_remote_span_context(caller)
        });
        let (name, attributes) = named(method, route);
        let builder =
            self.tracer.span_builder(name).with_kind(SpanKind::Server).with_attributes(attributes);
        Span(self.tracer.build_with_context(builder, &context))
    }

    /// Sends what still waits; takes at most the time that the receiver has.
    pub fn finish(&self) {
        // Whoever collects may be gone; then there is nobody to tell.
        let _ = self.provider.shutdown_with_timeout(WITHIN);
    }
}

/// Name and attributes of a request's span, as the semantic conventions of OpenTelemetry for HTTP
/// have them, of which two are left out on purpose: path and query are the client's words.
///
/// * `method`, `route`: `other` for what is none of the contract's.
fn named(method: &'static str, route: &'static str) -> (String, Vec<KeyValue>) {
    let (verb, method) = if method == "other" { ("HTTP", "_OTHER") } else { (method, method) };
    let mut attributes = vec![KeyValue::new("http.request.method", method)];
    if route == "other" {
        return (verb.to_owned(), attributes);
    }
    attributes.push(KeyValue::new("http.route", route));
    (format!("{verb} {route}"), attributes)
}

impl Span {
    /// The trace that the request belongs to, for the log.
    pub fn trace(&self) -> String {
        self.0.span_context().trace_id().to_string()
    }

    /// The request was answered.
    pub fn end(mut self, status: u16) {
        self.0.set_attribute(KeyValue::new("http.response.status_code", i64::from(status)));
        if status >= 500 {
            self.0.set_attribute(KeyValue::new("error.type", status.to_string()));
            self.0.set_status(Status::error(""));
        }
        self.0.end();
    }
}
