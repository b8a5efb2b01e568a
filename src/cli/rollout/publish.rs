//! `rollout publish`: the book and the sheets, checked, signed, and put into a repository.

use std::path::PathBuf;

use anstream::eprintln;
use serde_json::Value;

use super::{
    super::{
        Outcome,
        load::{Documents, Files},
    },
    KeysArg, OnLineArgs, carry_out, days, now,
    passphrase::PassphraseArg,
    tell,
};
use crate::{
    in_force::Source,
    json::Digest,
    rollout::{self, Document, KeyFolder, Lasting, Publication},
};

pub(super) const EXAMPLES: &str = "\
A repository is two folders of files, for any web server. To go back, publish the old book again:
it becomes a new version with the old content.

Examples:
  cupwright --book book.json --sites sites/ rollout publish --keys our-keys --out repository
  cupwright rollout publish --keys our-keys --out repository --dry-run --json";

/// What is published where.
#[derive(Debug, clap::Args)]
pub(in super::super) struct PublishArgs {
    #[command(flatten)]
    keys: KeysArg,
    /// Folder of the repository; it is made.
    #[arg(long, value_name = "REPO")]
    out: PathBuf,
    #[command(flatten)]
    passphrase: PassphraseArg,
    #[command(flatten)]
    on_line: OnLineArgs,
    /// Days for which the documents are believed without being published again.
    #[arg(long, value_name = "DAYS", default_value_t = 90, value_parser = clap::value_parser!(u16).range(1..=3650))]
    targets_days: u16,
    /// Check and sign everything, and write nothing.
    #[arg(long)]
    dry_run: bool,
    /// Print what is in force as JSON.
    #[arg(long)]
    json: bool,
}

/// Publishes what is loaded.
pub(super) fn publish(files: &Files, args: &PublishArgs) -> Result<(), Outcome> {
    eprintln!("Checking the book, the sheets and the worked examples …");
    let read = files.documents().map_err(|why| why.tell())?;
    let held = read.load().map_err(|why| why.tell())?;
    let documents = documents(&read);
    let book = held.book();
    eprintln!("{} {} with {} documents in all", book.id, book.version, documents.len());
    let keys = KeyFolder::open(&args.keys.keys).map_err(|fault| tell(&fault))?;
    let passphrase = args.passphrase.read(false)?;
    let lasting = Lasting { targets: days(args.targets_days), ..args.on_line.lasting() };
    let publication = Publication {
        keys: &keys,
        passphrase: &passphrase,
        documents: &documents,
        lasting,
        now: now(),
        dry: args.dry_run,
    };
    let plan = rollout::publish(&args.out, &publication).map_err(|fault| tell(&fault))?;
    carry_out(plan, args.dry_run, args.json)
}

/// What is signed of what was read and checked.
fn documents(read: &Documents) -> Vec<Document> {
    let mut all = vec![document("book", &read.book, |_| "book.json".to_owned())];
    let sites = read.sites.iter();
    all.extend(sites.map(|source| document("site", source, |id| format!("site.{id}.json"))));
    all.extend(read.tills.iter().map(till));
    all
}

fn document(kind: &'static str, source: &Source, name: impl Fn(&str) -> String) -> Document {
    // It was read before, with every check; here it is only looked into.
    let value: Value = serde_json::from_str(&source.text).unwrap_or_default();
    let text = |field: &str| value[field].as_str().map(str::to_owned);
    let id = text("id").unwrap_or_default();
    Document {
        name: name(&id),
        kind,
        version: text("version"),
        digest: Digest::of(&value).to_string(),
        min_reader: text("min_reader"),
        bytes: source.text.clone().into_bytes(),
        id,
    }
}

fn till(source: &Source) -> Document {
    let file = source.name.rsplit(['/', '\\']).next().unwrap_or_default();
    let (site, end) = file.split_once(".till.").unwrap_or((file, "csv"));
    Document {
        name: format!("till.{site}.{end}"),
        kind: "till",
        id: site.to_owned(),
        version: None,
        digest: Digest::of_bytes(source.text.as_bytes()).to_string(),
        min_reader: None,
        bytes: source.text.clone().into_bytes(),
    }
}
