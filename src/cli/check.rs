//! `check`: the book, the sheets and the worked examples.

use std::cmp::Reverse;

use anstream::{eprintln, println};

use super::{
    Outcome,
    layout::counted,
    load::Files,
    sticker_check::{self, StickerCheck},
};
use crate::{
    book::{Bar, Layer},
    in_force::{InForce, Mix, mix_of, ways},
};

/// Loads everything, which proves it, and says what there is.
///
/// * `fields`: whether each replaced field is named with the layer it comes from.
/// * `pairs`: whether every pair of modifiers is tried on every drink at every site.
/// * `stickers`: whether every sticker is tried on its label.
pub(super) fn check(files: &Files, fields: bool, pairs: bool, stickers: &StickerCheck) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let book = held.book();
    println!("The book holds: {} {}", book.id, book.version);
    println!("  digest     {}", held.digest());
    println!("  languages  {}", join(book.languages.iter()));
    println!("  drinks     {}", book.drinks.len());
    println!("  modifiers  {}", book.modifiers.len());
    println!("  examples   {}, all as worked", book.examples.len());
    for bar in held.bars.values() {
        site(bar, fields);
    }
    if pairs {
        print_mix(&held);
    }
    if stickers.stickers { sticker_check::check(files, &held, stickers) } else { Outcome::Done }
}

/// Tries every pair of modifiers on every drink at every site, and prints how the verdicts fall.
fn print_mix(held: &InForce) {
    let mut all = Mix::default();
    for bar in held.bars.values() {
        let ways = ways(bar);
        let mut here = Mix::default();
        for (at, drink) in bar.drink_ids().enumerate() {
            if at % 10 == 0 {
                eprintln!("{}: drink {} of {}", bar.site.id, at + 1, bar.book.drinks.len());
            }
            here.add(mix_of(bar, drink, &ways));
        }
        let Mix { accepted, asked, refused, codes: _ } = &here;
        println!(
            "{}: {} pairs, {accepted} accepted, {asked} asked, {refused} refused",
            bar.site.id,
            here.lines()
        );
        all.add(here);
    }
    let Mix { accepted, asked, refused, codes } = &all;
    println!("All: {} pairs, {accepted} accepted, {asked} asked, {refused} refused", all.lines());
    let mut codes: Vec<_> = codes.iter().collect();
    codes.sort_by_key(|(code, n)| (Reverse(**n), **code));
    for (code, n) in codes {
        println!("  {n:>7}  {code}");
    }
}

fn site(bar: &Bar, fields: bool) {
    let replaced: Vec<(&str, Layer)> = bar.from.replaced().collect();
    let count = counted(replaced.len(), "field", "fields");
    println!("Site {}: region {}, {count} replaced", bar.site.id, bar.site.region);
    if fields {
        for (path, layer) in replaced {
            println!("  {:<6}  {path}", name(layer));
        }
    }
}

const fn name(layer: Layer) -> &'static str {
    match layer {
        Layer::Book => "book",
        Layer::Wave => "wave",
        Layer::Region => "region",
        Layer::Site => "site",
        Layer::Recall => "recall",
    }
}

fn join<T: ToString>(all: impl Iterator<Item = T>) -> String {
    all.map(|one| one.to_string()).collect::<Vec<_>>().join(", ")
}
