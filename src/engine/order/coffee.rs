//! Phases `count`, `class`, `pull` and `strength`: how many halves, of what, how much of them.

use super::{collect::Held, slot_of_phase};
use crate::{
    book::{Bar, Bean, CoffeePart, Cup, Drink, Extraction, ExtractionRow, Id, Part, Phase},
    engine::{
        line::Line,
        objection::{Code, Fix, Manner, Measured, Objection},
    },
    units::Share,
};

/// The coffee of an order.
#[derive(Clone, Copy, Debug)]
pub struct CoffeeOrder<'b> {
    /// The drink's coffee part.
    pub part: &'b CoffeePart,
    /// Extraction style.
    pub extraction: &'b Extraction,
    /// Bean.
    pub bean: &'b Bean,
    /// Pull, by id.
    pub pull: &'b Id,
    /// Halves in the cup; at least 1.
    pub halves: i32,
    /// The recipe for a double basket.
    pub double: &'b ExtractionRow,
    /// The recipe for a single basket, where an odd half is pulled in one here.
    pub single: Option<&'b ExtractionRow>,
    /// Share of the liquid coffee that goes into the cup.
    pub share: Share,
}

/// Halves in the cup: the cup's own, or an absolute count, and then the counters.
pub(super) fn halves(
    drink: &Drink,
    cup: &Cup,
    held: &mut Vec<Held<'_>>,
    line: &Line,
    objections: &mut Vec<Objection>,
) -> i32 {
    let standard = i32::from(cup.halves);
    let absolute = |one: &Held<'_>| one.holding.value()?.does.halves.map(i32::from);
    held.retain(|one| absolute(one) != Some(standard));
    let start = held.iter().find_map(absolute).unwrap_or(standard);
    let each = |one: &Held<'_>| {
        let (effect, n) = one.effect()?;
        Some(i32::from(effect.halves_each?) * n)
    };
    let result = start + held.iter().filter_map(each).sum::<i32>();
    let counters = held.iter().filter(|one| one.phase() == Phase::Count);
    let counters = counters.filter_map(|one| Some((one.holding.count()?, one.given)));
    for ((counter, n), given) in counters {
        let each = i32::from(counter.does.halves_each.unwrap_or(1));
        let confirmed = line.confirmed.iter().any(|id| counter.id == id.as_str());
        let fault = |code| {
            Objection::refuse(code)
                .about(&counter.id)
                .at(given)
                .name("modifier", &counter.names)
                .name("drink", &drink.names)
        };
        let range = counter.result.as_ref();
        if result < 1 {
            let least = n + (1 - result + each - 1) / each;
            let fewer = (least < 0).then(|| Fix::Count(counter.id.clone(), least));
            let none = Fix::Withdraw(counter.id.clone());
            let fixes = fewer.into_iter().chain([none]);
            objections.push(fault(Code::NoCoffeeLeft).toward("no-coffee").fixes(fixes));
            return 0;
        } else if let Some(range) = range.filter(|range| !range.holds(&result)) {
            let over = result - result.clamp(range.min, range.max);
            let nearest = Fix::Count(counter.id.clone(), n - over / each);
            let measured = Measured {
                field: "halves",
                value: i64::from(result) * 1_000,
                min: Some(i64::from(range.min) * 1_000),
                max: Some(i64::from(range.max) * 1_000),
            };
            objections.push(fault(Code::CountOutOfRange).measure(measured).fixes([nearest]));
        } else if counter.confirm_above.is_some_and(|above| result > above) && !confirmed {
            let over = result - counter.confirm_above.unwrap_or(result);
            let fewer = Fix::Count(counter.id.clone(), n - (over + each - 1) / each);
            let mut ask = fault(Code::ConfirmNeeded)
                .number("halves", i64::from(result) * 1_000)
                .fixes([Fix::Confirm(counter.id.clone()), fewer]);
            ask.manner = Manner::Ask;
            objections.push(ask);
        }
    }
    result
}

/// The coffee of the order, if any half is asked for; values that are the defaults are dropped.
pub(super) fn coffee<'b>(
    bar: &'b Bar,
    drink: &'b Drink,
    halves: i32,
    held: &mut Vec<Held<'b>>,
    objections: &mut Vec<Objection>,
) -> Option<CoffeeOrder<'b>> {
    let part = drink.parts.iter().find_map(Part::as_coffee)?;
    if halves < 1 {
        return None;
    }
    held.retain(|one| {
        let effect = one.effect().map(|(effect, _)| effect);
        effect.and_then(|effect| effect.bean.as_ref()) != Some(&part.bean)
            && effect.and_then(|effect| effect.pull.as_ref()) != Some(&part.pull)
    });
    let effects = || held.iter().filter_map(Held::effect).map(|(effect, _)| effect);
    let bean_id = effects().find_map(|effect| effect.bean.as_ref()).unwrap_or(&part.bean);
    let pull = effects().find_map(|effect| effect.pull.as_ref()).unwrap_or(&part.pull);
    let share = effects().find_map(|effect| effect.coffee_share);
    let extraction = bar.extraction(&part.extraction)?;
    let bean = bar.bean(bean_id)?;
    let row = |halves: u8| {
        extraction
            .rows
            .iter()
            .find(|row| row.bean == *bean_id && row.pull == *pull && row.halves == halves)
    };
    let given = |phase| held.iter().find(|one| one.phase() == phase).map(|one| one.given);
    let Some(double) = row(2) else {
        let pull_name = bar.book.pulls.iter().find(|known| known.id == *pull);
        let mut fault = Objection::refuse(Code::NoSuchPull).name("bean", &bean.names);
        fault = match pull_name {
            Some(known) => fault.name("pull", &known.names),
            None => fault.text("pull", pull),
        };
        let slots = [Phase::Pull, Phase::Class].map(|phase| slot_of_phase(bar, phase));
        fault.fixes.extend(slots.into_iter().flatten().map(|slot| Fix::Drop(slot.id.clone())));
        fault.given = given(Phase::Pull).or(given(Phase::Class));
        for one in held.iter().filter(|one| matches!(one.phase(), Phase::Pull | Phase::Class)) {
            fault = fault.involving(one.modifier.id());
        }
        objections.push(fault);
        return None;
    };
    if !bar.site.grinders.iter().any(|grinder| grinder.beans.contains(bean_id)) {
        objections.push(no_grinder(bar, bean, part, given(Phase::Class)));
        return None;
    }
    let single_here = bar.site.baskets.iter().any(|basket| basket.halves == 1);
    let single = (halves % 2 == 1 && single_here).then(|| row(1)).flatten();
    let share = share.unwrap_or(Share::from_thousandths(1_000));
    Some(CoffeeOrder { part, extraction, bean, pull, halves, double, single, share })
}

fn no_grinder(bar: &Bar, bean: &Bean, part: &CoffeePart, given: Option<usize>) -> Objection {
    let mut fault = Objection::refuse(Code::NoGrinder).name("bean", &bean.names);
    fault.given = given;
    let Some(slot) = slot_of_phase(bar, Phase::Class) else { return fault };
    let here = |bean: &Id| bar.site.grinders.iter().any(|grinder| grinder.beans.contains(bean));
    let usual = here(&part.bean).then(|| Fix::Drop(slot.id.clone()));
    let others = slot.values.iter().filter(|value| value.does.bean.as_ref().is_some_and(here));
    let others = others.map(|value| Fix::Set(slot.id.clone(), value.id.clone()));
    fault.about(&slot.id).fixes(usual.into_iter().chain(others))
}
