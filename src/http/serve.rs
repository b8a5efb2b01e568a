//! The server: how an app is made, and where it listens.

use std::{net::SocketAddr, num::NonZeroUsize, thread};

use actix_cors::Cors;
use actix_web::{
    App, Error, HttpServer,
    body::MessageBody,
    dev::{Server, ServiceFactory, ServiceRequest, ServiceResponse},
    http::{KeepAlive, Method, header},
    middleware::{Condition, from_fn},
    web::{self, Data},
};
use utoipa_actix_web::AppExt;
use utoipa_swagger_ui::{Config, SwaggerUi};

use super::{
    fallback::{nothing_here, query_fault},
    gate::gate,
    reply::Failure,
    routes,
    state::State,
};
use crate::{
    config::Settings,
    json::Limits,
    wire::{Kind, Problem},
};

/// How long a connection without a request stays open; a till sends many in a row, and a service
/// that is told to stop waits for such connections.
const IDLE: std::time::Duration = std::time::Duration::from_secs(5);

/// The app: routes, limits, and an answer for everything that no route takes.
pub fn app(
    state: Data<State>,
) -> App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl MessageBody>,
        Error = Error,
        InitError = (),
    >,
> {
    let origins = &state.settings.listen.allowed_origins;
    let cors = Condition::new(!origins.is_empty(), cors(origins));
    let (app, _) = App::new()
        .into_utoipa_app()
        .app_data(state)
        .app_data(web::PayloadConfig::new(Limits::TICKET.bytes))
        .app_data(
            web::QueryConfig::default()
                .error_handler(|fault, _| Failure::from(query_fault(&fault)).into()),
        )
        .configure(routes)
        .split_for_parts();
    let page = Config::new(["/openapi.json"]).validator_url("none");
    app.service(web::redirect("/docs", "/docs/"))
        .service(SwaggerUi::new("/docs/{_:.*}").config(page))
        .default_service(web::to(nothing_here))
        .wrap(from_fn(gate))
        .wrap(cors)
}

/// Which pages of other origins may read answers.
fn cors(origins: &[String]) -> Cors {
    let cors = Cors::default()
        .allowed_methods([Method::GET, Method::POST, Method::PUT, Method::DELETE])
        .allowed_headers([header::AUTHORIZATION, header::CONTENT_TYPE, header::IF_NONE_MATCH])
        .allowed_header("traceparent")
        .expose_headers([header::ETAG, header::RETRY_AFTER])
        .expose_headers(["x-request-id"])
        .max_age(3_600);
    origins.iter().fold(cors, |cors, origin| cors.allowed_origin(origin))
}

/// What `work` gives; a panic, which is a fault of this program, fails this request alone.
pub(super) fn guarded<T>(work: impl FnOnce() -> Result<T, Problem>) -> Result<T, Problem> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(work))
        .unwrap_or_else(|_| Err(Kind::Internal.with("This request met a fault of the program.")))
}

/// A server that has its address.
pub struct Listening {
    /// Where it listens; the port is real even if 0 was asked for.
    pub address: SocketAddr,
    /// The server, to be awaited.
    pub server: Server,
}

/// Binds to the address that is set and starts to serve. Signals are left to the caller.
///
/// * Errors: the address cannot be bound.
pub fn listen(state: Data<State>) -> std::io::Result<Listening> {
    let Settings { listen, limits, stop, .. } = state.settings.clone();
    let cores = || thread::available_parallelism().map_or(1, NonZeroUsize::get);
    let workers = if listen.workers == 0 { cores() } else { listen.workers };
    let server = HttpServer::new(move || app(state.clone()))
        .workers(workers)
        .max_connections(limits.connections.div_ceil(workers))
        .client_request_timeout(limits.head_within)
        .keep_alive(KeepAlive::Timeout(IDLE))
        .shutdown_timeout(stop.within.as_secs() + u64::from(stop.within.subsec_nanos() > 0))
        .disable_signals()
        .tcp_nodelay(true)
        .bind(listen.address)?;
    let bound = server.addrs().first().copied().unwrap_or(listen.address);
    Ok(Listening { address: bound, server: server.run() })
}
