//! What a site cannot make or offer, and the one purchase that would enable most, in words.

use super::respond::{Sent, unknown_lang};
use crate::{
    book::{Bar, Drink, Id, Modifier, SlotValue, Words},
    engine::{
        Moment, build_line,
        objection::{Code, Objection},
        phrase::{Gap, Phrase},
    },
    fit::{Gain, Purchase, Survey, Thing, cup_lines, gains, survey, whole},
    in_force::{InForce, moment},
    wire::{
        BookStamp, CupRef, FitAnswer, FitCounts, FitCup, FitDrink, FitPurchase, FitRefusal,
        FitValue, Kind, Problem, SiteStamp,
    },
    words::{self, Catalogue},
};

/// Most purchases that are told.
const MOST: usize = 5;

/// What the site of `bar` cannot make or offer, as JSON.
///
/// * Errors: a language that the book lacks.
pub fn fit(held: &InForce, bar: &Bar, lang: Option<&str>, sent: &Sent) -> Result<Vec<u8>, Problem> {
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let now = moment(bar, &[], None, sent.now).map_err(|fault| Kind::Internal.with(fault))?;
    let found = survey(bar, &whole(bar));
    let all = gains(bar, &found);
    let told = Told { held, bar, catalogue, now: &now };
    let enabled = |thing: &Thing<'_>| all.iter().any(|gain| gain.enables.contains(thing));
    let is_free = |gain: &&Gain<'_>| matches!(gain.purchase, Purchase::OwnCup(_));
    let (bought, free) = (all.iter().filter(|gain| !is_free(gain)), all.iter().filter(is_free));
    let view = FitAnswer {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        lang: catalogue.lang.to_string(),
        counts: counts(&found),
        drinks: bar.book.drinks.iter().filter_map(|drink| told.drink(drink, &found)).collect(),
        refusals: told.refusals(&found),
        needs_more_than_one: found.unmade.iter().filter(|one| !enabled(&one.thing)).count(),
        purchases: bought.take(MOST).map(|gain| told.purchase(gain)).collect(),
        without_purchase: free.map(|gain| told.purchase(gain)).collect(),
    };
    serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))
}

fn counts(found: &Survey<'_>) -> FitCounts {
    let mut counts = FitCounts::default();
    for thing in &found.made {
        match thing {
            Thing::Cup { .. } => counts.cups_made += 1,
            Thing::Value { .. } => counts.values_offered += 1,
        }
    }
    for one in &found.unmade {
        match one.thing {
            Thing::Cup { .. } => counts.cups_not_made += 1,
            Thing::Value { .. } => counts.values_not_offered += 1,
        }
    }
    counts
}

/// What a survey is told with.
struct Told<'a> {
    held: &'a InForce,
    bar: &'a Bar,
    catalogue: &'a Catalogue,
    now: &'a Moment,
}

