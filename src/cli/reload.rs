//! Reloading: on SIGHUP, and on a change of what is watched, everything is read and checked anew;
//! only what is right as a whole comes into force.

use std::{io, path::PathBuf, sync::Arc, thread};

use actix_web::{rt, web::Data};
use tokio::{
    signal::unix::{SignalKind, signal},
    sync::oneshot,
};

use super::{
    load::Unloaded,
    serve::{files_of, read_keys},
    watching::{Marks, Watch},
};
use crate::{config::Settings, http::State, in_force::InForce, keys::KeyRing, observe::Reload};

/// How often what changes while it is read is read again.
const TRIES: u32 = 5;

/// Complaints that are told.
const TOLD: usize = 20;

/// What was read, or why it is not taken.
type Read = Result<(InForce, KeyRing), Unloaded>;

/// Reloads when told to, as long as the process lives.
///
/// * `marks`: the files as they were before what is in force was read.
/// * Errors: what is to be watched cannot be.
pub(super) fn when_told(state: Data<State>, mut marks: Marks) -> io::Result<()> {
    let mut hang_up = signal(SignalKind::hangup())?;
    let over = |state: &State| state.settings.watch.then(|| Watch::over(&state.settings));
    let mut watch = over(&state).transpose()?;
    rt::spawn(async move {
        // What changed before it was watched is told by nobody.
        let mut is_missed = watch.is_some();
        loop {
            tokio::select! {
                biased;
                () = std::future::ready(()), if is_missed => is_missed = false,
                told = hang_up.recv() => {
                    if told.is_none() {
                        return;
                    }
                    marks = reload(&state).await;
                    continue;
                }
                () = rested(watch.as_ref()) => match over(&state).transpose() {
                    Ok(anew) => watch = anew,
                    Err(fault) => tracing::warn!(%fault, "what was watched before still is"),
                },
            }
            // Much changes in a folder that is no matter of the service's, such as its own log.
            if Marks::of(&state.settings) != marks {
                marks = reload(&state).await;
            }
        }
    });
    Ok(())
}

async fn rested(watch: Option<&Watch>) {
    match watch {
        Some(watch) => watch.rested().await,
        None => std::future::pending().await,
    }
}

/// Reads and checks everything, beside what is answered meanwhile, and takes it if it is right.
///
/// * Result: the files as they were read.
async fn reload(state: &Data<State>) -> Marks {
    let settings = state.settings.clone();
    let (done, read) = oneshot::channel();
    // A thread that nobody waits for: where a file system hangs, the process can still be stopped.
    thread::spawn(move || done.send(at_rest(&settings)));
    let Ok((marks, read)) = read.await else {
        // What the fault says may quote a document; the log has its place already.
        tracing::error!("reading failed; the last good book stays");
        state.refuse(vec!["it could not be read to its end".to_owned()]);
        return Marks::default();
    };
    match read {
        Ok((held, keys)) => {
            let book = held.digest().to_string();
            match state.take(Arc::new(held), keys) {
                Reload::Taken => tracing::info!(book, "what was read is in force from now on"),
                Reload::Unchanged | Reload::Refused => {
                    tracing::info!(book, "what was read is in force already");
                }
            }
        }
        Err(why) => {
            let mut reasons = why.reasons();
            let complaints = reasons.len();
            reasons.truncate(TOLD);
            let reason = reasons.join("; ");
            tracing::warn!(
                complaints,
                reason,
                "what was read is not taken; the last good book stays"
            );
            state.refuse(reasons);
        }
    }
    marks
}

/// Reads everything while none of it changes: what is half one book and half another may well be
/// without complaint.
fn at_rest(settings: &Settings) -> (Marks, Read) {
    let mut before = Marks::of(settings);
    for _ in 0..TRIES {
        let read = read(settings);
        let after = Marks::of(settings);
        if before == after {
            return (after, read);
        }
        before = after;
    }
    let first = [&settings.book, &settings.sites, &settings.keys].into_iter().flatten().next();
    let fault = io::Error::other("it changed each time that it was read");
    (
        Marks::default(),
        Err(Unloaded::Unreadable(first.map_or_else(PathBuf::new, Clone::clone), fault)),
    )
}

fn read(settings: &Settings) -> Read {
    let held = files_of(settings).try_load()?;
    let keys = read_keys(settings.keys.as_deref(), &held)?;
    Ok((held, keys))
}
