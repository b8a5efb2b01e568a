//! `needs`: what a sales mix takes, from JSON or CSV.

use std::{
    fs::File,
    io,
    path::{Path, PathBuf},
};

use anstream::{eprintln, print, println};
use jiff::Timestamp;
use serde_json::{Value, json};

use super::{
    Outcome,
    load::{Files, complain, within},
    mix_csv,
    needs_table::table,
    ticket::tell,
};
use crate::{
    answering::{Sent, needs_of, read_needs},
    json::Limits,
    wire::Problem,
};

/// Which mix, and how to show what it takes.
#[derive(Debug, clap::Args)]
pub(super) struct NeedsArgs {
    /// The mix: JSON, or CSV if its name ends so; JSON from standard input if not given or `-`.
    #[arg(value_name = "FILE")]
    mix: Option<PathBuf>,
    /// The site of a mix in CSV.
    #[arg(long)]
    site: Option<String>,
    /// Days in the period of a mix in CSV.
    #[arg(long, value_name = "N", default_value_t = 1)]
    days: u32,
    /// Lead time of a forecast, for a mix in CSV with `mean` and `standard_deviation`.
    #[arg(long, value_name = "DAYS", requires = "service_factor")]
    lead_time_days: Option<f64>,
    /// Service factor of that forecast, in standard deviations.
    #[arg(long, value_name = "Z", requires = "lead_time_days")]
    service_factor: Option<f64>,
    /// Language of the texts of a mix in CSV.
    #[arg(long)]
    lang: Option<String>,
    /// Print the answer as JSON instead of a table.
    #[arg(long)]
    json: bool,
}

/// Works out what the mix takes and prints it.
pub(super) fn work_out(files: &Files, args: &NeedsArgs) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let file = args.mix.as_deref().filter(|path| path.as_os_str() != "-");
    let bytes = match file {
        Some(path) => File::open(path).and_then(|file| within(file, Limits::TICKET)),
        None => within(io::stdin().lock(), Limits::TICKET),
    };
    let bytes = match bytes {
        Ok(bytes) => bytes,
        Err(fault) => {
            eprintln!("Cannot read the mix {}: {fault}", file.unwrap_or(Path::new("-")).display());
            return Outcome::Failed;
        }
    };
    let csv =
        file.filter(|path| path.extension().is_some_and(|end| end.eq_ignore_ascii_case("csv")));
    let mix = match csv {
        Some(path) => match of_csv(args, path, &bytes) {
            Ok(body) => read_needs(&body).map_err(without_places),
            Err(outcome) => return outcome,
        },
        None => read_needs(&bytes),
    };
    let sent = Sent { now: Timestamp::now(), ..Sent::default() };
    let bytes = match mix.and_then(|mix| needs_of(&held, mix, &sent)) {
        Ok(bytes) => bytes,
        Err(problem) => {
            tell(&problem, "mix");
            return Outcome::Complaints;
        }
    };
    let answer: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    if args.json {
        println!("{answer:#}");
    } else {
        print!("{}", table(&answer));
    }
    let left_out = |line: &Value| line["counted"] == false;
    let lines = answer["lines"].as_array();
    if lines.is_some_and(|lines| lines.iter().any(left_out)) {
        Outcome::NotAllAccepted
    } else {
        Outcome::Done
    }
}

/// The body that a mix in CSV stands for.
fn of_csv(args: &NeedsArgs, path: &Path, bytes: &[u8]) -> Result<Vec<u8>, Outcome> {
    let Some(site) = &args.site else {
        eprintln!("A mix in CSV does not name its site: say `--site`.");
        return Err(Outcome::Complaints);
    };
    let text = String::from_utf8_lossy(bytes);
    let lines = mix_csv::lines(&path.display().to_string(), &text);
    let lines = lines.map_err(|complaints| complain(&[complaints]))?;
    let mut mix = json!({ "site": site, "days": args.days, "lines": lines });
    if let Some(lang) = &args.lang {
        mix["lang"] = lang.as_str().into();
    }
    if let Some((days, factor)) = args.lead_time_days.zip(args.service_factor) {
        mix["forecast"] = json!({ "lead_time_days": days, "service_factor": factor });
    }
    Ok(mix.to_string().into_bytes())
}

/// Places are those of the body made here, which nobody sees; pointers name the lines in turn.
fn without_places(mut problem: Problem) -> Problem {
    for fault in &mut problem.errors {
        (fault.line, fault.column) = (None, None);
    }
    problem
}
