//! `key`: makes a key.

use std::path::Path;

use anstream::{eprintln, println};
use serde_json::{Value, json};

use super::{
    Outcome, layout,
    load::{complain, source},
    writing::{replace, unwritten},
};
use crate::{
    book::Id,
    keys::{Key, KeyRing, Role},
};

/// Makes a key, and tells its secret this once.
///
/// * `into`: the file of keys that its record is put into; without one the record is printed.
pub(super) fn key(id: &str, role: &str, sites: &[String], into: Option<&Path>) -> Outcome {
    let roles = [Role::Till, Role::Trainer, Role::Admin];
    let Some(role) = roles.into_iter().find(|known| known.as_str() == role) else {
        return Outcome::Failed;
    };
    let sites = sites.iter().map(|site| Id::from(site.as_str())).collect();
    let (secret, key) = Key::new(id.into(), role, sites);
    let Ok(record) = serde_json::to_value(&key) else { return Outcome::Failed };
    let Some(file) = into else {
        eprintln!("The secret, shown this once: {secret}");
        eprintln!("The record, for `keys` in the file that `--keys` names:");
        println!("{record}");
        return Outcome::Done;
    };
    match put(file, record) {
        Ok(()) => {
            eprintln!("The secret, shown this once; {} holds its digest:", file.display());
            println!("{secret}");
            Outcome::Done
        }
        Err(outcome) => outcome,
    }
}

/// Puts a record into a file of keys, which is judged as a whole before it is written.
fn put(file: &Path, record: Value) -> Result<(), Outcome> {
    let mut document = if file.exists() {
        let text = source(file)?.text;
        serde_json::from_str(&text).unwrap_or(Value::Null)
    } else {
        json!({ "schema": "service-keys/0.1.0", "keys": [] })
    };
    match document["keys"].as_array_mut() {
        Some(keys) => keys.push(record),
        None => document["keys"] = json!([record]),
    }
    let text = layout::json(&document) + "\n";
    let name = file.display().to_string();
    KeyRing::read(&name, &text).map_err(|complaints| complain(&[complaints]))?;
    replace(file, &text).map_err(|fault| unwritten(file, &fault))
}
