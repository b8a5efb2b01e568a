//! What ours holds of memory when idle, and after long tickets.

use std::{thread, time::Duration};

use crate::{
    Effort,
    cores::Cores,
    loads::{self, What},
    process::kib,
    server::{Kind, Server},
    wrk,
};

/// Sizes in kibibytes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Memory {
    /// Resident when nothing was asked yet.
    pub(crate) idle: u32,
    /// Resident after the load.
    pub(crate) after: u32,
    /// The most that was resident at any time.
    pub(crate) most: u32,
}

/// Puts tickets of two lines that never come twice, then long ones, on a server that is fresh.
pub(crate) fn of_ours(answer: &[u8], effort: Effort, cores: Cores) -> Memory {
    eprintln!("Memory …");
    let server = Server::start(Kind::Ours, answer, cores.server);
    thread::sleep(Duration::from_millis(500));
    let idle = kib(server.pid(), "VmRSS");
    let all = loads::all(answer.len());
    let whats = [What::Distinct, What::Long];
    let whats = if effort.quick { &whats[1..] } else { &whats[..] };
    for &what in whats {
        let load = all.iter().find(|load| load.kind == Kind::Ours && load.what == what);
        wrk::run(&server, load.expect("it is one"), 0, effort.load, false, cores.load);
    }
    let pid = server.pid();
    let memory = Memory { idle, after: kib(pid, "VmRSS"), most: kib(pid, "VmHWM") };
    eprintln!("  {memory:?}");
    memory
}
