//! `serve`: the HTTP service, and a request to try it with.

use std::{
    io,
    net::SocketAddr,
    path::Path,
    sync::Arc,
    time::{Duration, Instant},
};

use actix_web::{rt::System, web::Data};
use anstream::{eprintln, println};
use jiff::Timestamp;
use serde_json::Value;
use tokio::{
    signal::unix::{SignalKind, signal},
    time::sleep,
};

use super::{
    Outcome, layout,
    load::{Files, Unloaded, try_source},
    reload,
    sample::sample,
    stopping::{self, Told},
    watching::Marks,
};
use crate::{
    answering::{Asked, Sent, answer, read_ticket},
    config::Settings,
    http::{Listening, State, listen},
    in_force::{Editions, InForce},
    keys::KeyRing,
    observe::{Traces, start_log},
    state::{StateDir, StockOuts},
};

/// How often it is looked whether stickers are still on their way.
const LOOK: Duration = Duration::from_millis(50);
/// Lines of the sample answer that are shown.
const SHOWN: usize = 52;

/// Serves until the process is told to stop.
pub(super) fn serve(settings: &Settings) -> Outcome {
    let system = System::new();
    // Before anything else, since without them each would end the process, or, in one with the
    // number 1, do nothing.
    let signals = system.block_on(async { Ok((signal(SignalKind::hangup())?, Told::new()?)) });
    let (hang_up, told) = match signals {
        Ok(signals) => signals,
        Err(fault) => return cannot_serve(settings, &fault),
    };
    let marks = Marks::of(settings);
    let state = match prepared(settings) {
        Ok(state) => Data::new(state),
        Err(outcome) => return outcome,
    };
    start_log(&settings.log);
    let served = system.block_on(async {
        let Listening { address, server } = listen(state.clone())?;
        reload::when_told(state.clone(), hang_up, marks)?;
        stopping::when_told(state.clone(), server.handle(), told);
        greet(&state.held(), address);
        let served = server.await;
        until_printed(&state).await;
        served
    });
    if let Some(traces) = &state.traces {
        traces.finish();
    }
    match served {
        Ok(()) => Outcome::Done,
        Err(fault) => cannot_serve(settings, &fault),
    }
}

/// Waits for stickers that were taken, as long as for anything that is under way; the rest is lost.
async fn until_printed(state: &State) {
    let until = Instant::now() + state.settings.stop.within;
    while state.prints.is_busy() && Instant::now() < until {
        sleep(LOOK).await;
    }
    for (print_id, stickers) in state.prints.left() {
        tracing::warn!(%print_id, stickers, "stickers are lost that waited for their printer");
    }
}

fn cannot_serve(settings: &Settings, fault: &io::Error) -> Outcome {
    eprintln!("Cannot serve on {}: {fault}", settings.listen.address);
    Outcome::Failed
}

/// Everything that is served, loaded and checked; what is wrong is printed.
fn prepared(settings: &Settings) -> Result<State, Outcome> {
    let files = files_of(settings);
    let held = Arc::new(files.load()?);
    let keys = read_keys(settings.keys.as_deref(), &held).map_err(|why| why.tell())?;
    let stock = settings.state.as_deref().map_or_else(|| Ok(StockOuts::default()), open_state)?;
    let mut state = State::new(held, keys, stock, settings.clone());
    if let Some(address) = &settings.traces.otlp {
        state.traces = Some(Traces::to(address).map_err(|fault| {
            eprintln!("Cannot send traces: {fault}");
            Outcome::Failed
        })?);
    }
    Ok(state)
}

/// The files that the settings name.
pub(super) fn files_of(settings: &Settings) -> Files {
    Files { book: settings.book.clone(), sites: settings.sites.clone() }
}

/// The keys of a file, each for sites that are there; none without a file.
pub(super) fn read_keys(file: Option<&Path>, held: &InForce) -> Result<KeyRing, Unloaded> {
    let Some(file) = file else { return Ok(KeyRing::default()) };
    let keys = read_ring(file)?;
    match keys.strangers(|site| held.bar(site).is_some()) {
        Some(complaints) => Err(Unloaded::Faulty(vec![complaints])),
        None => Ok(keys),
    }
}

/// The keys of a file, for whatever sites.
pub(super) fn read_ring(file: &Path) -> Result<KeyRing, Unloaded> {
    let file = try_source(file)?;
    KeyRing::read(&file.name, &file.text).map_err(|one| Unloaded::Faulty(vec![one]))
}

fn open_state(folder: &Path) -> Result<StockOuts, Outcome> {
    StateDir::open(folder).and_then(StockOuts::kept_in).map_err(|fault| {
        eprintln!("Cannot keep state: {fault}");
        Outcome::Failed
    })
}

/// Says where it listens, and prints a request to paste with the beginning of its answer.
fn greet(held: &Arc<InForce>, address: SocketAddr) {
    let book = held.book();
    println!("Cupwright serves {} {} on http://{address}", book.id, book.version);
    let now = Timestamp::now();
    let Some(ticket) = sample(held, now) else { return };
    println!("Try:\n");
    println!("  curl -s http://{address}/v1/expand -H 'Content-Type: application/json' \\");
    println!("    -d '{ticket}'\n");
    let sent = Sent { now, ..Sent::default() };
    let editions = Editions::of(Arc::clone(held), now);
    let read = read_ticket(ticket.to_string().as_bytes());
    let answered = read.and_then(|ticket| answer(&editions, ticket, Asked::Builds, &sent, None));
    let Ok(answered) = answered else { return };
    let answer: Value = serde_json::from_slice(&answered.bytes).unwrap_or_default();
    println!("It answers, on one line (here broken for reading):\n");
    for line in layout::json(&answer).lines().take(SHOWN) {
        println!("  {line}");
    }
    println!("  …\n");
}
