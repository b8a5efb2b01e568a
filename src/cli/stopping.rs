//! Stopping: told to terminate, the service first sends everybody elsewhere, then ends.

use std::{io, time::Duration};

use actix_web::{dev::ServerHandle, rt, web::Data};
use tokio::{
    signal::unix::{SignalKind, signal},
    time::sleep,
};

use crate::http::State;

/// Stops the server when the process is told to.
///
/// SIGTERM: `/health/ready` says no and every answer ends its connection while the notice lasts;
/// then nothing new is taken, and what is under way has its time. SIGINT: the same without notice,
/// since there is a person waiting. A second signal ends at once.
///
/// A process with the number 1 has no handlers of its own, so these are all there are.
pub(super) fn when_told(state: Data<State>, server: ServerHandle) -> io::Result<()> {
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    rt::spawn(async move {
        let notice = tokio::select! {
            _ = terminate.recv() => state.settings.stop.notice,
            _ = interrupt.recv() => Duration::ZERO,
        };
        state.leave();
        tracing::info!(notice_s = notice.as_secs_f64(), "told to stop");
        let again = async {
            tokio::select! {
                _ = terminate.recv() => (),
                _ = interrupt.recv() => (),
            }
        };
        tokio::pin!(again);
        tokio::select! {
            () = sleep(notice) => (),
            () = &mut again => return server.stop(false).await,
        }
        let ended = server.stop(true);
        tokio::pin!(ended);
        tokio::select! {
            () = &mut ended => (),
            () = &mut again => server.stop(false).await,
        }
    });
    Ok(())
}
