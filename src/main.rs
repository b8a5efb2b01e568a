//! The `cupwright` program.

use std::process::ExitCode;

use clap::Parser;
use cupwright::cli::{Args, run};
use mimalloc::MiMalloc;

/// A build is made of hundreds of short texts and lists: an allocator made for that costs a third of
/// what the C library's does.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    run(Args::parse()).into()
}
