//! What is in the cup and where it stands in it, for the drawing of a card.

use super::content::{Say, places};
use crate::{
    book::{Bar, Ingredient, IngredientKind, Part, Stage, Vessel, Words},
    engine::{
        Build,
        phrase::{Gap, Phrase},
        solve::{ColdMilk, Layer, LayerOf, Milk, Portion, PortionOf, SteamedMilk},
    },
    label::card::{Caption, Cone, Hatch, Layer as Drawn, Section},
    units::Volume,
};

/// Where a layer stands: liquids as they are poured; ice swims on them, foam on both, and what goes
/// on top last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Liquid,
    Ice,
    Foam,
    Top,
}

/// The section of a build's cup.
pub(super) fn section(bar: &Bar, build: &Build<'_>, say: &Say<'_>) -> Section {
    let (order, solved) = (&build.order, &build.solved);
    let vessel: &Vessel = order.vessel.vessel;
    let brim = order.capacity.unwrap_or(vessel.brim_ml);
    let line = vessel.diameter_at_fill_mm;
    let floor = vessel.diameter_at_floor_mm.unwrap_or(line);
    Section {
        cone: Cone::new(floor, line, vessel.fill_ml, brim),
        layers: layers(build, bar.site.pour_mark_ml, say),
        fill: Caption { figure: say.ml(solved.fill), name: say.plain(Phrase::CardFill) },
        brim: Caption { figure: String::new(), name: brim_label(brim, say) },
        on_top: on_top(build, say),
        beside: beside(build, say),
    }
}

fn brim_label(brim: Volume, say: &Say<'_>) -> String {
    format!("{} {}", say.ml(brim), say.plain(Phrase::CardBrim))
}

/// The layers from the floor upwards.
///
/// * `mark`: from one mark of a pour to the next.
fn layers(build: &Build<'_>, mark: Volume, say: &Say<'_>) -> Vec<Drawn> {
    let foam = foam(build);
    let mut all: Vec<&Layer<'_>> = build.solved.layers.iter().collect();
    if goes_into_coffee(build) {
        // What is stirred into the coffee comes into the cup with it.
        let (stirred, mut rest): (Vec<_>, Vec<_>) =
            all.into_iter().partition(|layer| is_loose(build, layer));
        let at = rest.iter().position(|layer: &&Layer<'_>| layer.of == LayerOf::Coffee);
        let at = at.unwrap_or(rest.len());
        rest.splice(at..at, stirred);
        all = rest;
    }
    let drawn = all.into_iter().filter_map(|layer| {
        let (place, hatch, label, volume) = one(build, layer, (foam, mark), say)?;
        Some((place, Drawn { hatch, volume, label }))
    });
    let mut drawn: Vec<(Place, Drawn)> = drawn.collect();
    drawn.sort_by_key(|(place, _)| *place);
    let drawn = drawn.into_iter().map(|(_, layer)| layer);
    drawn.filter(|layer| layer.volume > Volume::ZERO).collect()
}

/// Whether a step stirs what has to dissolve into the coffee, before that comes into the cup.
fn goes_into_coffee(build: &Build<'_>) -> bool {
    let into = [Phrase::InCoffeeMeasure, Phrase::InCoffeeWeigh];
    build.steps.iter().any(|step| into.contains(&step.phrase))
}

/// Whether a layer has to dissolve.
fn is_loose(build: &Build<'_>, layer: &Layer<'_>) -> bool {
    let LayerOf::Ingredient(id) = layer.of else { return false };
    let is_paste =
        |one: &Portion<'_>| matches!(one.of, PortionOf::Paste(_) | PortionOf::PasteWater(_));
    portions(build, id).any(|one| one.stage == Stage::CupBefore && !is_paste(one))
}

/// The layer of foam in the cup: its gas with the milk that holds it.
fn foam(build: &Build<'_>) -> Volume {
    let of = |which: LayerOf<'_>| {
        let layers = build.solved.layers.iter().filter(move |layer| layer.of == which);
        layers.map(|layer| layer.volume).sum::<Volume>()
    };
    let (gas, milk) = (of(LayerOf::FoamGas), of(LayerOf::Milk));
    let share =
        build.order.milk.as_ref().map_or(0, |milk| milk.texture.foam_gas_share.thousandths());
    if share == 0 {
        return gas;
    }
    gas.scaled(1_000, share).min(gas + milk)
}

