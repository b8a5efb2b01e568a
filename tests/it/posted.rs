//! Many lines of one site, answered as those of tickets are.

use cupwright::answering::{Asked, Sent};
use serde_json::{Value, json};

use crate::{lines::DEMO, support::answer_to};

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
        let answer = answer_to(&DEMO, &ticket, Asked::Builds, &sent(now));
        all.extend(answer["lines"].as_array().unwrap().iter().cloned());
    }
    all
}
