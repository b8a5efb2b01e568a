//! `rollout`: the roaster's signed repository, and what a site sees of it.

mod keys;
mod passphrase;
mod publish;
mod renew;
mod verify;

use std::path::PathBuf;

use anstream::{eprintln, println};
use clap::Subcommand;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

use self::{keys::KeysCommand, publish::PublishArgs, renew::RenewArgs, verify::VerifyArgs};
use super::{Outcome, load::Files};
use crate::rollout::{Expiries, Fault, Lasting, Plan, Versions};

/// What to do with a rollout.
#[derive(Debug, Subcommand)]
pub(super) enum RolloutCommand {
    /// Make, list and replace the keys that sign a rollout; those of the service are `cupwright key`.
    #[command(subcommand, after_help = keys::EXAMPLES)]
    Keys(KeysCommand),
    /// Check the book and the sheets, sign them, and put them into a repository.
    #[command(after_help = publish::EXAMPLES)]
    Publish(PublishArgs),
    /// Say again what is newest, with the key on line alone; for a timer.
    #[command(after_help = renew::EXAMPLES)]
    Renew(RenewArgs),
    /// Show what a site would see of a repository, or why it would not take it.
    #[command(after_help = verify::EXAMPLES)]
    Verify(VerifyArgs),
}

/// How long the key on line vouches.
#[derive(Clone, Copy, Debug, clap::Args)]
struct OnLineArgs {
    /// Hours for which what is newest is believed without being renewed.
    #[arg(long, value_name = "HOURS", default_value_t = 24, value_parser = clap::value_parser!(u16).range(1..=8760))]
    timestamp_hours: u16,
    /// Days for which a snapshot is believed; `renew` signs a new one after half of them.
    #[arg(long, value_name = "DAYS", default_value_t = 7, value_parser = clap::value_parser!(u16).range(1..=365))]
    snapshot_days: u16,
}

impl OnLineArgs {
    fn lasting(self) -> Lasting {
        Lasting {
            timestamp: SignedDuration::from_hours(self.timestamp_hours.into()),
            snapshot: days(self.snapshot_days),
            ..Lasting::default()
        }
    }
}

fn days(n: u16) -> SignedDuration {
    SignedDuration::from_hours(24 * i64::from(n))
}

/// Does what is asked.
pub(super) fn rollout(files: &Files, command: RolloutCommand) -> Outcome {
    let done = match command {
        RolloutCommand::Keys(command) => keys::keys(command),
        RolloutCommand::Publish(args) => publish::publish(files, &args),
        RolloutCommand::Renew(args) => renew::renew(&args),
        RolloutCommand::Verify(args) => verify::verify(&args),
    };
    match done {
        Ok(()) => Outcome::Done,
        Err(outcome) => outcome,
    }
}

/// Says why something was not done.
fn tell(fault: &Fault) -> Outcome {
    eprintln!("{fault}");
    match fault {
        Fault::Refused(_) => Outcome::Complaints,
        Fault::File(..) | Fault::Damaged(..) | Fault::Key(_) | Fault::Unreached(_) => {
            Outcome::Failed
        }
    }
}

/// Writes a plan and says what is in force then.
fn carry_out(plan: Plan, dry: bool, json: bool) -> Result<(), Outcome> {
    let (files, versions, expiries) = (plan.files(), plan.versions, plan.expiries);
    let warnings = plan.warnings.clone();
    if !dry {
        plan.write(|at, of, name| eprintln!("{at} of {of}: {name}"))
            .map_err(|fault| tell(&fault))?;
    }
    for warning in &warnings {
        eprintln!("Warning: {warning}");
    }
    let (_, complain) = expiries.first();
    let (role, off_line) = expiries.first_off_line();
    if json {
        let value = json!({
            "written": !dry,
            "files": files,
            "versions": of_versions(&versions),
            "expires": of_expiries(&expiries),
            "complaints_from": complain.to_string(),
            "off_line_key_needed_by": off_line.to_string(),
            "warnings": warnings,
        });
        println!("{value:#}");
        return Ok(());
    }
    if dry {
        println!("Nothing was written. It would be:");
        for name in files {
            println!("  {name}");
        }
    }
    print_versions(&versions, &expiries);
    println!("Sites will complain from {complain} on, unless `renew` runs before.");
    println!("A key off line is needed by {off_line}, for {role}.");
    Ok(())
}

fn print_versions(versions: &Versions, expiries: &Expiries) {
    let versions = numbers(versions);
    for ((role, version), (_, at)) in versions.iter().zip(expiries.all()) {
        println!("  {role:<9}  version {version:<5}  expires {at}");
    }
}

fn numbers(versions: &Versions) -> [(&'static str, u64); 5] {
    let Versions { root, targets, overlay, snapshot, timestamp } = *versions;
    [
        ("root", root),
        ("targets", targets),
        ("overlay", overlay),
        ("snapshot", snapshot),
        ("timestamp", timestamp),
    ]
}

fn of_versions(versions: &Versions) -> Value {
    numbers(versions)
        .into_iter()
        .map(|(role, n)| (role.to_owned(), json!(n)))
        .collect::<serde_json::Map<_, _>>()
        .into()
}

fn of_expiries(expiries: &Expiries) -> Value {
    let all = expiries.all().into_iter();
    all.map(|(role, at)| (role.to_owned(), json!(at.to_string())))
        .collect::<serde_json::Map<_, _>>()
        .into()
}

/// Where a folder of keys is.
#[derive(Clone, Debug, clap::Args)]
struct KeysArg {
    /// Folder of keys.
    #[arg(long, value_name = "DIR")]
    keys: PathBuf,
}

fn now() -> Timestamp {
    Timestamp::now()
}
