//! The service beside others under the same load, by the processor time of each server's process.
//!
//! * `cargo bench --bench service`: measures, and prints one table;
//! * `cargo bench --bench service -- --quick`, `cargo test --bench service`: tries everything once;
//! * `cargo bench --bench service -- --instructions`: counts instructions with Callgrind.
//!
//! It installs nothing: `./tests/run` does. No time is asserted, only that every answer is right.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a bench that cannot go on should say so at once, and its table is for people"
)]

mod bare;
mod batches;
mod cold;
mod cores;
mod instructions;
mod loads;
mod memory;
mod peer;
mod process;
mod report;
mod server;
mod spread;
mod tickets;
mod turns;
mod wrk;

use std::{env, fs, path::PathBuf, time::Duration};

use server::{Kind, Server};

/// How long and how often is measured.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Effort {
    /// Turns of every server under every load.
    pub(crate) turns: usize,
    /// Length of one load.
    pub(crate) load: Duration,
    /// Batches of requests that are sent at once.
    pub(crate) batches: usize,
    /// Cold starts of each server.
    pub(crate) starts: usize,
    /// Whether it is only tried that everything works.
    pub(crate) quick: bool,
}

impl Effort {
    const WHOLE: Self =
        Self { turns: 5, load: Duration::from_secs(5), batches: 500, starts: 21, quick: false };
    const QUICK: Self =
        Self { turns: 1, load: Duration::from_secs(1), batches: 4, starts: 1, quick: true };
}

/// The folder for what the bench writes; it is under `target/`.
pub(crate) fn scratch() -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("service");
    fs::create_dir_all(&folder).expect("a folder under target/");
    folder
}

fn main() {
    let given: Vec<String> = env::args().skip(1).collect();
    if let [first, port, answer] = given.as_slice()
        && first == bare::ROLE
    {
        return bare::serve(port.parse().expect("a port"), answer.as_ref());
    }
    let asked = |flag: &str| given.iter().any(|one| one == flag);
    // Cargo says `--bench` when it benches and nothing when it tests.
    let quick = asked("--quick") || asked("--test") || !asked("--bench");
    let effort = if quick { Effort::QUICK } else { Effort::WHOLE };
    if asked("--instructions") {
        return instructions::count();
    }
    measure(effort);
}

fn measure(effort: Effort) {
    let cores = cores::two();
    let ours = Server::start(Kind::Ours, &[], cores.server);
    let answer = server::usual_answer(&ours);
    let other = |kind: &Kind| Server::start(*kind, &answer, cores.server);
    let mut servers: Vec<Server> = Kind::OTHERS.iter().map(other).collect();
    servers.push(ours);
    spread::check(&servers);
    let loads = loads::all(answer.len());
    let seen = turns::take(&servers, &loads, effort, cores);
    let batches = batches::take(&servers, effort, cores);
    drop(servers);
    let memory = memory::of_ours(&answer, effort, cores);
    let cold = cold::starts(&answer, effort, cores);
    println!("{}", report::table(&seen, &batches, memory, &cold, effort));
}
