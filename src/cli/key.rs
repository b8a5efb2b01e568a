//! `key`: makes a key.

use anstream::{eprintln, println};

use super::Outcome;
use crate::{
    book::Id,
    keys::{Key, Role},
};

/// Prints a new key's secret, once and to standard error, and its record to standard output.
pub(super) fn key(id: &str, role: &str, sites: &[String]) -> Outcome {
    let roles = [Role::Till, Role::Trainer, Role::Admin];
    let Some(role) = roles.into_iter().find(|known| known.as_str() == role) else {
        return Outcome::Failed;
    };
    let sites = sites.iter().map(|site| Id::from(site.as_str())).collect();
    let (secret, key) = Key::new(id.into(), role, sites);
    let Ok(record) = serde_json::to_string(&key) else { return Outcome::Failed };
    eprintln!("The secret, shown this once: {secret}");
    eprintln!("The record, for `keys` in the file that `--keys` names:");
    println!("{record}");
    Outcome::Done
}
