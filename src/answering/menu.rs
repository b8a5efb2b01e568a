//! The menu of a site: each drink is tried in each cup by building it, and so is each modifier by
//! itself; the cups in which one would be refused are named beside it. What two modifiers come to
//! together only a ticket says.

use crate::{
    book::{Bar, CounterModifier, Drink, Exclusion, Modifier, Phase, Service, Words},
    engine::{
        Given, Line, Moment, What, build_line,
        objection::{Code, Objection},
    },
    fit::takes,
    in_force::{InForce, moment},
    units::Money,
    wire::{
        BookStamp, CountsView, CupRef, CupView, ExclusionView, Kind, Menu, MenuDrink, MenuModifier,
        MenuValue, NamedView, NotNow, NumbersView, Offer, Problem, SiteStamp,
    },
    words::{self, Catalogue},
};

use super::{
    fit::value_name,
    respond::{Sent, drink_row, unknown_lang},
};

/// The menu of a site, as JSON.
///
/// * Errors: a language that the book lacks.
pub fn menu(
    held: &InForce,
    bar: &Bar,
    lang: Option<&str>,
    sent: &Sent,
) -> Result<Vec<u8>, Problem> {
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let moment = moment(bar, &sent.out_of_stock, None, sent.now)
        .map_err(|fault| Kind::Internal.with(fault))?;
    let at = Kitchen { bar, moment: &moment, catalogue };
    let (mut drinks, mut not_now) = (Vec::new(), Vec::new());
    for drink in &bar.book.drinks {
        match at.drink(drink) {
            Ok(offered) => drinks.push(offered),
            Err(reason) => not_now.push(reason),
        }
    }
    let taken = |id: &str| drinks.iter().any(|one| one.modifiers.iter().any(|two| two.id == id));
    let own = drinks.iter().flat_map(|one| &one.cups).any(|cup| cup.service == Service::Own);
    // How much an own cup holds is asked with the cup, not with a drink.
    let capacity =
        |one: &&Modifier| own && matches!(one, Modifier::Slot(slot) if slot.millilitres.is_some());
    let modifiers = bar.book.modifiers.iter().filter(|one| taken(one.id()) || capacity(one));
    let view = Menu {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        lang: catalogue.lang.to_string(),
        currency: &bar.book.currency,
        out_of_stock: sent.out_of_stock.clone(),
        modifiers: modifiers.map(|one| at.modifier(one)).collect(),
        drinks,
        not_now,
        allergies: bar.book.allergens.iter().map(|one| at.named(&one.id, &one.names)).collect(),
        diets: bar.book.diets.iter().map(|one| at.named(&one.id, &one.names)).collect(),
    };
    serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))
}

/// Where a menu is tried, and in which language it is told.
struct Kitchen<'a> {
    bar: &'a Bar,
    moment: &'a Moment,
    catalogue: &'a Catalogue,
}

impl<'a> Kitchen<'a> {
    fn say(&self, words: &'a Words) -> &'a str {
        words.in_lang(&self.catalogue.lang)
    }

    fn named(&self, id: &'a str, names: &'a Words) -> NamedView<'a> {
        NamedView { id, name: self.say(names) }
    }

    fn price(&self, price: Money) -> String {
        price.with_places(usize::from(self.bar.book.currency_places))
    }

    fn tries(&self, line: &Line) -> Result<(), Vec<Objection>> {
        build_line(self.bar, line, self.moment).map(|_| ())
    }

    /// What the drink offers, or why it cannot be made.
    fn drink(&self, drink: &'a Drink) -> Result<MenuDrink<'a>, NotNow<'a>> {
        let rows = drink_row(self.bar, drink, self.catalogue).cups;
        let line = |cup: &CupView| {
            let capacity = self.bar.usual_capacity(cup.service, &cup.vessel);
            Line::standard(&drink.id, cup.service.as_str(), &cup.size, capacity)
        };
        let usual = Line { drink: drink.id.to_string(), quantity: 1, ..Line::default() };
        let cups: Vec<CupView> =
            rows.iter().filter(|cup| self.tries(&line(cup)).is_ok()).cloned().collect();
        let Some(first) = cups.first() else {
            // Whoever orders it without a word gets it in its usual cup, and is told this reason.
            let usual = self.tries(&usual).err();
            let why = usual.or_else(|| rows.first().and_then(|cup| self.tries(&line(cup)).err()));
            let why = why.and_then(|all| all.into_iter().next());
            return Err(NotNow {
                drink: &drink.id,
                name: self.say(&drink.names),
                code: why.as_ref().map_or(Code::NoSuchCup, |one| one.code).as_str(),
                text: why.map(|one| words::objection(self.catalogue, &one)).unwrap_or_default(),
            });
        };
        let base = if self.tries(&usual).is_ok() { usual } else { line(first) };
        let lines: Vec<(&CupView, Line)> = cups.iter().map(|cup| (cup, line(cup))).collect();
        let offers = self.bar.book.modifiers.iter().filter(|one| one.phase() != Phase::Cup);
        Ok(MenuDrink {
            id: &drink.id,
            name: self.say(&drink.names),
            short_name: self.say(drink.short_names.as_ref().unwrap_or(&drink.names)),
            modifiers: offers.filter_map(|one| self.offer(&base, &lines, one)).collect(),
            cups,
        })
    }

