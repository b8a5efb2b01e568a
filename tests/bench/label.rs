//! What a sticker costs beside the encoding of its picture. Only ratios within one run mean anything;
//! `cargo bench --bench label` prints and asserts them.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a bench that cannot go on should say so at once, and its ratios are for people"
)]

use std::{
    hint::black_box,
    sync::Arc,
    time::{Duration, Instant},
};

use cupwright::{
    answering::{Sent, StickerForm, StickersAsked, ticket_stickers},
    demo,
    in_force::{Editions, InForce},
    label::{
        draw::{pixels, png_bits},
        sticker::{Content, Label, Sentence, stickers},
    },
    wire::Ticket,
};
use serde_json::json;

/// Most that a sticker as PNG takes, from the ticket on, as a ratio to the encoding of its PNG.
const WHOLE: f64 = 8.0;
/// Most that its layout takes of that.
const LAYOUT: f64 = 0.2;

/// What a usual sticker says, as the ticket below has it.
fn content() -> Content {
    let all =
        |texts: &[&str]| -> Vec<String> { texts.iter().map(|text| (*text).to_owned()).collect() };
    Content {
        drink: all(&["Latte"]),
        cup: "Latte glass".to_owned(),
        changes: all(&["OAT MILK", "+ 1 SHOT"]),
        who: all(&["Ada", "A-217", "1 of 1", "14:05"]),
        hot: Some("Caution: hot".to_owned()),
        allergens: all(&[
            "Ingredients contain: Oats",
            "Packs say may contain: Wheat, Barley",
            "Made on shared equipment with: Milk, Almonds",
        ])
        .into_iter()
        .map(|text| Sentence { text, stressed: false })
        .collect(),
        part: "sticker".to_owned(),
        lang: "en".to_owned(),
        ..Content::default()
    }
}

fn ticket() -> Ticket {
    let ticket = json!({ "site": "bookshop", "lang": "en",
        "order": { "ref": "A-217", "name": "Ada", "at": "2026-11-25T14:05:00+01:00" },
        "lines": [{ "line": "1", "drink": "latte",
            "modifiers": [{ "id": "milk", "value": "oat-drink" }, { "id": "shots", "count": 1 }] }] });
    serde_json::from_value(ticket).expect("a ticket")
}

/// The shortest of several runs of each call, taken in turn.
fn shortest(calls: &mut [&mut dyn FnMut()], turns: u32) -> Vec<Duration> {
    let mut best = vec![Duration::MAX; calls.len()];
    for _ in 0..turns {
        for (best, call) in best.iter_mut().zip(calls.iter_mut()) {
            let start = Instant::now();
            call();
            *best = (*best).min(start.elapsed());
        }
    }
    best
}

fn main() {
    let asked = |flag: &str| std::env::args().any(|one| one == flag);
    let timed = asked("--bench") && !asked("--test");
    let held = InForce::load(&demo::book(), &demo::sites()).expect("the demo loads");
    let editions = Editions::of(Arc::new(held), jiff::Timestamp::UNIX_EPOCH);
    let (sent, one) = (Sent::default(), StickersAsked::default());
    let whole = || {
        let made = ticket_stickers(&editions, ticket(), &sent, &one).expect("stickers");
        made.as_bytes(StickerForm::Png).expect("a picture")
    };
    let made = ticket_stickers(&editions, ticket(), &sent, &one).expect("stickers");
    let dots = pixels(&made.stickers()[0].sticker.sheet, 203).expect("dots");
    let label = Label {
        width: 58_000,
        height: 40_000,
        dpi: 203,
        read_at: 600_000,
        held_at: 400_000,
        margin: 1_500,
    };
    let content = content();
    let laid = stickers(&content, label).expect("a layout");
    assert_eq!(laid[0].sheet.marks, made.stickers()[0].sticker.sheet.marks, "the same sticker");
    assert_eq!(whole(), png_bits(&dots).expect("a picture"), "the same picture");
    let shortest_of = shortest(
        &mut [
            &mut || drop(black_box(whole())),
            &mut || drop(black_box(png_bits(black_box(&dots)))),
            &mut || drop(black_box(stickers(black_box(&content), label))),
        ],
        if timed { 2_000 } else { 1 },
    );
    if !timed {
        return;
    }
    let ratio = |a: usize, b: usize| shortest_of[a].as_secs_f64() / shortest_of[b].as_secs_f64();
    let (all, layout) = (ratio(0, 1), ratio(2, 0));
    println!(
        "ratio: a sticker as PNG, from its ticket / encoding that PNG   {all:.2} (promised <= 8)"
    );
    println!(
        "ratio: its layout alone / all of it                         {layout:.3} (promised <= 0.2)"
    );
    println!("       ({:?}, {:?}, {:?})", shortest_of[0], shortest_of[1], shortest_of[2]);
    assert!(all <= WHOLE, "a sticker takes {all:.2} times the encoding of its picture");
    assert!(layout <= LAYOUT, "its layout takes {layout:.3} of it");
}
