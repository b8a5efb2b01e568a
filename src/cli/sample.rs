//! A ticket to try: a milk drink with coffee, and what is most often asked of one.

use jiff::Timestamp;
use serde_json::{Value, json};

use crate::{
    book::{Bar, Drink, Modifier, Phase, Remainder},
    engine::{Given, Line, Moment, What, build_line},
    in_force::{InForce, moment},
};

/// A ticket for the first drink that milk fills up and coffee goes into, with another milk and one
/// shot more, at a site that speaks the book's first language first.
///
/// A book or a site that cannot do both has a ticket with one of the two, or with neither.
pub(super) fn sample(held: &InForce, now: Timestamp) -> Option<Value> {
    let first = held.book().languages.first();
    let mut bars: Vec<&Bar> = held.bars.values().map(|bar| &**bar).collect();
    bars.sort_by_key(|bar| bar.site.languages.first() != first);
    let wishes = [(true, true), (true, false), (false, true), (false, false)];
    wishes.iter().find_map(|(milk, shot)| {
        bars.iter().find_map(|bar| {
            let moment = moment(bar, &[], None, now).ok()?;
            let drinks = bar.book.drinks.iter();
            let mut lines = drinks.filter_map(|drink| line(bar, drink, &moment, *milk, *shot));
            lines.next().map(|line| json!({ "site": bar.site.id.to_string(), "lines": [line] }))
        })
    })
}

/// The drink as a line of a ticket, changed as asked, if that is accepted.
fn line(bar: &Bar, drink: &Drink, moment: &Moment, milk: bool, shot: bool) -> Option<Value> {
    if drink.remainder != Remainder::Milk {
        return None;
    }
    let plain = vec![];
    let own = accepted(bar, drink, moment, &plain)?;
    let milks = if milk { other_milks(bar, &own) } else { vec![None] };
    let shots = if shot { shots_more(bar) } else { vec![None] };
    let pairs = milks.iter().flat_map(|milk| shots.iter().map(move |shot| [milk, shot]));
    let mut asked = pairs.map(|pair| pair.into_iter().flatten().cloned().collect::<Vec<_>>());
    let given = asked.find(|given| accepted(bar, drink, moment, given).is_some())?;
    let mut line = json!({ "line": "1", "drink": drink.id.to_string() });
    if !given.is_empty() {
        line["modifiers"] = given.iter().map(written).collect();
    }
    Some(line)
}

/// The milk, by id, of the drink made so; `None` if it is not accepted or lacks milk or coffee.
fn accepted(bar: &Bar, drink: &Drink, moment: &Moment, given: &[Given]) -> Option<String> {
    let drink = drink.id.to_string();
    let modifiers = given.to_vec();
    let line = Line { drink, modifiers, quantity: 1, ..Line::default() };
    let build = build_line(bar, &line, moment).ok()?;
    let _ = build.solved.coffee?;
    build.solved.milk.map(|milk| milk.ingredient().id.to_string())
}

/// Every other milk that the site stocks, as a modifier.
fn other_milks(bar: &Bar, own: &str) -> Vec<Option<Given>> {
    let slots = bar.book.modifiers.iter().filter_map(|modifier| match modifier {
        Modifier::Slot(slot) if slot.phase == Phase::Milk => Some(slot),
        Modifier::Slot(_) | Modifier::Counter(_) | Modifier::Flag(_) => None,
    });
    let values = slots.flat_map(|slot| slot.values.iter().map(move |value| (slot, value)));
    let here = values
        .filter(|(_, value)| value.milk().is_some_and(|milk| **milk != *own && bar.stocks(milk)));
    here.map(|(slot, value)| {
        Some(Given { id: slot.id.to_string(), what: What::Value(value.id.to_string()) })
    })
    .collect()
}

/// Every counter of coffee, counted once.
fn shots_more(bar: &Bar) -> Vec<Option<Given>> {
    let counters = bar.book.modifiers.iter().filter_map(|modifier| match modifier {
        Modifier::Counter(counter) if counter.phase == Phase::Count => Some(&counter.id),
        Modifier::Slot(_) | Modifier::Counter(_) | Modifier::Flag(_) => None,
    });
    counters.map(|id| Some(Given { id: id.to_string(), what: What::Count(1) })).collect()
}

fn written(given: &Given) -> Value {
    match &given.what {
        What::Value(value) => json!({ "id": given.id, "value": value }),
        What::Count(count) => json!({ "id": given.id, "count": count }),
        What::Number(number) => json!({ "id": given.id, "value": number }),
        What::Flag => json!({ "id": given.id }),
    }
}
