//! The server: what it holds, how an app is made, and where it listens.

use std::{net::SocketAddr, sync::Arc};

use actix_web::{
    App, Error, HttpServer,
    body::MessageBody,
    dev::{Server, Service as _, ServiceFactory, ServiceRequest, ServiceResponse},
    http::Method,
    web,
};
use jiff::Timestamp;
use utoipa_actix_web::AppExt;

use super::{
    fallback::{broken_off, nothing_here, query_fault, too_large, too_slow},
    menus::Menus,
    reply::Failure,
    routes,
};
use crate::{
    answering::Sent,
    in_force::InForce,
    json::Limits,
    keys::KeyRing,
    state::StockOuts,
    wire::{Kind, Problem},
};

/// Time within which a body must have come whole.
const BODY_WITHIN: std::time::Duration = std::time::Duration::from_secs(10);

/// What every handler sees.
#[derive(Clone, Debug)]
pub struct State {
    /// The book and the bars in force.
    pub held: Arc<InForce>,
    /// Since when.
    pub since: Timestamp,
    /// Keys that are taken.
    pub keys: Arc<KeyRing>,
    /// What has run out at each site.
    pub stock: Arc<StockOuts>,
    /// The clock, by which seasons are judged.
    pub clock: fn() -> Timestamp,
    pub(super) menus: Arc<Menus>,
}

impl State {
    /// What is served from now on: a book, keys, and what is kept.
    pub fn new(held: Arc<InForce>, keys: KeyRing, stock: StockOuts) -> Self {
        Self {
            held,
            since: Timestamp::now(),
            keys: Arc::new(keys),
            stock: Arc::new(stock),
            clock: Timestamp::now,
            menus: Arc::default(),
        }
    }

    /// What is true of a request to the site that carries no key.
    pub(super) fn sent(&self, site: &str) -> Sent {
        let out_of_stock = self.stock.at(site);
        Sent { now: (self.clock)(), out_of_stock, may_override: false }
    }
}

/// The app: routes, limits, and an answer for everything that no route takes.
pub fn app(
    state: State,
) -> App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl MessageBody>,
        Error = Error,
        InitError = (),
    >,
> {
    let (app, _) = App::new()
        .into_utoipa_app()
        .app_data(web::Data::new(state))
        .app_data(web::PayloadConfig::new(Limits::TICKET.bytes))
        .app_data(
            web::QueryConfig::default()
                .error_handler(|fault, _| Failure::from(query_fault(&fault)).into()),
        )
        .configure(routes)
        .split_for_parts();
    // HEAD is GET without the content (RFC 9110, section 9.3.2), which the encoder leaves out.
    app.default_service(web::to(nothing_here)).wrap_fn(|mut request, next| {
        if *request.method() == Method::HEAD {
            request.head_mut().method = Method::GET;
        }
        next.call(request)
    })
}

/// The whole body, or the problem of one that is too large, too slow, or breaks off.
pub(super) async fn whole_body(payload: web::Payload) -> Result<web::Bytes, Failure> {
    let whole = payload.to_bytes_limited(Limits::TICKET.bytes);
    let whole = actix_web::rt::time::timeout(BODY_WITHIN, whole).await;
    let read = whole.map_err(|_| too_slow())?.map_err(|_| too_large())?;
    read.map_err(|fault| broken_off(&fault).into())
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

/// Binds to `address` and starts to serve.
///
/// * Errors: the address cannot be bound.
pub fn listen(state: State, address: SocketAddr) -> std::io::Result<Listening> {
    let server = HttpServer::new(move || app(state.clone())).tcp_nodelay(true).bind(address)?;
    let bound = server.addrs().first().copied().unwrap_or(address);
    Ok(Listening { address: bound, server: server.run() })
}
