//! The folder of keys: secret keys by the id of their public key, and every root that was signed.
//!
//! * `1.root.json`, `2.root.json`, …: the roots; the newest names the keys of all roles but one.
//! * `overlay.public.json`: the public key of that one, which the next `targets.json` names.
//! * `NAME.ID.pem`: a secret key; ID is how the id of its public key begins. Only this part is looked
//!   at, so a key may lie elsewhere until it is needed, and comes back under any name.

use std::{
    fs::File,
    num::NonZeroU64,
    path::{Path, PathBuf},
};

use jiff::Timestamp;
use tough::schema::{RoleKeys, RoleType, Root, Signed, key::Key};

use super::{
    Fault, Lasting, Passphrase,
    folder::{self, PRIVATE, PUBLIC},
    lasting::until,
    secret::{KeyId, Secret, hex, id_of},
    sign::{SPEC, held_by, ids, wait},
};

/// The file of the overlay's public key.
const OVERLAY: &str = "overlay.public.json";
/// How much of an id is in the name of a file.
const SHORT: usize = 16;

/// A folder of keys.
#[derive(Debug)]
pub struct KeyFolder {
    pub(super) path: PathBuf,
    /// The roots, from the first to the newest, without a gap, each with its bytes.
    pub(super) roots: Vec<(Signed<Root>, Vec<u8>)>,
    pub(super) overlay: Key,
    _lock: Option<File>,
}

/// One key, and what is there of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyHeld {
    /// What it is called: `root-1`, `root-2`, `root-3`, `targets`, `overlay` or `online`.
    pub name: String,
    /// The id of its public key.
    pub id: String,
    /// The file of its secret key, if that is in the folder.
    pub file: Option<PathBuf>,
}

impl KeyFolder {
    /// Makes all keys and signs the first root.
    ///
    /// * `path`: a folder that has no root yet.
    /// * Errors: there is a root, or something cannot be written.
    pub fn create(
        path: &Path,
        passphrase: &Passphrase,
        lasting: Lasting,
        now: Timestamp,
    ) -> Result<Self, Fault> {
        let lock = folder::lock(path)?;
        if folder::names(path)?.iter().any(|name| name.ends_with(".root.json")) {
            let why = "there are keys already; `rotate` replaces them one by one";
            return Err(Fault::damaged(path, why));
        }
        let roots = [Secret::new()?, Secret::new()?, Secret::new()?];
        let (targets, online, overlay) = (Secret::new()?, Secret::new()?, Secret::new()?);
        for (secret, name) in roots.iter().zip(["root-1", "root-2", "root-3"]) {
            put(path, name, secret, Some(passphrase))?;
        }
        put(path, "targets", &targets, Some(passphrase))?;
        put(path, "overlay", &overlay, Some(passphrase))?;
        put(path, "online", &online, None)?;
        put_overlay(path, &overlay.public()?)?;
        let root = Root {
            spec_version: SPEC.to_owned(),
            consistent_snapshot: true,
            version: NonZeroU64::MIN,
            expires: until(now, lasting.root),
            keys: std::collections::HashMap::new(),
            roles: std::collections::HashMap::new(),
            _extra: std::collections::HashMap::new(),
        };
        let mut root = root;
        let public = roots.iter().map(Secret::public).collect::<Result<Vec<_>, _>>()?;
        give(&mut root, RoleType::Root, &public, 2)?;
        give(&mut root, RoleType::Targets, &[targets.public()?], 1)?;
        for role in [RoleType::Snapshot, RoleType::Timestamp] {
            give(&mut root, role, &[online.public()?], 1)?;
        }
        put_root(path, &root, None, &roots)?;
        Self::read(path, Some(lock))
    }

    /// Opens a folder that this process has for itself as long as what is returned lives.
    ///
    /// * Errors: it has no root, or one that those before it do not hold.
    pub fn open(path: &Path) -> Result<Self, Fault> {
        if !path.is_dir() {
            return Err(Fault::damaged(path, "there is no such folder of keys"));
        }
        let lock = folder::lock(path)?;
        Self::read(path, Some(lock))
    }

    /// Opens a folder to read only, such as one that a cluster mounts.
    pub fn look(path: &Path) -> Result<Self, Fault> {
        Self::read(path, None)
    }

    fn read(path: &Path, lock: Option<File>) -> Result<Self, Fault> {
        let mut roots: Vec<(Signed<Root>, Vec<u8>)> = Vec::new();
        loop {
            let file = path.join(format!("{}.root.json", roots.len() + 1));
            let Some(bytes) = folder::read(&file)? else { break };
            let root: Signed<Root> =
                serde_json::from_slice(&bytes).map_err(|fault| Fault::damaged(&file, fault))?;
            if root.signed.version.get() != roots.len() as u64 + 1 {
                return Err(Fault::damaged(&file, "another version stands in it"));
            }
            if let Some((before, _)) = roots.last() {
                held_by(&before.signed, &root)?;
            }
            held_by(&root.signed, &root)?;
            roots.push((root, bytes));
        }
        if roots.is_empty() {
            return Err(Fault::damaged(path, "there is no `1.root.json`; `keys new` makes it"));
        }
        let file = path.join(OVERLAY);
        let bytes = folder::read(&file)?
            .ok_or_else(|| Fault::damaged(&file, "this public key is missing"))?;
        let overlay =
            serde_json::from_slice(&bytes).map_err(|fault| Fault::damaged(&file, fault))?;
        Ok(Self { path: path.to_owned(), roots, overlay, _lock: lock })
    }

