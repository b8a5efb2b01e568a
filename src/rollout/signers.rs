//! Who signs what is published, and what they say is newest.

use std::num::NonZeroU64;

use jiff::Timestamp;
use tough::{
    editor::signed::SignedRole,
    schema::{self, KeyHolder, RoleType, Root, Snapshot},
};

use super::{
    Fault, KeyFolder, Passphrase,
    plan::pinned,
    secret::{KeyId, Secret},
    sign::{SPEC, ids, sign, wait},
    standing::Standing,
};

/// Who signs: while roots wait to be published, the keys of the root that sites have, too.
pub(super) struct Signers {
    /// The newest root, then those from the newest that is published on.
    pub(super) holders: Vec<KeyHolder>,
    pub(super) targets: Vec<Secret>,
    online: Vec<Secret>,
    pub(super) warnings: Vec<String>,
}

impl Signers {
    /// * `passphrase`: without one only the key on line is opened.
    pub(super) fn of(
        keys: &KeyFolder,
        standing: &Standing<'_>,
        passphrase: Option<&Passphrase>,
    ) -> Result<Self, Fault> {
        let newest = &keys.root().signed;
        Self::for_root(keys, newest, standing, passphrase)
    }

    /// The same where a later root must wait.
    pub(super) fn for_root(
        keys: &KeyFolder,
        newest: &Root,
        standing: &Standing<'_>,
        passphrase: Option<&Passphrase>,
    ) -> Result<Self, Fault> {
        let known = |root: &&Root| {
            root.version < newest.version && root.version.get() >= standing.root.max(1)
        };
        let before: Vec<&Root> =
            keys.roots.iter().map(|(root, _)| &root.signed).filter(known).collect();
        let roots: Vec<&Root> = [newest].into_iter().chain(before).collect();
        let (mut targets, mut online, mut warnings) = (Vec::new(), Vec::new(), Vec::new());
        for (role, secrets) in
            [(RoleType::Targets, &mut targets), (RoleType::Timestamp, &mut online)]
        {
            if role == RoleType::Targets && passphrase.is_none() {
                continue;
            }
            let mut wanted: Vec<KeyId> = Vec::new();
            for root in &roots {
                wanted.extend(
                    ids(root, role)
                        .into_iter()
                        .filter(|id| !wanted.contains(id))
                        .collect::<Vec<_>>(),
                );
            }
            *secrets = keys.secrets(&wanted, passphrase)?;
            if !secrets.is_empty() && secrets.len() < wanted.len() {
                warnings.push(format!(
                    "A key of {role} that was replaced is not here: sites refuse the repository from \
                     the moment at which `timestamp.json` is written until the new root is, a moment \
                     later."
                ));
            }
        }
        let holders = roots.into_iter().cloned().map(KeyHolder::Root).collect();
        Ok(Self { holders, targets, online, warnings })
    }
}

/// Signs a snapshot of targets and overlay.
pub(super) fn snapshot(
    signers: &Signers,
    (version, expires): (NonZeroU64, Timestamp),
    targets: (NonZeroU64, &[u8]),
    overlay: (NonZeroU64, &[u8]),
) -> Result<SignedRole<Snapshot>, Fault> {
    let mut snapshot = Snapshot::new(SPEC.to_owned(), version, expires);
    for (name, (version, bytes)) in [("targets.json", targets), ("overlay.json", overlay)] {
        snapshot.meta.insert(name.to_owned(), pinned(version, bytes));
    }
    wait(sign(snapshot, &signers.holders, &signers.online))
}

/// Signs a timestamp of a snapshot.
pub(super) fn timestamp(
    signers: &Signers,
    when: (NonZeroU64, Timestamp),
    snapshot: &SignedRole<Snapshot>,
) -> Result<SignedRole<schema::Timestamp>, Fault> {
    timestamp_of(signers, when, (snapshot.signed().signed.version, snapshot.buffer()))
}

/// The same of a snapshot that is there.
pub(super) fn timestamp_of(
    signers: &Signers,
    (version, expires): (NonZeroU64, Timestamp),
    (of, bytes): (NonZeroU64, &[u8]),
) -> Result<SignedRole<schema::Timestamp>, Fault> {
    let mut timestamp = schema::Timestamp::new(SPEC.to_owned(), version, expires);
    timestamp.meta.insert("snapshot.json".to_owned(), pinned(of, bytes));
    wait(sign(timestamp, &signers.holders, &signers.online))
}
