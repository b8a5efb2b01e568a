//! Whether each modifier has something to act on in this drink.

use super::collect::Held;
use crate::{
    book::{AppliesTo, Bar, Cup, Drink, Id, Otherwise, OtherwiseVerdict, Part, Phase},
    engine::objection::{Code, Fix, Manner, Objection},
};

/// Complains about each held modifier that cannot act on this drink.
///
/// * `halves`: what the phase `count` came to; later phases judge coffee by it, so that decaf acts
///   on a dirty chai.
pub(super) fn check(
    bar: &Bar,
    drink: &Drink,
    cup: &Cup,
    halves: i32,
    held: &[Held<'_>],
    objections: &mut Vec<Objection>,
) {
    let form = held.iter().find(|one| one.phase() == Phase::Form).map(|one| one.modifier.id());
    for one in held {
        let coffee = if one.phase() == Phase::Count { cup.halves > 0 } else { halves > 0 };
        let scene = Scene { bar, drink, coffee, form };
        let of_value = one.holding.value().map(|value| &value.applies_to);
        let own = one.modifier.applies_to();
        if !scene.holds(own) || of_value.is_some_and(|applies| !scene.holds(applies)) {
            objections.push(scene.objection(one));
        }
    }
}

/// A drink as `applies_to` sees it.
struct Scene<'a> {
    bar: &'a Bar,
    drink: &'a Drink,
    coffee: bool,
    /// The modifier that asked for another form, by id.
    form: Option<&'a Id>,
}

impl Scene<'_> {
    fn holds(&self, applies: &AppliesTo) -> bool {
        let AppliesTo { parts, without, drinks } = applies;
        parts.iter().all(|word| self.has(word))
            && !without.iter().any(|word| self.has(word))
            && (drinks.is_empty() || drinks.contains(&self.drink.id))
    }

    fn has(&self, word: &Id) -> bool {
        let steamed = |part: &Part| {
            let texture = part.as_milk().and_then(|milk| self.bar.texture(&milk.texture));
            texture.is_some_and(|texture| texture.steamed)
        };
        let mut parts = self.drink.parts.iter();
        match &**word {
            "coffee" => self.coffee,
            "coffee-place" => parts.any(|part| matches!(part, Part::Coffee(_))),
            "steamed-milk" => parts.any(steamed),
            "foam" => parts.any(|part| matches!(part, Part::Milk(milk) if milk.foam.is_some())),
            kind_or_id => parts.any(|part| part.kind() == kind_or_id || *part.id() == kind_or_id),
        }
    }

    /// Whether there is anything to offer for this drink in the modifier's place.
    fn has_choice(&self, otherwise: &Otherwise) -> bool {
        let neighbours = &self.drink.neighbours;
        let neighbour =
            otherwise.neighbour.as_ref().is_some_and(|key| neighbours.contains_key(key));
        let acts = |id: &Id| {
            let modifier = self.bar.modifier(id).map(|(_, modifier)| modifier);
            modifier.is_some_and(|modifier| self.holds(modifier.applies_to()))
        };
        neighbour || otherwise.instead.iter().any(acts)
    }

    /// The neighbour that has a half already, which is one less to be added to it.
    fn counted_neighbour(&self, held: &Held<'_>, key: &Id) -> Option<Fix> {
        let (counter, n) = held.holding.count()?;
        counter.does.halves_each?;
        let neighbour = self.drink.neighbours.get(key)?;
        let fewer = Fix::Count(counter.id.clone(), n - 1);
        Some(Fix::All(vec![Fix::Drink(neighbour.clone()), fewer]))
    }

    fn objection(&self, held: &Held<'_>) -> Objection {
        let modifier = held.modifier;
        let replaces = held.phase() == Phase::Milk;
        let code = if replaces { Code::NothingToReplace } else { Code::NotApplicable };
        let mut objection = Objection::refuse(code)
            .about(modifier.id())
            .at(held.given)
            .name("modifier", modifier.names())
            .name("drink", &self.drink.names);
        if let Some(otherwise) = modifier.otherwise() {
            let ask = otherwise.verdict == OtherwiseVerdict::Ask;
            if ask && self.has_choice(otherwise) {
                objection.manner = Manner::Ask;
            }
            if !ask || objection.manner == Manner::Ask {
                objection.words = Some(otherwise.text.clone());
            }
            let of = modifier.id();
            let instead = otherwise.instead.iter();
            objection =
                objection.fixes(instead.map(|by| Fix::Instead { of: of.clone(), by: by.clone() }));
            if let Some(key) = &otherwise.neighbour {
                objection = match self.counted_neighbour(held, key) {
                    Some(fix) => objection.fixes([fix]),
                    None => objection.toward(key),
                };
            }
        }
        // What acts on the usual form may have nothing to act on in another one.
        let own = modifier.id().clone();
        match self.form {
            Some(form) => objection.fixes([Fix::Drop(own), Fix::Drop(form.clone())]),
            None => objection.fixes([Fix::Withdraw(own)]),
        }
    }
}
