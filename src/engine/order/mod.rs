//! From a line to an order: modifiers as slots, counters and flags, evaluated in fixed phases.
//!
//! An order is a function of the set of values held, never of the list in which they came.

mod applies;
mod coffee;
mod collect;
mod conflicts;
mod cup;
mod extras;
mod form;
mod milk;
mod note;
mod stock;

use std::cmp::Reverse;

pub use coffee::{CoffeeOrder, Draw};
pub use collect::{Held, Holding, price_of};
pub use cup::house_cups;
pub use extras::Added;
pub use milk::{FoamOrder, MilkOrder};
pub use note::note;
pub use stock::{Role, about, ingredients, without};

use super::{
    line::{Line, Moment},
    objection::{Code, Fix, Objection},
};
use crate::{
    book::{Bar, Cup, CupHere, Drink, Id, Modifier, Part, Phase, Service, SlotModifier},
    units::{Money, Ratio, Share, Temperature, Volume},
};

/// Everything that a line asks for, decided.
#[derive(Debug)]
pub struct Order<'b> {
    /// The drink that was ordered, by whose name the cup goes.
    pub asked: &'b Drink,
    /// The drink whose recipe is made: another one where a form such as iced was asked for.
    pub drink: &'b Drink,
    /// Way of serving.
    pub service: Service,
    /// Size.
    pub size: &'b Id,
    /// Row of the cup table.
    pub cup: &'b Cup,
    /// The cup as it stands at the site.
    pub vessel: CupHere<'b>,
    /// Coffee, if there is any.
    pub coffee: Option<CoffeeOrder<'b>>,
    /// Milk, if there is any.
    pub milk: Option<MilkOrder<'b>>,
    /// Parts taken off, by id.
    pub removed: Vec<&'b Id>,
    /// Ingredients added.
    pub added: Vec<Added<'b>>,
    /// Temperature to which the cup is brought.
    pub cup_c: Option<Temperature>,
    /// Share of the drink's fill.
    pub fill_share: Option<Share>,
    /// Room left under the drink's line.
    pub space: Volume,
    /// How many times the usual ice.
    pub ice_times: Ratio,
    /// What is served beside the cup: part ids, kinds of parts, kinds of added ingredients.
    pub aside: Vec<&'b Id>,
    /// What the customer's own cup holds.
    pub capacity: Option<Volume>,
    /// Ingredients that the drink has only where they were confirmed, and were.
    pub allowed: Vec<&'b Id>,
    /// What an override waived.
    pub waived: Vec<Objection>,
    /// Price of one cup.
    pub price: Money,
    /// The modifiers that change something, in the order of the book: the normal form.
    pub held: Vec<Held<'b>>,
}

impl<'b> Order<'b> {
    /// The drink's parts that were not taken off, in pour order.
    pub fn parts(&self) -> impl Iterator<Item = &'b Part> {
        self.drink.parts.iter().filter(|part| !self.removed.contains(&part.id()))
    }

    /// Whether a part, or an added ingredient, is served beside the cup.
    pub fn is_aside(&self, id: &str, kind: &str) -> bool {
        self.aside.iter().any(|word| **word == *id || **word == *kind)
    }

    /// Whether its milk is set beside the cup.
    pub fn has_milk_aside(&self) -> bool {
        self.parts().any(|part| matches!(part, Part::Milk(_)) && self.is_aside(part.id(), "milk"))
    }

    /// Whether a lid goes on the cup: by its way of serving, unless the customer wants none.
    pub fn takes_lid(&self, bar: &Bar) -> bool {
        let row = bar.book.services.iter().find(|row| row.id == self.service);
        let mut effects = self.held.iter().filter_map(Held::effect);
        row.is_some_and(|row| row.lid) && !effects.any(|(effect, _)| effect.without_lid)
    }

    /// The most that the cup takes: up to its serving line, or as much of the customer's own.
    pub fn most(&self) -> Volume {
        let vessel = self.vessel.vessel;
        self.capacity.map_or(vessel.fill_ml, |ml| ml - (vessel.brim_ml - vessel.fill_ml))
    }
}

