//! A connection's stream, which ends where the other side keeps it without using it.
//!
//! The layer below waits for the first head of a connection alone, and for ever for a reader who
//! takes nothing of an answer.

use std::{
    cell::Cell,
    io,
    pin::Pin,
    rc::Rc,
    task::{Context, Poll},
    time::Duration,
};

use tokio::{
    io::{AsyncRead, AsyncWrite, ReadBuf},
    net::TcpStream,
    time::{Instant, Sleep, sleep_until},
};

/// What the gate tells the stream of its connection.
#[derive(Debug, Default)]
pub(super) struct Pulse {
    /// Requests of which the head has come.
    begun: Cell<u64>,
    /// Whether one of them is not answered yet.
    under_way: Cell<bool>,
}

impl Pulse {
    pub(super) fn begin(&self) {
        self.begun.set(self.begun.get() + 1);
        self.under_way.set(true);
    }

    pub(super) fn end(&self) {
        self.under_way.set(false);
    }

    /// Whether it is the other side's turn, and the layer below does not wait for it.
    fn is_waiting(&self) -> bool {
        self.begun.get() > 0 && !self.under_way.get()
    }
}

/// A head that has begun to come.
#[derive(Clone, Copy, Debug)]
struct Awaited {
    since: Instant,
    /// How many requests there had been.
    begun: u64,
}

/// A stream that ends when a head, or a reader, takes too long.
#[derive(Debug)]
pub(super) struct Stream {
    io: TcpStream,
    pulse: Rc<Pulse>,
    head_within: Duration,
    taken_within: Duration,
    awaited: Option<Awaited>,
    /// Rings some time after a head began; a busy connection winds it seldom.
    bell: Option<Pin<Box<Sleep>>>,
    /// Rings when nothing of an answer is taken.
    stalled: Option<Pin<Box<Sleep>>>,
}

impl Stream {
    /// * `head_within`: time for a head; `taken_within`: time in which a reader must take something.
    pub(super) fn new(io: TcpStream, head_within: Duration, taken_within: Duration) -> Self {
        let pulse = Rc::default();
        Self { io, pulse, head_within, taken_within, awaited: None, bell: None, stalled: None }
    }

    pub(super) fn pulse(&self) -> Rc<Pulse> {
        Rc::clone(&self.pulse)
    }

    /// Notes that a head began to come, if it is not noted already.
    fn await_from_now(&mut self) {
        let begun = self.pulse.begun.get();
        if self.awaited.is_none_or(|awaited| awaited.begun != begun) {
            self.awaited = Some(Awaited { since: Instant::now(), begun });
        }
    }

    /// Whether the head that is awaited takes too long.
    fn is_late(&mut self, cx: &mut Context<'_>) -> bool {
        let begun = self.pulse.begun.get();
        let awaited = self.awaited.filter(|one| one.begun == begun && self.pulse.is_waiting());
        let Some(Awaited { since, .. }) = awaited else {
            self.awaited = None;
            return false;
        };
        let until = since + self.head_within;
        let bell = self.bell.get_or_insert_with(|| Box::pin(sleep_until(until)));
        while bell.as_mut().poll(cx).is_ready() {
            if Instant::now() >= until {
                return true;
            }
            bell.as_mut().reset(until);
        }
        false
    }
}

impl AsyncRead for Stream {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let waiting = self.pulse.is_waiting();
        if self.is_late(cx) {
            // As if the other side had ended it: what is still to be said is said.
            return Poll::Ready(Ok(()));
        }
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.io).poll_read(cx, buffer);
        if waiting && buffer.filled().len() > before {
            self.await_from_now();
        }
        read
    }
}

impl Stream {
    /// What writing came to; an error if nothing was taken for too long.
    fn taken<T>(
        &mut self,
        cx: &mut Context<'_>,
        written: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        if written.is_ready() {
            self.stalled = None;
            return written;
        }
        let until = Instant::now() + self.taken_within;
        let stalled = self.stalled.get_or_insert_with(|| Box::pin(sleep_until(until)));
        match stalled.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(Err(io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl AsyncWrite for Stream {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.io).poll_write(cx, bytes);
        self.taken(cx, written)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.io).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.io).poll_shutdown(cx)
    }
}