    /// Whether a line takes one thing more, and it changes something.
    fn takes(&self, base: &Line, id: &str, what: What) -> bool {
        takes(self.bar, base, Given { id: id.to_owned(), what }, self.moment).is_ok()
    }

    /// What the drink takes of a modifier, if it takes anything.
    ///
    /// * `base`: the usual line; `cups`: the line of each of its cups.
    fn offer(
        &self,
        base: &Line,
        cups: &[(&CupView, Line)],
        modifier: &'a Modifier,
    ) -> Option<Offer<'a>> {
        let id: &'a str = modifier.id();
        let takes = |what: What| self.takes(base, id, what);
        let mut offer = Offer { id, values: Vec::new(), min: None, max: None, not_in: Vec::new() };
        let asked: Vec<What> = match modifier {
            Modifier::Slot(slot) => {
                let ids = slot.values.iter().map(|value| &*value.id);
                offer.values = ids.filter(|id| takes(What::Value((*id).to_owned()))).collect();
                offer.values.iter().map(|id| What::Value((*id).to_owned())).collect()
            }
            Modifier::Counter(counter) => {
                let up = (1..=counter.max).take_while(|n| takes(What::Count(*n))).last();
                let down = (counter.min..0).rev().take_while(|n| takes(What::Count(*n))).last();
                offer.min = Some(down.unwrap_or(0));
                offer.max = Some(up.unwrap_or(0));
                down.into_iter().chain(up).map(What::Count).collect()
            }
            Modifier::Flag(_) => takes(What::Flag).then_some(What::Flag).into_iter().collect(),
        };
        if asked.is_empty() {
            return None;
        }
        // What a cup has by itself is no change there, but it is not refused.
        let refused = |line: &Line, what: &What| {
            let mut line = line.clone();
            line.modifiers.push(Given { id: id.to_owned(), what: what.clone() });
            let faults = self.tries(&line).err().unwrap_or_default();
            faults.iter().any(|one| one.code != Code::ConfirmNeeded)
        };
        let not_in = cups.iter().filter(|(_, line)| asked.iter().any(|what| refused(line, what)));
        offer.not_in = not_in
            .map(|(cup, _)| CupRef { service: cup.service, size: cup.size.clone() })
            .collect();
        Some(offer)
    }

    fn modifier(&self, modifier: &'a Modifier) -> MenuModifier<'a> {
        let mut view = MenuModifier {
            id: modifier.id(),
            kind: "flag",
            name: self.say(modifier.names()),
            values: Vec::new(),
            numbers: None,
            counts: None,
            price: None,
            excludes: self.exclusions(None, modifier.excludes()).collect(),
        };
        match modifier {
            Modifier::Slot(slot) => {
                view.kind = "slot";
                let priced = slot.priced_by.is_none();
                view.values = slot.values.iter().map(|one| self.value(one, priced)).collect();
                for value in &slot.values {
                    view.excludes.extend(self.exclusions(Some(&value.id), &value.excludes));
                }
                let numbers = |unit, min, max| NumbersView { unit, min, max };
                let degrees = slot.celsius.map(|one| numbers("°C", one.min.c(), one.max.c()));
                let volumes = slot.millilitres;
                let volumes = volumes.map(|one| numbers("mL", one.min.ml(), one.max.ml()));
                view.numbers = degrees.or(volumes);
            }
            Modifier::Counter(counter) => {
                view.kind = "counter";
                view.counts = Some(counts(counter));
                view.price = Some(self.price(counter.price_delta_each));
            }
            Modifier::Flag(flag) => view.price = Some(self.price(flag.price_delta)),
        }
        view
    }

    /// * `priced`: whether the value has a price of its own.
    fn value(&self, value: &'a crate::book::SlotValue, priced: bool) -> MenuValue<'a> {
        MenuValue {
            id: &value.id,
            name: value_name(self.bar, self.catalogue, value),
            price: priced.then(|| self.price(value.price_delta)),
        }
    }

    fn exclusions(
        &self,
        when: Option<&'a str>,
        all: &'a [Exclusion],
    ) -> impl Iterator<Item = ExclusionView<'a>> {
        all.iter().map(move |one| ExclusionView {
            when,
            id: &one.id,
            value: one.value.as_deref(),
            because: one.because.in_lang(&self.catalogue.lang),
        })
    }
}

fn counts(counter: &CounterModifier) -> CountsView<'_> {
    let together = counter.together.as_ref();
    CountsView {
        unit: &counter.unit,
        min: counter.min,
        max: counter.max,
        confirm_above: counter.confirm_above,
        together_with: together
            .map(|limit| limit.with.iter().map(|id| &**id).collect())
            .unwrap_or_default(),
        together_max: together.map(|limit| limit.max),
    }
}
