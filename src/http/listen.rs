//! The server: where it listens, and what each connection is held to.

use std::{io, net::SocketAddr, num::NonZeroUsize, thread, time::Duration};

use actix_http::HttpService;
use actix_server::Server;
use actix_service::{ServiceFactoryExt as _, fn_service, map_config};
use actix_web::{dev::AppConfig, http::KeepAlive, web::Data};
use tokio::net::{TcpSocket, TcpStream};

use super::{app::app, state::State, stream::Stream};
use crate::config::Settings;

/// How long a connection without a request stays open; a till sends many in a row, and a service
/// that is told to stop waits for such connections.
const IDLE: Duration = Duration::from_secs(5);
/// How long a connection may go on for the other side's sake after its last answer.
const LINGER: Duration = Duration::from_secs(1);
/// Connections that the system keeps until they are accepted.
const BACKLOG: u32 = 1_024;

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
pub fn listen(state: Data<State>) -> io::Result<Listening> {
    let Settings { listen, limits, stop, .. } = state.settings.clone();
    let cores = || thread::available_parallelism().map_or(1, NonZeroUsize::get);
    let workers = if listen.workers == 0 { cores() } else { listen.workers };
    let listener = bound(listen.address)?;
    let address = listener.local_addr()?;
    let builder = Server::build()
        .workers(workers)
        .max_concurrent_connections(limits.connections.div_ceil(workers))
        .shutdown_timeout(stop.within.as_secs() + u64::from(stop.within.subsec_nanos() > 0))
        .disable_signals();
    let stopping = builder.graceful_shutdown_signal();
    let (head_within, taken_within) = (limits.head_within, limits.body_within);
    let watched = move |io: TcpStream| {
        let peer = io.peer_addr().ok();
        // An answer is written whole; waiting for more of it would only hold it up.
        let _ = io.set_nodelay(true);
        let stream = Stream::new(io, head_within, taken_within);
        async move { Ok((stream, peer)) }
    };
    let server = builder.listen("http", listener, move || {
        let (state, stopping) = (state.clone(), stopping.clone());
        let http = HttpService::<Stream, _, _>::build()
            .graceful_shutdown_signal(move || {
                let stopping = stopping.clone();
                async move { stopping.notified().await }
            })
            .keep_alive(KeepAlive::Timeout(IDLE))
            .client_request_timeout(head_within)
            .client_disconnect_timeout(LINGER)
            .local_addr(address)
            .on_connect_ext(|stream: &Stream, data| {
                data.insert(stream.pulse());
            })
            .h1(map_config(app(state), |()| AppConfig::default()));
        fn_service(watched).and_then(http)
    })?;
    Ok(Listening { address, server: server.run() })
}

fn bound(address: SocketAddr) -> io::Result<std::net::TcpListener> {
    let socket = if address.is_ipv4() { TcpSocket::new_v4() } else { TcpSocket::new_v6() }?;
    // A service that has just ended leaves its address behind for a minute.
    socket.set_reuseaddr(true)?;
    socket.bind(address)?;
    socket.listen(BACKLOG)?.into_std()
}
