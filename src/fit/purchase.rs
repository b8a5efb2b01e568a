//! Purchases: what the refusals point at, one thing at a time, and what each enables.

use std::{cmp::Reverse, collections::BTreeMap};

use super::{
    survey::{Survey, Unmade},
    tries::{Thing, takes},
};
use crate::{
    book::{
        Bar, Basket, Bean, Book, Cup, Id, Ingredient, Jug, Service, Site, SiteJug, SiteVessel,
        Vessel, Wand, Words,
    },
    engine::{
        Moment, build_line,
        objection::{Code, Fact, Objection},
    },
};

/// One thing that a site does not have.
#[derive(Clone, Copy, Debug)]
pub enum Purchase<'b> {
    /// A cup of the book.
    Vessel(&'b Vessel),
    /// Customers' own cups of a size are taken: nothing is bought for it.
    OwnCup(&'b Vessel),
    /// A jug of the book.
    Jug(&'b Jug),
    /// A bean, in a grinder of its own or in measured doses.
    Bean(&'b Bean),
    /// An ingredient in stock.
    Ingredient(&'b Ingredient),
    /// A basket for one half.
    SingleBasket,
    /// One more steam wand, for any milk, as strong as the first one here or on the training bar.
    Wand(&'b Wand),
}

/// What a purchase enables.
#[derive(Debug)]
pub struct Gain<'b> {
    /// The purchase.
    pub purchase: Purchase<'b>,
    /// What is made with it and was not, in the order of the survey.
    pub enables: Vec<Thing<'b>>,
}

impl<'b> Purchase<'b> {
    /// Everything that the site lacks of what its book has, in the order of the book: cups, jugs,
    /// beans, ingredients, a single basket, a wand.
    pub fn all(bar: &'b Bar) -> Vec<Self> {
        let (book, site): (&Book, &Site) = (&bar.book, &bar.site);
        let ground = |bean: &Id| site.grinders.iter().any(|one| one.beans.contains(bean));
        let vessels = book.vessels.iter().filter(|one| bar.cup_here(&one.id).is_none());
        let vessels = vessels.map(|one| {
            let in_row = |(service, row): (&Service, &BTreeMap<Id, Cup>)| {
                *service != Service::Own && row.values().any(|cup| cup.vessel == one.id)
            };
            let of_house = book.drinks.iter().any(|drink| drink.cups.iter().any(in_row));
            if of_house { Self::Vessel(one) } else { Self::OwnCup(one) }
        });
        let jugs = book.jugs.iter().filter(|one| !site.jugs.iter().any(|two| two.id == one.id));
        let beans = book.beans.iter();
        let beans = beans.filter(|one| !ground(&one.id) && !site.pre_dosed.contains(&one.id));
        let stock = book.ingredients.iter().filter(|one| !bar.stocks(&one.id));
        let basket = site.baskets.iter().all(|one| one.halves != 1);
        let wand = site.wands.first().or(book.training_bar.wands.first());
        vessels
            .chain(jugs.map(Self::Jug))
            .chain(beans.map(Self::Bean))
            .chain(stock.map(Self::Ingredient))
            .chain(basket.then_some(Self::SingleBasket))
            .chain(wand.map(Self::Wand))
            .collect()
    }

    /// The sheet of the site with this and everything else as it is.
    pub fn added_to(&self, site: &Site) -> Site {
        let mut own = site.clone();
        self.add_to(&mut own);
        own
    }

    fn add_to(&self, site: &mut Site) {
        match self {
            Self::Vessel(one) | Self::OwnCup(one) => {
                site.vessels.push(SiteVessel { id: one.id.clone(), replaced_by: None });
            }
            Self::Jug(one) => site.jugs.push(SiteJug { id: one.id.clone(), replaced_by: None }),
            Self::Bean(one) => {
                site.pre_dosed.push(one.id.clone());
                if !site.stock.contains(&one.ingredient) {
                    site.stock.push(one.ingredient.clone());
                }
            }
            Self::Ingredient(one) => site.stock.push(one.id.clone()),
            Self::SingleBasket => site.baskets.push(Basket { halves: 1, count: 1 }),
            Self::Wand(one) => {
                let mut wand = Wand::clone(one);
                wand.only.clear();
                site.wands.push(wand);
            }
        }
    }

    /// Whether a refusal says that this is what is missing.
    pub fn is_missed(&self, why: &Objection) -> bool {
        let names = |gap: &str, wanted: &Words| {
            let named = |(known, fact): &(&str, Fact)| {
                *known == gap && matches!(fact, Fact::Name(words) if words == wanted)
            };
            why.facts.iter().any(named)
        };
        match (self, why.code) {
            (Self::Vessel(one) | Self::OwnCup(one), Code::NoSuchCupHere) => {
                names("cup", &one.names)
            }
            (Self::Jug(_), Code::NoJug) | (Self::Wand(_), Code::NoWand) => true,
            (Self::Bean(one), Code::NoGrinder) => names("bean", &one.names),
            (Self::Ingredient(one), Code::NotStocked) => names("ingredient", &one.names),
            // No refusal misses a single basket: without one a half is spare, and the cup is made.
            _ => false,
        }
    }
}

/// The bar with everything that its book has and the site lacks.
pub fn whole(bar: &Bar) -> Bar {
    let mut site = Site::clone(&bar.site);
    for one in Purchase::all(bar) {
        one.add_to(&mut site);
    }
    bar.equipped(site)
}

/// What each purchase enables that enables anything: the one that enables most first, of equals the
/// one that stands first in the book.
///
/// Only what some refusal misses is tried, and only on what is refused for it: more equipment never
/// takes away another reason.
pub fn gains<'b>(bar: &'b Bar, survey: &Survey<'b>) -> Vec<Gain<'b>> {
    let mut all: Vec<Gain<'b>> = Vec::new();
    for purchase in Purchase::all(bar) {
        let missed = |why: &[Objection]| why.iter().any(|one| purchase.is_missed(one));
        let pointed = |one: &&Unmade<'b>| one.tried.iter().any(|(_, why)| missed(why));
        let open: Vec<&Unmade<'b>> = survey.unmade.iter().filter(pointed).collect();
        if open.is_empty() {
            continue;
        }
        let there = bar.equipped(purchase.added_to(&bar.site));
        let is_made = |one: &&&Unmade<'b>| {
            let again = one.tried.iter().filter(|(_, why)| missed(why));
            again.into_iter().any(|(line, _)| match &one.given {
                None => build_line(&there, line, &Moment::default()).is_ok(),
                Some(given) => takes(&there, line, given.clone(), &Moment::default()).is_ok(),
            })
        };
        let enables: Vec<Thing<'b>> = open.iter().filter(is_made).map(|one| one.thing).collect();
        if !enables.is_empty() {
            all.push(Gain { purchase, enables });
        }
    }
    // The sort is stable, so that equals stay in the order of the book.
    all.sort_by_key(|one| Reverse(one.enables.len()));
    all
}
