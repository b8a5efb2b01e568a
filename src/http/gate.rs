//! The gate: what every request passes on its way in and out, in this order: key, rate, place,
//! body; then headers, counts, log and trace.

use std::{rc::Rc, time::Instant};

use actix_web::{
    Error, HttpMessage as _, ResponseError as _,
    body::{BoxBody, MessageBody},
    dev::{ServiceRequest, ServiceResponse},
    http::{ConnectionType, Method, StatusCode, Uri, header},
    middleware::Next,
    web::Data,
};

use super::{
    body::{busy, drain, read_whole, with_unread},
    client::client,
    coded::BUILDS,
    fallback::{nothing_at, too_large},
    headers::{guard, name_request},
    key::{key, missing},
    origin::Page,
    paths::{in_small_letters, route_of, takes_body},
    rate::Sender,
    record::Record,
    reply::Failure,
    slots::Slot,
    state::State,
    stream::Pulse,
    turn::after_all_others,
};
use crate::wire::Kind;

/// Lets a request through, or answers in its place.
pub(super) async fn gate<B: MessageBody + 'static>(
    state: Data<State>,
    mut request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let began = Instant::now();
    lead_to_build(&mut request);
    let route = route_of(request.path());
    let record = Record::begin(&state, &request, route);
    let _under_way = state.metrics.under_way();
    let pulse = request.conn_data::<Rc<Pulse>>().cloned();
    if let Some(pulse) = &pulse {
        pulse.begin();
    }
    let origins = &state.settings.listen.allowed_origins;
    let page = Page::of(request.method(), request.headers(), origins);
    let is_head = *request.method() == Method::HEAD;
    if is_head {
        // HEAD is GET without the content (RFC 9110, section 9.3.2), which the encoder leaves out.
        request.head_mut().method = Method::GET;
    }
    let asks_first = page.as_ref().is_some_and(Page::asks_first);
    let let_in = let_in(&state, &mut request, route, asks_first).await;
    let mut response = match let_in {
        Ok(_place) => match next.call(request).await {
            Ok(response) => explained(response.map_into_boxed_body(), route),
            Err(fault) => return Err(fault),
        },
        Err(failure) => {
            let unread = failure.closes().then(|| request.take_payload());
            let mut response = request.into_response(failure.error_response());
            if let Some(unread) = unread {
                close(&mut response);
                response = response.map_body(|_, content| with_unread(content, unread));
            }
            response
        }
    };
    if state.is_leaving() {
        close(&mut response);
    }
    guard(response.headers_mut(), route);
    if let Some(page) = page {
        page.tell(response.headers_mut());
    }
    name_request(response.headers_mut(), record.id());
    record.end(&state, response.status().as_u16(), began.elapsed());
    if let Some(pulse) = pulse {
        pulse.end();
    }
    Ok(response)
}

/// Leads the path of a token in capitals to where the contract has it.
fn lead_to_build(request: &mut ServiceRequest) {
    let Some(path) = in_small_letters(request.path()) else { return };
    let mut parts = request.uri().clone().into_parts();
    let query = request.uri().query().map(|query| format!("?{query}")).unwrap_or_default();
    parts.path_and_query = format!("{path}{query}").parse().ok();
    if let Ok(uri) = Uri::from_parts(parts) {
        request.match_info_mut().get_mut().update(&uri);
        request.head_mut().uri = uri;
    }
}

/// Everything that can keep a request out; a place for it where nothing does.
async fn let_in<'s>(
    state: &'s State,
    request: &mut ServiceRequest,
    route: &'static str,
    asks_first: bool,
) -> Result<Option<Slot<'s>>, Failure> {
    // Whoever watches the service must be answered when nobody else is.
    if route.starts_with("/health/") {
        return if drain(state, request).await { Ok(None) } else { Err(unfinished()) };
    }
    if let Err(failure) = is_welcome(state, request, route, asks_first) {
        return Err(if drain(state, request).await { failure } else { failure.and_close() });
    }
    if takes_body(route, request.method()) {
        if !has_length(request) {
            let detail = "Say with `Content-Length` how long the body is, or send it in chunks.";
            return Err(Kind::LengthRequired.with(detail).into());
        }
        return read_whole(state, request).await.map(Some);
    }
    if !drain(state, request).await {
        return Err(unfinished());
    }
    let place = state.at_work.take().ok_or_else(busy)?;
    // What else has arrived gets its place, or learns that there is none, before this is worked on.
    after_all_others().await;
    Ok(Some(place))
}

/// Whether a request that must have a body says where it ends.
fn has_length(request: &ServiceRequest) -> bool {
    let headers = request.headers();
    headers.contains_key(header::CONTENT_LENGTH) || headers.contains_key(header::TRANSFER_ENCODING)
}

/// The problem of a body that nobody asked for and that does not end.
fn unfinished() -> Failure {
    Failure::from(too_large()).and_close()
}

/// Whether the sender may ask at all, and so much.
///
/// * `asks_first`: a browser asks in advance for a page that may read the answer.
fn is_welcome(
    state: &State,
    request: &ServiceRequest,
    route: &str,
    asks_first: bool,
) -> Result<(), Failure> {
    let keys = state.keys();
    let known = key(&keys, request.headers());
    if let Some(rate) = &state.rate {
        let sender = match &known {
            Ok(Some(key)) => Sender::Key(key.id.to_string()),
            Ok(None) | Err(_) => Sender::at(address(state, request)),
        };
        rate.take(&sender).map_err(|wait| {
            let seconds = wait.as_secs() + u64::from(wait.subsec_nanos() > 0);
            let detail = format!("Wait for {seconds} s before the next request.");
            Failure::from(Kind::TooManyRequests.with(detail)).after(seconds.max(1))
        })?;
    }
    let known = known?;
    let is_of_guests = route == BUILDS && state.settings.listen.open_builds;
    let for_all = route == "/openapi.json" || route == "/docs/" || asks_first || is_of_guests;
    if known.is_none() && !for_all && !state.is_open() {
        return Err(missing());
    }
    Ok(())
}

fn address(state: &State, request: &ServiceRequest) -> std::net::IpAddr {
    let peer = request.peer_addr().map_or(std::net::Ipv4Addr::UNSPECIFIED.into(), |it| it.ip());
    client(peer, request.headers(), &state.settings.listen.trusted_proxies)
}

/// The answer, and where the pages of the contract have none, the problem that says so.
fn explained(response: ServiceResponse<BoxBody>, route: &str) -> ServiceResponse<BoxBody> {
    if route != "/docs/" || response.status() != StatusCode::NOT_FOUND {
        return response;
    }
    let problem = nothing_at(response.request().path());
    response.into_response(Failure::from(problem).error_response())
}

/// The connection ends with this answer, and says so.
fn close(response: &mut ServiceResponse<BoxBody>) {
    if response.status() != StatusCode::SWITCHING_PROTOCOLS {
        response.response_mut().head_mut().set_connection_type(ConnectionType::Close);
    }
}
