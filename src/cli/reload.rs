//! Reloading: on SIGHUP, and on a change of what is watched, everything is read and checked anew;
//! only what is right as a whole comes into force.

use std::{io, mem, path::PathBuf, sync::Arc, thread};

use actix_web::{rt, web::Data};
use tokio::{signal::unix::Signal, sync::oneshot};

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
/// * `hang_up`: by which it is told.
/// * `marks`: the files as they were before what is in force was read.
/// * Errors: what is to be watched cannot be.
pub(super) fn when_told(
    state: Data<State>,
    mut hang_up: Signal,
    mut marks: Marks,
) -> io::Result<()> {
    let watch = state.settings.watch.then(|| Watch::over(&state.settings));
    let mut watch = watch.transpose()?;
    // What changed before it was watched is told by nobody.
    watch.iter().for_each(Watch::stir);
    rt::spawn(async move {
        loop {
            let known = tokio::select! {
                told = hang_up.recv() => match told {
                    Some(()) => None,
                    None => return,
                },
                () = rested(watch.as_ref()) => Some(mem::take(&mut marks)),
            };
            let Some(look) = look(state.settings.clone(), known).await else {
                // What the fault says may quote a document; the log has its place already.
                tracing::error!("reading failed; the last good book stays");
                state.refuse(vec!["it could not be read to its end".to_owned()]);
                marks = Marks::default();
                continue;
            };
            match look.watch {
                Some(Ok(anew)) => watch = Some(anew),
                Some(Err(fault)) => tracing::warn!(%fault, "what was watched before still is"),
                None => {}
            }
            marks = look.marks;
            match look.read {
                Some(Ok((held, keys))) => take(&state, held, keys),
                Some(Err(why)) => refuse(&state, &why),
                None => {}
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

/// What a look at the files gave.
struct Look {
    /// A watch over the folders as they are now, if it was a change that was told.
    watch: Option<io::Result<Watch>>,
    /// The files as they were read.
    marks: Marks,
    /// What was read; none if nothing had changed.
    read: Option<Read>,
}

/// Looks at the files on a thread that nobody waits for: where a file system hangs, requests are
/// still answered and the process can still be stopped.
///
/// * `known`: the files as they were when last read; without them everything is read in any case.
/// * Result: none if the look ended in a fault of the program.
async fn look(settings: Settings, known: Option<Marks>) -> Option<Look> {
    let (done, look) = oneshot::channel();
    thread::spawn(move || {
        // Before the files are looked at, so that what changes from here on is told.
        let watch = known.is_some().then(|| Watch::over(&settings));
        let look = match known {
            // Much changes in a folder that is no matter of the service's, such as its own log.
            Some(marks) if marks == Marks::of(&settings) => Look { watch, marks, read: None },
            _ => {
                let (marks, read) = at_rest(&settings);
                Look { watch, marks, read: Some(read) }
            }
        };
        // Nobody waits any more only where the process ends.
        drop(done.send(look));
    });
    look.await.ok()
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
    let path = first.map_or_else(PathBuf::new, Clone::clone);
    let fault = io::Error::other("it changed each time that it was read");
    (Marks::default(), Err(Unloaded::Unreadable(path, fault)))
}

fn read(settings: &Settings) -> Read {
    let held = files_of(settings).try_load()?;
    let keys = read_keys(settings.keys.as_deref(), &held)?;
    Ok((held, keys))
}

/// Takes what was read.
fn take(state: &State, held: InForce, keys: KeyRing) {
    let book = held.digest().to_string();
    match state.take(Arc::new(held), keys) {
        Reload::Taken => tracing::info!(book, "what was read is in force from now on"),
        Reload::Unchanged | Reload::Refused => {
            tracing::info!(book, "what was read is in force already");
        }
    }
}

/// Says why what was read is not taken.
fn refuse(state: &State, why: &Unloaded) {
    let mut reasons = why.reasons();
    let complaints = reasons.len();
    reasons.truncate(TOLD);
    let reason = reasons.join("; ");
    tracing::warn!(complaints, reason, "what was read is not taken; the last good book stays");
    state.refuse(reasons);
}
