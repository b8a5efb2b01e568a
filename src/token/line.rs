//! The line of a token: places in the lists of its book.

use super::bits::{Bits, Reader, width};
use crate::{
    book::{Bar, Modifier, Phase, SlotModifier},
    engine::{Given, What},
    units::Figure,
};

/// What a token says of its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CodedLine {
    /// Drink, by id.
    pub drink: String,
    /// Modifiers in normal form.
    pub modifiers: Vec<Given>,
    /// Language.
    pub lang: String,
}

/// Writes a line.
///
/// * Result: `None` if the book lacks any of it, or the modifiers are not in its order.
pub(super) fn write(
    bits: &mut Bits,
    bar: &Bar,
    drink: &str,
    modifiers: &[Given],
    lang: &str,
) -> Option<()> {
    let (book, all) = (&bar.book, bar.book.modifiers.len());
    bits.push_place(book.languages.iter().position(|one| **one == *lang)?, book.languages.len())?;
    bits.push_place(bar.drink_position(drink)?, book.drinks.len())?;
    let mut next = 0;
    for given in modifiers {
        let (place, modifier) = bar.modifier(&given.id)?;
        bits.push(1, 1)?;
        bits.push_place(place.checked_sub(next)?, all - next)?;
        write_what(bits, bar, modifier, &given.what)?;
        next = place + 1;
    }
    if next < all { bits.push(0, 1) } else { Some(()) }
}

/// Reads a line; `None` if no line of the book is written so.
pub(super) fn read(bits: &mut Reader, bar: &Bar) -> Option<CodedLine> {
    let book = &bar.book;
    let lang = book.languages.get(bits.take_place(book.languages.len())?)?.to_string();
    let drink = book.drinks.get(bits.take_place(book.drinks.len())?)?.id.to_string();
    let (mut modifiers, mut next) = (Vec::new(), 0);
    while next < book.modifiers.len() && bits.take(1)? == 1 {
        let place = next + bits.take_place(book.modifiers.len() - next)?;
        let modifier = book.modifiers.get(place)?;
        let what = read_what(bits, bar, modifier)?;
        modifiers.push(Given { id: modifier.id().to_string(), what });
        next = place + 1;
    }
    Some(CodedLine { drink, modifiers, lang })
}

fn write_what(bits: &mut Bits, bar: &Bar, modifier: &Modifier, what: &What) -> Option<()> {
    match (modifier, what) {
        (Modifier::Flag(_), What::Flag) => Some(()),
        (Modifier::Counter(counter), What::Count(n)) => {
            let count = i64::from(counter.max) - i64::from(counter.min) + 1;
            write_one_of(bits, i64::from(*n) - i64::from(counter.min), count)
        }
        (Modifier::Slot(slot), What::Value(value)) => {
            let values = values(bar, slot);
            if !values.is_empty() && numbers(slot).is_some() {
                bits.push(0, 1)?;
            }
            bits.push_place(values.iter().position(|one| one == value)?, values.len())
        }
        (Modifier::Slot(slot), What::Number(number)) => {
            let bounds = numbers(slot)?;
            if !values(bar, slot).is_empty() {
                bits.push(1, 1)?;
            }
            write_number(bits, number.thousandths(), bounds)
        }
        (Modifier::Flag(_) | Modifier::Counter(_) | Modifier::Slot(_), _) => None,
    }
}

fn read_what(bits: &mut Reader, bar: &Bar, modifier: &Modifier) -> Option<What> {
    match modifier {
        Modifier::Flag(_) => Some(What::Flag),
        Modifier::Counter(counter) => {
            let count = i64::from(counter.max) - i64::from(counter.min) + 1;
            let n = read_one_of(bits, count)? + i64::from(counter.min);
            n.try_into().ok().map(What::Count)
        }
        Modifier::Slot(slot) => {
            let (values, numbers) = (values(bar, slot), numbers(slot));
            let is_number = match numbers {
                Some(_) if values.is_empty() => true,
                Some(_) => bits.take(1)? == 1,
                None => false,
            };
            if let Some(bounds) = numbers.filter(|_| is_number) {
                let number = read_number(bits, bounds)?;
                return Some(What::Number(Figure::from_thousandths(number)));
            }
            let value = values.get(bits.take_place(values.len())?)?;
            Some(What::Value((*value).to_owned()))
        }
    }
}

/// The values that a slot takes by id: its own, or the rows and columns of the cup tables.
fn values<'b>(bar: &'b Bar, slot: &'b SlotModifier) -> Vec<&'b str> {
    if slot.phase != Phase::Cup {
        return slot.values.iter().map(|one| &*one.id).collect();
    }
    match &*slot.id {
        _ if slot.millilitres.is_some() => Vec::new(),
        "service" => bar.book.services.iter().map(|row| row.id.as_str()).collect(),
        "size" => bar.book.sizes.iter().map(|row| &*row.id).collect(),
        // A book has no other cup's slot; one would have no token rather than a wrong one.
        _ => Vec::new(),
    }
}

/// The least and the most number that a slot takes, in thousandths.
fn numbers(slot: &SlotModifier) -> Option<(i64, i64)> {
    let celsius = slot.celsius.as_ref().map(|c| (c.min.mc(), c.max.mc()));
    celsius.or_else(|| slot.millilitres.as_ref().map(|ml| (ml.min.ul(), ml.max.ul())))
}

/// Writes a number: most are whole, and take a tenth less bits for it.
fn write_number(bits: &mut Bits, number: i64, (least, most): (i64, i64)) -> Option<()> {
    let is_whole = number % 1_000 == 0;
    bits.push(u64::from(!is_whole), 1)?;
    if is_whole {
        let (first, count) = whole((least, most));
        write_one_of(bits, number / 1_000 - first, count)
    } else {
        write_one_of(bits, number - least, most - least + 1)
    }
}

fn read_number(bits: &mut Reader, (least, most): (i64, i64)) -> Option<i64> {
    if bits.take(1)? == 0 {
        let (first, count) = whole((least, most));
        return Some((first + read_one_of(bits, count)?) * 1_000);
    }
    Some(least + read_one_of(bits, most - least + 1)?)
}

/// The first whole number within bounds in thousandths that are not negative, and how many there
/// are.
fn whole((least, most): (i64, i64)) -> (i64, i64) {
    let first = (least + 999) / 1_000;
    (first, most / 1_000 - first + 1)
}

/// Writes one of `count` numbers, the first of which is 0.
fn write_one_of(bits: &mut Bits, number: i64, count: i64) -> Option<()> {
    let (number, count) = (u64::try_from(number).ok()?, u64::try_from(count).ok()?);
    if number < count { bits.push(number, width(count)) } else { None }
}

fn read_one_of(bits: &mut Reader, count: i64) -> Option<i64> {
    let number = bits.take(width(u64::try_from(count).ok()?))?;
    i64::try_from(number).ok().filter(|number| *number < count)
}
