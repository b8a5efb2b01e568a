//! The volume balance of a cup: parts, foam's gas, what a leaf keeps, and the remainder.

use super::{
    coffee::Coffee,
    matter::{Portion, PortionOf},
    milk::{self, Milk, Room},
};
use crate::{
    book::{Bar, IcePolicy, Id, Part, Phase, Remainder, Stage, WaterPart},
    engine::{
        objection::{Code, Fix, Measured, Objection},
        order::{Held, Order},
    },
    units::{Density, Share, Volume},
};

/// One layer of the fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layer<'b> {
    /// What it is.
    pub of: LayerOf<'b>,
    /// Its volume.
    pub volume: Volume,
}

/// What a layer consists of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayerOf<'b> {
    /// Coffee.
    Coffee,
    /// Milk with its condensate, without gas.
    Milk,
    /// Gas in the milk.
    FoamGas,
    /// Water, by the id of its part.
    Water(&'b Id),
    /// Ice, by the id of its part.
    Ice(&'b Id),
    /// An ingredient, by the id of its part or of the modifier that adds it.
    Ingredient(&'b Id),
}

/// A solved balance.
pub(super) struct Balance<'b> {
    pub(super) fill: Volume,
    /// The fill with what stands beside the cup poured in.
    pub(super) together: Volume,
    pub(super) milk: Option<Milk<'b>>,
    pub(super) portions: Vec<Portion<'b>>,
    pub(super) layers: Vec<Layer<'b>>,
}

/// Fills the cup: known parts first, then the remainder.
pub(super) fn balance<'b>(
    bar: &'b Bar,
    order: &Order<'b>,
    coffee: Option<&Coffee>,
    mut portions: Vec<Portion<'b>>,
) -> Result<Balance<'b>, Objection> {
    let in_cup = |one: &&Portion<'b>| !one.is_beside();
    let known: Volume = portions.iter().filter(in_cup).map(|one| one.volume).sum();
    let espresso = coffee.map_or(Volume::ZERO, |coffee| coffee.volume);
    let steeped: Volume = portions
        .iter()
        .filter(|one| matches!(one.of, PortionOf::LeafWater(_)))
        .map(|one| one.volume)
        .sum();
    let keeps: Volume = portions.iter().map(|one| one.keeps).sum();
    // The leaf soaks in its water first, so it takes what it keeps from there, then from the milk.
    let from_water = keeps.min(steeped);
    let from_milk = keeps - from_water;
    let line = line(bar, order)?;
    let taken = known + espresso - from_water;

    let room = match (order.drink.remainder, line) {
        (Remainder::Milk, Some(line)) => {
            let left = line - taken + from_milk;
            Room::Remainder { left, gone: from_milk }
        }
        _ => Room::Own { gone: from_milk },
    };
    if let Room::Remainder { left, .. } = room
        && left < Volume::ZERO
    {
        return Err(does_not_fit(order, Volume::ZERO - left));
    }
    let milk = order.milk.as_ref();
    let milk = milk.map(|milk| milk::milk(bar, order, milk, room)).transpose()?;
    let milk_in_cup = milk.as_ref().map_or(Volume::ZERO, |milk| milk.textured() - from_milk);
    if let (Remainder::Water, Some(line)) = (order.drink.remainder, line) {
        let left = line - taken - milk_in_cup;
        if left < Volume::ZERO {
            return Err(does_not_fit(order, Volume::ZERO - left));
        }
        fill_with_water(bar, order, left, &mut portions);
    }
    let all = layers(order, coffee, milk.as_ref(), &portions, (from_water, from_milk));
    let sum = |layers: &[(Layer<'b>, bool)], beside: bool| -> Volume {
        let counted = layers.iter().filter(|(_, aside)| beside || !aside);
        counted.map(|(layer, _)| layer.volume).sum()
    };
    let (fill, together) = (sum(&all, false), sum(&all, true));
    let most = order.most();
    if fill > most {
        return Err(overflows(order, fill, most));
    }
    if fill == Volume::ZERO {
        return Err(nothing_in_cup(order));
    }
    for one in portions.iter_mut().filter(|one| matches!(one.of, PortionOf::Water(_))) {
        if order.is_aside(one.of.id(), "water") {
            one.stage = Stage::Side;
        }
    }
    let in_cup = all.into_iter().filter(|(_, aside)| !aside);
    let layers = in_cup.map(|(layer, _)| layer).collect();
    Ok(Balance { fill, together, milk, portions, layers })
}

