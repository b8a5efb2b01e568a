//! The menu of a site: each drink in each cup, and each modifier by itself, is tried by building it,
//! so that a till offers nothing that would be refused.

use crate::{
    book::{Bar, CounterModifier, Drink, Exclusion, Modifier, Phase, Service, Words},
    engine::{
        Given, Line, Moment, What, build_line,
        objection::{Code, Objection},
    },
    in_force::{InForce, moment},
    units::Money,
    wire::{
        BookStamp, CountsView, CupView, ExclusionView, Kind, Menu, MenuDrink, MenuModifier,
        MenuValue, NamedView, NotNow, NumbersView, Offer, Problem, SiteStamp,
    },
    words::{self, Catalogue},
};

use super::respond::{Sent, drink_row, unknown_lang};

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
        let offers = self.bar.book.modifiers.iter().filter(|one| one.phase() != Phase::Cup);
        Ok(MenuDrink {
            id: &drink.id,
            name: self.say(&drink.names),
            short_name: self.say(drink.short_names.as_ref().unwrap_or(&drink.names)),
            modifiers: offers.filter_map(|one| self.offer(&base, one)).collect(),
            cups,
        })
    }

    /// What the drink takes of a modifier, if it takes anything.
    fn offer(&self, base: &Line, modifier: &'a Modifier) -> Option<Offer<'a>> {
        let id: &'a str = modifier.id();
        let takes = |what: What| {
            let mut line = base.clone();
            line.modifiers.push(Given { id: id.to_owned(), what });
            match build_line(self.bar, &line, self.moment) {
                // What is dropped from the normal form changes nothing, and is no offer.
                Ok(build) => build.order.held.iter().any(|held| **held.modifier.id() == *id),
                // What only wants a word from the customer is on offer too.
                Err(all) => all.iter().all(|one| one.code == Code::ConfirmNeeded),
            }
        };
        match modifier {
            Modifier::Slot(slot) => {
                let values = slot.values.iter();
                let values: Vec<&str> = values
                    .filter(|value| takes(What::Value(value.id.to_string())))
                    .map(|value| &*value.id)
                    .collect();
                (!values.is_empty()).then_some(Offer { id, values, min: None, max: None })
            }
            Modifier::Counter(counter) => {
                let up = (1..=counter.max).take_while(|n| takes(What::Count(*n))).last();
                let down = (counter.min..0).rev().take_while(|n| takes(What::Count(*n))).last();
                let range = Offer {
                    id,
                    values: Vec::new(),
                    min: Some(down.unwrap_or(0)),
                    max: Some(up.unwrap_or(0)),
                };
                (up.is_some() || down.is_some()).then_some(range)
            }
            Modifier::Flag(_) => {
                takes(What::Flag).then_some(Offer { id, values: Vec::new(), min: None, max: None })
            }
        }
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
                view.values = slot.values.iter().map(|value| self.value(value)).collect();
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

    fn value(&self, value: &'a crate::book::SlotValue) -> MenuValue<'a> {
        let of_milk = || value.milk().and_then(|id| self.bar.ingredient(id)).map(|one| &one.names);
        let names = value.names.as_ref().or_else(of_milk);
        MenuValue {
            id: &value.id,
            name: names.map_or(&*value.id, |names| self.say(names)),
            price: self.price(value.price_delta),
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
