//! Many lines of one site, answered as those of tickets are.

use cupwright::answering::{Asked, Sent, answer, read_ticket};
use serde_json::{Value, json};

use crate::lines::DEMO;

/// Most lines that a ticket takes.
const MOST: usize = 100;

/// What comes with a ticket that is sent at `now`.
pub(crate) fn sent(now: &str) -> Sent {
    Sent { now: now.parse().unwrap(), ..Sent::default() }
}

/// The verdicts on lines of a site in a language; each line gets its position as its id.
pub(crate) fn posted(site: &str, lang: &str, now: &str, lines: &[Value]) -> Vec<Value> {
    let mut all = Vec::new();
    for some in lines.chunks(MOST) {
        let numbered = some.iter().enumerate().map(|(n, line)| {
            let mut line = line.clone();
            line["line"] = json!(n.to_string());
            line
        });
        let lines: Vec<Value> = numbered.collect();
        let ticket = json!({ "site": site, "lang": lang, "lines": lines });
        let ticket = read_ticket(ticket.to_string().as_bytes()).expect("a ticket");
        let bytes = answer(&DEMO, ticket, Asked::Builds, &sent(now)).expect("an answer");
        let answer: Value = serde_json::from_slice(&bytes).unwrap();
        all.extend(answer["lines"].as_array().unwrap().iter().cloned());
    }
    all
}
