//! What is to be written, and in which order: a kill at any moment leaves what was in force in force.

use std::{
    collections::HashMap,
    fs,
    path::{Path, PathBuf},
};

use tough::{
    editor::signed::SignedRole,
    schema::{Hashes, Metafile, Role},
};

use super::{
    Expiries, Fault,
    folder::{self, PUBLIC},
    standing::{Standing, metadata, targets},
};
use crate::json::Digest;

/// The versions that are in force after a plan is carried out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Versions {
    /// Which keys there are.
    pub root: u64,
    /// What the documents are.
    pub targets: u64,
    /// What the overlay is.
    pub overlay: u64,
    /// Names one version of everything.
    pub snapshot: u64,
    /// Says what is newest.
    pub timestamp: u64,
}

/// Signed files that wait to be written, in their order.
#[derive(Debug)]
pub struct Plan {
    repository: PathBuf,
    files: Vec<(PathBuf, Vec<u8>)>,
    /// What will be in force.
    pub versions: Versions,
    /// When it expires.
    pub expiries: Expiries,
    /// What somebody should see to.
    pub warnings: Vec<String>,
    /// Held until everything is written.
    _lock: Option<fs::File>,
}

/// A plan that is being made.
pub(super) struct Draft {
    pub(super) repository: PathBuf,
    files: Vec<(PathBuf, Vec<u8>)>,
    lock: Option<fs::File>,
}

impl Draft {
    /// Takes a repository's lock, unless nothing is to be written.
    pub(super) fn of(repository: &Path, dry: bool) -> Result<Self, Fault> {
        let lock = if dry { None } else { Some(folder::lock(repository)?) };
        Ok(Self { repository: repository.to_owned(), files: Vec::new(), lock })
    }

    /// Adds a document, under a name that begins with its digest.
    pub(super) fn document(&mut self, name: &str, bytes: &[u8]) {
        let digest = data_encoding::HEXLOWER.encode(Digest::of_bytes(bytes).bytes());
        let path = targets(&self.repository).join(format!("{digest}.{name}"));
        self.files.push((path, bytes.to_owned()));
    }

    /// Adds metadata.
    pub(super) fn metadata(&mut self, name: &str, bytes: &[u8]) {
        self.files.push((metadata(&self.repository).join(name), bytes.to_owned()));
    }

    /// Adds a signed role.
    pub(super) fn role<T: Role>(&mut self, role: &SignedRole<T>) {
        let name = role.signed().signed.filename(true);
        self.metadata(&name, role.buffer());
    }

    /// Adds the roots that are not there yet, from the oldest to the newest.
    pub(super) fn roots<'r>(
        &mut self,
        roots: impl Iterator<Item = (u64, &'r [u8])>,
        standing: &Standing<'_>,
    ) {
        for (version, bytes) in roots.filter(|(version, _)| *version > standing.root) {
            self.metadata(&format!("{version}.root.json"), bytes);
        }
    }

    pub(super) fn done(
        self,
        versions: Versions,
        expiries: Expiries,
        warnings: Vec<String>,
    ) -> Plan {
        let Self { repository, files, lock } = self;
        Plan { repository, files, versions, expiries, warnings, _lock: lock }
    }
}

impl Plan {
    /// The files, as they are named in the repository.
    pub fn files(&self) -> Vec<String> {
        let name = |(path, _): &(PathBuf, Vec<u8>)| {
            path.strip_prefix(&self.repository).unwrap_or(path).display().to_string()
        };
        self.files.iter().map(name).collect()
    }

    /// Writes the files, each whole and under its final name before the next. Those that are there with
    /// the same bytes stay.
    ///
    /// * `told`: is told each name before it is written, with how many there are.
    /// * Errors: the first that cannot be written; what was in force is then still in force.
    pub fn write(self, mut told: impl FnMut(usize, usize, &str)) -> Result<(), Fault> {
        for folder in [metadata(&self.repository), targets(&self.repository)] {
            fs::create_dir_all(&folder).map_err(Fault::file(&folder))?;
        }
        let names = self.files();
        for (at, ((path, bytes), name)) in self.files.iter().zip(&names).enumerate() {
            told(at + 1, names.len(), name);
            if folder::read(path)?.as_deref() != Some(&**bytes) {
                folder::write(path, bytes, PUBLIC)?;
            }
        }
        Ok(())
    }
}

/// How a role's file is named in what pins it: version, length and digest, so that nothing can be mixed.
pub(super) fn pinned(version: std::num::NonZeroU64, bytes: &[u8]) -> Metafile {
    Metafile {
        length: u64::try_from(bytes.len()).ok(),
        hashes: Some(hashes(bytes)),
        version,
        _extra: HashMap::new(),
    }
}

/// The digest of bytes, as metadata hold it.
pub(super) fn hashes(bytes: &[u8]) -> Hashes {
    let sha256 = Digest::of_bytes(bytes).bytes().to_vec().into();
    Hashes { sha256, _extra: HashMap::new() }
}
