//! Phases `count`, `class`, `pull` and `strength`: how many halves, of what, how much of them.

use super::{collect::Held, slot_of_phase};
use crate::{
    book::{
        Bar, Bean, CoffeePart, Cup, Drink, Extraction, ExtractionRow, Id, Modifier, Part, Phase,
        SlotValue,
    },
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
    /// Bean that was asked for; it may be a mixture.
    pub bean: &'b Bean,
    /// Pull, by id.
    pub pull: &'b Id,
    /// Halves in the cup; at least 1.
    pub halves: i32,
    /// What is ground for them.
    pub draw: Draw<'b>,
    /// The second bean of a mixture that is ground bean by bean.
    pub other: Option<Draw<'b>>,
    /// Share of the liquid coffee that goes into the cup.
    pub share: Share,
}

/// Halves of one bean.
#[derive(Clone, Copy, Debug)]
pub struct Draw<'b> {
    /// The bean.
    pub bean: &'b Bean,
    /// Halves of it; at least 1.
    pub halves: i32,
    /// The recipe for a double basket.
    pub double: &'b ExtractionRow,
    /// The recipe for a single basket, where an odd half is pulled in one here.
    pub single: Option<&'b ExtractionRow>,
}

impl<'b> CoffeeOrder<'b> {
    /// What is ground, bean by bean.
    pub fn draws(&self) -> impl Iterator<Item = Draw<'b>> {
        [self.draw].into_iter().chain(self.other)
    }
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
    let at = Asked { bar, extraction, pull, part, held };
    let found = match ground_bean_by_bean(bar, bean) {
        None => at.draw(bean, halves).map(|draw| (draw, None)),
        Some(_) if halves % 2 == 1 => Err(odd_halves(bar, bean, halves, held)),
        Some([first, second]) => at
            .draw(first, halves / 2)
            .and_then(|first| Ok((first, Some(at.draw(second, halves / 2)?)))),
    };
    let (draw, other) = match found {
        Ok(found) => found,
        Err(fault) => {
            objections.push(fault);
            return None;
        }
    };
    let share = share.unwrap_or(Share::from_thousandths(1_000));
    Some(CoffeeOrder { part, extraction, bean, pull, halves, draw, other, share })
}

/// Whether the bean is here in a grinder, or in measured doses.
fn is_here(bar: &Bar, bean: &Id) -> bool {
    bar.site.pre_dosed.contains(bean)
        || bar.site.grinders.iter().any(|grinder| grinder.beans.contains(bean))
}

/// The two beans of a mixture that is not here as a mixture.
fn ground_bean_by_bean<'b>(bar: &'b Bar, bean: &Bean) -> Option<[&'b Bean; 2]> {
    let [first, second] = bean.half_of.as_slice() else { return None };
    if is_here(bar, &bean.id) {
        return None;
    }
    Some([bar.bean(first)?, bar.bean(second)?])
}

/// How the coffee of an order is asked for.
struct Asked<'a, 'b> {
    bar: &'b Bar,
    extraction: &'b Extraction,
    pull: &'b Id,
    part: &'b CoffeePart,
    held: &'a [Held<'b>],
}

impl<'b> Asked<'_, 'b> {
    fn given(&self, phase: Phase) -> Option<usize> {
        self.held.iter().find(|one| one.phase() == phase).map(|one| one.given)
    }

    /// So many halves of `bean`.
    fn draw(&self, bean: &'b Bean, halves: i32) -> Result<Draw<'b>, Objection> {
        let Self { bar, extraction, pull, part, held: _ } = self;
        let row = |halves: u8| {
            let rows = &extraction.rows;
            rows.iter()
                .find(|row| row.bean == bean.id && row.pull == **pull && row.halves == halves)
        };
        let Some(double) = row(2) else { return Err(self.no_such_pull(bean)) };
        if !is_here(bar, &bean.id) {
            return Err(no_grinder(bar, bean, part, self.given(Phase::Class)));
        }
        let single_here = bar.site.baskets.iter().any(|basket| basket.halves == 1);
        let single = (halves % 2 == 1 && single_here).then(|| row(1)).flatten();
        Ok(Draw { bean, halves, double, single })
    }

    fn no_such_pull(&self, bean: &Bean) -> Objection {
        let pull_name = self.bar.book.pulls.iter().find(|known| known.id == *self.pull);
        let mut fault = Objection::refuse(Code::NoSuchPull).name("bean", &bean.names);
        fault = match pull_name {
            Some(known) => fault.name("pull", &known.names),
            None => fault.text("pull", self.pull),
        };
        let slots = [Phase::Pull, Phase::Class].map(|phase| slot_of_phase(self.bar, phase));
        fault.fixes.extend(slots.into_iter().flatten().map(|slot| Fix::Drop(slot.id.clone())));
        fault.given = self.given(Phase::Pull).or(self.given(Phase::Class));
        let classes = |one: &&Held<'_>| matches!(one.phase(), Phase::Pull | Phase::Class);
        for one in self.held.iter().filter(classes) {
            fault = fault.involving(one.modifier.id());
        }
        fault
    }
}

/// The refusal of a mixture in an odd number of halves, with the counts beside it and its beans.
fn odd_halves(bar: &Bar, bean: &Bean, halves: i32, held: &[Held<'_>]) -> Objection {
    let mut fault = Objection::refuse(Code::OddHalves)
        .name("bean", &bean.names)
        .number("halves", i64::from(halves) * 1_000);
    let class = held.iter().find(|one| one.phase() == Phase::Class);
    if let Some(one) = class {
        fault = fault.about(one.modifier.id()).at(one.given);
    }
    let counters = bar.book.modifiers.iter().filter_map(|modifier| match modifier {
        Modifier::Counter(counter) => Some(counter).filter(|one| one.does.halves_each == Some(1)),
        Modifier::Slot(_) | Modifier::Flag(_) => None,
    });
    for counter in counters {
        let has = held.iter().filter_map(|one| one.holding.count());
        let n = has.filter(|(known, _)| known.id == counter.id).map(|(_, n)| n).sum::<i32>();
        let nearest =
            [n + 1, n - 1].into_iter().filter(|n| (counter.min..=counter.max).contains(n));
        fault.fixes.extend(nearest.map(|n| Fix::Count(counter.id.clone(), n)));
    }
    if let Some(slot) = slot_of_phase(bar, Phase::Class) {
        // Who asks for less caffeine is not offered all of it.
        let decaf = |id: &Id| bar.bean(id).is_some_and(|bean| bean.decaf);
        let part_of = |value: &&SlotValue| {
            value.does.bean.as_ref().is_some_and(|id| bean.half_of.contains(id) && decaf(id))
        };
        let beans = slot.values.iter().filter(part_of);
        fault.fixes.extend(beans.map(|value| Fix::Set(slot.id.clone(), value.id.clone())));
    }
    fault
}

fn no_grinder(bar: &Bar, bean: &Bean, part: &CoffeePart, given: Option<usize>) -> Objection {
    let mut fault = Objection::refuse(Code::NoGrinder).name("bean", &bean.names);
    fault.given = given;
    let Some(slot) = slot_of_phase(bar, Phase::Class) else { return fault };
    let here = |bean: &Id| is_here(bar, bean);
    let usual = here(&part.bean).then(|| Fix::Drop(slot.id.clone()));
    let others = slot.values.iter().filter(|value| value.does.bean.as_ref().is_some_and(here));
    let others = others.map(|value| Fix::Set(slot.id.clone(), value.id.clone()));
    fault.about(&slot.id).fixes(usual.into_iter().chain(others))
}