    /// The newest root.
    pub(super) fn root(&self) -> &Signed<Root> {
        // There is at least one, or the folder would not have been opened.
        &self.roots[self.roots.len() - 1].0
    }

    /// The newest root's version.
    pub fn root_version(&self) -> u64 {
        self.root().signed.version.get()
    }

    /// When the newest root expires.
    pub fn root_expires(&self) -> Timestamp {
        self.root().signed.expires
    }

    /// The file of the first root, which is given to sites.
    pub fn first_root(&self) -> PathBuf {
        self.path.join("1.root.json")
    }

    /// The keys in force.
    pub fn keys(&self) -> Result<Vec<KeyHeld>, Fault> {
        let root = &self.root().signed;
        let mut named: Vec<(String, KeyId)> = Vec::new();
        for (n, id) in ids(root, RoleType::Root).into_iter().enumerate() {
            named.push((format!("root-{}", n + 1), id));
        }
        named.extend(ids(root, RoleType::Targets).into_iter().map(|id| ("targets".to_owned(), id)));
        named.push(("overlay".to_owned(), id_of(&self.overlay)?));
        named
            .extend(ids(root, RoleType::Timestamp).into_iter().map(|id| ("online".to_owned(), id)));
        let held =
            |(name, id): (String, KeyId)| Ok(KeyHeld { name, file: self.find(&id)?, id: hex(&id) });
        named.into_iter().map(held).collect()
    }

    /// The file of a secret key, if it is here.
    fn find(&self, id: &KeyId) -> Result<Option<PathBuf>, Fault> {
        let end = format!(".{}.pem", &hex(id)[..SHORT]);
        let names = folder::names(&self.path)?;
        Ok(names.iter().find(|name| name.ends_with(&end)).map(|name| self.path.join(name)))
    }

    /// The secret keys of these ids, as far as they are here.
    ///
    /// * Errors: one cannot be opened, or is another's.
    pub(super) fn secrets(
        &self,
        ids: &[KeyId],
        passphrase: Option<&Passphrase>,
    ) -> Result<Vec<Secret>, Fault> {
        let mut secrets = Vec::new();
        for id in ids {
            let Some(path) = self.find(id)? else { continue };
            let text = std::fs::read_to_string(&path).map_err(Fault::file(&path))?;
            let secret = Secret::read(&path, &text, passphrase)?;
            if id_of(&secret.public()?)? != *id {
                return Err(Fault::damaged(&path, "this is the secret key of another"));
            }
            secrets.push(secret);
        }
        Ok(secrets)
    }
}

/// Writes a secret key.
pub(super) fn put(
    folder: &Path,
    name: &str,
    secret: &Secret,
    passphrase: Option<&Passphrase>,
) -> Result<PathBuf, Fault> {
    let text = match passphrase {
        Some(passphrase) => secret.locked(passphrase)?,
        None => secret.plain()?,
    };
    let id = hex(&id_of(&secret.public()?)?);
    let path = folder.join(format!("{name}.{}.pem", &id[..SHORT]));
    folder::write(&path, text.as_bytes(), PRIVATE)?;
    Ok(path)
}

/// Writes the public key of the overlay.
pub(super) fn put_overlay(folder: &Path, key: &Key) -> Result<(), Fault> {
    let path = folder.join(OVERLAY);
    let bytes = serde_json::to_vec_pretty(key).map_err(|fault| Fault::damaged(&path, fault))?;
    folder::write(&path, &bytes, PUBLIC)
}

/// Gives a role its keys, and takes those away that no role has any more.
pub(super) fn give(
    root: &mut Root,
    role: RoleType,
    keys: &[Key],
    threshold: u64,
) -> Result<(), Fault> {
    let mut keyids = Vec::new();
    for key in keys {
        let id = id_of(key)?;
        root.keys.insert(id.clone(), key.clone());
        keyids.push(id);
    }
    let threshold = NonZeroU64::new(threshold).unwrap_or(NonZeroU64::MIN);
    let given = RoleKeys { keyids, threshold, _extra: std::collections::HashMap::new() };
    root.roles.insert(role, given);
    let used: Vec<KeyId> = root.roles.values().flat_map(|keys| keys.keyids.clone()).collect();
    root.keys.retain(|id, _| used.contains(id));
    Ok(())
}

/// Signs a root with what there is of its own keys and of those of the root before it, and writes it
/// if that is enough for both.
pub(super) fn put_root(
    folder: &Path,
    root: &Root,
    before: Option<&Root>,
    secrets: &[Secret],
) -> Result<(), Fault> {
    use tough::schema::KeyHolder;
    let holders: Vec<KeyHolder> =
        [Some(root), before].into_iter().flatten().cloned().map(KeyHolder::Root).collect();
    let signed = wait(super::sign::sign(root.clone(), &holders, secrets))?;
    if let Some(before) = before {
        held_by(before, signed.signed())?;
    }
    held_by(root, signed.signed())?;
    folder::write(&folder.join(format!("{}.root.json", root.version)), signed.buffer(), PUBLIC)
}
