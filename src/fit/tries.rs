//! Trying: whether a line is made, and whether it takes one thing more.

use crate::{
    book::{Bar, Drink, Id, Modifier, Phase, Service},
    engine::{
        Given, Line, Moment, What, build_line,
        objection::{Code, Objection},
    },
    units::Figure,
};

/// Something that a site may be able to make or to offer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing<'b> {
    /// A drink in one of its cups.
    Cup {
        /// The drink, by id.
        drink: &'b Id,
        /// Way of serving.
        service: Service,
        /// Size, by id.
        size: &'b Id,
    },
    /// A modifier, or one value of it, on any drink.
    Value {
        /// The modifier, by id.
        modifier: &'b Id,
        /// The value, by id; `None` for a counter or a flag.
        value: Option<&'b Id>,
    },
}

/// The line of each cup of the drink as the book has it, in the order of the book.
pub fn cup_lines<'b>(bar: &'b Bar, drink: &'b Drink) -> Vec<(Thing<'b>, Line)> {
    let mut all = Vec::new();
    for (service, row) in &drink.cups {
        for size in &bar.book.sizes {
            let Some((size, cup)) = row.get_key_value(&size.id) else { continue };
            let capacity = bar.usual_capacity(*service, &cup.vessel).or_else(|| {
                // One that is not here is asked for all the same, to learn why it is not made.
                let own = (*service == Service::Own).then(|| bar.vessel_of_book(&cup.vessel));
                own.flatten().map(|vessel| vessel.brim_ml)
            });
            let line = Line::standard(&drink.id, service.as_str(), size, capacity);
            all.push((Thing::Cup { drink: &drink.id, service: *service, size }, line));
        }
    }
    all
}

/// Every modifier, value by value, with what a line gives to ask for it; what says into which cup a
/// drink goes is left out.
pub(super) fn values(bar: &Bar) -> Vec<(Thing<'_>, Given)> {
    let mut all = Vec::new();
    for modifier in bar.book.modifiers.iter().filter(|one| one.phase() != Phase::Cup) {
        let id = modifier.id();
        let given = |what| Given { id: id.to_string(), what };
        let mut push = |value, what| all.push((Thing::Value { modifier: id, value }, given(what)));
        match modifier {
            Modifier::Slot(slot) => {
                for value in &slot.values {
                    push(Some(&value.id), What::Value(value.id.to_string()));
                }
                if let (true, Some(range)) = (slot.values.is_empty(), slot.celsius) {
                    push(None, What::Number(Figure::from_thousandths(range.min.mc())));
                }
            }
            Modifier::Counter(counter) => {
                push(None, What::Count(if counter.max > 0 { 1 } else { -1 }));
            }
            Modifier::Flag(_) => push(None, What::Flag),
        }
    }
    all
}

/// Whether `base` takes one thing more and it changes something; what only wants a word from the
/// customer is taken too.
///
/// * Errors: why not; nothing where it only changes nothing.
pub fn takes(bar: &Bar, base: &Line, given: Given, moment: &Moment) -> Result<(), Vec<Objection>> {
    let mut line = base.clone();
    let id = given.id.clone();
    line.modifiers.push(given);
    match build_line(bar, &line, moment) {
        // What is dropped from the normal form changes nothing.
        Ok(build) => {
            let held = build.order.held.iter().any(|held| **held.modifier.id() == *id);
            if held { Ok(()) } else { Err(Vec::new()) }
        }
        Err(all) if all.iter().all(|one| one.code == Code::ConfirmNeeded) => Ok(()),
        Err(all) => Err(all),
    }
}
