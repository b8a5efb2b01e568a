//! What a site has seen, kept so that it never goes back behind it.
//!
//! The crate writes its files in place; a kill in the middle would leave one that it cannot read, and
//! then takes it for none, which lets an old repository through. So it works in a folder beside, and
//! each file is taken over whole. One that is damaged all the same is told of, and nothing is fetched.

use std::{
    fs::{self, File},
    path::{Path, PathBuf},
};

use serde_json::Value;
use tough::schema::{Root, Signed};

use super::{
    Fault,
    folder::{self, PUBLIC},
};

/// The files, in the order in which they are taken over.
const FILES: [&str; 5] =
    ["root.json", "timestamp.json", "snapshot.json", "targets.json", "latest_known_time.json"];

/// A folder of what was seen, which this process has for itself.
#[derive(Debug)]
pub(super) struct Kept {
    folder: PathBuf,
    _lock: File,
}

impl Kept {
    /// Takes the folder.
    pub(super) fn open(folder: &Path) -> Result<Self, Fault> {
        let lock = folder::lock(folder)?;
        Ok(Self { folder: folder.to_owned(), _lock: lock })
    }

    /// The root to begin with: the newest that was seen, or the one that is trusted from elsewhere if
    /// that is newer.
    ///
    /// * Errors: the one that was seen is damaged, or another root of the same version is trusted.
    pub(super) fn start(&self, trusted: &[u8]) -> Result<Vec<u8>, Fault> {
        let path = self.folder.join("root.json");
        let Some(bytes) = folder::read(&path)? else { return Ok(trusted.to_owned()) };
        let seen: Signed<Root> = serde_json::from_slice(&bytes).map_err(|_| damaged(&path))?;
        let Ok(given) = serde_json::from_slice::<Signed<Root>>(trusted) else {
            return Ok(trusted.to_owned());
        };
        if given.signed.version == seen.signed.version && given.signed != seen.signed {
            return Err(Fault::Refused(format!(
                "{}: what was seen here came from another repository than the root that is trusted.",
                self.folder.display()
            )));
        }
        Ok(if given.signed.version > seen.signed.version { trusted.to_owned() } else { bytes })
    }

    /// A folder for the crate to work in, with copies of what was seen.
    ///
    /// * Errors: something that was seen cannot be read.
    pub(super) fn lend(&self) -> Result<PathBuf, Fault> {
        let work = self.folder.join("work");
        if work.exists() {
            fs::remove_dir_all(&work).map_err(Fault::file(&work))?;
        }
        fs::create_dir(&work).map_err(Fault::file(&work))?;
        for name in FILES {
            let path = self.folder.join(name);
            let Some(bytes) = folder::read(&path)? else { continue };
            serde_json::from_slice::<Value>(&bytes).map_err(|_| damaged(&path))?;
            let copy = work.join(name);
            fs::write(&copy, bytes).map_err(Fault::file(&copy))?;
        }
        Ok(work)
    }

    /// Takes over what the crate has judged good, also where it refused what came after.
    pub(super) fn take_over(&self, work: &Path) -> Result<(), Fault> {
        for name in FILES {
            let (path, copy) = (self.folder.join(name), work.join(name));
            let judged = folder::read(&copy)?;
            if judged == folder::read(&path)? {
                continue;
            }
            match judged {
                Some(bytes) => folder::write(&path, &bytes, PUBLIC)?,
                // It takes away what keys signed that are no longer good.
                None => fs::remove_file(&path).map_err(Fault::file(&path))?,
            }
        }
        fs::remove_dir_all(work).map_err(Fault::file(work))
    }
}

fn damaged(path: &Path) -> Fault {
    let why = "this is damaged, and without it an old repository could be taken for a new one. Move \
               the folder away to begin anew from the root that you trust";
    Fault::damaged(path, why)
}
