//! Two processor cores that this process may use: one for the server, one for the load.

use std::fs;

/// Where to run what.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cores {
    /// The server's core.
    pub(crate) server: usize,
    /// The load's core.
    pub(crate) load: usize,
}

/// The first two cores; the same one twice where there is only one.
pub(crate) fn two() -> Cores {
    let status = fs::read_to_string("/proc/self/status").expect("Linux's account of a process");
    let list = status
        .lines()
        .find_map(|line| line.strip_prefix("Cpus_allowed_list:"))
        .expect("the cores that may be used");
    let allowed = cores_of(list.trim());
    let server = *allowed.first().expect("at least one core");
    let load = allowed.get(1).copied().unwrap_or(server);
    if load == server {
        eprintln!("There is only one core: server and load share it, and the figures say little.");
    }
    Cores { server, load }
}

/// The cores of a list such as `0-2,5`.
fn cores_of(list: &str) -> Vec<usize> {
    let number = |text: &str| text.parse::<usize>().expect("the number of a core");
    list.split(',')
        .flat_map(|range| match range.split_once('-') {
            Some((from, to)) => number(from)..=number(to),
            None => number(range)..=number(range),
        })
        .collect()
}
