//! What a service keeps between runs: nothing about orders or customers, only what is true at its
//! sites and was said by somebody with a key.
//!
//! A state directory belongs to one process, which holds its lock. A file is written whole beside
//! the old one, flushed, and renamed over it, so that a kill leaves the old or the new.

mod stock;

use std::{
    fs::{self, File, TryLockError},
    io::{self, Write},
    path::{Path, PathBuf},
};

pub use stock::StockOuts;

/// A state directory that this process has for itself.
#[derive(Debug)]
pub struct StateDir {
    folder: PathBuf,
    /// Held as long as the process lives; the system lets go of it when the process ends.
    _lock: File,
}

/// Why a state directory cannot be had.
#[derive(Debug, thiserror::Error)]
pub enum NoState {
    /// Another process has it.
    #[error("{0} is in use by another process")]
    InUse(PathBuf),
    /// It cannot be made, read or locked.
    #[error("{0}: {1}")]
    Failed(PathBuf, io::Error),
    /// What is kept there cannot be understood.
    #[error("{0}: {1}. Mend it, or move it away to begin anew")]
    Damaged(PathBuf, String),
}

impl StateDir {
    /// Takes the directory, making it if it is not there.
    ///
    /// * Errors: it cannot be made or locked, or another process has it.
    pub fn open(folder: &Path) -> Result<Self, NoState> {
        let failed = |fault| NoState::Failed(folder.to_owned(), fault);
        fs::create_dir_all(folder).map_err(failed)?;
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(folder.join("lock"))
            .map_err(failed)?;
        lock.try_lock().map_err(|fault| match fault {
            TryLockError::WouldBlock => NoState::InUse(folder.to_owned()),
            TryLockError::Error(fault) => failed(fault),
        })?;
        Ok(Self { folder: folder.to_owned(), _lock: lock })
    }

    /// The text of a file, if it is there.
    fn read(&self, name: &str) -> io::Result<Option<String>> {
        match fs::read_to_string(self.folder.join(name)) {
            Ok(text) => Ok(Some(text)),
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(fault) => Err(fault),
        }
    }

    /// Writes a file whole or not at all; once this returns, a kill does not lose it.
    fn write(&self, name: &str, text: &str) -> io::Result<()> {
        let (new, place) = (self.folder.join(format!("{name}.new")), self.folder.join(name));
        let mut file = File::create(&new)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&new, &place)?;
        // The directory too, or the rename itself could be lost.
        File::open(&self.folder)?.sync_all()
    }
}
