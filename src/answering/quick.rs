//! Reading a sound ticket quickly: one typed pass and hand-written bounds in place of the schema.
//!
//! It never says what is wrong. Whatever is not plainly sound is left to [`super::read_ticket`],
//! which names every fault; a test holds the two to the same judgement.

use memchr::memchr2_iter;

use crate::{
    json::{Limits, Object},
    wire::{OrderInfo, Pin, Ticket, TicketLine, TicketModifier, TicketValue},
};

/// The ticket, if the body is plainly a sound one.
pub fn read_quickly(body: &[u8]) -> Option<Ticket> {
    if body.len() > Limits::TICKET.bytes {
        return None;
    }
    // Judged once as a whole, not text by text.
    let text = std::str::from_utf8(body).ok()?;
    let Object(ticket) = serde_json::from_str::<Object<Ticket>>(text).ok()?;
    let odd = || has_number(&ticket) && has_odd_number(body);
    (is_sound(&ticket) && !odd()).then_some(ticket)
}

/// Whether a value is a number. Counts and quantities are whole, or they are not read at all.
fn has_number(ticket: &Ticket) -> bool {
    let mut modifiers = ticket.lines.iter().flat_map(|line| &line.modifiers);
    modifiers.any(|modifier| matches!(modifier.value, Some(TicketValue::Number(_))))
}

/// Whether a number may have more places than may be stated and yet be read as one that has not:
/// four digits behind a point, or a negative exponent. Within a text this is only a false alarm.
fn has_odd_number(body: &[u8]) -> bool {
    let digit = |at: usize| body.get(at).is_some_and(u8::is_ascii_digit);
    memchr2_iter(b'.', b'-', body).any(|at| match body[at] {
        b'.' => (1..=4).all(|n| digit(at + n)),
        _ => at >= 2 && body[at - 1].eq_ignore_ascii_case(&b'e') && digit(at - 2),
    })
}

/// Whether a text has at most `most` characters.
fn within(text: &str, most: usize) -> bool {
    text.len() <= most || text.chars().count() <= most
}

/// Whether a text that may be left out has at most `most` characters.
fn short(text: Option<&String>, most: usize) -> bool {
    text.is_none_or(|text| within(text, most))
}

/// Whether a text that must say something has at most 64 characters.
fn named(text: &str) -> bool {
    !text.is_empty() && within(text, 64)
}

fn is_sound(ticket: &Ticket) -> bool {
    let Ticket { site, pin, lang, out_of_stock, order, lines } = ticket;
    within(site, 64)
        && pin.as_ref().is_none_or(sound_pin)
        && short(lang.as_ref(), 35)
        && out_of_stock.len() <= 200
        && order.as_ref().is_none_or(sound_order)
        && (1..=100).contains(&lines.len())
        && lines.iter().enumerate().all(|(at, line)| {
            sound_line(line) && lines[..at].iter().all(|other| other.line != line.line)
        })
}

fn sound_pin(pin: &Pin) -> bool {
    let Pin { book, overlay, site } = pin;
    [book, overlay, site].into_iter().all(|one| short(one.as_ref(), 80))
}

fn sound_order(order: &OrderInfo) -> bool {
    let OrderInfo { r#ref, name, at } = order;
    let is_time = |text: &String| text.parse::<jiff::Timestamp>().is_ok();
    short(r#ref.as_ref(), 32)
        && short(name.as_ref(), 40)
        && short(at.as_ref(), 40)
        && at.as_ref().is_none_or(is_time)
}

/// A line by codes alone is left to the other reader: an empty `drink` is not one that is left out.
fn sound_line(line: &TicketLine) -> bool {
    let TicketLine {
        line,
        drink,
        quantity,
        modifiers,
        codes,
        allergies,
        diets,
        confirmed,
        override_reason,
        note,
    } = line;
    named(line)
        && named(drink)
        && (1..=99).contains(quantity)
        && modifiers.len() <= 32
        && modifiers.iter().all(sound_modifier)
        && codes.len() <= 32
        && allergies.len() <= 16
        && diets.len() <= 8
        && confirmed.len() <= 8
        && short(override_reason.as_ref(), 120)
        && short(note.as_ref(), 40)
}

fn sound_modifier(modifier: &TicketModifier) -> bool {
    let TicketModifier { id, value, count } = modifier;
    let sound_value = |value: &TicketValue| match value {
        TicketValue::Id(id) => named(id),
        TicketValue::Number(_) => true,
    };
    named(id)
        && value.as_ref().is_none_or(sound_value)
        && count.is_none_or(|count| (-99..=99).contains(&count))
        && (value.is_none() || count.is_none())
}
