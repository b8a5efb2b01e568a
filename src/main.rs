//! The `cupwright` program.

use std::process::ExitCode;

use clap::Parser;
use cupwright::cli::{Args, run};

fn main() -> ExitCode {
    run(Args::parse()).into()
}
