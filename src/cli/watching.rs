//! Watching: where everything that is loaded lies, and whether any of it has changed.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs, io,
    os::unix::fs::MetadataExt as _,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use notify::{
    Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher as _,
    event::{AccessKind, AccessMode},
};
use tokio::{
    sync::Notify,
    time::{Instant, timeout, timeout_at},
};

use super::serve::files_of;
use crate::config::Settings;

/// How long nothing must change before what is watched is read: files come one after another.
const QUIET: Duration = Duration::from_millis(300);

/// How long changes are waited out at most, lest a file that never rests holds up the rest for ever.
const LONGEST: Duration = Duration::from_secs(5);

/// What the file system says of a file: device, number, length, and when it and its record were
/// last written.
type Mark = (u64, u64, u64, (i64, i64), (i64, i64));

/// What the file system says of every file that is loaded. Where two are equal, nothing was written
/// between them, and no file was put in the place of another; those of nothing equal none.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Marks(BTreeMap<PathBuf, Option<Mark>>);

impl Marks {
    /// As things are now.
    pub(super) fn of(settings: &Settings) -> Self {
        let mark = |path: PathBuf| {
            let mark = fs::metadata(&path).ok().map(|one| {
                let (written, told) =
                    ((one.mtime(), one.mtime_nsec()), (one.ctime(), one.ctime_nsec()));
                (one.dev(), one.ino(), one.size(), written, told)
            });
            (path, mark)
        };
        Self(files(settings).into_iter().map(mark).collect())
    }
}

/// Every file that is loaded; of a folder that cannot be read, none.
fn files(settings: &Settings) -> Vec<PathBuf> {
    let sheets = files_of(settings).sheets().unwrap_or_default();
    let named = [&settings.book, &settings.keys].into_iter().flatten().cloned();
    // The folder is among them, so that one which is gone is not taken for one without sheets.
    named.chain(settings.sites.clone()).chain(sheets).collect()
}

/// Tells of changes in the folders where everything lies that is loaded.
#[derive(Debug)]
pub(super) struct Watch {
    changed: Arc<Notify>,
    /// Watches until it is dropped.
    _watcher: RecommendedWatcher,
}

impl Watch {
    /// Watches the folders as they are now; one that is put in the place of another is seen in the
    /// folder above it, and is watched by a new watch.
    ///
    /// * Errors: the system has no room for another watch.
    pub(super) fn over(settings: &Settings) -> io::Result<Self> {
        let changed = Arc::new(Notify::new());
        let told = Arc::clone(&changed);
        let mut watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
            // What cannot be told may be a change.
            if event.map_or(true, |event| is_change(event.kind)) {
                told.notify_one();
            }
        })
        .map_err(|fault| io::Error::other(format!("changes cannot be watched: {fault}")))?;
        for folder in folders(settings) {
            watcher.watch(&folder, RecursiveMode::NonRecursive).map_err(|fault| {
                let folder = folder.display();
                io::Error::other(format!("{folder} cannot be watched: {fault}"))
            })?;
        }
        Ok(Self { changed, _watcher: watcher })
    }

    /// Lets the next wait end as if something had just changed.
    pub(super) fn stir(&self) {
        self.changed.notify_one();
    }

    /// Waits for a change, and then until nothing changes any more.
    pub(super) async fn rested(&self) {
        self.changed.notified().await;
        let latest = Instant::now() + LONGEST;
        while let Ok(Ok(())) = timeout_at(latest, timeout(QUIET, self.changed.notified())).await {}
    }
}

/// Whether something may have become other than it was. Reading is none: the service does it
/// itself whenever it is told of a change.
fn is_change(kind: EventKind) -> bool {
    match kind {
        EventKind::Access(access) => access == AccessKind::Close(AccessMode::Write),
        EventKind::Any
        | EventKind::Create(_)
        | EventKind::Modify(_)
        | EventKind::Remove(_)
        | EventKind::Other => true,
    }
}

/// The folders in which a change may be one of what is loaded: files are replaced by others of
/// their name, so it is their folder that changes. Of a link, also where it leads to.
fn folders(settings: &Settings) -> BTreeSet<PathBuf> {
    let real = |path: &PathBuf| fs::canonicalize(path).ok();
    let mut folders: BTreeSet<PathBuf> = settings.sites.iter().filter_map(real).collect();
    for path in files(settings) {
        folders.extend(parent(&path));
        folders.extend(real(&path).and_then(|path| parent(&path)));
    }
    folders.retain(|folder| folder.is_dir());
    folders
}

/// The folder in which a file lies, or a folder.
fn parent(path: &Path) -> Option<PathBuf> {
    let folder = path.parent()?;
    Some(if folder == Path::new("") { PathBuf::from(".") } else { folder.to_owned() })
}
