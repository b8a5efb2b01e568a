//! Publishing: every document signed, and pinned by one snapshot.

use std::{collections::HashMap, num::NonZeroU64, path::Path};

use jiff::Timestamp;
use serde_json::{Value, json};
use tough::{
    TargetName,
    schema::{
        DelegatedRole, DelegatedTargets, Delegations, KeyHolder, PathPattern, PathSet, Role as _,
        Root, Signed, Target, Targets,
    },
};

use super::{
    Expiries, Fault, KeyFolder, Lasting, Passphrase, Plan, Versions,
    lasting::{half_over, until},
    plan::{Draft, hashes},
    secret::id_of,
    sign::{SPEC, held_by, sign, wait},
    signers::{Signers, snapshot, timestamp},
    standing::{Kept, OVERLAY, Standing},
};

/// Which documents the overlay's key may sign: a `.` follows, which is in no id.
const OVERLAY_PATHS: &str = "overlay.*";

/// One document, and what sites are told of it before they fetch it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Document {
    /// The name under which it is signed, such as `book.json` or `site.bookshop.json`.
    pub name: String,
    /// What it is: `book`, `site` or `till`.
    pub kind: &'static str,
    /// Id of the book or the site.
    pub id: String,
    /// Version, where such documents have one.
    pub version: Option<String>,
    /// The document's own digest: of its canonical form, where it has one.
    pub digest: String,
    /// The least version of the contract that a reader must know, where it says so.
    pub min_reader: Option<String>,
    /// What is signed.
    pub bytes: Vec<u8>,
}

impl Document {
    fn target(&self) -> Result<(TargetName, Target), Fault> {
        let name = TargetName::new(&*self.name);
        let name = name.map_err(|fault| Fault::Refused(format!("{}: {fault}", self.name)))?;
        let said: [(&str, Option<Value>); 5] = [
            ("kind", Some(json!(self.kind))),
            ("id", Some(json!(self.id))),
            ("version", self.version.as_ref().map(|one| json!(one))),
            ("digest", Some(json!(self.digest))),
            ("min_reader", self.min_reader.as_ref().map(|one| json!(one))),
        ];
        let said = said.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
        let target = Target {
            length: self.bytes.len() as u64,
            hashes: hashes(&self.bytes),
            custom: said.collect(),
            _extra: HashMap::new(),
        };
        Ok((name, target))
    }
}

/// What is published, with what.
#[derive(Clone, Copy, Debug)]
pub struct Publication<'a> {
    /// The keys.
    pub keys: &'a KeyFolder,
    /// What opens those off line.
    pub passphrase: &'a Passphrase,
    /// The documents; whatever is not among them is no longer in force.
    pub documents: &'a [Document],
    /// How long what is signed lasts.
    pub lasting: Lasting,
    /// The moment of signing.
    pub now: Timestamp,
    /// Whether nothing will be written.
    pub dry: bool,
}

/// Signs a new version of everything.
///
/// * Errors: a key is missing or cannot be opened, or the root has expired.
pub fn publish(repository: &Path, publication: &Publication<'_>) -> Result<Plan, Fault> {
    let Publication { keys, passphrase, documents, lasting, now, dry } = *publication;
    let root = keys.root();
    let mut draft = Draft::of(repository, dry)?;
    let standing = Standing::of(repository, keys)?;
    allowed(root, &standing, now)?;
    let signers = Signers::of(keys, &standing, Some(passphrase))?;
    if standing.timestamp.is_none() {
        draft.roots(keys.published(), &standing);
    }
    for document in documents {
        draft.document(&document.name, &document.bytes);
    }
    let delegations = delegations(keys)?;
    let overlay = overlay(publication, &standing, &delegations)?;
    draft.metadata(&format!("{}.{OVERLAY}.json", overlay.0.signed.version), &overlay.1);
    let targets = Targets {
        spec_version: SPEC.to_owned(),
        version: standing.next("targets")?,
        expires: until(now, lasting.targets),
        targets: documents.iter().map(Document::target).collect::<Result<_, _>>()?,
        delegations: Some(delegations),
        _extra: HashMap::new(),
    };
    let targets = wait(sign(targets, &signers.holders, &signers.targets))?;
    draft.role(&targets);
    let version = targets.signed().signed.version;
    let snapshot = snapshot(
        &signers,
        (standing.next("snapshot")?, until(now, lasting.snapshot)),
        (version, targets.buffer()),
        (overlay.0.signed.version, &overlay.1),
    )?;
    draft.role(&snapshot);
    let timestamp = timestamp(
        &signers,
        (standing.next("timestamp")?, until(now, lasting.timestamp)),
        &snapshot,
    )?;
    draft.role(&timestamp);
    if standing.timestamp.is_some() {
        // What is signed holds under the roots before and after, so these come last.
        draft.roots(keys.published(), &standing);
    }
    let versions = Versions {
        root: root.signed.version.get(),
        targets: version.get(),
        overlay: overlay.0.signed.version.get(),
        snapshot: snapshot.signed().signed.version.get(),
        timestamp: timestamp.signed().signed.version.get(),
    };
    let expiries = Expiries {
        root: root.signed.expires,
        targets: targets.signed().signed.expires,
        overlay: overlay.0.signed.expires,
        snapshot: snapshot.signed().signed.expires(),
        timestamp: timestamp.signed().signed.expires(),
    };
    Ok(draft.done(versions, expiries, signers.warnings))
}