/// One layer: where it stands, how it is drawn, what is said of it; none if it is drawn with another.
fn one(
    build: &Build<'_>,
    layer: &Layer<'_>,
    (foam, mark): (Volume, Volume),
    say: &Say<'_>,
) -> Option<(Place, Hatch, Caption, Volume)> {
    let Layer { of, volume } = *layer;
    let ml = |volume: Volume| ("ml", Gap::Number(volume.ul(), places(volume.ul())));
    let label = |figure: String, name: String| Caption { figure, name };
    let solved = &build.solved;
    match of {
        LayerOf::Coffee => {
            let grams = solved.coffee.map(|coffee| coffee.in_cup.mg()).unwrap_or_default();
            let name = say.told(Phrase::CardCoffee, &[ml(volume)]);
            let said = label(say.number(Phrase::CardGrams, grams), name);
            Some((Place::Liquid, Hatch::Coffee, said, volume))
        }
        LayerOf::Milk => milk(build, volume, (foam, mark), say),
        LayerOf::FoamGas => {
            let depth = match &solved.milk {
                Some(Milk::Steamed(milk)) => milk.foam_depth.um(),
                Some(Milk::Cold(_)) | None => 0,
            };
            let name = say.told(Phrase::CardFoam, &[ml(foam)]);
            let said =
                label(say.told(Phrase::CardMillimetres, &[("n", Gap::Number(depth, 0))]), name);
            Some((Place::Foam, Hatch::Foam, said, foam))
        }
        LayerOf::Water(id) => water(build, id, volume, say),
        LayerOf::Ice(id) => {
            let grams: i64 = portions(build, id).map(|one| one.mass.mg()).sum();
            let name = say.told(Phrase::CardIce, &[ml(volume)]);
            let said = label(say.number(Phrase::CardGrams, grams), name);
            Some((Place::Ice, Hatch::Ice, said, volume))
        }
        LayerOf::Ingredient(id) => ingredient(build, id, volume, say),
    }
}

/// A part of the book: what it is called, and what stands for it.
fn ingredient(
    build: &Build<'_>,
    id: &str,
    volume: Volume,
    say: &Say<'_>,
) -> Option<(Place, Hatch, Caption, Volume)> {
    let own = portions(build, id)
        .find(|one| !matches!(one.of, PortionOf::PasteWater(_) | PortionOf::Grounds(_)))?;
    let place = if own.stage == Stage::Top { Place::Top } else { Place::Liquid };
    let water = paste_water(build, id);
    let name = match water {
        Some(water) => {
            let ml = Gap::Number(water.ul(), places(water.ul()));
            let gaps = [("what", Gap::Name(&own.ingredient.names)), ("ml", ml)];
            say.told(Phrase::CardStirred, &gaps)
        }
        None => named(own, say),
    };
    let brewed = matches!(own.of, PortionOf::Brew(_));
    // A brew goes by the name of its coffee, and not of its water.
    let grounds = portions(build, id).find(|one| matches!(one.of, PortionOf::Grounds(_)));
    let of_coffee =
        |one: &Portion<'_>| one.ingredient.names.in_lang(&say.catalogue.lang).to_owned();
    let name = grounds.map_or(name, of_coffee);
    let hatch = if brewed { Hatch::Coffee } else { hatch(own.ingredient, own.by_volume) };
    let volume = volume + water.unwrap_or(Volume::ZERO);
    Some((place, hatch, Caption { figure: amount(own, say), name }, volume))
}

/// The milk under its foam.
fn milk(
    build: &Build<'_>,
    volume: Volume,
    (foam, mark): (Volume, Volume),
    say: &Say<'_>,
) -> Option<(Place, Hatch, Caption, Volume)> {
    let held = foam - gas(build);
    let below = volume - held;
    let whole = build.solved.milk.as_ref()?;
    let names = &whole.ingredient().names;
    let name = if held > Volume::ZERO {
        let ml = Gap::Number(held.ul(), places(held.ul()));
        say.told(Phrase::CardMilkFoam, &[("milk", Gap::Name(names)), ("ml", ml)])
    } else {
        names.in_lang(&say.catalogue.lang).to_owned()
    };
    // Where the mark is the nearest to what comes into the cup, both are one amount.
    let (Milk::Steamed(SteamedMilk { pour, .. }) | Milk::Cold(ColdMilk { pour, .. })) = whole;
    let apart = (pour.ul() - below.ul()).abs();
    let shown = if held == Volume::ZERO && apart < mark.ul() { *pour } else { below };
    Some((Place::Liquid, Hatch::Milk, Caption { figure: say.ml(shown), name }, below))
}

fn gas(build: &Build<'_>) -> Volume {
    let layers = build.solved.layers.iter();
    layers.filter(|layer| layer.of == LayerOf::FoamGas).map(|layer| layer.volume).sum()
}

pub(super) fn portions<'a, 'b>(
    build: &'a Build<'b>,
    id: &str,
) -> impl Iterator<Item = &'a Portion<'b>> {
    build.solved.portions.iter().filter(move |one| **one.of.id() == *id)
}

/// The water of a paste, which is drawn with its powder.
fn paste_water(build: &Build<'_>, id: &str) -> Option<Volume> {
    let mut all = portions(build, id);
    all.find(|one| matches!(one.of, PortionOf::PasteWater(_))).map(|one| one.volume)
}

