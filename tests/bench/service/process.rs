//! What Linux accounts to a process: processor time and memory.

use std::{fs, time::Duration};

/// Length of the tick in which `/proc/PID/stat` counts; Linux shows 100 a second everywhere.
const TICK: Duration = Duration::from_millis(10);

/// Processor time of all threads of a process so far, in user and in system mode.
///
/// Source: proc(5), fields 14 and 15 of `/proc/PID/stat`.
pub(crate) fn cpu(pid: u32) -> Duration {
    let stat = fs::read_to_string(format!("/proc/{pid}/stat")).expect("the process is there");
    // The name in brackets may hold spaces; the third field follows it.
    let (_, rest) = stat.rsplit_once(')').expect("a name in brackets");
    let ticks = |field: usize| -> u32 {
        let text = rest.split_whitespace().nth(field - 3).expect("as many fields");
        text.parse().expect("ticks")
    };
    TICK * (ticks(14) + ticks(15))
}

/// A size that `/proc/PID/status` gives in kibibytes, such as `VmRSS`; source: proc(5).
pub(crate) fn kib(pid: u32, field: &str) -> u32 {
    let status = fs::read_to_string(format!("/proc/{pid}/status")).expect("the process is there");
    let row = status
        .lines()
        .find_map(|line| line.strip_prefix(field)?.strip_prefix(':'))
        .unwrap_or_else(|| panic!("{field} is not told"));
    let number = row.split_whitespace().next().expect("a number");
    number.parse().expect("a number")
}
