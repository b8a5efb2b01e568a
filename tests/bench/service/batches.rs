//! How long batches of requests take that are sent at once on one connection.
//!
//! An answer that is held back until the other side acknowledges (RFC 896, RFC 1122 section
//! 4.2.3.2) comes 40 ms late on Linux. That would hit most batches, so the median tells it from a
//! busy machine.

use std::{
    process::{Command, Stdio},
    time::Instant,
};

use crate::{
    Effort,
    cores::Cores,
    loads::DEPTH,
    peer::Peer,
    server::{EXPAND, Kind, Server, find},
    tickets,
};

/// The time of each batch in milliseconds.
#[derive(Clone, Debug)]
pub(crate) struct Batches {
    /// The server.
    pub(crate) kind: Kind,
    /// The times.
    pub(crate) millis: Vec<f64>,
}

/// Sends batches to each server that gets pipelined loads.
pub(crate) fn take(servers: &[Server], effort: Effort, cores: Cores) -> Vec<Batches> {
    eprintln!("Batches …");
    // The measuring thread stays away from the server's core.
    let me = std::process::id().to_string();
    let moved = Command::new(find("taskset"))
        .args(["-cp", &cores.load.to_string(), &me])
        .stdout(Stdio::null())
        .status();
    assert!(moved.is_ok_and(|status| status.success()), "taskset moves this process");
    let piped = servers.iter().filter(|server| matches!(server.kind, Kind::Bare | Kind::Ours));
    piped.map(|server| of(server, effort.batches)).collect()
}

fn of(server: &Server, batches: usize) -> Batches {
    let bodies = tickets::repeated();
    let mut peer = Peer::connect(server.port).expect("it listens");
    let one = |at: usize| {
        let batch: Vec<String> =
            bodies.iter().cycle().skip(at * DEPTH % bodies.len()).take(DEPTH).cloned().collect();
        let start = Instant::now();
        let answers = peer.post_all(EXPAND, &batch).expect("as many answers");
        let took = start.elapsed();
        assert!(answers.iter().all(|answer| answer.status == 200), "{answers:?}");
        took.as_secs_f64() * 1e3
    };
    Batches { kind: server.kind, millis: (0..batches).map(one).collect() }
}