fn nothing_in_cup(order: &Order<'_>) -> Objection {
    let moved = order.held.iter().filter(|one| one.phase() == Phase::Placement);
    let mut fault = Objection::refuse(Code::NothingInCup).name("drink", &order.drink.names);
    for one in moved {
        fault = fault.involving(one.modifier.id()).at(one.given);
        fault = fault.fixes([Fix::Drop(one.modifier.id().clone())]);
    }
    fault
}

/// The line up to which the remainder goes: the drink's own, in the cup that stands here, with a
/// short fill, the room that the customer wants left, or ice that nothing takes the place of.
pub(super) fn line(bar: &Bar, order: &Order<'_>) -> Result<Option<Volume>, Objection> {
    let Some(fill) = order.cup.fill_ml else { return Ok(None) };
    let (here, of_book) = (order.vessel.vessel, order.vessel.of_book);
    let scaled = fill.scaled(here.fill_ml.ul(), of_book.fill_ml.ul());
    let share = order.fill_share.map_or(1_000, Share::thousandths);
    let line = scaled.scaled(share, 1_000) - order.space - ice_missed(bar, order);
    if line <= Volume::ZERO {
        return Err(does_not_fit(order, Volume::ZERO - line));
    }
    Ok(Some(line))
}

/// Puts the water of the remainder into its place among the portions.
fn fill_with_water<'b>(
    bar: &'b Bar,
    order: &Order<'b>,
    left: Volume,
    portions: &mut Vec<Portion<'b>>,
) {
    let water = order.parts().find_map(Part::as_water);
    let Some(water) = water else { return };
    let WaterPart { id, ingredient, temperature_c, .. } = water;
    let Some(ingredient) = bar.ingredient(ingredient) else { return };
    let density = ingredient.density_kg_m3.unwrap_or(Density::from_mkg_m3(1_000_000));
    portions.push(Portion {
        of: PortionOf::Water(id),
        ingredient,
        mass: super::coffee::mass_of(left, density),
        volume: left,
        by_volume: true,
        at: *temperature_c,
        stage: Stage::Pour,
        keeps: Volume::ZERO,
    });
}

/// Room of the ice that was asked to be left out, where the site leaves that room empty.
fn ice_missed(bar: &Bar, order: &Order<'_>) -> Volume {
    let left = 1_000 - order.ice_times.thousandths();
    if bar.site.ice_policy == IcePolicy::Fill || left <= 0 {
        return Volume::ZERO;
    }
    let ice =
        order.parts().find_map(|part| if let Part::Ice(ice) = part { Some(ice) } else { None });
    let Some(ice) = ice else { return Volume::ZERO };
    let usual = order.cup.amounts.get(&ice.id).and_then(|amount| amount.g).unwrap_or(ice.g);
    super::matter::room_of(bar, &ice.ingredient, usual).scaled(left, 1_000)
}