/// Whether anything may be published now.
///
/// * Errors: too few keys have signed the root, it has expired, or an overlay would be lost.
fn allowed(root: &Signed<Root>, standing: &Standing<'_>, now: Timestamp) -> Result<(), Fault> {
    held_by(&root.signed, root)?;
    if root.signed.expires <= now {
        let why = "The root has expired; `rollout keys rotate expiry` signs it anew.";
        return Err(Fault::Refused(why.to_owned()));
    }
    if standing.timestamp.is_some() && standing.overlay.is_none() {
        let why = "The overlay that is in force is not in the repository, and may hold a recall: bring \
                   a copy of the repository back.";
        return Err(Fault::Refused(why.to_owned()));
    }
    Ok(())
}

/// Names the overlay's key, and what it may sign.
pub(super) fn delegations(keys: &KeyFolder) -> Result<Delegations, Fault> {
    let pattern = PathPattern::new(OVERLAY_PATHS);
    let pattern = pattern.map_err(|fault| Fault::Refused(fault.to_string()))?;
    let id = id_of(&keys.overlay)?;
    let role = DelegatedRole {
        name: OVERLAY.to_owned(),
        keyids: vec![id.clone()],
        threshold: NonZeroU64::MIN,
        paths: PathSet::Paths(vec![pattern]),
        terminating: true,
        targets: None,
    };
    Ok(Delegations { keys: HashMap::from([(id, keys.overlay.clone())]), roles: vec![role] })
}

/// The overlay as it stands, if it is still signed well and long enough; else signed anew with what it
/// holds.
fn overlay(
    publication: &Publication<'_>,
    standing: &Standing<'_>,
    delegations: &Delegations,
) -> Result<Kept<Targets>, Fault> {
    let Publication { keys, passphrase, lasting, now, .. } = *publication;
    let holds = |one: &&Kept<Targets>| delegations.verify_role(&one.0, OVERLAY).is_ok();
    let there = standing.overlay.as_ref();
    let is_young = |one: &&Kept<Targets>| !half_over(now, one.0.signed.expires, lasting.overlay);
    if let Some(kept) = there.filter(holds).filter(is_young) {
        return Ok(kept.clone());
    }
    let secrets = keys.secrets(&[id_of(&keys.overlay)?], Some(passphrase))?;
    if secrets.is_empty() {
        let lasts = |one: &&Kept<Targets>| one.0.signed.expires > now;
        return there.filter(holds).filter(lasts).cloned().ok_or_else(|| {
            Fault::Key("The overlay must be signed, and its key is not in the folder.".to_owned())
        });
    }
    let targets = Targets {
        spec_version: SPEC.to_owned(),
        version: standing.next(OVERLAY)?,
        expires: until(now, lasting.overlay),
        targets: there.map(|(one, _)| one.signed.targets.clone()).unwrap_or_default(),
        delegations: None,
        _extra: HashMap::new(),
    };
    let role = DelegatedTargets { name: OVERLAY.to_owned(), targets };
    let signed = wait(sign(role, &[KeyHolder::Delegations(delegations.clone())], &secrets))?;
    let (_, targets): (String, Signed<Targets>) = signed.signed().clone().targets();
    Ok((targets, signed.buffer().clone()))
}

impl KeyFolder {
    /// The roots with their versions, oldest first.
    pub(super) fn published(&self) -> impl Iterator<Item = (u64, &[u8])> {
        self.roots.iter().map(|(root, bytes)| (root.signed.version.get(), &**bytes))
    }
}
