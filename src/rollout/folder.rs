//! Files that are written whole or not at all, and folders that one process has at a time.

use std::{
    fs::{self, File, OpenOptions},
    io::{self, Write as _},
    os::unix::fs::OpenOptionsExt as _,
    path::{Path, PathBuf},
};

use super::Fault;

/// For everybody to read: what is published is no secret.
pub(super) const PUBLIC: u32 = 0o644;
/// For the owner alone.
pub(super) const PRIVATE: u32 = 0o600;

/// Writes a file beside `path`, flushes it, and gives it that name: a kill leaves the old file or the
/// new one. Only the process that has the folder's lock may call this.
pub(super) fn write(path: &Path, bytes: &[u8], mode: u32) -> Result<(), Fault> {
    let Some((folder, name)) = path.parent().zip(path.file_name().and_then(|name| name.to_str()))
    else {
        return Err(Fault::damaged(path, "this names no file"));
    };
    let beside = folder.join(format!(".{name}.new"));
    let written = || -> io::Result<()> {
        // One that a kill has left may be anybody's to read.
        match fs::remove_file(&beside) {
            Err(fault) if fault.kind() != io::ErrorKind::NotFound => return Err(fault),
            Ok(()) | Err(_) => {}
        }
        let mut file = OpenOptions::new().write(true).create_new(true).mode(mode).open(&beside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&beside, path)?;
        // The folder too, or the new name itself could be lost.
        File::open(folder)?.sync_all()
    };
    written().map_err(Fault::file(path))
}

/// The bytes of a file, if it is there.
pub(super) fn read(path: &Path) -> Result<Option<Vec<u8>>, Fault> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(fault) => Err(Fault::file(path)(fault)),
    }
}

/// The names of the files in a folder; none if there is no folder.
pub(super) fn names(folder: &Path) -> Result<Vec<String>, Fault> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(fault) => return Err(Fault::file(folder)(fault)),
    };
    let mut names = Vec::new();
    for entry in entries {
        let name = entry.map_err(Fault::file(folder))?.file_name();
        names.extend(name.into_string().ok());
    }
    names.sort();
    Ok(names)
}

/// Makes a folder and takes its lock, which is held as long as what is returned lives. Another process
/// that has it is waited for.
pub(super) fn lock(folder: &Path) -> Result<File, Fault> {
    fs::create_dir_all(folder).map_err(Fault::file(folder))?;
    let path: PathBuf = folder.join(".lock");
    let open = OpenOptions::new().create(true).truncate(false).write(true).open(&path);
    let file = open.map_err(Fault::file(&path))?;
    file.lock().map_err(Fault::file(&path))?;
    Ok(file)
}