/// The layers of the fill, in pour order, each with whether it stands beside the cup.
///
/// * `kept`: what a leaf keeps of its water, and of the milk.
fn layers<'b>(
    order: &Order<'b>,
    coffee: Option<&Coffee>,
    milk: Option<&Milk<'b>>,
    portions: &[Portion<'b>],
    kept: (Volume, Volume),
) -> Vec<(Layer<'b>, bool)> {
    let (from_water, from_milk) = kept;
    let mut all: Vec<(Layer<'b>, bool)> = Vec::with_capacity(portions.len() + 3);
    // Only these three are solved as if they were in the cup; what else stands beside it has a stage
    // of its own and no layer.
    let beside = |part: &Part| {
        matches!(part, Part::Coffee(_) | Part::Milk(_) | Part::Water(_))
            && order.is_aside(part.id(), part.kind())
    };
    let mut push = |of, volume, aside: bool| {
        if volume > Volume::ZERO {
            all.push((Layer { of, volume }, aside));
        }
    };
    let ingredient_layers = |id: &Id, push: &mut dyn FnMut(LayerOf<'b>, Volume)| {
        for one in portions.iter().filter(|one| one.of.id() == id && !one.is_beside()) {
            match one.of {
                PortionOf::Part(id) | PortionOf::Paste(id) | PortionOf::Leaf(id) => {
                    push(LayerOf::Ingredient(id), one.volume);
                }
                PortionOf::Added(_) | PortionOf::Grounds(_) => {}
                PortionOf::Brew(id) => push(LayerOf::Ingredient(id), one.volume),
                PortionOf::PasteWater(id) | PortionOf::Water(id) => {
                    push(LayerOf::Water(id), one.volume);
                }
                PortionOf::LeafWater(id) => push(LayerOf::Water(id), one.volume - from_water),
                PortionOf::Ice(id) => push(LayerOf::Ice(id), one.volume),
            }
        }
    };
    let added = |stage: &[Stage], push: &mut dyn FnMut(LayerOf<'b>, Volume)| {
        for one in portions.iter().filter(|one| stage.contains(&one.stage)) {
            if let PortionOf::Added(id) = one.of {
                push(LayerOf::Ingredient(id), one.volume);
            }
        }
    };
    added(&[Stage::CupBefore], &mut |of, volume| push(of, volume, false));
    for part in order.parts() {
        let aside = beside(part);
        let mut push = |of, volume| push(of, volume, aside);
        match part {
            Part::Coffee(_) => push(LayerOf::Coffee, coffee.map_or(Volume::ZERO, |one| one.volume)),
            Part::Milk(_) => {
                if let Some(milk) = milk {
                    push(LayerOf::Milk, milk.textured() - milk.gas() - from_milk);
                    push(LayerOf::FoamGas, milk.gas());
                }
            }
            Part::Water(_)
            | Part::Ice(_)
            | Part::Ingredient(_)
            | Part::Paste(_)
            | Part::Steep(_)
            | Part::Brew(_) => {
                ingredient_layers(part.id(), &mut push);
            }
        }
    }
    added(&[Stage::Pour, Stage::Top], &mut |of, volume| push(of, volume, false));
    all
}

/// What the customer asked for that takes up room, as ways out, and a larger cup.
fn room_makers(order: &Order<'_>) -> Vec<Fix> {
    let size = Id::from("size");
    let vessel = order.vessel.of_book.brim_ml;
    let sizes = order.drink.cups.get(&order.service).into_iter().flatten();
    let larger = sizes.filter(|(id, cup)| {
        *id != order.size
            && cup.fill_ml.unwrap_or(vessel) > order.cup.fill_ml.unwrap_or(Volume::ZERO)
    });
    let larger = larger.map(|(id, _)| Fix::Set(size.clone(), id.clone()));
    let takes_room = |one: &&Held<'_>| {
        matches!(
            one.phase(),
            Phase::Count | Phase::Addition | Phase::Fill | Phase::Pull | Phase::Foam
        )
    };
    let held = order.held.iter().filter(takes_room);
    larger.chain(held.map(|one| Fix::Withdraw(one.modifier.id().clone()))).collect()
}

pub(super) fn does_not_fit(order: &Order<'_>, over: Volume) -> Objection {
    Objection::refuse(Code::DoesNotFit)
        .name("drink", &order.drink.names)
        .name("cup", &order.vessel.vessel.names)
        .measure(Measured { field: "over_ml", value: over.ul(), min: None, max: Some(0) })
        .fixes(room_makers(order))
        .toward("more-fill")
}

fn overflows(order: &Order<'_>, fill: Volume, most: Volume) -> Objection {
    let measured = Measured { field: "fill_ml", value: fill.ul(), min: None, max: Some(most.ul()) };
    Objection::refuse(Code::Overflows)
        .name("drink", &order.drink.names)
        .name("cup", &order.vessel.vessel.names)
        .measure(measured)
        .number("over", (fill - most).ul())
        .fixes(room_makers(order))
        .toward("more-fill")
}
