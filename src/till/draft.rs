//! A first sheet for a till: a button for each cup of each drink that can be made here, and one for
//! each modifier that something takes.

use super::{
    check::{Finding, check},
    map::{Button, TillMap},
    sheet::LONGEST,
};
use crate::{
    book::{Bar, ExampleModifier, ExampleValue, Modifier, Phase},
    engine::Moment,
};

/// A sheet whose codes are running numbers, to be replaced by the till's own.
pub fn draft(bar: &Bar, lang: &str) -> TillMap {
    let mut buttons: Vec<Button> = Vec::new();
    for drink in &bar.book.drinks {
        for (service, sizes) in &drink.cups {
            for size in bar.book.sizes.iter().filter(|size| sizes.contains_key(&size.id)) {
                let capacity = bar.usual_capacity(*service, &sizes[&size.id].vessel);
                let cup = [value("service", service.as_str()), value("size", &size.id)];
                let capacity = capacity.map(|ml| ExampleModifier {
                    id: "capacity".to_owned(),
                    value: Some(ExampleValue::Number(crate::units::Figure::from_thousandths(
                        ml.ul(),
                    ))),
                    count: None,
                });
                let name = drink.names.in_lang(lang);
                buttons.push(Button {
                    label: format!("{name}, {}, {}", service.as_str(), size.names.in_lang(lang)),
                    drink: Some(drink.id.to_string()),
                    modifiers: cup.into_iter().chain(capacity).collect(),
                    ..Button::default()
                });
            }
        }
    }
    for modifier in bar.book.modifiers.iter().filter(|one| one.phase() != Phase::Cup) {
        buttons.extend(of_modifier(modifier, lang));
    }
    let map = TillMap { site: bar.site.id.clone(), buttons };
    let right = check(bar, &map, &Moment::default()).buttons.into_iter();
    let right = right.filter(|one| matches!(one.finding, Finding::Right)).map(|one| one.row);
    // A long name is cut where a sheet ends a label, or the draft could not be read again.
    let short = |label: &str| label.chars().take(LONGEST).collect::<String>().trim().to_owned();
    let numbered = right.enumerate().map(|(at, row)| Button {
        code: (at + 1).to_string(),
        label: short(&row.label),
        ..row
    });
    TillMap { buttons: numbered.collect(), ..map }
}

fn value(id: &str, value: &str) -> ExampleModifier {
    ExampleModifier { id: id.to_owned(), value: Some(ExampleValue::Id(value.into())), count: None }
}

fn of_modifier(modifier: &Modifier, lang: &str) -> Vec<Button> {
    let id = modifier.id().to_string();
    let one =
        |label: String, modifier| Button { label, modifiers: vec![modifier], ..Button::default() };
    let name = || modifier.names().in_lang(lang).to_owned();
    match modifier {
        Modifier::Slot(slot) => {
            let label = |text: &str| text.to_owned();
            let values = slot.values.iter();
            values
                .map(|known| one(label(known.sticker.in_lang(lang)), value(&id, &known.id)))
                .collect()
        }
        Modifier::Counter(_) => {
            vec![one(name(), ExampleModifier { id, value: None, count: Some(1) })]
        }
        Modifier::Flag(_) => vec![one(name(), ExampleModifier { id, value: None, count: None })],
    }
}
