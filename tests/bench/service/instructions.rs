//! Counts instructions of a request with Callgrind.
//!
//! Each count is the difference of two runs that differ only in how many requests they get, so the
//! start and the first round of tickets drop out of it.

use std::{collections::HashMap, fs, path::PathBuf, process::Command};

use crate::{
    cores,
    peer::Peer,
    scratch,
    server::{EXPAND, Kind, Server, find, usual_answer},
    tickets,
};

/// Requests of the shorter run: each ticket twice.
const FEW: u32 = 128;
/// Requests that the longer run gets more.
const MORE: u32 = 2_048;
/// Functions that are listed.
const TOP: usize = 15;
/// A function with more than this share of everything, in hundredths, only passes on to others.
const OUTER: u64 = 90;

/// Instructions by the function in which they, or what it calls, were done.
type Costs = HashMap<String, u64>;

/// What one run came to.
struct Run {
    total: u64,
    inclusive: Costs,
}

/// Counts, and prints one table and the functions that cost most.
pub(crate) fn count() {
    let core = cores::two().server;
    let answer = usual_answer(&Server::start(Kind::Ours, &[], core));
    let repeated = tickets::repeated();
    let open = tickets::open();
    let come_round = |n: usize| repeated[n % repeated.len()].clone();
    let never_twice = |n: usize| tickets::nth(&open, n);
    let bare = difference(Kind::Bare, &answer, core, &come_round);
    println!("| instructions of a request | count | ÷ bare actix-web |\n|---|---|---|");
    println!("| bare actix-web | {} | 1.00 |", bare.total);
    let mut lists = String::new();
    let loads: [(&str, &dyn Fn(usize) -> String); 2] =
        [("two lines, repeating", &come_round), ("two lines, never repeating", &never_twice)];
    for (name, ticket) in loads {
        let ours = difference(Kind::Ours, &answer, core, ticket);
        println!("| Cupwright, {name} | {} | {} |", ours.total, ratio(ours.total, bare.total));
        lists += "\n";
        lists += name;
        lists += ", instructions of a request including callees:\n\n";
        lists += &listed(&ours);
    }
    println!("{lists}");
}

/// `a / b` with two places.
fn ratio(a: u64, b: u64) -> String {
    let hundredths = (100 * a + b / 2) / b.max(1);
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}

/// What one request costs: the longer run less the shorter, by the number of requests between.
fn difference(kind: Kind, answer: &[u8], core: usize, ticket: &dyn Fn(usize) -> String) -> Run {
    let few = run(kind, answer, core, ticket, FEW);
    let many = run(kind, answer, core, ticket, FEW + MORE);
    let one = |many: u64, few: u64| many.saturating_sub(few) / u64::from(MORE);
    let inclusive = many.inclusive.into_iter().map(|(function, cost)| {
        let before = few.inclusive.get(&function).copied().unwrap_or_default();
        (function, one(cost, before))
    });
    Run { total: one(many.total, few.total), inclusive: inclusive.collect() }
}

fn run(
    kind: Kind,
    answer: &[u8],
    core: usize,
    ticket: &dyn Fn(usize) -> String,
    requests: u32,
) -> Run {
    eprintln!("{}: {requests} requests under Callgrind …", kind.name());
    let file = scratch().join("callgrind.out");
    let _ = fs::remove_file(&file);
    let valgrind = find("valgrind");
    let to = format!("--callgrind-out-file={}", file.display());
    let wrapper = [&*valgrind.to_string_lossy(), "--tool=callgrind", &to];
    let server = Server::start_under(&wrapper, kind, answer, core);
    let mut peer = Peer::connect(server.port).expect("it listens");
    for n in 0..requests {
        let ticket = ticket(usize::try_from(n).expect("a number"));
        let answered = peer.ask("POST", EXPAND, &ticket).expect("an answer");
        let body = String::from_utf8_lossy(&answered.body);
        let accepted = body.matches(r#""verdict":"accept""#).count();
        assert!(answered.status == 200 && accepted == 2, "{ticket}: {body}");
    }
    // Or it would wait for more.
    drop(peer);
    server.stop();
    Run { total: total(&file), inclusive: inclusive(&file) }
}

/// The sum that Callgrind writes into its file when its program ends.
fn total(file: &PathBuf) -> u64 {
    let text = fs::read_to_string(file).expect("Callgrind leaves its file");
    let find = |name| text.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(": "));
    let sum = find("totals").or_else(|| find("summary")).expect("a sum");
    sum.trim().parse().expect("a number")
}

/// The costs of functions by `callgrind_annotate`; none where it fails.
fn inclusive(file: &PathBuf) -> Costs {
    let mut annotate = Command::new(find("callgrind_annotate"));
    let output = annotate.args(["--inclusive=yes", "--threshold=100"]).arg(file).output();
    let output = output.expect("callgrind_annotate starts");
    let printed = String::from_utf8_lossy(&output.stdout);
    let mut costs = Costs::new();
    for (cost, function) in printed.lines().filter_map(row) {
        *costs.entry(function.to_owned()).or_default() += cost;
    }
    costs
}

/// Reads a row such as `1,234 (5.6%)  file:function [object]`.
fn row(line: &str) -> Option<(u64, &str)> {
    let (cost, rest) = line.trim_start().split_once(" (")?;
    let (_, function) = rest.split_once("%)")?;
    let function = function.trim();
    let function = function.rsplit_once(" [").map_or(function, |(function, _)| function);
    let function = function.split_once(':').map_or(function, |(_, function)| function);
    Some((cost.replace(',', "").parse().ok()?, function))
}

/// The functions that cost most, but for the outer ones, as a list; how to see their names where they have none.
fn listed(run: &Run) -> String {
    let named = |function: &str| !function.starts_with("0x") && function != "PROGRAM TOTALS";
    let mut rows: Vec<(&String, &u64)> =
        run.inclusive.iter().filter(|(function, _)| named(function)).collect();
    rows.sort_by(|(a, x), (b, y)| y.cmp(x).then_with(|| a.cmp(b)));
    let told = rows.iter().any(|(function, _)| function.contains("cupwright"));
    if !told {
        return "The program has no names of functions. To see them, have them kept:\n\
                CARGO_PROFILE_BENCH_STRIP=none cargo bench --target-dir target/named \
                --bench service -- --instructions\n"
            .to_owned();
    }
    rows.retain(|(_, cost)| **cost * 100 <= run.total * OUTER);
    let row = |(function, cost): &(&String, &u64)| {
        let function: String = function.chars().take(110).collect();
        format!("{cost:>12}  {function}\n")
    };
    rows.iter().take(TOP).map(row).collect()
}
