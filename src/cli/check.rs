//! `check`: the book, the sheets and the worked examples.

use anstream::println;

use super::{Outcome, layout::counted, load::Files};
use crate::book::{Bar, Layer};

/// Loads everything, which proves it, and says what there is.
///
/// * `fields`: whether each replaced field is named with the layer it comes from.
pub(super) fn check(files: &Files, fields: bool) -> Outcome {
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
    Outcome::Done
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
