//! Bodies: read whole before anything else, within their time and length, or the connection is
//! closed on purpose.

use std::{
    future::poll_fn,
    pin::{Pin, pin},
    task::{Context, Poll},
};

use actix_web::{
    HttpMessage as _,
    body::{BodySize, BoxBody, MessageBody},
    dev::{Payload, ServiceRequest},
    http::header,
    web::{Bytes, BytesMut},
};
use futures_util::StreamExt as _;
use tokio::time::timeout;

use super::{
    fallback::{broken_off, too_large, too_slow},
    reply::Failure,
    slots::Slot,
    state::State,
    turn::after_all_others,
};
use crate::{json::Limits, wire::Kind};

/// Why there is no body.
enum Unread {
    TooLarge,
    BrokenOff(String),
}

/// Whether the request says that it has a body.
fn has_body(request: &ServiceRequest) -> bool {
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

/// Reads the whole body and puts it back for the handler; a place for the work where there is one.
///
/// * Errors: no place; or too long, too slow or broken off, and the connection must be closed.
pub(super) async fn read_whole<'s>(
    state: &'s State,
    request: &mut ServiceRequest,
) -> Result<Slot<'s>, Failure> {
    if is_said_too_large(request) {
        return Err(Failure::from(too_large()).and_close());
    }
    let mut payload = request.take_payload();
    match in_time(state, whole(&mut payload, Limits::TICKET.bytes)).await {
        Ok((body, place)) => {
            request.set_payload(Payload::from(body));
            place.ok_or_else(busy)
        }
        Err(failure) => {
            // What is left of it is let go of only after the answer.
            request.set_payload(payload);
            Err(failure.and_close())
        }
    }
}

/// What reading comes to, and a place if there is one.
///
/// A body that came along with its head takes its place at once, and lets all others that are ready
/// take theirs before it is worked on. One that is still on its way has none while it is waited for:
/// slow senders must not keep quick ones from being answered.
async fn in_time(
    state: &State,
    reading: impl Future<Output = Result<Bytes, Unread>>,
) -> Result<(Bytes, Option<Slot<'_>>), Failure> {
    let (mut reading, mut others) = (pin!(reading), pin!(after_all_others()));
    let at_once = poll_fn(|cx| match reading.as_mut().poll(cx) {
        Poll::Ready(read) => Poll::Ready(Some(read)),
        Poll::Pending => others.as_mut().poll(cx).map(|()| None),
    });
    let (read, place) = if let Some(read) = at_once.await {
        let place = state.at_work.take();
        if place.is_some() {
            others.await;
        }
        (read, place)
    } else {
        let _waiting = state.reading.take().ok_or_else(busy)?;
        let read = timeout(state.settings.limits.body_within, reading).await;
        (read.map_err(|_| too_slow())?, state.at_work.take())
    };
    let body = read.map_err(|unread| match unread {
        Unread::TooLarge => too_large(),
        Unread::BrokenOff(fault) => broken_off(fault),
    })?;
    Ok((body, place))
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
    let drained = timeout(state.settings.limits.body_within, whole).await.unwrap_or(false);
    request.set_payload(payload);
    drained
}

/// An answer's content, with the part of the request that was not read.
///
/// As long as that part is held, the layer below reads no more of it and closes the connection; it
/// would otherwise read a body in chunks to its end, however late that comes.
struct Unfinished {
    content: BoxBody,
    _unread: Payload,
}

impl MessageBody for Unfinished {
    type Error = <BoxBody as MessageBody>::Error;

    fn size(&self) -> BodySize {
        self.content.size()
    }

    fn poll_next(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<Bytes, Self::Error>>> {
        Pin::new(&mut self.content).poll_next(cx)
    }
}

/// Holds what was not read of a request until the answer is written.
pub(super) fn with_unread(content: BoxBody, unread: Payload) -> BoxBody {
    BoxBody::new(Unfinished { content, _unread: unread })
}

/// The problem of a request for which there is no place.
pub(super) fn busy() -> Failure {
    let detail = "Too much is under way. Send the request again in a moment.";
    Failure::from(Kind::Busy.with(detail)).after(1)
}

async fn whole(payload: &mut Payload, most: usize) -> Result<Bytes, Unread> {
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
