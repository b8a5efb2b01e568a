//! Why something of a rollout was not done.

use std::{
    fmt, io,
    path::{Path, PathBuf},
};

/// Why something of a rollout was not done.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// A file or a folder cannot be read or written.
    #[error("{0}: {1}")]
    File(PathBuf, io::Error),
    /// What a file holds cannot be understood, or is not what it should be.
    #[error("{0}: {1}")]
    Damaged(PathBuf, String),
    /// A key is missing, or cannot be opened.
    #[error("{0}")]
    Key(String),
    /// The repository cannot be reached.
    #[error("{0}")]
    Unreached(String),
    /// What the repository holds is not to be trusted.
    #[error("{0}")]
    Refused(String),
}

impl Fault {
    /// Of a file, with what the system says.
    pub(super) fn file(path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |fault| Self::File(path, fault)
    }

    /// Of a file that holds something else.
    pub(super) fn damaged(path: &Path, why: impl fmt::Display) -> Self {
        Self::Damaged(path.to_owned(), format!("{why}"))
    }
}
