//! Modifiers as given, collected into one value a slot, one sum a counter, one mark a flag.

use super::nearest;
use crate::{
    book::{Bar, CounterModifier, Cup, Effect, Id, Modifier, Phase, SlotModifier, SlotValue},
    engine::{
        line::{Line, What},
        objection::{Code, Fix, Measured, Objection},
        phrase::Phrase,
    },
    units::{Figure, Money, Temperature, Volume},
};

/// A modifier that holds something.
#[derive(Clone, Debug, PartialEq)]
pub struct Held<'b> {
    /// Position in the book's list, by which normal forms are sorted.
    pub position: usize,
    /// The modifier.
    pub modifier: &'b Modifier,
    /// What it holds.
    pub holding: Holding<'b>,
    /// Where it first stands in the line's list.
    pub given: usize,
}

/// What a modifier holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Holding<'b> {
    /// A value of the slot.
    Value(&'b SlotValue),
    /// A row or column of the cup table: the id of a service or a size.
    Cup(Id),
    /// Degrees Celsius.
    Celsius(Temperature),
    /// Capacity of the customer's own cup.
    Capacity(Volume),
    /// A sum that is not 0.
    Count(&'b CounterModifier, i32),
    /// The flag.
    Flag,
}

impl<'b> Holding<'b> {
    /// The value of the slot, if it holds one.
    pub fn value(&self) -> Option<&'b SlotValue> {
        if let Self::Value(value) = self { Some(value) } else { None }
    }

    /// The service or size, if it holds one.
    pub fn cup(&self) -> Option<&Id> {
        if let Self::Cup(id) = self { Some(id) } else { None }
    }

    /// The counter and its sum, if it holds one.
    pub fn count(&self) -> Option<(&'b CounterModifier, i32)> {
        if let Self::Count(counter, n) = self { Some((counter, *n)) } else { None }
    }
}

impl<'b> Held<'b> {
    /// What it does, and how many times.
    pub fn effect(&self) -> Option<(&'b Effect, i32)> {
        match (&self.holding, self.modifier) {
            (Holding::Value(value), _) => Some((&value.does, 1)),
            (Holding::Count(counter, n), _) => Some((&counter.does, *n)),
            (Holding::Flag, Modifier::Flag(flag)) => Some((&flag.does, 1)),
            (Holding::Cup(_) | Holding::Celsius(_) | Holding::Capacity(_) | Holding::Flag, _) => {
                None
            }
        }
    }

    /// Change of the price of this cup.
    pub fn price(&self, bar: &Bar, cup: &Cup) -> Money {
        match (&self.holding, self.modifier) {
            (Holding::Value(value), Modifier::Slot(slot)) => price_of(bar, slot, value, cup),
            (Holding::Value(value), _) => value.price_delta,
            (Holding::Count(counter, n), _) => counter.price_delta_each.times((*n).into()),
            (Holding::Flag, Modifier::Flag(flag)) => flag.price_delta,
            (Holding::Cup(_) | Holding::Celsius(_) | Holding::Capacity(_) | Holding::Flag, _) => {
                Money::ZERO
            }
        }
    }

    /// Its phase.
    pub fn phase(&self) -> Phase {
        self.modifier.phase()
    }
}

/// What a value adds to the price of a cup: its own, or that of the halves more or fewer.
pub fn price_of(bar: &Bar, slot: &SlotModifier, value: &SlotValue, cup: &Cup) -> Money {
    let counter = slot.priced_by.as_ref().and_then(|id| bar.modifier(id));
    match (counter, value.does.halves) {
        (Some((_, Modifier::Counter(counter))), Some(halves)) => {
            let more = i64::from(halves) - i64::from(cup.halves);
            counter.price_delta_each.times(more) + value.price_delta
        }
        _ => value.price_delta,
    }
}

