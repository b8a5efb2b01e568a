//! Renewing: the key on line says again what is newest, and nothing else.

use std::path::Path;

use jiff::Timestamp;
use tough::schema::{Role as _, Root, Snapshot};

use super::{
    Expiries, Fault, KeyFolder, Lasting, Plan, Versions,
    lasting::{half_over, until},
    plan::{Draft, hashes},
    signers::{Signers, snapshot, timestamp, timestamp_of},
    standing::Standing,
};

/// What is renewed, with what.
#[derive(Clone, Copy, Debug)]
pub struct Renewal<'a> {
    /// The folder with the key on line and the roots; no other key is opened.
    pub keys: &'a KeyFolder,
    /// How long what is signed lasts.
    pub lasting: Lasting,
    /// The moment of signing.
    pub now: Timestamp,
}

/// Signs a new timestamp, and a new snapshot where more than half of its time is over or a root with
/// another key on line came since. Roots go out as far as the documents in force are signed for them.
///
/// * Errors: nothing is published yet, what is there does not fit together, the key is missing.
pub fn renew(repository: &Path, renewal: &Renewal<'_>) -> Result<Plan, Fault> {
    let Renewal { keys, lasting, now } = *renewal;
    let mut draft = Draft::of(repository, false)?;
    let standing = Standing::of(repository, keys)?;
    let missing = |what: &str| {
        Fault::Refused(format!(
            "{}: {what}; bring a copy back, or publish anew.",
            repository.display()
        ))
    };
    let (Some((kept, kept_bytes)), Some((targets, targets_bytes)), Some((overlay, overlay_bytes))) =
        (&standing.snapshot, &standing.targets, &standing.overlay)
    else {
        return Err(missing("nothing whole is published here"));
    };
    unchanged(
        repository,
        &kept.signed,
        [("targets.json", targets_bytes), ("overlay.json", overlay_bytes)],
    )?;
    let fitting = |root: &&Root| standing.targets_by(root).is_some();
    let mut known = keys.roots.iter().map(|(root, _)| &root.signed);
    let root = known.rfind(fitting).ok_or_else(|| missing("its documents are signed by others"))?;
    let signers = Signers::for_root(keys, root, &standing, None)?;
    let mut warnings = signers.warnings.clone();
    let next = (standing.next("timestamp")?, until(now, lasting.timestamp));
    let is_good = root.verify_role(kept).is_ok();
    let (stamp, snapshot_version, snapshot_expires) =
        if is_good && !half_over(now, kept.signed.expires, lasting.snapshot) {
            let stamp = timestamp_of(&signers, next, (kept.signed.version, kept_bytes))?;
            (stamp, kept.signed.version, kept.signed.expires)
        } else {
            let fresh = snapshot(
                &signers,
                (standing.next("snapshot")?, until(now, lasting.snapshot)),
                (targets.signed.version, targets_bytes),
                (overlay.signed.version, overlay_bytes),
            )?;
            draft.role(&fresh);
            let stamp = timestamp(&signers, next, &fresh)?;
            (stamp, fresh.signed().signed.version, fresh.signed().signed.expires)
        };
    draft.role(&stamp);
    let up_to = root.version.get();
    draft.roots(keys.published().filter(|(version, _)| *version <= up_to), &standing);
    if up_to < keys.root_version() {
        warnings.push(format!(
            "Root {} waits: the documents are not signed by its key. `rollout publish` signs them.",
            keys.root_version()
        ));
    }
    let expiries = Expiries {
        root: root.expires,
        targets: targets.signed.expires,
        overlay: overlay.signed.expires,
        snapshot: snapshot_expires,
        timestamp: stamp.signed().signed.expires(),
    };
    warnings.extend(aging(&expiries, lasting, now));
    let versions = Versions {
        root: up_to,
        targets: targets.signed.version.get(),
        overlay: overlay.signed.version.get(),
        snapshot: snapshot_version.get(),
        timestamp: stamp.signed().signed.version.get(),
    };
    Ok(draft.done(versions, expiries, warnings))
}

/// Whether files are what the snapshot in force pins: the key on line vouches for nothing that came since.
fn unchanged(
    repository: &Path,
    snapshot: &Snapshot,
    files: [(&str, &Vec<u8>); 2],
) -> Result<(), Fault> {
    for (name, bytes) in files {
        let known = snapshot.meta.get(name).and_then(|meta| meta.hashes.as_ref());
        if known != Some(&hashes(bytes)) {
            let why = format!("`{name}` is not what was published; bring a copy back");
            return Err(Fault::Refused(format!("{}: {why}.", repository.display())));
        }
    }
    Ok(())
}

/// What somebody with the keys off line should sign anew soon.
fn aging(expiries: &Expiries, lasting: Lasting, now: Timestamp) -> Vec<String> {
    let rows = [
        ("root", expiries.root, lasting.root, "rollout keys rotate expiry` and `rollout publish"),
        ("targets", expiries.targets, lasting.targets, "rollout publish"),
        ("overlay", expiries.overlay, lasting.overlay, "rollout publish"),
    ];
    let old = rows.into_iter().filter(|(_, at, lasting, _)| half_over(now, *at, *lasting));
    old.map(|(name, at, _, how)| {
        format!(
            "More than half of the time of {name} is over: it expires {at}. `{how}` signs it anew."
        )
    })
    .collect()
}