/// Water, or what it has become on a leaf.
fn water(
    build: &Build<'_>,
    id: &str,
    volume: Volume,
    say: &Say<'_>,
) -> Option<(Place, Hatch, Caption, Volume)> {
    let part = build.order.parts().find(|part| **part.id() == *id)?;
    let own = portions(build, id).next()?;
    let (hatch, name) = match part {
        // It is drawn with its powder.
        Part::Paste(_) => return None,
        Part::Steep(_) => {
            let leaf = portions(build, id).find(|one| matches!(one.of, PortionOf::Leaf(_)))?;
            (Hatch::Infusion, leaf.ingredient.names.in_lang(&say.catalogue.lang).to_owned())
        }
        Part::Coffee(_)
        | Part::Milk(_)
        | Part::Water(_)
        | Part::Ice(_)
        | Part::Ingredient(_)
        | Part::Brew(_) => {
            let gaps = [("c", Gap::Number(own.at.mc(), 0))];
            (Hatch::Water, say.told(Phrase::CardWaterAt, &gaps))
        }
    };
    Some((Place::Liquid, hatch, Caption { figure: say.ml(volume), name }, volume))
}

const fn hatch(ingredient: &Ingredient, by_volume: bool) -> Hatch {
    match ingredient.kind {
        IngredientKind::Coffee => Hatch::Coffee,
        IngredientKind::Milk => Hatch::Milk,
        IngredientKind::Water => Hatch::Water,
        IngredientKind::Ice => Hatch::Ice,
        IngredientKind::Powder => Hatch::Powder,
        IngredientKind::Syrup => Hatch::Syrup,
        IngredientKind::Leaf => Hatch::Infusion,
        IngredientKind::Other if by_volume => Hatch::Water,
        IngredientKind::Other => Hatch::Thick,
    }
}

/// How much of a portion, as it is measured.
fn amount(one: &Portion<'_>, say: &Say<'_>) -> String {
    if one.by_volume { say.ml(one.volume) } else { say.number(Phrase::CardGrams, one.mass.mg()) }
}

/// What a portion is, with its room where that is not how it is measured.
fn named(one: &Portion<'_>, say: &Say<'_>) -> String {
    let names: &Words = &one.ingredient.names;
    if one.by_volume {
        return names.in_lang(&say.catalogue.lang).to_owned();
    }
    let ml = Gap::Number(one.volume.ul(), places(one.volume.ul()));
    say.told(Phrase::CardRoom, &[("what", Gap::Name(names)), ("ml", ml)])
}

/// What is in or on the cup and takes no room.
fn on_top(build: &Build<'_>, say: &Say<'_>) -> Vec<Caption> {
    let all = build.solved.portions.iter();
    let takes_none = all.filter(|one| {
        let strained = matches!(one.of, PortionOf::Leaf(_) | PortionOf::Grounds(_));
        !strained && !one.is_beside() && one.volume == Volume::ZERO
    });
    let label = |one: &Portion<'_>| Caption {
        figure: amount(one, say),
        name: say.told(Phrase::CardOnTop, &[("what", Gap::Name(&one.ingredient.names))]),
    };
    takes_none.map(label).collect()
}

/// What stands beside the cup.
fn beside(build: &Build<'_>, say: &Say<'_>) -> Vec<Caption> {
    let (order, solved) = (&build.order, &build.solved);
    let mut all = Vec::new();
    let aside = |part: &Part| order.is_aside(part.id(), part.kind());
    for part in order.parts().filter(|part| aside(part)) {
        match part {
            Part::Coffee(_) => all.extend(solved.coffee.map(|coffee| Caption {
                figure: say.number(Phrase::CardGrams, coffee.in_cup.mg()),
                name: say.plain(Phrase::CardCoffeeBeside),
            })),
            Part::Milk(_) => all.extend(solved.milk.as_ref().map(|milk| {
                let what = Gap::Name(&milk.ingredient().names);
                let name = say.told(Phrase::CardBeside, &[("what", what)]);
                Caption { figure: say.ml(milk.textured()), name }
            })),
            // What else stands beside it is among the portions.
            Part::Water(_)
            | Part::Ice(_)
            | Part::Ingredient(_)
            | Part::Paste(_)
            | Part::Steep(_)
            | Part::Brew(_) => {}
        }
    }
    for one in solved.portions.iter().filter(|one| one.is_beside()) {
        let phrase =
            if one.stage == Stage::Sealed { Phrase::CardSealed } else { Phrase::CardBeside };
        let name = say.told(phrase, &[("what", Gap::Name(&one.ingredient.names))]);
        let figure = if one.stage == Stage::Sealed { String::new() } else { amount(one, say) };
        all.push(Caption { figure, name });
    }
    all
}