/// Decides what `line` asks for at `bar`.
///
/// * Errors: every objection that can be seen before anything is measured; never empty.
pub fn order<'b>(bar: &'b Bar, line: &Line, moment: &Moment) -> Result<Order<'b>, Vec<Objection>> {
    let Some(asked) = bar.drink(&line.drink) else {
        return Err(vec![unknown_drink(bar, line)]);
    };
    let may_waive = line.override_reason.is_some() && moment.may_override;
    let (mut objections, mut waived) = (Vec::new(), Vec::new());
    let mut held = collect::collect(bar, line, &mut objections);
    settle(&mut objections, &mut waived, may_waive)?;
    let drink = form::form(bar, asked, &mut held).map_err(|one| vec![one])?;
    if moment.out_of_season.iter().any(|id| [&asked.id, &drink.id].contains(&&Id::from(&**id))) {
        let season = Objection::refuse(Code::OutOfSeason).name("drink", &drink.names);
        objections.push(season.toward("season"));
    }
    let (service, size, cup) = cup::cup(bar, drink, &mut held).map_err(|one| vec![one])?;
    let vessel =
        bar.cup_here(&cup.vessel).ok_or_else(|| vec![cup::not_here(bar, drink, cup, &held)])?;
    let capacity =
        cup::capacity(bar, drink, (service, cup), vessel.vessel, &held).map_err(|one| vec![one])?;
    let halves = coffee::halves(drink, cup, &mut held, line, &mut objections);
    applies::check(bar, drink, cup, halves, &held, &mut objections);
    settle(&mut objections, &mut waived, may_waive)?;
    let coffee = coffee::coffee(bar, drink, halves, &mut held, &mut objections);
    let milk = milk::milk(bar, drink, cup, &mut held, &mut objections);
    let extras::Extras { removed, added, ice_times } = extras::extras(bar, drink, &mut held);
    let coffee = coffee.filter(|coffee| !removed.contains(&&coffee.part.id));
    let milk = milk.filter(|milk| !removed.contains(&&milk.part.id));
    conflicts::check(&held, &mut objections);
    conflicts::check_removed(drink, &removed, &held, &mut objections);
    conflicts::check_aside(drink, &removed, &added, &held, &mut objections);
    conflicts::check_cup(bar, &held, service, size, &mut objections);
    let effects = || held.iter().filter_map(Held::effect).map(|(effect, _)| effect);
    let unlocked = |(_, word): &(&Id, &Id)| line.confirmed.iter().any(|one| **word == **one);
    let guarded = drink.envelope.forbids_unless.iter();
    let mut order = Order {
        cup_c: effects().find_map(|effect| effect.cup_c),
        fill_share: effects().find_map(|effect| effect.fill_share),
        space: effects().find_map(|effect| effect.space_ml).unwrap_or_default(),
        aside: effects().flat_map(|effect| &effect.aside).collect(),
        price: cup.price + held.iter().map(|one| one.price(bar, cup)).sum(),
        allowed: guarded.filter(unlocked).map(|(ingredient, _)| ingredient).collect(),
        waived: Vec::new(),
        asked,
        drink,
        service,
        size,
        cup,
        vessel,
        coffee,
        milk,
        removed,
        added,
        ice_times,
        capacity,
        held,
    };
    stock::check(bar, &order, line, moment, &mut objections);
    settle(&mut objections, &mut waived, may_waive)?;
    order.waived = waived;
    Ok(order)
}

/// Sets aside what an override waives; whatever is left stops the line.
pub fn settle(
    objections: &mut Vec<Objection>,
    waived: &mut Vec<Objection>,
    may_waive: bool,
) -> Result<(), Vec<Objection>> {
    let waivable = |one: &Objection| one.code.is_waivable() && !one.safety;
    if may_waive && objections.iter().all(waivable) {
        waived.append(objections);
    }
    if objections.is_empty() { Ok(()) } else { Err(std::mem::take(objections)) }
}

/// The refusal of a drink that the book does not have: by another name, or the nearest ids.
fn unknown_drink(bar: &Bar, line: &Line) -> Objection {
    let asked = line.drink.to_lowercase();
    let named = bar.book.drinks.iter().find(|drink| {
        let names = drink.names.0.values().chain(&drink.aliases);
        names.into_iter().any(|name| name.to_lowercase() == asked)
    });
    let ids: Vec<&Id> = match named {
        Some(drink) => vec![&drink.id],
        None => nearest(&asked, bar.drink_ids()),
    };
    let near = ids.first().map_or("–", |id| &***id);
    Objection::refuse(Code::UnknownDrink)
        .text("asked", &line.drink)
        .text("near", near)
        .fixes(ids.into_iter().map(|id| Fix::Drink(id.clone())))
}

/// At most three of `ids` that look like `asked`, the nearest first.
pub fn nearest<'a>(asked: &str, ids: impl Iterator<Item = &'a Id>) -> Vec<&'a Id> {
    let mut near: Vec<(i64, &Id)> = ids
        .map(|id| (Share::from_share(strsim::jaro_winkler(asked, id)), id))
        .map(|(share, id)| (share.thousandths(), id))
        .filter(|(share, _)| *share >= 800)
        .collect();
    near.sort_by_key(|(share, id)| (Reverse(*share), (*id).clone()));
    near.into_iter().take(3).map(|(_, id)| id).collect()
}

/// The slot of a phase, the first in the book, that ways out may set.
fn slot_of_phase(bar: &Bar, phase: Phase) -> Option<&SlotModifier> {
    bar.book
        .modifiers
        .iter()
        .filter(|one| one.phase() == phase)
        .find_map(|one| if let Modifier::Slot(slot) = one { Some(slot) } else { None })
}
