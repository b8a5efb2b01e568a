//! Metrics, for whoever watches the service.

use actix_web::{HttpRequest, HttpResponse, get, web::Data};

use super::{
    accept::first_of,
    reply::{Failure, chosen},
    state::State,
};
use crate::wire::Problem;

const OPEN_METRICS: &str = "application/openmetrics-text";
const PLAIN: &str = "text/plain";

/// Read the metrics
///
/// Counts and times since the process began, in the text form of Prometheus, or of OpenMetrics
/// where that is asked for. They tell nothing of any order or customer.
#[utoipa::path(
    tag = "health",
    responses(
        (status = 200, description = "The metrics", content(
            (String = "text/plain"), (String = "application/openmetrics-text"))),
        (status = "4XX", description = "No metrics, and why", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
#[get("/metrics")]
pub(crate) async fn read_metrics(
    state: Data<State>,
    request: HttpRequest,
) -> Result<HttpResponse, Failure> {
    let (kind, text) = if first_of(&request, &[PLAIN, OPEN_METRICS])? == OPEN_METRICS {
        let kind = "application/openmetrics-text; version=1.0.0; charset=utf-8";
        (kind, state.metrics.open_metrics())
    } else {
        ("text/plain; version=0.0.4; charset=utf-8", state.metrics.prometheus())
    };
    Ok(chosen(HttpResponse::Ok().content_type(kind).body(text)))
}
