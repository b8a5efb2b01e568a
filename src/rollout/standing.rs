//! What a repository holds now, read from its folder: what is in force, and which versions were ever
//! written.

use std::{
    collections::BTreeMap,
    num::NonZeroU64,
    path::{Path, PathBuf},
};

use serde::de::DeserializeOwned;
use tough::schema::{Root, Signed, Snapshot, Targets, Timestamp};

use super::{Fault, folder};

/// The name of the delegated role.
pub(super) const OVERLAY: &str = "overlay";

/// A document with its bytes.
pub(super) type Kept<T> = (Signed<T>, Vec<u8>);

/// What is in force in a repository. Parts that are missing or damaged are none.
#[derive(Debug, Default)]
pub(super) struct Standing {
    pub(super) folder: PathBuf,
    /// The newest root, up to the first gap; 0 without any.
    pub(super) root: u64,
    pub(super) timestamp: Option<Kept<Timestamp>>,
    pub(super) snapshot: Option<Kept<Snapshot>>,
    pub(super) targets: Option<Kept<Targets>>,
    pub(super) overlay: Option<Kept<Targets>>,
    /// The highest version of each role that was ever written, in force or not.
    written: BTreeMap<String, u64>,
}

/// The folder of metadata.
pub(super) fn metadata(repository: &Path) -> PathBuf {
    repository.join("metadata")
}

/// The folder of documents.
pub(super) fn targets(repository: &Path) -> PathBuf {
    repository.join("targets")
}

impl Standing {
    /// Reads a repository; a folder that is not there holds nothing.
    pub(super) fn of(repository: &Path) -> Result<Self, Fault> {
        let folder = metadata(repository);
        let mut written = BTreeMap::new();
        for name in folder::names(&folder)? {
            if let Some((version, rest)) = name.split_once('.')
                && let Ok(version) = version.parse::<u64>()
                && let Some(role) = rest.strip_suffix(".json")
            {
                let highest = written.entry(role.to_owned()).or_default();
                *highest = version.max(*highest);
            }
        }
        let mut root = 0;
        while folder.join(format!("{}.root.json", root + 1)).exists() {
            root += 1;
        }
        let mut standing = Self { folder, root, written, ..Self::default() };
        standing.timestamp = standing.read("timestamp.json")?;
        let named =
            standing.timestamp.as_ref().and_then(|(one, _)| one.signed.meta.get("snapshot.json"));
        if let Some(version) = named.map(|meta| meta.version) {
            standing.snapshot = standing.read(&format!("{version}.snapshot.json"))?;
        }
        let named = |name: &str| {
            let snapshot = standing.snapshot.as_ref();
            snapshot.and_then(|(one, _)| one.signed.meta.get(name)).map(|meta| meta.version)
        };
        let (of_targets, of_overlay) = (named("targets.json"), named("overlay.json"));
        if let Some(version) = of_targets {
            standing.targets = standing.read(&format!("{version}.targets.json"))?;
        }
        if let Some(version) = of_overlay {
            standing.overlay = standing.read(&format!("{version}.{OVERLAY}.json"))?;
        }
        Ok(standing)
    }

    fn read<T: DeserializeOwned>(&self, name: &str) -> Result<Option<Kept<T>>, Fault> {
        let bytes = folder::read(&self.folder.join(name))?;
        Ok(bytes.and_then(|bytes| Some((serde_json::from_slice(&bytes).ok()?, bytes))))
    }

    /// The version of `role` that comes next: none is ever used twice, even where a publication was
    /// killed before it was in force.
    pub(super) fn next(&self, role: &str) -> NonZeroU64 {
        let in_force = match role {
            "timestamp" => self.timestamp.as_ref().map(|(one, _)| one.signed.version.get()),
            "snapshot" => {
                let named = self.timestamp.as_ref();
                let named = named.and_then(|(one, _)| one.signed.meta.get("snapshot.json"));
                named.map(|meta| meta.version.get())
            }
            _ => None,
        };
        let written = self.written.get(role).copied();
        NonZeroU64::MIN.saturating_add(in_force.max(written).unwrap_or(0))
    }

    /// The targets that are in force, if they are signed as this root wants.
    pub(super) fn targets_by(&self, root: &Root) -> Option<&Kept<Targets>> {
        self.targets.as_ref().filter(|(targets, _)| root.verify_role(targets).is_ok())
    }
}
