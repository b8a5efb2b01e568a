//! `rollout keys`: the keys that sign a rollout.

use std::path::PathBuf;

use anstream::{eprintln, println};
use clap::Subcommand;
use serde_json::json;

use super::{super::Outcome, days, now, passphrase::PassphraseArg, tell};
use crate::rollout::{KeyFolder, Lasting, Which, rotate};

pub(super) const EXAMPLES: &str = "Examples:\n  cupwright rollout keys new our-keys\n  \
    cupwright rollout keys list our-keys\n  cupwright rollout keys rotate online our-keys";

/// What to do with keys.
#[derive(Debug, Subcommand)]
pub(in super::super) enum KeysCommand {
    /// Make all keys, and the first root, which sites are given.
    #[command(after_help = "Example:\n  cupwright rollout keys new our-keys")]
    New {
        /// Folder for the keys; it is made.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
        #[command(flatten)]
        passphrase: PassphraseArg,
        #[command(flatten)]
        root: RootArgs,
    },
    /// List the keys in force, and which of them lie in the folder.
    #[command(after_help = "Example:\n  cupwright rollout keys list our-keys")]
    List {
        /// Folder of keys.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
        /// Print the list as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Replace one key, or let the root last longer; two of the root's keys must be in the folder.
    #[command(after_help = "Examples:\n  cupwright rollout keys rotate online our-keys\n  \
        cupwright rollout keys rotate expiry our-keys")]
    Rotate {
        /// The key; `expiry` replaces none.
        #[arg(value_parser = ["root-1", "root-2", "root-3", "targets", "overlay", "online", "expiry"])]
        which: String,
        /// Folder of keys.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
        #[command(flatten)]
        passphrase: PassphraseArg,
        #[command(flatten)]
        root: RootArgs,
    },
}

/// How long a root lasts.
#[derive(Clone, Copy, Debug, clap::Args)]
pub(in super::super) struct RootArgs {
    /// Days for which the root is believed.
    #[arg(long, value_name = "DAYS", default_value_t = 365, value_parser = clap::value_parser!(u16).range(1..=3650))]
    root_days: u16,
}

impl RootArgs {
    fn lasting(self) -> Lasting {
        Lasting { root: days(self.root_days), ..Lasting::default() }
    }
}

/// Does what is asked.
pub(super) fn keys(command: KeysCommand) -> Result<(), Outcome> {
    match command {
        KeysCommand::New { folder, passphrase, root } => {
            let passphrase = passphrase.read(true)?;
            let made = KeyFolder::create(&folder, &passphrase, root.lasting(), now())
                .map_err(|fault| tell(&fault))?;
            list(&made, false)?;
            eprintln!("{}", AFTER_NEW.replace("{root}", &made.first_root().display().to_string()));
            Ok(())
        }
        KeysCommand::List { folder, json } => {
            list(&KeyFolder::look(&folder).map_err(|fault| tell(&fault))?, json)
        }
        KeysCommand::Rotate { which, folder, passphrase, root } => {
            let Some((_, which)) = Which::ALL.into_iter().find(|(name, _)| *name == which) else {
                return Err(Outcome::Failed);
            };
            let passphrase = passphrase.read(false)?;
            let held = KeyFolder::open(&folder).map_err(|fault| tell(&fault))?;
            let done = rotate(&held, which, &passphrase, root.lasting(), now())
                .map_err(|fault| tell(&fault))?;
            if let Some(made) = done.made {
                println!("New key: {}", made.display());
            }
            match done.root {
                Some(version) => println!("Signed: root {version}"),
                None => println!("The next `publish` names it; no new root is needed."),
            }
            eprintln!("{AFTER_ROTATE}");
            Ok(())
        }
    }
}

const AFTER_NEW: &str = "
What to do now:
  1. Give {root} to each site, by a way that you trust: everything else is checked by it.
  2. Move each root-… key to a medium of its own, and keep them in different places. Publishing
     does not need them; two of the three sign a change of keys.
  3. Keep a copy of targets.… and overlay.… off line, and the passphrase apart from them.
  4. Only online.…, overlay.public.json and the roots go to the machine on which `renew` runs.

What to do after a loss:
  one root key        rotate it with the other two; then publish
  two root keys       nothing can be changed any more: make new keys, and give each site the new root
  targets             rotate it with two root keys; then publish
  overlay             rotate it; then publish
  online              as for targets; whoever has it can hold sites back, but cannot change a recipe
  the passphrase      as if all keys off line were lost
  the repository      rotate online, then publish: sites take the new count of versions with the new key";

const AFTER_ROTATE: &str = "
Now run `rollout publish`. Leave the old key in the folder until then: what is signed with both is
taken by sites with the old root and with the new one. Then destroy the old key and its copies.";

fn list(held: &KeyFolder, json: bool) -> Result<(), Outcome> {
    let keys = held.keys().map_err(|fault| tell(&fault))?;
    if json {
        let keys: Vec<_> = keys
            .iter()
            .map(|key| json!({ "name": key.name, "id": key.id, "file": key.file }))
            .collect();
        let value = json!({
            "root": { "version": held.root_version(), "expires": held.root_expires().to_string() },
            "keys": keys,
        });
        println!("{value:#}");
        return Ok(());
    }
    println!("Root {}, expires {}", held.root_version(), held.root_expires());
    for key in keys {
        let file = key.file.map_or("not here".to_owned(), |file| file.display().to_string());
        println!("  {:<7}  {:.16}…  {file}", key.name, key.id);
    }
    Ok(())
}
