//! What is different from the book, in the fixed order in which stickers and tickets say it.

use crate::{
    book::{Bar, Modifier, Phase, Stage, Words},
    engine::order::{Held, Holding, Order},
};

/// One difference, as words with at most one number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change<'b> {
    /// What the sticker says.
    pub sticker: Sticker<'b>,
    /// The held modifier it comes from, by its place in the normal form.
    pub held: usize,
}

/// Words for a sticker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sticker<'b> {
    /// As the book says it.
    Words(&'b Words),
    /// As the book says it, `{n}` being a count.
    Count {
        /// The words with their gap.
        words: &'b Words,
        /// The count.
        n: i32,
        /// Whether it is a change up or down, so that its sign is said.
        signed: bool,
    },
    /// Degrees Celsius, in thousandths.
    Celsius(i64),
    /// Millilitres that the customer's own cup holds, in thousandths.
    Millilitres(i64),
}

/// Where a change stands on a sticker: size, milk, coffee, strength, temperature, foam, fill, what is
/// added, what is taken off, what stands beside, and what comes with the cup last.
fn rank(held: &Held<'_>) -> u8 {
    match held.phase() {
        Phase::Form | Phase::Cup => 0,
        Phase::Milk => 1,
        Phase::Count => 2,
        Phase::Class => 3,
        Phase::Pull => 4,
        Phase::Strength => 5,
        Phase::Temperature => 6,
        Phase::Foam => 7,
        Phase::Ice => 8,
        Phase::Fill => 9,
        Phase::Addition => {
            let effect = held.effect().map(|(effect, _)| effect);
            let stage = effect.and_then(|effect| effect.add.as_ref()).map(|add| add.stage);
            match (stage, effect.is_some_and(|effect| !effect.remove.is_empty())) {
                (Some(Stage::Side | Stage::Sealed), _) => 12,
                (None, true) => 11,
                (Some(_) | None, _) => 10,
            }
        }
        Phase::Placement => 12,
        Phase::Handover => 13,
    }
}

/// Every difference of the order from the book, in order.
pub fn changes<'b>(bar: &'b Bar, order: &Order<'b>) -> Vec<Change<'b>> {
    let mut all: Vec<(u8, Change<'b>)> = Vec::with_capacity(order.held.len());
    for (held, one) in order.held.iter().enumerate() {
        if let Some(sticker) = sticker(bar, one) {
            all.push((rank(one), Change { sticker, held }));
        }
    }
    // Stable, so that within a phase the order of the book stays.
    all.sort_by_key(|(rank, _)| *rank);
    all.into_iter().map(|(_, change)| change).collect()
}

fn sticker<'b>(bar: &'b Bar, held: &Held<'b>) -> Option<Sticker<'b>> {
    match (&held.holding, held.modifier) {
        (Holding::Value(value), _) => Some(Sticker::Words(&value.sticker)),
        (Holding::Cup(id), _) => {
            let service = bar.book.services.iter().find(|row| *id == row.id.as_str());
            let words = service.map(|row| &row.sticker);
            words.or_else(|| bar.size(id).map(|size| &size.sticker)).map(Sticker::Words)
        }
        (Holding::Celsius(c), _) => Some(Sticker::Celsius(c.mc())),
        (Holding::Capacity(ml), _) => Some(Sticker::Millilitres(ml.ul())),
        (Holding::Count(counter, n), _) => {
            Some(Sticker::Count { words: &counter.sticker, n: *n, signed: counter.min < 0 })
        }
        (Holding::Flag, Modifier::Flag(flag)) => Some(Sticker::Words(&flag.sticker)),
        (Holding::Flag, _) => None,
    }
}
