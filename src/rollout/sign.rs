//! Signing, and doing what waits for nothing.

use std::future::Future;

use aws_lc_rs::rand::SystemRandom;
use tough::{
    editor::signed::SignedRole,
    key_source::KeySource,
    schema::{KeyHolder, Role, RoleType, Root, Signed},
};

use super::{
    Fault,
    secret::{KeyId, Secret},
};

/// The version of the specification whose formats are written.
pub(super) const SPEC: &str = "1.0.31";

/// Runs what the crate does asynchronously to its end, on this thread. Not to be called on a thread
/// that runs an asynchronous program.
pub(super) fn wait<T>(work: impl Future<Output = Result<T, Fault>>) -> Result<T, Fault> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime =
        runtime.map_err(|fault| Fault::Unreached(format!("Nothing can be started: {fault}")))?;
    runtime.block_on(work)
}

/// Signs a role for the first holder, which must find its threshold among the secrets, and for every
/// further one as far as the secrets go: while keys change, metadata hold before and after.
pub(super) async fn sign<T: Role + Clone>(
    role: T,
    holders: &[KeyHolder],
    secrets: &[Secret],
) -> Result<SignedRole<T>, Fault> {
    let name = role.filename(false);
    let sources: Vec<Box<dyn KeySource>> =
        secrets.iter().map(|one| Box::new(one.clone()) as Box<dyn KeySource>).collect();
    let chance = SystemRandom::new();
    let mut signed: Option<SignedRole<T>> = None;
    for holder in holders {
        let with = SignedRole::new(role.clone(), holder, &sources, &chance).await;
        signed = Some(match (signed, with) {
            (None, Ok(with)) => with,
            (None, Err(fault)) => return Err(unsigned(&name, &fault)),
            (Some(before), Ok(with)) => before
                .add_old_signatures(with.signed().signatures.clone())
                .map_err(|fault| unsigned(&name, &fault))?,
            (Some(before), Err(_)) => before,
        });
    }
    signed.ok_or_else(|| Fault::Key(format!("{name} has nobody to sign it.")))
}

fn unsigned(name: &str, fault: &tough::error::Error) -> Fault {
    Fault::Key(format!("{name} cannot be signed: {fault}."))
}

/// Whether enough keys of `by` have signed a root.
///
/// * Errors: how many have.
pub(super) fn held_by(by: &Root, root: &Signed<Root>) -> Result<(), Fault> {
    by.verify_role(root).map_err(|fault| {
        let version = root.signed.version;
        Fault::Refused(format!("Root {version} is not signed by enough keys: {fault}."))
    })
}

/// The ids of a role's keys.
pub(super) fn ids(root: &Root, role: RoleType) -> Vec<KeyId> {
    root.roles.get(&role).map(|keys| keys.keyids.clone()).unwrap_or_default()
}
