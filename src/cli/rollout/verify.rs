//! `rollout verify`: what a site would see.

use std::{fs, path::PathBuf};

use anstream::{eprintln, println};
use serde_json::{Value, json};

use super::{super::Outcome, of_expiries, of_versions, print_versions, tell};
use crate::rollout::{Fault, Seen, Source, fetch};

pub(super) const EXAMPLES: &str = "\
Examples:
  cupwright rollout verify repository --trust our-keys/1.root.json
  cupwright rollout verify https://standards.example --trust 1.root.json --datastore seen";

/// Which repository, and what is believed of it.
#[derive(Debug, clap::Args)]
pub(in super::super) struct VerifyArgs {
    /// Address or folder of the repository.
    #[arg(value_name = "URL_OR_DIR", value_parser = Source::of)]
    source: Source,
    /// A root that came by a way that is trusted.
    #[arg(long, value_name = "FILE")]
    trust: PathBuf,
    /// Folder of what was seen before, so that an older repository is refused; it is made.
    #[arg(long, value_name = "DIR")]
    datastore: Option<PathBuf>,
    /// Print what is seen as JSON.
    #[arg(long)]
    json: bool,
}

/// Shows what is seen, or why nothing is.
pub(super) fn verify(args: &VerifyArgs) -> Result<(), Outcome> {
    let trusted =
        fs::read(&args.trust).map_err(|fault| tell(&Fault::File(args.trust.clone(), fault)))?;
    if args.datastore.is_none() {
        eprintln!("Without --datastore an older repository is not told from the newest.");
    }
    let seen =
        fetch(&args.source, &trusted, args.datastore.as_deref()).map_err(|fault| tell(&fault))?;
    if args.json {
        println!("{:#}", of_seen(&seen));
        return Ok(());
    }
    println!("A site would take this:");
    print_versions(&seen.versions, &seen.expiries);
    for (name, document) in &seen.documents {
        let said = |field: &str| {
            document.said.get(field).and_then(Value::as_str).unwrap_or_default().to_owned()
        };
        println!("  {name}  {} {}  {} bytes", said("id"), said("version"), document.bytes.len());
    }
    Ok(())
}

fn of_seen(seen: &Seen) -> Value {
    let documents: Vec<Value> = seen
        .documents
        .iter()
        .map(|(name, one)| json!({ "name": name, "length": one.bytes.len(), "said": one.said }))
        .collect();
    json!({
        "versions": of_versions(&seen.versions),
        "expires": of_expiries(&seen.expiries),
        "complaints_from": seen.expiries.first().1.to_string(),
        "documents": documents,
    })
}
