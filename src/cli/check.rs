//! `check`: the book, the sheets and the worked examples.

use anstream::println;

use super::{Outcome, load::Files};

/// Loads everything, which proves it, and says what there is.
pub(super) fn check(files: &Files) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let book = held.book();
    println!("Book {} {} is right.", book.id, book.version);
    println!("  digest     {}", held.digest());
    println!("  languages  {}", join(book.languages.iter()));
    println!("  drinks     {}", book.drinks.len());
    println!("  modifiers  {}", book.modifiers.len());
    println!("  examples   {}, all as worked", book.examples.len());
    for (id, bar) in &held.bars {
        let replaced = bar.from.replaced().count();
        println!(
            "Site {id}: region {}, {replaced} field(s) of its own or its region's",
            bar.site.region
        );
    }
    Outcome::Done
}

fn join<T: ToString>(all: impl Iterator<Item = T>) -> String {
    all.map(|one| one.to_string()).collect::<Vec<_>>().join(", ")
}
