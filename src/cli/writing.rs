//! Writing files: whole or not at all.

use std::{
    ffi::OsString,
    fs::{self, File, OpenOptions},
    io::{self, Write},
    path::{Path, PathBuf},
    process,
};

use anstream::eprintln;

use super::Outcome;

/// Writes `bytes` to `path` in place of what is there: into a file beside it, which then takes its
/// name, so that nobody ever sees half of it.
pub(super) fn replace(path: &Path, bytes: impl AsRef<[u8]>) -> io::Result<()> {
    // A pipe or a device takes the bytes and stays what it is.
    if fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return OpenOptions::new().write(true).open(path)?.write_all(bytes.as_ref());
    }
    // A link stays a link, and what it leads to is replaced.
    let path = &fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let beside = beside(path)?;
    let written = fill(&beside, path, bytes.as_ref()).and_then(|()| fs::rename(&beside, path));
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    written
}

fn fill(beside: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = new(beside)?;
    if let Ok(there) = fs::metadata(path) {
        file.set_permissions(there.permissions())?;
    }
    file.write_all(bytes)?;
    file.sync_all()
}

/// A file of its own in the folder of `path`.
fn beside(path: &Path) -> io::Result<PathBuf> {
    let fault = || io::Error::new(io::ErrorKind::InvalidInput, "this names no file");
    let mut name = OsString::from(".");
    name.push(path.file_name().ok_or_else(fault)?);
    name.push(format!(".{}.new", process::id()));
    Ok(path.with_file_name(name))
}

/// Opens a file that must not be there yet.
pub(super) fn new(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).create_new(true).open(path)
}

/// Says that a file or a folder cannot be written.
pub(super) fn unwritten(path: &Path, fault: &io::Error) -> Outcome {
    eprintln!("Cannot write {}: {fault}", path.display());
    Outcome::Failed
}
