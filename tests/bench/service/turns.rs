//! Turns: every load on its server, one after the other, several times.

use std::time::{Duration, Instant};

use crate::{
    Effort,
    cores::Cores,
    loads::{Load, What},
    process::cpu,
    server::{Kind, Server},
    tickets, wrk,
};

/// Tickets left out between two loads of tickets that never come twice: those that were under way
/// when the first ended.
const APART: usize = 1_000;

/// What one load came to, turn by turn.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    /// The server.
    pub(crate) kind: Kind,
    /// What it was asked.
    pub(crate) what: What,
    /// Processor time of a request, in microseconds, each turn.
    pub(crate) micros: Vec<f64>,
}

/// Checks every server's answers, then measures turn by turn.
pub(crate) fn take(servers: &[Server], loads: &[Load], effort: Effort, cores: Cores) -> Vec<Seen> {
    let mut next = vec![0; loads.len()];
    let mut run = |at: usize, time: Duration, check: bool| {
        let load: &Load = &loads[at];
        let server = servers.iter().find(|server| server.kind == load.kind).expect("all started");
        let (before, start) = (cpu(server.pid()), Instant::now());
        let requests = wrk::run(server, load, next[at], time, check, cores.load);
        let (spent, took) = (cpu(server.pid()).saturating_sub(before), start.elapsed());
        next[at] += usize::try_from(requests).expect("a count") + APART;
        assert!(
            load.what != What::Distinct || next[at] < tickets::DISTINCT,
            "tickets that differ have run out: more shapes or temperatures are needed"
        );
        let micros = spent.as_secs_f64() * 1e6 / f64::from(requests);
        let busy = 100.0 * spent.as_secs_f64() / took.as_secs_f64();
        eprintln!(
            "  {}, {:?}: {} requests, {micros:.1} µs each, core {busy:.0} % busy",
            load.kind.name(),
            load.what,
            requests
        );
        micros
    };
    eprintln!("Checking every answer …");
    let row = |load: &Load| Seen { kind: load.kind, what: load.what, micros: Vec::new() };
    let mut seen: Vec<Seen> = loads.iter().map(row).collect();
    for (at, row) in seen.iter_mut().enumerate() {
        let micros = run(at, Effort::QUICK.load, true);
        // What is only tried once is tried with the check.
        if effort.quick {
            row.micros.push(micros);
        }
    }
    let turns = if effort.quick { 0 } else { effort.turns };
    for turn in 1..=turns {
        eprintln!("Turn {turn} of {turns} …");
        for (at, row) in seen.iter_mut().enumerate() {
            row.micros.push(run(at, effort.load, false));
        }
    }
    seen
}
