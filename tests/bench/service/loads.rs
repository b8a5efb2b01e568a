//! The loads: which server gets which requests.

use std::{fs, path::PathBuf};

use crate::{scratch, server::Kind, tickets};

/// Requests that one connection sends at once in the load that pipelines.
pub(crate) const DEPTH: usize = 16;

/// What is measured of one server.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum What {
    /// One line.
    Single,
    /// Two lines, tickets that come round.
    Repeated,
    /// Two lines, none of which was ever there before.
    Distinct,
    /// A hundred lines, tickets that come round.
    Long,
    /// Two lines, tickets that come round, many requests at once.
    Pipelined,
}

/// One load on one server.
#[derive(Clone, Debug)]
pub(crate) struct Load {
    /// The server.
    pub(crate) kind: Kind,
    /// What it is asked.
    pub(crate) what: What,
    /// A file of bodies; none for a request without one.
    pub(crate) bodies: Option<PathBuf>,
    /// Lines that every answer accepts.
    pub(crate) accepted: usize,
    /// Length of every answer, where it is a constant.
    pub(crate) length: Option<usize>,
    /// Requests at once on a connection.
    pub(crate) depth: usize,
}

/// Every load; `constant` is the length of the answer of those that always give the same.
pub(crate) fn all(constant: usize) -> Vec<Load> {
    use Kind::{Bare, Fastify, NginxFile, NginxReturn, Ours};
    use What::{Distinct, Long, Pipelined, Repeated, Single};
    let file = |name: &str, bodies: Vec<String>| {
        let path = scratch().join(name);
        fs::write(&path, bodies.join("\n")).expect("a file of tickets");
        path
    };
    let single = file("single.jsonl", tickets::single());
    let repeated = file("repeated.jsonl", tickets::repeated());
    let distinct = file("distinct.jsonl", tickets::open());
    let long = file("long.jsonl", tickets::long());
    let pairs = [
        (Bare, Repeated),
        (NginxReturn, Repeated),
        (NginxFile, Repeated),
        (Fastify, Repeated),
        (Fastify, Distinct),
        (Ours, Single),
        (Ours, Repeated),
        (Ours, Distinct),
        (Ours, Long),
        (Bare, Pipelined),
        (Ours, Pipelined),
    ];
    let load = |(kind, what)| {
        let (bodies, lines) = match what {
            Single => (&single, 1),
            Repeated | Pipelined => (&repeated, 2),
            Distinct => (&distinct, 2),
            Long => (&long, tickets::LONG),
        };
        Load {
            kind,
            what,
            bodies: (kind != NginxFile).then(|| bodies.clone()),
            // This one's constant is no ticket's answer; see `server.rs`.
            accepted: if kind == NginxReturn { 0 } else { lines },
            length: (!matches!(kind, Fastify | Ours)).then_some(constant),
            depth: if what == Pipelined { DEPTH } else { 1 },
        }
    };
    pairs.into_iter().map(load).collect()
}
