//! Work that takes long beside the others': pictures are drawn on threads of their own, a few at once,
//! so that whoever asks for something else is answered meanwhile.

use std::{sync::Arc, thread, time::Duration};

use actix_web::web;
use tokio::{sync::Semaphore, time::timeout};

use super::{app::guarded, reply::Failure};
use crate::wire::{Kind, Problem};

/// How long a request waits for its turn to be drawn.
const PATIENCE: Duration = Duration::from_secs(5);

/// Turns for drawing, as many as there are cores.
#[derive(Clone, Debug)]
pub(crate) struct Drawing(Arc<Semaphore>);

impl Default for Drawing {
    fn default() -> Self {
        let cores = thread::available_parallelism().map_or(1, usize::from);
        Self(Arc::new(Semaphore::new(cores)))
    }
}

impl Drawing {
    /// What `work` gives, on a thread of its own.
    ///
    /// * Errors: those of `work`; others took all turns for too long.
    pub(super) async fn of<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
    ) -> Result<T, Failure> {
        let Ok(Ok(turn)) = timeout(PATIENCE, Arc::clone(&self.0).acquire_owned()).await else {
            let busy = Kind::Busy.with("Others have pictures drawn; send it again in a moment.");
            return Err(Failure::from(busy).after(1));
        };
        let drawn = web::block(move || {
            let drawn = guarded(work);
            drop(turn);
            drawn
        });
        let drawn = drawn.await.map_err(|fault| Kind::Internal.with(fault))?;
        Ok(drawn?)
    }
}
