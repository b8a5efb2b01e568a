//! Reloading: on SIGHUP, and on a change of what is watched, everything is read and checked anew;
//! only what is right as a whole comes into force.

use std::{
    io,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use actix_web::{rt, web::Data};
use notify::{RecommendedWatcher, RecursiveMode, Watcher as _};
use tokio::{
    signal::unix::{SignalKind, signal},
    sync::mpsc::{UnboundedReceiver, unbounded_channel},
    time::timeout,
};

use super::{
    load::Unloaded,
    serve::{files_of, read_keys},
};
use crate::{http::State, observe::Reload};

/// How long nothing must change before what is watched is read: files come one after another.
const QUIET: Duration = Duration::from_millis(300);

/// Changes that are waited out at most, lest a file that never rests holds up the rest for ever.
const MOST: u32 = 100;

/// Complaints that are told.
const TOLD: usize = 20;

/// Reloads when told to; watching ends when what this gives is dropped.
///
/// * Errors: what is to be watched cannot be.
pub(super) fn watch(state: Data<State>) -> io::Result<Option<RecommendedWatcher>> {
    let mut hang_up = signal(SignalKind::hangup())?;
    let (told, changes) = unbounded_channel();
    let watcher = if state.settings.watch {
        let mut watcher = notify::recommended_watcher(move |event: notify::Result<_>| {
            // The other end is gone only when the process ends.
            if event.is_ok() {
                let _ = told.send(());
            }
        })
        .map_err(io::Error::other)?;
        for folder in folders(&state) {
            watcher.watch(&folder, RecursiveMode::NonRecursive).map_err(io::Error::other)?;
        }
        Some(watcher)
    } else {
        drop(told);
        None
    };
    rt::spawn(async move {
        let mut changes = Some(changes);
        loop {
            tokio::select! {
                told = hang_up.recv() => if told.is_none() { return },
                rested = rested(changes.as_mut()) => if !rested {
                    // Nothing is watched: only signals are waited for from now on.
                    changes = None;
                    continue;
                },
            }
            reload(&state).await;
        }
    });
    Ok(watcher)
}

/// Waits for a change, and then until nothing changes any more; `false` if none can come.
async fn rested(changes: Option<&mut UnboundedReceiver<()>>) -> bool {
    let Some(changes) = changes else { return std::future::pending().await };
    if changes.recv().await.is_none() {
        return false;
    }
    for _ in 0..MOST {
        match timeout(QUIET, changes.recv()).await {
            Ok(Some(())) => {}
            Ok(None) | Err(_) => break,
        }
    }
    true
}

/// The folders in which what is loaded lies; files are replaced by others of their name, so it is
/// their folder that changes.
fn folders(state: &State) -> Vec<PathBuf> {
    let settings = &state.settings;
    let of = |file: &PathBuf| match file.parent() {
        Some(folder) if folder != Path::new("") => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let files = [&settings.book, &settings.keys].into_iter().flatten().map(of);
    let mut folders: Vec<PathBuf> = files.chain(settings.sites.clone()).collect();
    folders.sort();
    folders.dedup();
    folders
}

/// Reads and checks everything, beside what is answered meanwhile, and takes it if it is right.
async fn reload(state: &Data<State>) {
    let settings = state.settings.clone();
    let read = rt::task::spawn_blocking(move || -> Result<_, Unloaded> {
        let held = files_of(&settings).try_load()?;
        let keys = read_keys(settings.keys.as_deref(), &held)?;
        Ok((held, keys))
    });
    match read.await {
        Ok(Ok((held, keys))) => {
            state.take_keys(keys);
            let digest = held.digest().to_string();
            match state.take(Arc::new(held)) {
                Reload::Taken => tracing::info!(book = digest, "another book is in force"),
                Reload::Unchanged | Reload::Refused => {
                    tracing::info!(book = digest, "what was read is in force already");
                }
            }
        }
        Ok(Err(why)) => {
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
        Err(fault) => {
            tracing::error!(%fault, "reading failed; the last good book stays");
            state.refuse(vec!["it could not be read to its end".to_owned()]);
        }
    }
}
