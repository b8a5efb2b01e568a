//! The line of a token, as it must have been posted.

use crate::{
    book::{Bar, Id, Modifier},
    engine::{Line, Moment, build_line},
    token::CodedLine,
};

/// The line, with no more confirmed than it needs: that is in no token, since it changes no build, and
/// the cup was made.
pub(super) fn cup_of(bar: &Bar, coded: &CodedLine) -> Line {
    let mut line = Line {
        id: "1".to_owned(),
        drink: coded.drink.clone(),
        quantity: 1,
        modifiers: coded.modifiers.clone(),
        ..Line::default()
    };
    let is_made = |line: &Line| build_line(bar, line, &Moment::default()).is_ok();
    if is_made(&line) {
        return line;
    }
    line.confirmed = words(bar).iter().map(ToString::to_string).collect();
    let mut at = 0;
    while at < line.confirmed.len() {
        let word = line.confirmed.remove(at);
        if !is_made(&line) {
            line.confirmed.insert(at, word);
            at += 1;
        }
    }
    line
}

/// Everything that a line of the book can need confirmed.
fn words(bar: &Bar) -> Vec<&Id> {
    let counters = bar.book.modifiers.iter().filter_map(|one| match one {
        Modifier::Counter(counter) if counter.confirm_above.is_some() => Some(&counter.id),
        Modifier::Counter(_) | Modifier::Slot(_) | Modifier::Flag(_) => None,
    });
    let drinks = bar.book.drinks.iter().flat_map(|drink| drink.envelope.forbids_unless.values());
    let mut words: Vec<&Id> = counters.chain(drinks).collect();
    words.sort();
    words.dedup();
    words
}
