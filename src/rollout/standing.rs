//! What a repository holds now, read from its folder: what is in force, and which versions were ever
//! signed.
//!
//! The folder is a web server's, and may be changed by whoever gets into that. What our keys have not
//! signed counts for nothing here: a made-up version would else be the one that the next is higher than.

use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use std::num::NonZeroU64;
use tough::schema::{Delegations, Role, Root, Signed, Snapshot, Targets, Timestamp};

use super::{Fault, KeyFolder, folder};

/// The name of the delegated role.
pub(super) const OVERLAY: &str = "overlay";

/// A document with its bytes.
pub(super) type Kept<T> = (Signed<T>, Vec<u8>);

/// What is in force in a repository. Parts that are missing, or signed by others, are none.
#[derive(Debug)]
pub(super) struct Standing<'k> {
    folder: PathBuf,
    keys: &'k KeyFolder,
    /// The newest root, up to the first that is missing or another's; 0 without any.
    pub(super) root: u64,
    pub(super) timestamp: Option<Kept<Timestamp>>,
    pub(super) snapshot: Option<Kept<Snapshot>>,
    pub(super) targets: Option<Kept<Targets>>,
    pub(super) overlay: Option<Kept<Targets>>,
}

/// The folder of metadata.
pub(super) fn metadata(repository: &Path) -> PathBuf {
    repository.join("metadata")
}

/// The folder of documents.
pub(super) fn targets(repository: &Path) -> PathBuf {
    repository.join("targets")
}

impl<'k> Standing<'k> {
    /// Reads a repository; a folder that is not there holds nothing.
    ///
    /// * Errors: its timestamp is signed by none of our keys, so that nobody knows which version is
    ///   next.
    pub(super) fn of(repository: &Path, keys: &'k KeyFolder) -> Result<Self, Fault> {
        let folder = metadata(repository);
        let mut root = 0;
        for (version, bytes) in keys.published() {
            if folder::read(&folder.join(format!("{version}.root.json")))?.as_deref() != Some(bytes)
            {
                break;
            }
            root = version;
        }
        let mut standing = Self {
            folder,
            keys,
            root,
            timestamp: None,
            snapshot: None,
            targets: None,
            overlay: None,
        };
        let stamp = standing.folder.join("timestamp.json");
        if stamp.exists() {
            let read = standing.read::<Timestamp>("timestamp.json")?;
            let ours =
                read.filter(|(one, _)| standing.is_ours(one)).ok_or_else(|| foreign(&stamp))?;
            let version = ours.0.signed.meta.get("snapshot.json").map(|meta| meta.version);
            standing.timestamp = Some(ours);
            standing.snapshot = standing.signed("snapshot", version)?;
        }
        let named = |name: &str| {
            let snapshot = standing.snapshot.as_ref();
            snapshot.and_then(|(one, _)| one.signed.meta.get(name)).map(|meta| meta.version)
        };
        let (of_targets, of_overlay) = (named("targets.json"), named("overlay.json"));
        standing.targets = standing.signed("targets", of_targets)?;
        standing.overlay = of_overlay.map_or(Ok(None), |version| standing.overlay_at(version))?;
        Ok(standing)
    }

    fn read<T: DeserializeOwned>(&self, name: &str) -> Result<Option<Kept<T>>, Fault> {
        let bytes = folder::read(&self.folder.join(name))?;
        Ok(bytes.and_then(|bytes| Some((serde_json::from_slice(&bytes).ok()?, bytes))))
    }

    /// Whether any of our roots has the keys that signed a role.
    fn is_ours<T: Role>(&self, role: &Signed<T>) -> bool {
        self.keys.roots.iter().any(|(root, _)| root.signed.verify_role(role).is_ok())
    }

    /// A role at a version, if it is ours.
    fn signed<T: Role + DeserializeOwned>(
        &self,
        role: &str,
        version: Option<NonZeroU64>,
    ) -> Result<Option<Kept<T>>, Fault> {
        let Some(version) = version else { return Ok(None) };
        let read = self.read::<T>(&format!("{version}.{role}.json"))?;
        Ok(read.filter(|(one, _)| one.signed.version() == version && self.is_ours(one)))
    }

    /// The overlay at a version, if it is signed by the key of now or by that of the targets in force.
    fn overlay_at(&self, version: NonZeroU64) -> Result<Option<Kept<Targets>>, Fault> {
        let read = self.read::<Targets>(&format!("{version}.{OVERLAY}.json"))?;
        let now = super::publish::delegations(self.keys)?;
        let before = self.targets.as_ref().and_then(|(one, _)| one.signed.delegations.as_ref());
        let all: Vec<&Delegations> = [Some(&now), before].into_iter().flatten().collect();
        let is_ours = |one: &Signed<Targets>| {
            all.iter().any(|delegations| delegations.verify_role(one, OVERLAY).is_ok())
        };
        Ok(read.filter(|(one, _)| one.signed.version == version && is_ours(one)))
    }

    /// The version of `role` that comes next: none that was ever signed is used again, even where its
    /// publication was killed before it was in force.
    pub(super) fn next(&self, role: &str) -> Result<NonZeroU64, Fault> {
        if role == "timestamp" {
            let now = self.timestamp.as_ref().map_or(0, |(one, _)| one.signed.version.get());
            return Ok(NonZeroU64::MIN.saturating_add(now));
        }
        let end = format!(".{role}.json");
        let names = folder::names(&self.folder)?;
        let versions = names.iter().filter_map(|name| name.strip_suffix(&end)?.parse().ok());
        let mut versions: Vec<NonZeroU64> = versions.collect();
        versions.sort_unstable();
        for version in versions.into_iter().rev() {
            let is_ours = match role {
                "snapshot" => self.signed::<Snapshot>(role, Some(version))?.is_some(),
                "targets" => self.signed::<Targets>(role, Some(version))?.is_some(),
                _ => self.overlay_at(version)?.is_some(),
            };
            if is_ours {
                return Ok(version.saturating_add(1));
            }
        }
        Ok(NonZeroU64::MIN)
    }

    /// The targets that are in force, if they are signed as this root wants.
    pub(super) fn targets_by(&self, root: &Root) -> Option<&Kept<Targets>> {
        self.targets.as_ref().filter(|(targets, _)| root.verify_role(targets).is_ok())
    }
}

fn foreign(path: &Path) -> Fault {
    Fault::Refused(format!(
        "{}: none of these keys has signed this, so somebody has changed the repository, or these are \
         the keys of another. Bring a copy back; or publish into an empty folder, after rotating \
         `online`.",
        path.display()
    ))
}
