//! One key replaced by a new one, and the root signed that says so.

use std::{num::NonZeroU64, path::PathBuf};

use jiff::Timestamp;
use tough::schema::{RoleType, Root, key::Key};

use super::{
    Fault, KeyFolder, Lasting, Passphrase,
    key_folder::{give, put, put_overlay, put_root},
    lasting::until,
    secret::{KeyId, Secret, id_of},
    sign::ids,
};

/// What is replaced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// One of the root's keys, from 0 on.
    Root(usize),
    /// The key that signs what the documents are.
    Targets,
    /// The key that signs the overlay.
    Overlay,
    /// The key on line.
    Online,
    /// No key: the root is signed anew, to last longer.
    Expiry,
}

impl Which {
    /// Each with its name.
    pub const ALL: [(&str, Self); 7] = [
        ("root-1", Self::Root(0)),
        ("root-2", Self::Root(1)),
        ("root-3", Self::Root(2)),
        ("targets", Self::Targets),
        ("overlay", Self::Overlay),
        ("online", Self::Online),
        ("expiry", Self::Expiry),
    ];
}

/// What a rotation did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rotated {
    /// The new secret key's file, where there is a new key.
    pub made: Option<PathBuf>,
    /// The new root's version, where there is a new root.
    pub root: Option<u64>,
}

/// Replaces a key. Its old file stays: until the next `publish` it is needed, so that sites with the
/// old root and with the new one both take what is signed.
///
/// * Errors: fewer than two of the root's keys are here, or one cannot be opened.
pub fn rotate(
    keys: &KeyFolder,
    which: Which,
    passphrase: &Passphrase,
    lasting: Lasting,
    now: Timestamp,
) -> Result<Rotated, Fault> {
    let before = &keys.root().signed;
    let fresh = if which == Which::Expiry { None } else { Some(Secret::new()?) };
    let locked = (which != Which::Online).then_some(passphrase);
    let name = Which::ALL.iter().find(|(_, one)| *one == which).map_or("key", |(name, _)| name);
    if let (Which::Overlay, Some(fresh)) = (which, &fresh) {
        let made = put(&keys.path, name, fresh, locked)?;
        put_overlay(&keys.path, &fresh.public()?)?;
        return Ok(Rotated { made: Some(made), root: None });
    }
    let mut secrets = keys.secrets(&ids(before, RoleType::Root), Some(passphrase))?;
    if secrets.len() < 2 {
        let why = "Two of the root's keys must be in the folder to sign a new root; bring them back \
                   from where they are kept.";
        return Err(Fault::Key(why.to_owned()));
    }
    let mut root = before.clone();
    root.version = NonZeroU64::MIN.saturating_add(before.version.get());
    root.expires = until(now, lasting.root);
    let mut made = None;
    if let Some(fresh) = fresh {
        // The key before the root that names it: after a kill it is one more that nobody knows.
        made = Some(put(&keys.path, name, &fresh, locked)?);
        replace(&mut root, which, &fresh.public()?)?;
        secrets.push(fresh);
    }
    let version = root.version.get();
    put_root(&keys.path, &root, Some(before), &secrets)?;
    Ok(Rotated { made, root: Some(version) })
}

fn replace(root: &mut Root, which: Which, key: &Key) -> Result<(), Fault> {
    let alone = std::slice::from_ref(key);
    match which {
        Which::Root(n) => {
            let mut held: Vec<KeyId> = ids(root, RoleType::Root);
            let place = held
                .get_mut(n)
                .ok_or_else(|| Fault::Key(format!("The root has no key number {}.", n + 1)))?;
            *place = id_of(key)?;
            let mut known = root.keys.clone();
            known.insert(id_of(key)?, key.clone());
            let all: Vec<Key> = held.iter().filter_map(|id| known.get(id).cloned()).collect();
            let threshold = root.roles.get(&RoleType::Root).map_or(2, |keys| keys.threshold.get());
            give(root, RoleType::Root, &all, threshold)
        }
        Which::Targets => give(root, RoleType::Targets, alone, 1),
        Which::Online => {
            give(root, RoleType::Snapshot, alone, 1)?;
            give(root, RoleType::Timestamp, alone, 1)
        }
        Which::Overlay | Which::Expiry => Ok(()),
    }
}
