//! Bodies: read whole before anything else, within their time and length, or the connection is
//! closed on purpose.

use actix_web::{
    HttpMessage as _,
    dev::{Payload, ServiceRequest},
    http::header,
    web::{Bytes, BytesMut},
};
use futures_util::{StreamExt as _, future::poll_immediate};
use tokio::{pin, time::timeout};

use super::{
    fallback::{broken_off, too_large, too_slow},
    reply::Failure,
    slots::Slot,
    state::State,
};
use crate::{json::Limits, wire::Kind};

/// Why there is no body.
enum Unread {
    TooLarge,
    BrokenOff(String),
}

/// Whether the request says that it has a body.
pub(super) fn has_body(request: &ServiceRequest) -> bool {
    let headers = request.headers();
    let length = headers.get(header::CONTENT_LENGTH);
    length.is_some_and(|length| length.as_bytes() != b"0")
        || headers.contains_key(header::TRANSFER_ENCODING)
}

/// Whether the request says that its body is over the limit.
fn is_said_too_large(request: &ServiceRequest) -> bool {
    let length = request.headers().get(header::CONTENT_LENGTH);
    let length = length.and_then(|length| length.to_str().ok()?.trim().parse::<u64>().ok());
    length
        .is_some_and(|length| usize::try_from(length).map_or(true, |it| it > Limits::TICKET.bytes))
}

/// Reads the whole body and puts it back for the handler.
///
/// What is there already is taken with the place that the request has. What is still on its way
/// gives that place up while it is waited for: slow senders must not keep quick ones from being
/// answered.
///
/// * Errors: too long, too slow or broken off; the connection must then be closed.
pub(super) async fn read_whole<'s>(
    state: &'s State,
    request: &mut ServiceRequest,
    place: Slot<'s>,
) -> Result<Slot<'s>, Failure> {
    if is_said_too_large(request) {
        return Err(Failure::from(too_large()).and_close());
    }
    let reading = whole(request.take_payload(), Limits::TICKET.bytes);
    pin!(reading);
    let (read, place) = if let Some(read) = poll_immediate(reading.as_mut()).await {
        (read, Some(place))
    } else {
        drop(place);
        let _waiting = state.reading.take().ok_or_else(|| busy().and_close())?;
        let read = timeout(state.settings.limits.body_within, reading).await;
        (read.map_err(|_| Failure::from(too_slow()).and_close())?, state.at_work.take())
    };
    let body = read.map_err(|unread| {
        Failure::from(match unread {
            Unread::TooLarge => too_large(),
            Unread::BrokenOff(fault) => broken_off(fault),
        })
        .and_close()
    })?;
    request.set_payload(Payload::from(body));
    place.ok_or_else(busy)
}

/// Reads a body that nobody wants, so that the next request on the connection can be read.
///
/// * Result: whether it was read to its end.
pub(super) async fn drain(state: &State, request: &mut ServiceRequest) -> bool {
    if !has_body(request) {
        return true;
    }
    if is_said_too_large(request) {
        return false;
    }
    let mut payload = request.take_payload();
    let whole = async {
        let mut left = Limits::TICKET.bytes;
        while let Some(part) = payload.next().await {
            let Ok(part) = part else { return false };
            let Some(less) = left.checked_sub(part.len()) else { return false };
            left = less;
        }
        true
    };
    timeout(state.settings.limits.body_within, whole).await.unwrap_or(false)
}

/// The problem of a request for which there is no place.
pub(super) fn busy() -> Failure {
    let detail = "Too much is under way. Send the request again in a moment.";
    Failure::from(Kind::Busy.with(detail)).after(1)
}

async fn whole(mut payload: Payload, most: usize) -> Result<Bytes, Unread> {
    let mut first: Option<Bytes> = None;
    let mut all = BytesMut::new();
    while let Some(part) = payload.next().await {
        let part = part.map_err(|fault| Unread::BrokenOff(fault.to_string()))?;
        let have = first.as_ref().map_or(all.len(), Bytes::len);
        if have + part.len() > most {
            return Err(Unread::TooLarge);
        }
        // Nearly every body comes in one part, which is then not copied.
        if have == 0 {
            first = Some(part);
            continue;
        }
        if let Some(first) = first.take() {
            all.extend_from_slice(&first);
        }
        all.extend_from_slice(&part);
    }
    Ok(first.unwrap_or_else(|| all.freeze()))
}
