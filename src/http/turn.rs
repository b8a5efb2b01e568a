//! Letting everything else that is ready have its turn first.

use std::{
    future::poll_fn,
    pin::pin,
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    task::{Context, Poll, Wake, Waker},
};

use tokio::task::yield_now;

/// Wakes a task and remembers that it did.
struct Turn {
    came: AtomicBool,
    task: Waker,
}

impl Wake for Turn {
    fn wake(self: Arc<Self>) {
        self.came.store(true, Ordering::Release);
        self.task.wake_by_ref();
    }
}

/// Waits until the thread has looked at everything else that is ready.
///
/// A plain yield will not do: the layer below polls a request twice in one go, and the second time
/// it would go on.
pub(super) async fn after_all_others() {
    let mut yielding = pin!(yield_now());
    let mut turn: Option<Arc<Turn>> = None;
    poll_fn(|cx| match &turn {
        Some(turn) if turn.came.load(Ordering::Acquire) => Poll::Ready(()),
        Some(_) => Poll::Pending,
        None => {
            let task = cx.waker().clone();
            let made = Arc::new(Turn { came: AtomicBool::new(false), task });
            let waker = Waker::from(Arc::clone(&made));
            turn = Some(made);
            yielding.as_mut().poll(&mut Context::from_waker(&waker))
        }
    })
    .await;
}

#[cfg(test)]
mod tests {
    use std::{future::poll_fn, pin::pin, task::Poll};

    use super::after_all_others;

    #[actix_web::test]
    async fn polling_twice_in_one_go_does_not_skip_the_others() {
        let mut turn = pin!(after_all_others());
        let mut polled = 0;
        poll_fn(|cx| {
            polled += 1;
            let first = turn.as_mut().poll(cx);
            if polled > 1 {
                return first;
            }
            assert!(first.is_pending() && turn.as_mut().poll(cx).is_pending());
            Poll::Pending
        })
        .await;
        assert_eq!(polled, 2);
    }
}
