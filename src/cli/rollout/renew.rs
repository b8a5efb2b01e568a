//! `rollout renew`: the key on line says again what is newest.

use std::path::PathBuf;

use super::{super::Outcome, KeysArg, OnLineArgs, carry_out, now, tell};
use crate::rollout::{self, KeyFolder, Renewal};

pub(super) const EXAMPLES: &str = "\
A timer and a CronJob are in docker/rollout.

Example:
  cupwright rollout renew --keys our-keys --repo repository";

/// What is renewed.
#[derive(Debug, clap::Args)]
pub(in super::super) struct RenewArgs {
    #[command(flatten)]
    keys: KeysArg,
    /// Folder of the repository.
    #[arg(long, value_name = "REPO")]
    repo: PathBuf,
    #[command(flatten)]
    on_line: OnLineArgs,
    /// Print what is in force as JSON.
    #[arg(long)]
    json: bool,
}

/// Renews what is published.
pub(super) fn renew(args: &RenewArgs) -> Result<(), Outcome> {
    // The folder may be mounted to read only.
    let keys = KeyFolder::look(&args.keys.keys).map_err(|fault| tell(&fault))?;
    let renewal = Renewal { keys: &keys, lasting: args.on_line.lasting(), now: now() };
    let plan = rollout::renew(&args.repo, &renewal).map_err(|fault| tell(&fault))?;
    carry_out(plan, false, args.json)
}
