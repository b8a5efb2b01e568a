//! What the engine says, put into words.

use super::catalogue::Catalogue;
use crate::{
    book::Bar,
    engine::{
        derive::Sticker,
        neighbours::Alternative,
        objection::{Fact, Objection},
        phrase::{Gap, Phrase},
    },
    units::{Money, write_thousandths},
};

/// A sentence with its gaps filled.
pub fn gaps(catalogue: &Catalogue, phrase: Phrase, gaps: &[(&'static str, Gap<'_>)]) -> String {
    catalogue.phrase(phrase).fill(|name, out| {
        if let Some((_, gap)) = gaps.iter().find(|(known, _)| *known == name) {
            match gap {
                Gap::Name(words) => out.push_str(words.in_lang(&catalogue.lang)),
                Gap::Number(value, places) => {
                    write_thousandths(out, *value, *places, catalogue.mark);
                }
                Gap::Also(words) => {
                    out.push_str(", ");
                    out.push_str(words.in_lang(&catalogue.lang));
                }
                Gap::Say(phrase) => {
                    out.push_str(&catalogue.phrase(*phrase).fill(|_, _| {}));
                }
                Gap::Says(phrases) => listed(catalogue, phrases.iter().flatten(), out),
            }
        }
    })
}

fn listed<'p>(catalogue: &Catalogue, phrases: impl Iterator<Item = &'p Phrase>, out: &mut String) {
    for (at, phrase) in phrases.enumerate() {
        out.push_str(if at > 0 { ", " } else { "" });
        out.push_str(&catalogue.phrase(*phrase).fill(|_, _| {}));
    }
}

/// Why a line is asked about or refused: the book's own sentence, or that of the code.
pub fn objection(catalogue: &Catalogue, objection: &Objection) -> String {
    if let Some(words) = &objection.words {
        return words.in_lang(&catalogue.lang).to_owned();
    }
    let Some(template) = catalogue.code(objection.code) else {
        return objection.code.as_str().to_owned();
    };
    template.fill(|name, out| {
        match objection.facts.iter().find(|(known, _)| *known == name) {
            Some((_, Fact::Text(text))) => out.push_str(text),
            Some((_, Fact::Name(words))) => out.push_str(words.in_lang(&catalogue.lang)),
            Some((_, Fact::Number(value))) => {
                // A share needs one place more than an amount.
                let places = if value.abs() < 1_000 { 2 } else { 1 };
                write_thousandths(out, *value, places, catalogue.mark);
            }
            Some((_, Fact::Say(phrase))) => {
                out.push_str(&catalogue.phrase(*phrase).fill(|_, _| {}));
            }
            Some((_, Fact::Says(phrases))) => listed(catalogue, phrases.iter(), out),
            // A bound that is not there: the sentence still reads.
            None => out.push('–'),
        }
    })
}

/// Words for a sticker.
pub fn sticker(catalogue: &Catalogue, sticker: &Sticker<'_>) -> String {
    match sticker {
        Sticker::Words(words) => words.in_lang(&catalogue.lang).to_owned(),
        Sticker::Count { words, n, signed } => {
            let number = match (signed, n) {
                (true, ..=-1) => format!("\u{2212} {}", n.unsigned_abs()),
                (true, _) => format!("+ {n}"),
                (false, _) => n.to_string(),
            };
            words.in_lang(&catalogue.lang).replace("{n}", &number)
        }
        Sticker::Celsius(c) => {
            let mut text = String::new();
            write_thousandths(&mut text, *c, 1, catalogue.mark);
            text + " °C"
        }
        Sticker::Millilitres(ml) => {
            let mut text = String::new();
            write_thousandths(&mut text, *ml, 0, catalogue.mark);
            text + " mL"
        }
    }
}

/// An alternative in words: the drink, what else is changed, and how it differs from what was
/// asked in cup, halves and price.
pub fn alternative(catalogue: &Catalogue, bar: &Bar, one: &Alternative<'_>) -> String {
    let order = &one.build.order;
    let mut text = order.asked.names.in_lang(&catalogue.lang).to_owned();
    let changes = one.build.changes.iter();
    let words: Vec<String> = changes.map(|change| sticker(catalogue, &change.sticker)).collect();
    let plain = |phrase| gaps(catalogue, phrase, &[]);
    if !words.is_empty() {
        text = format!("{text} ({})", words.join(", "));
    }
    let mut rest = Vec::new();
    if one.confirmed {
        rest.push(plain(Phrase::AltConfirmed));
    }
    if let Some(against) = one.against {
        if against.same_cup {
            rest.push(plain(Phrase::AltSameCup));
        } else {
            rest.push(order.vessel.vessel.names.in_lang(&catalogue.lang).to_owned());
        }
        let number = |n: i64| [("n", Gap::Number(n * 1_000, 0))];
        let halves = i64::from(against.halves);
        if halves > 0 {
            rest.push(gaps(catalogue, Phrase::AltHalvesMore, &number(halves)));
        } else if halves < 0 {
            rest.push(gaps(catalogue, Phrase::AltHalvesFewer, &number(-halves)));
        }
        // Milligrams are thousandths of a gram.
        let about = |mg: i64| gaps(catalogue, Phrase::AltCaffeineMore, &number(mg));
        let less = |mg: i64| gaps(catalogue, Phrase::AltCaffeineLess, &number(mg));
        match against.caffeine.mg() {
            0 => {}
            mg @ 1.. => rest.push(about(mg)),
            mg => rest.push(less(-mg)),
        }
        if against.price == Money::ZERO {
            rest.push(plain(Phrase::AltPriceSame));
        } else {
            let places = usize::from(bar.book.currency_places);
            let sign = if against.price > Money::ZERO { "+" } else { "" };
            let amount =
                against.price.with_places(places).replace('.', &catalogue.mark.to_string());
            let amount = amount.replace('-', "\u{2212}");
            let change = format!("{sign}{amount}");
            rest.push(format!("{} {change}", plain(Phrase::AltPrice)));
        }
    }
    if rest.is_empty() { text } else { format!("{text}: {}", rest.join(", ")) }
}
