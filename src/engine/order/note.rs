//! The note: a word in it for which there is a field is asked about, since nobody checks a note.

use crate::{
    book::{Bar, ExampleModifier, ExampleValue, Found, Id, Meaning, Modifier, Said},
    engine::{
        line::Line,
        objection::{Code, Fix, Manner, Objection},
    },
};

/// Asks to use the proper field, if the line's note names an allergy, a diet or a modifier.
///
/// Where it names allergies or diets, the one choice declares all of them and keeps what else the note
/// says. An allergy to something that the book does not know leaves no choice at all. A wish that the
/// note takes back is offered only where the drink is made so.
pub fn note(bar: &Bar, line: &Line) -> Option<Objection> {
    let Said { found, rest } = bar.lexicon().read(line.note.as_deref()?);
    let first = found.first()?;
    let mut ask = Objection::refuse(Code::NoteNamesField).text("word", &first.words);
    ask.manner = Manner::Ask;
    ask.safety = found.iter().any(|one| matches!(one.meaning, Meaning::Unnamed));
    let field = match first.meaning {
        Meaning::Allergy(_) | Meaning::Unnamed => "allergies",
        Meaning::Diet(_) => "diets",
        Meaning::Value(..) | Meaning::Given(_) | Meaning::Open(_) => "modifiers",
    };
    ask = ask.text("field", field);
    let declared: Vec<Fix> = found.iter().filter_map(declaration).collect();
    if !declared.is_empty() || ask.safety {
        let named = found.iter().any(|one| matches!(one.meaning, Meaning::Allergy(_)));
        if ask.safety && (!named || !rest.is_empty()) {
            return Some(ask);
        }
        let kept = Fix::Note((!rest.is_empty()).then(|| rest.join(" ")));
        return Some(ask.fixes([Fix::All([kept].into_iter().chain(declared).collect())]));
    }
    let drink = bar.drink(&line.drink);
    let wishes: Vec<Fix> =
        found.iter().filter(|one| !one.negated).filter_map(|one| wish(one.meaning)).collect();
    let holds = |one: &Found<'_>| {
        let adds = ingredient_of(bar, one.meaning);
        let parts = drink.into_iter().flat_map(|drink| &drink.parts);
        adds.is_some_and(|id| parts.into_iter().any(|part| part.ingredient() == Some(id)))
    };
    // What the drink has by itself cannot be left out by leaving out the note.
    let as_usual = wishes.is_empty() && !found.iter().any(|one| one.negated && holds(one));
    let plain = as_usual.then_some(Fix::Note(None));
    let wishes = wishes.into_iter().map(|wish| Fix::All(vec![Fix::Note(None), wish]));
    Some(ask.fixes(wishes).fixes(plain))
}

fn declaration(found: &Found<'_>) -> Option<Fix> {
    match found.meaning {
        Meaning::Allergy(id) => Some(Fix::Allergy(id.clone())),
        Meaning::Diet(id) => Some(Fix::Diet(id.clone())),
        Meaning::Unnamed | Meaning::Value(..) | Meaning::Given(_) | Meaning::Open(_) => None,
    }
}

fn wish(meaning: &Meaning) -> Option<Fix> {
    match meaning {
        Meaning::Value(slot, value) => Some(Fix::Set(slot.clone(), value.clone())),
        Meaning::Given(given) => {
            let ExampleModifier { id, value, count } = &**given;
            let id = Id::from(id.as_str());
            Some(match value {
                Some(ExampleValue::Id(value)) => Fix::Set(id, value.clone()),
                Some(ExampleValue::Number(number)) => Fix::SetNumber(id, *number),
                None => Fix::Add(id, *count),
            })
        }
        Meaning::Allergy(_) | Meaning::Unnamed | Meaning::Diet(_) | Meaning::Open(_) => None,
    }
}

/// The ingredient that a modifier adds, by id.
fn ingredient_of<'b>(bar: &'b Bar, meaning: &Meaning) -> Option<&'b Id> {
    let id: &str = match meaning {
        Meaning::Value(slot, _) => slot,
        Meaning::Given(given) => &given.id,
        Meaning::Open(id) => id,
        Meaning::Allergy(_) | Meaning::Unnamed | Meaning::Diet(_) => return None,
    };
    let (_, modifier): (_, &Modifier) = bar.modifier(id)?;
    modifier.effects().into_iter().find_map(|effect| effect.add.as_ref()).map(|add| &add.ingredient)
}
