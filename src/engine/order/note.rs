//! The note: a word in it for which there is a field is asked about, since nobody checks a note.

use crate::{
    book::{Bar, ExampleValue, Id, Meaning},
    engine::{
        line::Line,
        objection::{Code, Fix, Manner, Objection},
    },
};

/// Asks to use the proper field, if the line's note names an allergy, a diet or a modifier.
///
/// Nothing that a field can say is offered away, and beside an allergy nothing else is offered.
pub fn note(bar: &Bar, line: &Line) -> Option<Objection> {
    let found = bar.lexicon().find(line.note.as_deref()?);
    let (word, first) = found.first()?;
    let allergy = |meaning: &Meaning| matches!(meaning, Meaning::Allergy(_));
    let mut ask = Objection::refuse(Code::NoteNamesField).text("word", word);
    ask.manner = Manner::Ask;
    let instead = |fix: Fix| Fix::All(vec![Fix::NoNote, fix]);
    for (_, meaning) in &found {
        ask = match meaning {
            Meaning::Allergy(id) => ask.fixes([instead(Fix::Allergy(id.clone()))]),
            _ if allergy(first) => ask,
            Meaning::Diet(id) => ask.fixes([instead(Fix::Diet(id.clone()))]),
            Meaning::Value(slot, value) => {
                ask.fixes([instead(Fix::Set(slot.clone(), value.clone()))])
            }
            Meaning::Given(given) => {
                let id = Id::from(given.id.as_str());
                ask.fixes([instead(match &given.value {
                    Some(ExampleValue::Id(value)) => Fix::Set(id, value.clone()),
                    Some(ExampleValue::Number(number)) => Fix::SetNumber(id, *number),
                    None => Fix::Add(id, given.count),
                })])
            }
            Meaning::Open(_) => ask,
        };
    }
    let field = match first {
        Meaning::Allergy(_) => "allergies",
        Meaning::Diet(_) => "diets",
        Meaning::Value(..) | Meaning::Given(_) | Meaning::Open(_) => "modifiers",
    };
    // What has a field is given there; only a word that names no wish can just be left out.
    let open = found.iter().all(|(_, meaning)| matches!(meaning, Meaning::Open(_)));
    let without = open.then_some(Fix::NoNote);
    Some(ask.text("field", field).fixes(without))
}
