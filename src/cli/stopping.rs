//! Stopping: told to terminate, the service first sends everybody elsewhere, then ends.

use std::{io, process, time::Duration};

use actix_web::{dev::ServerHandle, rt, web::Data};
use tokio::{
    signal::unix::{Signal, SignalKind, signal},
    time::sleep,
};

use crate::http::State;

/// What the status of a process that a signal ended begins at, as shells tell it.
const BY_SIGNAL: i32 = 128;

/// Stops the server when the process is told to.
///
/// SIGTERM: `/health/ready` says no and every answer ends its connection while the notice lasts;
/// then nothing new is taken, and what is under way has its time. SIGINT: the same without notice,
/// since there is a person waiting. A second signal ends at once.
///
/// A process with the number 1 has no handlers of its own, so these are all there are.
pub(super) fn when_told(state: Data<State>, server: ServerHandle, mut told: Told) {
    rt::spawn(async move {
        let first = told.next().await;
        let is_person = first == SignalKind::interrupt();
        let notice = if is_person { Duration::ZERO } else { state.settings.stop.notice };
        state.leave();
        tracing::info!(notice_s = notice.as_secs_f64(), "told to stop");
        // The server takes no other word while it ends, so a second one is taken here. Nothing is
        // lost by it but what is under way: what is kept is whole on disk at any moment.
        rt::spawn(async move {
            let second = told.next().await;
            tracing::warn!("told to stop at once");
            process::exit(BY_SIGNAL + second.as_raw_value());
        });
        sleep(notice).await;
        server.stop(true).await;
    });
}

/// The two signals by which a process is told to stop.
pub(super) struct Told {
    terminate: Signal,
    interrupt: Signal,
}

impl Told {
    /// From now on they are waited for, and end nothing by themselves.
    pub(super) fn new() -> io::Result<Self> {
        let terminate = signal(SignalKind::terminate())?;
        Ok(Self { terminate, interrupt: signal(SignalKind::interrupt())? })
    }

    /// The next of them.
    async fn next(&mut self) -> SignalKind {
        tokio::select! {
            _ = self.terminate.recv() => SignalKind::terminate(),
            _ = self.interrupt.recv() => SignalKind::interrupt(),
        }
    }
}
