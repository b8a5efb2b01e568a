//! `serve`: the HTTP service, and a request to try it with.

use std::{net::SocketAddr, path::Path, sync::Arc};

use anstream::{eprintln, println};
use jiff::Timestamp;
use serde_json::Value;

use super::{
    Outcome, layout,
    load::{Files, complain, source},
    sample::sample,
};
use crate::{
    answering::{Asked, Sent, answer, read_ticket},
    http::{Listening, State, listen},
    in_force::InForce,
    keys::KeyRing,
    state::{StateDir, StockOuts},
};

/// Lines of the sample answer that are shown.
const SHOWN: usize = 52;

/// Serves until the process is told to stop.
///
/// * `keys`: the file of keys; `state`: the folder to keep what is said in.
pub(super) fn serve(
    files: &Files,
    address: SocketAddr,
    keys: Option<&Path>,
    state: Option<&Path>,
) -> Outcome {
    let held = match files.load() {
        Ok(held) => Arc::new(held),
        Err(outcome) => return outcome,
    };
    let (keys, stock) = match keys
        .map_or(Ok(KeyRing::default()), read_keys)
        .and_then(|keys| Ok((keys, state.map_or(Ok(StockOuts::default()), open_state)?)))
    {
        Ok(both) => both,
        Err(outcome) => return outcome,
    };
    if let Some(complaints) = keys.strangers(|site| held.bar(site).is_some()) {
        return complain(&[complaints]);
    }
    let state = State::new(Arc::clone(&held), keys, stock);
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

fn read_keys(file: &Path) -> Result<KeyRing, Outcome> {
    let file = source(file)?;
    KeyRing::read(&file.name, &file.text).map_err(|complaints| complain(&[complaints]))
}

fn open_state(folder: &Path) -> Result<StockOuts, Outcome> {
    StateDir::open(folder).and_then(StockOuts::kept_in).map_err(|fault| {
        eprintln!("Cannot keep state: {fault}");
        Outcome::Failed
    })
}

/// Says where it listens, and prints a request to paste with the beginning of its answer.
fn greet(held: &InForce, address: SocketAddr) {
    let book = held.book();
    println!("Cupwright serves {} {} on http://{address}", book.id, book.version);
    let now = Timestamp::now();
    let Some(ticket) = sample(held, now) else { return };
    println!("Try:\n");
    println!("  curl -s http://{address}/v1/expand -H 'Content-Type: application/json' \\");
    println!("    -d '{ticket}'\n");
    let sent = Sent { now, ..Sent::default() };
    let read = read_ticket(ticket.to_string().as_bytes());
    let Ok(bytes) = read.and_then(|ticket| answer(held, ticket, Asked::Builds, &sent)) else {
        return;
    };
    let answer: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    println!("It answers, on one line (here broken for reading):\n");
    for line in layout::json(&answer).lines().take(SHOWN) {
        println!("  {line}");
    }
    println!("  …\n");
}
