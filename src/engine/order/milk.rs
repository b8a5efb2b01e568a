//! Phases `milk`, `temperature` and `foam`: which milk, how hot, with how much foam.

use super::{
    collect::{Held, Holding},
    slot_of_phase,
};
use crate::{
    book::{
        Bar, Cup, Drink, Foam, Ingredient, MilkPart, Part, Phase, SetPoint, SlotValue, Steaming,
        Texture,
    },
    engine::objection::{Code, Fix, Measured, Objection},
    units::{Length, LengthChange, Temperature},
};

/// The milk of an order.
#[derive(Clone, Copy, Debug)]
pub struct MilkOrder<'b> {
    /// The drink's milk part.
    pub part: &'b MilkPart,
    /// The milk.
    pub ingredient: &'b Ingredient,
    /// Its texture.
    pub texture: &'b Texture,
    /// How it takes steam, and the set-point; none for a cold texture.
    pub steamed: Option<(&'b Steaming, Temperature)>,
    /// Foam asked for.
    pub foam: FoamOrder,
}

/// Foam asked for: the drink's own measure, and what the customer changes about it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FoamOrder {
    /// The drink's or the cup's measure.
    pub usual: Option<Foam>,
    /// Depth in its place.
    pub depth: Option<Length>,
    /// Change of depth.
    pub change: Option<LengthChange>,
}

/// The milk of the order, if the drink has any; values that are the defaults are dropped.
pub(super) fn milk<'b>(
    bar: &'b Bar,
    drink: &'b Drink,
    cup: &'b Cup,
    held: &mut Vec<Held<'b>>,
    objections: &mut Vec<Objection>,
) -> Option<MilkOrder<'b>> {
    let part = drink.parts.iter().find_map(Part::as_milk)?;
    let milk_of = |one: &Held<'b>| one.holding.value().and_then(SlotValue::milk);
    held.retain(|one| milk_of(one) != Some(&part.ingredient));
    let ingredient = bar.ingredient(held.iter().find_map(milk_of).unwrap_or(&part.ingredient))?;
    let texture = bar.texture(&part.texture)?;
    let usual = cup.foam.or(part.foam);
    held.retain(|one| {
        let depth = one.effect().and_then(|(effect, _)| effect.foam_depth_mm);
        depth.is_none() || depth != usual.and_then(|foam| foam.depth_mm)
    });
    let effects = || held.iter().filter_map(Held::effect).map(|(effect, _)| effect);
    let foam = FoamOrder {
        usual,
        depth: effects().find_map(|effect| effect.foam_depth_mm),
        change: effects().find_map(|effect| effect.foam_change_mm),
    };
    let steamed = if texture.steamed {
        match set_point(bar, part, ingredient, held) {
            Ok(steamed) => Some(steamed),
            Err(objection) => {
                objections.push(objection);
                return None;
            }
        }
    } else {
        None
    };
    Some(MilkOrder { part, ingredient, texture, steamed, foam })
}

/// How the milk takes steam, and the set-point; a set-point that is the default is dropped.
fn set_point<'b>(
    bar: &'b Bar,
    part: &MilkPart,
    milk: &'b Ingredient,
    held: &mut Vec<Held<'b>>,
) -> Result<(&'b Steaming, Temperature), Objection> {
    let Some(steaming) = &milk.steaming else {
        let fault = Objection::refuse(Code::MilkTakesNoSteam).name("milk", &milk.names);
        return Err(fault.fixes(other_milks(bar, milk)));
    };
    let degrees = |set_point: &SetPoint| match set_point {
        SetPoint::Named(name) => steaming.set_points_c.get(name).copied(),
        SetPoint::Celsius(c) => Some(*c),
    };
    let usual = part.set_point.as_ref().and_then(degrees);
    let asked = held.iter().find_map(|one| {
        let set_point = if let Holding::Celsius(c) = one.holding {
            Some(SetPoint::Celsius(c))
        } else {
            one.holding.value().and_then(|value| value.does.set_point.clone())
        };
        set_point.map(|set_point| (one.given, one.modifier, set_point))
    });
    let at = match &asked {
        Some((given, modifier, set_point)) => degrees(set_point).ok_or_else(|| {
            let fault = Objection::refuse(Code::NoSuchSetPoint).about(modifier.id()).at(*given);
            fault.name("milk", &milk.names).fixes([Fix::Withdraw(modifier.id().clone())])
        })?,
        None => usual.ok_or_else(|| {
            let fault = Objection::refuse(Code::NoSuchSetPoint).name("milk", &milk.names);
            fault.fixes(other_milks(bar, milk))
        })?,
    };
    if at > steaming.cap_c {
        let mut fault = Objection::refuse(Code::AboveMilkCap)
            .name("milk", &milk.names)
            .measure(Measured {
                field: "set_point_c",
                value: at.mc(),
                min: None,
                max: Some(steaming.cap_c.mc()),
            })
            .fixes(nearest_set_points(bar, steaming));
        if let Some((given, modifier, _)) = asked {
            fault = fault.about(modifier.id()).at(given);
        }
        return Err(fault);
    }
    if usual == Some(at) {
        held.retain(|one| one.phase() != Phase::Temperature || sets_no_point(one));
    }
    Ok((steaming, at))
}

fn sets_no_point(one: &Held<'_>) -> bool {
    let of_effect = || one.effect().is_none_or(|(effect, _)| effect.set_point.is_none());
    !matches!(one.holding, Holding::Celsius(_)) && of_effect()
}

/// The named set-points of this milk, the hottest first, as ways out.
fn nearest_set_points(bar: &Bar, steaming: &Steaming) -> Vec<Fix> {
    let Some(slot) = slot_of_phase(bar, Phase::Temperature) else { return Vec::new() };
    let mut ways: Vec<(Temperature, Fix)> = slot
        .values
        .iter()
        .filter_map(|value| match value.does.set_point.as_ref()? {
            SetPoint::Named(name) => {
                let at = *steaming.set_points_c.get(name)?;
                Some((at, Fix::Set(slot.id.clone(), value.id.clone())))
            }
            SetPoint::Celsius(_) => None,
        })
        .collect();
    ways.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    ways.into_iter().map(|(_, fix)| fix).chain([Fix::Withdraw(slot.id.clone())]).collect()
}

/// The milks that the site stocks beside `milk`, as ways out, the usual one first.
pub(super) fn other_milks(bar: &Bar, milk: &Ingredient) -> Vec<Fix> {
    let Some(slot) = slot_of_phase(bar, Phase::Milk) else { return Vec::new() };
    let stocked = slot
        .values
        .iter()
        .filter(|value| value.milk().is_some_and(|one| *one != milk.id && bar.stocks(one)));
    let others = stocked.map(|value| Fix::Set(slot.id.clone(), value.id.clone()));
    [Fix::Drop(slot.id.clone())].into_iter().chain(others).collect()
}
