//! Runs wrk and reads what `load.lua` makes of the answers.

use std::{fs, path::PathBuf, process::Command, time::Duration};

use crate::{
    loads::{Load, What},
    scratch,
    server::{EXPAND, FILE, Server, find},
    tickets,
};

/// Connections of a load; so many that the server always has something to do.
const CONNECTIONS: usize = 16;
/// Of a load that pipelines: few, so that waiting in line is not taken for standing still.
const PIPELINES: usize = 2;

/// The script as a file; it is that of this very program even if somebody edits it meanwhile.
fn script() -> PathBuf {
    let file = scratch().join("load.lua");
    fs::write(&file, include_str!("load.lua")).expect("a file for the script");
    file
}

/// Puts `load` on `server` from another core; the number of requests that were answered.
///
/// * `first`: number of the first ticket, where none is to come twice;
/// * `check`: whether every answer is looked into.
pub(crate) fn run(
    server: &Server,
    load: &Load,
    first: usize,
    time: Duration,
    check: bool,
    core: usize,
) -> u32 {
    let (method, path) = if load.bodies.is_some() { ("POST", EXPAND) } else { ("GET", FILE) };
    let connections = if load.what == What::Pipelined { PIPELINES } else { CONNECTIONS };
    let or_none = |number: Option<usize>| number.map_or_else(|| "-".to_owned(), |n| n.to_string());
    let first = (load.what == What::Distinct).then_some(first);
    let mut wrk = Command::new(find("taskset"));
    wrk.args(["-c", &core.to_string()]).arg(find("wrk"));
    wrk.arg("-t1").arg(format!("-c{connections}")).arg(format!("-d{}s", time.as_secs()));
    wrk.args(["--timeout", "30s", "-s"]).arg(script());
    wrk.arg(format!("http://127.0.0.1:{}", server.port)).args(["--", method, path]);
    match &load.bodies {
        Some(file) => wrk.arg(file),
        None => wrk.arg("-"),
    };
    wrk.args([load.accepted.to_string(), or_none(load.length), or_none(first)]);
    wrk.args([load.depth.to_string(), u8::from(check).to_string()]);
    wrk.args([tickets::LOW.to_string(), tickets::TEMPERATURES.to_string()]);
    let output = wrk.output().expect("taskset starts");
    let printed = String::from_utf8_lossy(&output.stdout);
    let complained = String::from_utf8_lossy(&output.stderr);
    let about = format!("{} {:?}: {printed}\n{complained}", server.kind.name(), load.what);
    assert!(output.status.success(), "{about}");
    read(&printed, check).unwrap_or_else(|fault| panic!("{fault}\n{about}"))
}

/// Reads the line that `load.lua` prints at the end.
fn read(printed: &str, check: bool) -> Result<u32, String> {
    let line = printed.lines().find_map(|line| line.strip_prefix("DONE ")).ok_or("no figures")?;
    let figure = |name: &str| {
        let pair = line.split(' ').find_map(|pair| pair.strip_prefix(name)?.strip_prefix('='));
        pair.and_then(|text| text.parse::<u32>().ok()).ok_or_else(|| format!("no figure {name}"))
    };
    if figure("requests")? == 0 || figure("failed")? != 0 || figure("wrong")? != 0 {
        return Err("answers are missing or wrong".to_owned());
    }
    if check && figure("seen")? < figure("requests")? {
        return Err("not every answer was looked into".to_owned());
    }
    figure("requests")
}
