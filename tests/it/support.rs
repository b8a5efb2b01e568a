//! What several tests need: paths, the demo, and files that are held to what the code makes.

pub(crate) mod chance;
pub(crate) mod cups;
pub(crate) mod printer;
pub(crate) mod proxy;
pub(crate) mod tools;

use std::{fs, path::PathBuf, sync::Arc};

use cupwright::{
    answering::{Asked, Sent, answer as answer_ticket, read_ticket},
    demo,
    engine::{Line, Moment, verdict},
    in_force::{Editions, InForce, Source},
    wire::{TicketLine, answer_line},
};
use jiff::Timestamp;
use serde_json::Value;

/// A path in the repository.
pub(crate) fn root(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The only edition that a test has.
pub(crate) fn edition(held: &Arc<InForce>) -> Editions {
    Editions::of(Arc::clone(held), Timestamp::UNIX_EPOCH)
}

/// The library's answer to a ticket, as JSON.
#[track_caller]
pub(crate) fn answer_to(held: &Arc<InForce>, ticket: &Value, asked: Asked, sent: &Sent) -> Value {
    let ticket = read_ticket(ticket.to_string().as_bytes()).expect("a ticket");
    let answered = answer_ticket(&edition(held), ticket, asked, sent, None).expect("an answer");
    serde_json::from_slice(&answered.bytes).expect("JSON")
}

/// The demo book with its sites.
pub(crate) fn demo() -> InForce {
    let held = InForce::load(&demo::book(), &demo::sites());
    held.and_then(|held| held.with_tills(&demo::tills())).unwrap_or_else(|faulty| {
        let all: Vec<String> = faulty.iter().map(ToString::to_string).collect();
        panic!("the demo does not load:\n{}", all.join("\n"))
    })
}

/// Holds a file to what the code makes now. `cargo bless` rewrites it; CI never does.
#[track_caller]
pub(crate) fn golden(path: &str, made: &str) {
    let file = root(path);
    if std::env::var_os("BLESS").is_some() {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, made).unwrap();
        return;
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    if kept != made {
        let same = kept.lines().zip(made.lines()).take_while(|(a, b)| a == b).count();
        let line = |text: &str| text.lines().nth(same).unwrap_or("<end>").to_owned();
        let (kept, made) = (line(&kept), line(made));
        let at = same + 1;
        panic!(
            "{path} differs from line {at}:\n  kept: {kept}\n  made: {made}\nIf meant, run `cargo bless`."
        );
    }
}

/// The text of a file in the repository.
#[track_caller]
pub(crate) fn text(path: &str) -> String {
    fs::read_to_string(root(path)).unwrap_or_else(|fault| panic!("{path}: {fault}"))
}

/// A book without sites; its own training bar is the only bar.
#[track_caller]
pub(crate) fn load(book: &str) -> InForce {
    let source = Source { name: "book.json".to_owned(), text: book.to_owned() };
    InForce::load(&source, &[]).unwrap_or_else(|faulty| {
        let all: Vec<String> = faulty.iter().map(ToString::to_string).collect();
        panic!("the book does not load:\n{}", all.join("\n"))
    })
}

/// The answer to one line, posted as JSON, as a client sees it; the line's own id may be left out.
#[track_caller]
pub(crate) fn answer(held: &InForce, site: &str, line: &Value) -> Value {
    serde_json::from_slice(&answer_bytes(held, site, "en", line)).expect("an answer is JSON")
}

/// The bytes of the answer to one line, posted as JSON.
#[track_caller]
pub(crate) fn answer_bytes(held: &InForce, site: &str, lang: &str, line: &Value) -> Vec<u8> {
    let mut line = line.clone();
    line.as_object_mut().expect("a line is an object").entry("line").or_insert_with(|| "1".into());
    let posted: TicketLine = serde_json::from_value(line).expect("a line of the contract");
    let line = Line::from(posted);
    let bar = held.bar(site).expect("the site is in force");
    let catalogue = held.catalogue(bar, Some(lang)).expect("the language is in the book");
    let judged = verdict(bar, &line, &Moment::default());
    let answer = answer_line(bar, &line.id, 0, &judged, catalogue, true);
    serde_json::to_vec(&answer).expect("an answer is JSON")
}
