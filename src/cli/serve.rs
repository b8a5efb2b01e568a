//! `serve`: the HTTP service, and a request to try it with.

use std::{net::SocketAddr, sync::Arc};

use anstream::{eprintln, println};
use jiff::Timestamp;
use serde_json::{Value, json};

use super::{Outcome, load::Files};
use crate::{
    answering::{Asked, answer, read_ticket},
    book::{Bar, Drink},
    engine::{Line, Moment, build_line},
    http::{Listening, State, listen},
    in_force::InForce,
};

/// Lines of the sample answer that are shown.
const SHOWN: usize = 24;

/// Serves until the process is told to stop.
pub(super) fn serve(files: &Files, address: SocketAddr) -> Outcome {
    let held = match files.load() {
        Ok(held) => Arc::new(held),
        Err(outcome) => return outcome,
    };
    let state = State { held: Arc::clone(&held), since: Timestamp::now() };
    let served = actix_web::rt::System::new().block_on(async move {
        let Listening { address, server } = listen(state, address)?;
        greet(&held, address);
        server.await
    });
    match served {
        Ok(()) => Outcome::Done,
        Err(fault) => {
            eprintln!("Cannot serve on {address}: {fault}");
            Outcome::Failed
        }
    }
}

/// Says where it listens, and prints a request to paste with the beginning of its answer.
fn greet(held: &InForce, address: SocketAddr) {
    let book = held.book();
    println!("Cupwright serves {} {} on http://{address}", book.id, book.version);
    let Some(ticket) = sample(held) else { return };
    println!("Try:\n");
    println!("  curl -s http://{address}/v1/expand -H 'Content-Type: application/json' \\");
    println!("    -d '{ticket}'\n");
    let read = read_ticket(ticket.to_string().as_bytes());
    let answered = read.and_then(|ticket| answer(held, ticket, Asked::Builds, Timestamp::now()));
    let Ok(bytes) = answered else { return };
    let answer: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    let build = &answer["lines"][0]["build"];
    println!("The build in its answer begins:\n");
    for line in format!("{build:#}").lines().take(SHOWN) {
        println!("  {line}");
    }
    println!("  …\n");
}

/// A ticket for the first drink that has milk and coffee, at a site that makes it and, if there is
/// one, speaks the book's first language first.
fn sample(held: &InForce) -> Option<Value> {
    let makes = |bar: &Bar, drink: &Drink| {
        let line = Line { drink: drink.id.to_string(), ..Line::default() };
        build_line(bar, &line, &Moment::default())
            .is_ok_and(|build| build.solved.milk.is_some() && build.solved.coffee.is_some())
    };
    let first = held.book().languages.first();
    let mut bars: Vec<&Bar> = held.bars.values().map(|bar| &**bar).collect();
    bars.sort_by_key(|bar| bar.site.languages.first() != first);
    let sampled = bars.iter().find_map(|bar| {
        let drink = bar.book.drinks.iter().find(|drink| makes(bar, drink))?;
        Some((bar.site.id.to_string(), drink.id.to_string()))
    });
    let (site, drink) = sampled?;
    Some(json!({ "site": site, "lines": [{ "line": "1", "drink": drink }] }))
}