impl<'a> Told<'a> {
    fn say(&self, words: &'a Words) -> &'a str {
        words.in_lang(&self.catalogue.lang)
    }

    fn drink(&self, drink: &'a Drink, found: &Survey<'_>) -> Option<FitDrink<'a>> {
        let cup = |thing: &Thing<'_>| match thing {
            Thing::Cup { drink: id, service, size } if **id == drink.id => {
                Some(CupRef { service: *service, size: size.to_string() })
            }
            Thing::Cup { .. } | Thing::Value { .. } => None,
        };
        let made: Vec<CupRef> = found.made.iter().filter_map(cup).collect();
        let not_made: Vec<CupRef> = found.unmade.iter().filter_map(|one| cup(&one.thing)).collect();
        let out_of_season = self.now.out_of_season.iter().any(|id| drink.id == id.as_str());
        if not_made.is_empty() && !out_of_season {
            return None;
        }
        let made_at = self.made_at(drink);
        let training = &self.held.book().training_bar.id;
        let training_bar_only = made.is_empty() && made_at == [&**training];
        let mut text = Vec::new();
        if out_of_season {
            let season = Objection::refuse(Code::OutOfSeason).name("drink", &drink.names);
            text.push(words::objection(self.catalogue, &season));
        }
        if training_bar_only {
            let name = [("drink", Gap::Name(&drink.names))];
            text.push(words::gaps(self.catalogue, Phrase::FitTrainingOnly, &name));
        }
        Some(FitDrink {
            drink: &drink.id,
            name: self.say(&drink.names),
            made,
            not_made,
            out_of_season,
            made_at,
            training_bar_only,
            text: text.join(" "),
        })
    }

    /// The other bars that make the drink in some cup, on any day.
    fn made_at(&self, drink: &Drink) -> Vec<&'a str> {
        let others = self.held.bars.iter().filter(|(id, _)| **id != self.bar.site.id);
        let makes = |bar: &Bar| {
            let Some(there) = bar.drink(&drink.id) else { return false };
            let lines = cup_lines(bar, there);
            lines.iter().any(|(_, line)| build_line(bar, line, &Moment::default()).is_ok())
        };
        others.filter(|(_, bar)| makes(bar)).map(|(id, _)| &**id).collect()
    }

    /// Reasons by code and what is missing, or by their sentence; what has several stands with each.
    fn refusals(&self, found: &Survey<'a>) -> Vec<FitRefusal<'a>> {
        let lacking = Purchase::all(self.bar);
        let mut all: Vec<FitRefusal<'a>> = Vec::new();
        for one in &found.unmade {
            for why in &one.why {
                let (code, text) = (why.code.as_str(), words::objection(self.catalogue, why));
                // A refusal for want of a jug names none: any may be the right one.
                let tells = |one: &&Purchase<'_>| !matches!(one, Purchase::Jug(_));
                let missing = lacking.iter().filter(|one| tells(one) && one.is_missed(why));
                let missing = missing.map(identified).find_map(|(_, record, _)| record);
                let (id, names) = missing.unzip();
                let id = id.map(|id| &**id);
                let same = |other: &FitRefusal<'_>| {
                    other.code == code
                        && other.missing == id
                        && (id.is_some() || other.texts.contains(&text))
                };
                let at = all.iter().position(same).unwrap_or_else(|| {
                    all.push(FitRefusal {
                        code,
                        missing: id,
                        missing_name: names.map(|names| self.say(names)),
                        texts: Vec::new(),
                        cups: Vec::new(),
                        values: Vec::new(),
                    });
                    all.len() - 1
                });
                let FitRefusal { texts, cups, values, .. } = &mut all[at];
                if !texts.contains(&text) {
                    texts.push(text);
                }
                self.sort(&one.thing, cups, values);
            }
        }
        all
    }

    /// Puts a thing where it belongs.
    fn sort(&self, thing: &Thing<'a>, cups: &mut Vec<FitCup<'a>>, values: &mut Vec<FitValue<'a>>) {
        match *thing {
            Thing::Cup { drink, service, size } => {
                let name = self.bar.drink(drink).map_or("", |drink| self.say(&drink.names));
                cups.push(FitCup { drink, name, service, size });
            }
            Thing::Value { modifier, value } => values.push(self.value(modifier, value)),
        }
    }

    fn value(&self, modifier: &'a Id, value: Option<&'a Id>) -> FitValue<'a> {
        let record = self.bar.modifier(modifier).map(|(_, record)| record);
        let slot = match record {
            Some(Modifier::Slot(slot)) => Some(slot),
            Some(Modifier::Counter(_) | Modifier::Flag(_)) | None => None,
        };
        let known = |id: &Id| slot.and_then(|slot| slot.values.iter().find(|one| one.id == *id));
        FitValue {
            modifier,
            name: record.map_or("", |record| self.say(record.names())),
            value: value.map(|id| &**id),
            value_name: value
                .map(|id| known(id).map_or(&**id, |one| value_name(self.bar, self.catalogue, one))),
        }
    }

    fn purchase(&self, gain: &Gain<'a>) -> FitPurchase<'a> {
        let (kind, record, phrase) = identified(&gain.purchase);
        let (id, names) = record.unzip();
        let what: Vec<_> = names.map(|names| ("what", Gap::Name(names))).into_iter().collect();
        let (mut cups, mut values) = (Vec::new(), Vec::new());
        for thing in &gain.enables {
            self.sort(thing, &mut cups, &mut values);
        }
        FitPurchase {
            kind,
            id: id.map(|id| &**id),
            text: words::gaps(self.catalogue, phrase, &what),
            count: gain.enables.len(),
            cups,
            values,
        }
    }
}

/// The kind of a purchase, its record's id and names, and its sentence.
fn identified<'a>(purchase: &Purchase<'a>) -> (&'static str, Option<(&'a Id, &'a Words)>, Phrase) {
    let of = |id: &'a Id, names: &'a Words| Some((id, names));
    match *purchase {
        Purchase::Vessel(one) => ("vessel", of(&one.id, &one.names), Phrase::FitVessel),
        Purchase::OwnCup(one) => ("own-cup", of(&one.id, &one.names), Phrase::FitOwnCup),
        Purchase::Jug(one) => ("jug", of(&one.id, &one.names), Phrase::FitJug),
        Purchase::Bean(one) => ("bean", of(&one.id, &one.names), Phrase::FitBean),
        Purchase::Ingredient(one) => ("ingredient", of(&one.id, &one.names), Phrase::FitIngredient),
        Purchase::SingleBasket => ("single-basket", None, Phrase::FitBasket),
        Purchase::Wand(_) => ("wand", None, Phrase::FitWand),
    }
}

/// The name of a value: its own, or that of the milk that it is.
pub(super) fn value_name<'a>(bar: &'a Bar, catalogue: &Catalogue, value: &'a SlotValue) -> &'a str {
    let of_milk = || value.milk().and_then(|id| bar.ingredient(id)).map(|one| &one.names);
    let names = value.names.as_ref().or_else(of_milk);
    names.map_or(&*value.id, |names| names.in_lang(&catalogue.lang))
}