/// Collects the modifiers of `line` in the order of the book; faults go to `objections`.
pub(super) fn collect<'b>(
    bar: &'b Bar,
    line: &Line,
    objections: &mut Vec<Objection>,
) -> Vec<Held<'b>> {
    let mut held: Vec<Held<'b>> = Vec::with_capacity(line.modifiers.len());
    for (given, one) in line.modifiers.iter().enumerate() {
        let Some((position, modifier)) = bar.modifier(&one.id) else {
            objections.push(unknown_modifier(bar, &one.id, given));
            continue;
        };
        let holding = match read(modifier, &one.what) {
            Ok(holding) => holding,
            Err(objection) => {
                objections.push(objection.at(given));
                continue;
            }
        };
        match held.iter_mut().find(|other| other.position == position) {
            None => held.push(Held { position, modifier, holding, given }),
            Some(other) => {
                if let Some(objection) = merge(&mut other.holding, holding, modifier) {
                    objections.push(objection.at(given));
                }
            }
        }
    }
    for one in &held {
        if let Holding::Count(counter, n) = &one.holding
            && !(counter.min..=counter.max).contains(n)
        {
            objections.push(count_out_of_range(counter, *n).at(one.given));
        }
    }
    held.retain(|one| !matches!(one.holding, Holding::Count(_, 0)));
    held.sort_by_key(|one| one.position);
    objections.extend(too_many_together(&held));
    held
}

/// What `what` means for `modifier`.
fn read<'b>(modifier: &'b Modifier, what: &What) -> Result<Holding<'b>, Objection> {
    match (modifier, what) {
        (Modifier::Slot(slot), What::Value(value))
            if slot.phase == Phase::Cup && slot.millilitres.is_none() =>
        {
            Ok(Holding::Cup(Id::from(value.as_str())))
        }
        (Modifier::Slot(slot), What::Value(value)) if slot.phase != Phase::Cup => {
            let known = slot.values.iter().find(|known| known.id == value.as_str());
            known.map(Holding::Value).ok_or_else(|| unknown_value(slot, value))
        }
        (Modifier::Slot(slot), What::Number(number)) if takes_numbers(slot) => {
            number_of(slot, *number)
        }
        (Modifier::Counter(counter), What::Count(n)) => Ok(Holding::Count(counter, *n)),
        (Modifier::Flag(_), What::Flag) => Ok(Holding::Flag),
        (Modifier::Slot(_) | Modifier::Counter(_) | Modifier::Flag(_), _) => {
            let form = match modifier {
                Modifier::Slot(_) => Phrase::FormValue,
                Modifier::Counter(_) => Phrase::FormCount,
                Modifier::Flag(_) => Phrase::FormAlone,
            };
            Err(Objection::refuse(Code::WrongForm)
                .about(modifier.id())
                .name("modifier", modifier.names())
                .say("form", form)
                .fixes([Fix::Withdraw(modifier.id().clone())]))
        }
    }
}

fn takes_numbers(slot: &SlotModifier) -> bool {
    slot.celsius.is_some() || slot.millilitres.is_some()
}

/// What a number means for a slot that takes degrees or millilitres.
fn number_of<'b>(slot: &SlotModifier, number: Figure) -> Result<Holding<'b>, Objection> {
    let n = number.thousandths();
    let (field, bounds, holding) = match (&slot.celsius, &slot.millilitres) {
        (Some(c), _) => {
            let holding = Holding::Celsius(Temperature::from_mc(n));
            ("set_point_c", Some((c.min.mc(), c.max.mc())), holding)
        }
        (None, ml) => {
            let bounds = ml.as_ref().map(|ml| (ml.min.ul(), ml.max.ul()));
            ("capacity_ml", bounds, Holding::Capacity(Volume::from_ul(n)))
        }
    };
    let Some((min, max)) = bounds.filter(|(min, max)| !(*min..=*max).contains(&n)) else {
        return Ok(holding);
    };
    let nearest = Figure::from_thousandths(n.clamp(min, max));
    // A larger cup cannot be wished for, so only degrees have a nearest way out.
    let fixes = slot.celsius.is_some().then(|| Fix::SetNumber(slot.id.clone(), nearest));
    Err(Objection::refuse(Code::ValueOutOfRange)
        .about(&slot.id)
        .name("modifier", &slot.names)
        .measure(Measured { field, value: n, min: Some(min), max: Some(max) })
        .fixes(fixes))
}

