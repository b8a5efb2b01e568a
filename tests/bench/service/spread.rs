//! Tickets from everywhere among those that never come twice: each line is accepted, and each build
//! is another.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::{
    peer::Peer,
    server::{EXPAND, Kind, Server},
    tickets::{DISTINCT, SHAPES, TEMPERATURES, nth, open},
};

/// Temperatures that are tried, from the lowest to the highest.
const TRIED: usize = 5;

/// Posts every shape at some temperatures.
pub(crate) fn check(servers: &[Server]) {
    let ours = servers.iter().find(|server| server.kind == Kind::Ours).expect("all started");
    let mut peer = Peer::connect(ours.port).expect("it listens");
    let bodies = open();
    let mut builds = BTreeSet::new();
    for tried in 0..TRIED {
        let temperature = (TEMPERATURES - 1) * tried / (TRIED - 1);
        for shape in 0..SHAPES {
            let ticket = nth(&bodies, temperature * SHAPES + shape);
            let answered = peer.ask("POST", EXPAND, &ticket).expect("an answer");
            let answer: Value = serde_json::from_slice(&answered.body).expect("JSON");
            let lines = answer["lines"].as_array().expect("a list of lines");
            for line in lines {
                assert_eq!(line["verdict"], "accept", "{ticket}: {answer}");
                let build = line["build"]["digest"].as_str().expect("a digest of the build");
                builds.insert(build.to_owned());
            }
        }
    }
    assert_eq!(builds.len(), 2 * TRIED * SHAPES, "of {DISTINCT} tickets some are the same");
}