/// Complains about the first counter whose sum with others is over their common bound.
fn too_many_together(held: &[Held<'_>]) -> Option<Objection> {
    held.iter().find_map(|one| {
        let (counter, n) = one.holding.count()?;
        let limit = counter.together.as_ref()?;
        let counts = held.iter().filter_map(|other| other.holding.count());
        let others = counts.filter(|(other, _)| limit.with.contains(&other.id));
        let sum = n + others.map(|(_, n)| n).sum::<i32>();
        (sum > limit.max).then(|| {
            let measured = Measured {
                field: "count",
                value: i64::from(sum) * 1_000,
                min: Some(0),
                max: Some(i64::from(limit.max) * 1_000),
            };
            let fewer = (n - (sum - limit.max)).max(0);
            Objection::refuse(Code::TooManyTogether)
                .about(&counter.id)
                .at(one.given)
                .name("modifier", &counter.names)
                .measure(measured)
                .fixes([Fix::Count(counter.id.clone(), fewer)])
        })
    })
}

/// Brings a second mention of a modifier into the first.
fn merge<'b>(
    first: &mut Holding<'b>,
    second: Holding<'b>,
    modifier: &Modifier,
) -> Option<Objection> {
    match (first, second) {
        (Holding::Count(_, sum), Holding::Count(_, n)) => {
            // Counts are bounded on the wire, so only absurd repetition could overflow.
            *sum = sum.saturating_add(n);
            None
        }
        (first, second) if *first == second => None,
        (first, second) => {
            let ways = [way(first, modifier.id()), way(&second, modifier.id())];
            Some(
                Objection::refuse(Code::TwoValues)
                    .about(modifier.id())
                    .name("modifier", modifier.names())
                    .fixes(ways.into_iter().flatten()),
            )
        }
    }
}

/// The way out that keeps what is held.
fn way(holding: &Holding<'_>, id: &Id) -> Option<Fix> {
    match holding {
        Holding::Value(value) => Some(Fix::Set(id.clone(), value.id.clone())),
        Holding::Cup(value) => Some(Fix::Set(id.clone(), value.clone())),
        Holding::Celsius(c) => Some(Fix::SetNumber(id.clone(), Figure::from_thousandths(c.mc()))),
        Holding::Capacity(ml) => {
            Some(Fix::SetNumber(id.clone(), Figure::from_thousandths(ml.ul())))
        }
        Holding::Count(..) | Holding::Flag => None,
    }
}

fn unknown_modifier(bar: &Bar, id: &str, given: usize) -> Objection {
    let near = nearest(id, bar.book.modifiers.iter().map(Modifier::id));
    let shown = near.first().map_or("–", |id| &***id);
    let of: Id = id.into();
    Objection::refuse(Code::UnknownModifier)
        .involving(id)
        .at(given)
        .text("asked", id)
        .text("near", shown)
        .fixes(near.iter().map(|by| Fix::Instead { of: of.clone(), by: (*by).clone() }))
        .fixes([Fix::Withdraw(of.clone())])
}

fn unknown_value(slot: &SlotModifier, value: &str) -> Objection {
    let near = nearest(value, slot.values.iter().map(|value| &value.id));
    let known: Vec<&str> = slot.values.iter().map(|value| &*value.id).collect();
    Objection::refuse(Code::UnknownValue)
        .about(&slot.id)
        .name("modifier", &slot.names)
        .text("asked", value)
        .text("known", &known.join(", "))
        .fixes(near.into_iter().map(|near| Fix::Set(slot.id.clone(), near.clone())))
        .fixes([Fix::Withdraw(slot.id.clone())])
}

fn count_out_of_range(counter: &CounterModifier, n: i32) -> Objection {
    let nearest = n.clamp(counter.min, counter.max);
    Objection::refuse(Code::CountOutOfRange)
        .about(&counter.id)
        .name("modifier", &counter.names)
        .measure(Measured {
            field: "count",
            value: i64::from(n) * 1_000,
            min: Some(i64::from(counter.min) * 1_000),
            max: Some(i64::from(counter.max) * 1_000),
        })
        .fixes([Fix::Count(counter.id.clone(), nearest)])
}
