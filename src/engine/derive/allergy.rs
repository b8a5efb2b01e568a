//! A declared allergy: refused, or made by the site's own route.
//!
//! It changes verdict, route and notices, never the recipe. No wording says that anything is absent.

use super::allergens::{Touched, touched};
use crate::{
    book::{AllergenSet, AllergyRoute, Bar, Id, Ingredient, Service, Via, Words},
    engine::{
        line::Line,
        objection::{Code, Fact, Fix, Objection},
        order::{Order, Role, about, ingredients, without},
        phrase::Phrase,
        solve::Solved,
    },
};

/// A declared allergy that the site has a way to handle for this cup.
#[derive(Clone, Debug)]
pub struct Declaration<'b> {
    /// What was declared: an allergen, a group of them, or an ingredient.
    pub id: &'b Id,
    /// Its name.
    pub names: &'b Words,
    /// Shared equipment on which it is met, and which the route is about; empty where none is.
    pub equipment: Vec<Via>,
    /// Ingredients of the cup about which people with this allergy are asked.
    pub ask_about: Vec<&'b Ingredient>,
}

/// What a declaration means: allergens, or one ingredient.
struct Wanted<'b> {
    id: &'b Id,
    names: &'b Words,
    allergens: AllergenSet,
    /// Groups by which a record may mean one of them.
    groups: AllergenSet,
    ingredient: Option<&'b Id>,
}

impl<'b> Wanted<'b> {
    fn of(bar: &'b Bar, id: &str) -> Option<Self> {
        if let Some(allergen) = bar.allergen(id) {
            let allergens = bar.covered(&[&allergen.id]);
            return Some(Self {
                id: &allergen.id,
                names: &allergen.names,
                allergens,
                groups: bar.groups_of(allergens),
                ingredient: None,
            });
        }
        let one = bar.ingredient(id)?;
        // Whoever does not bear the ingredient is not given its allergens in another one either.
        let allergens = bar.brings(&one.id).contains;
        let groups = bar.groups_of(allergens);
        Some(Self { id: &one.id, names: &one.names, allergens, groups, ingredient: Some(&one.id) })
    }

    fn is_in(&self, bar: &Bar, ingredient: &Id) -> bool {
        bar.brings(ingredient).contains.meets(self.allergens.and(self.groups))
            || self.ingredient.is_some_and(|wanted| bar.holds(ingredient, wanted))
    }

    fn is_met_on(&self, bar: &Bar, one: &Touched<'_>) -> bool {
        one.allergens.and(one.may_contain).meets(self.allergens.and(self.groups))
            || self.ingredient.is_some_and(|wanted| one.meets_any(bar, |id| bar.holds(id, wanted)))
    }
}

/// How each allergy of the line is handled.
///
/// * Errors: what the cup contains, may contain, or would meet on equipment that the site's route
///   does not cover; an unknown allergy; an own cup.
pub fn allergies<'b>(
    bar: &'b Bar,
    line: &Line,
    order: &Order<'b>,
    solved: &Solved<'b>,
) -> Result<Vec<Declaration<'b>>, Vec<Objection>> {
    let mut ids: Vec<&String> = line.allergies.iter().collect();
    ids.sort();
    ids.dedup();
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let (mut declared, mut objections) = (Vec::new(), Vec::new());
    let touched = touched(bar, order, solved);
    for id in ids {
        let Some(wanted) = Wanted::of(bar, id) else {
            objections.push(unknown(bar, id));
            continue;
        };
        objections.extend(in_the_cup(bar, order, &wanted));
        let met = touched.iter().filter(|one| wanted.is_met_on(bar, one));
        let mut equipment: Vec<Via> = met.map(|one| one.via).collect();
        equipment.sort();
        equipment.dedup();
        if !equipment.is_empty() && !is_handled(bar, &wanted) {
            objections.push(not_handled(order, &wanted, &equipment));
        }
        let asked = |one: &&Ingredient| {
            let about: Vec<&Id> = one.ask_about.iter().collect();
            about.contains(&wanted.id) || bar.covered(&about).meets(wanted.allergens)
        };
        let all = ingredients(bar, order).into_iter().map(|(_, one)| one);
        let ask_about = all.filter(asked).collect();
        declared.push(Declaration { id: wanted.id, names: wanted.names, equipment, ask_about });
    }
    if order.service == Service::Own {
        objections.push(own_cup(order));
    }
    if objections.is_empty() { Ok(declared) } else { Err(objections) }
}

/// Complaints about each ingredient that contains, or may contain, what was declared.
fn in_the_cup(bar: &Bar, order: &Order<'_>, wanted: &Wanted<'_>) -> Vec<Objection> {
    let mut found: Vec<Objection> = Vec::new();
    let mut seen: Vec<&Id> = Vec::new();
    for (role, ingredient) in ingredients(bar, order) {
        let code = if wanted.is_in(bar, &ingredient.id) {
            Code::AllergenContained
        } else if bar.brings(&ingredient.id).may_contain.meets(wanted.allergens.and(wanted.groups))
        {
            Code::AllergenMayBeContained
        } else {
            continue;
        };
        if seen.contains(&&ingredient.id) {
            continue;
        }
        seen.push(&ingredient.id);
        let fault = Objection::refuse(code)
            .name("ingredient", &ingredient.names)
            .name("drink", &order.drink.names)
            .name("what", wanted.names);
        let fault = about(fault, &role, order);
        found.push(fault.fixes(ways(bar, &role, ingredient)).toward("allergy"));
    }
    found
}

/// Ways to do without the ingredient; what was only asked for can simply go.
fn ways(bar: &Bar, role: &Role<'_>, ingredient: &Ingredient) -> Vec<Fix> {
    match role {
        Role::Added(by) => vec![Fix::Drop((*by).clone())],
        Role::Bean | Role::Milk | Role::Part(_) => without(bar, role, ingredient),
    }
}

/// Whether the site's route covers shared equipment for this.
fn is_handled(bar: &Bar, wanted: &Wanted<'_>) -> bool {
    match bar.site.allergy_route {
        AllergyRoute::None => false,
        AllergyRoute::AfterFullClean => true,
        AllergyRoute::Dedicated => {
            let kept: Vec<&Id> = bar.site.dedicated_for.iter().collect();
            let beyond = wanted.allergens.beyond(bar.covered(&kept));
            wanted.ingredient.is_none() && beyond == AllergenSet::default()
        }
    }
}

fn not_handled(order: &Order<'_>, wanted: &Wanted<'_>, equipment: &[Via]) -> Objection {
    let mut fault = Objection::refuse(Code::AllergyNotHandled)
        .name("drink", &order.drink.names)
        .name("what", wanted.names);
    let said = equipment.iter().map(|via| phrase_of(*via)).collect();
    fault.facts.push(("equipment", Fact::Says(said)));
    fault.toward("allergy")
}

/// Equipment as a sentence names it.
pub(super) const fn phrase_of(via: Via) -> Phrase {
    match via {
        Via::Wand => Phrase::ViaWand,
        Via::Jug => Phrase::ViaJug,
        Via::Cloth => Phrase::ViaCloth,
        Via::Whisk => Phrase::ViaWhisk,
        Via::Strainer => Phrase::ViaStrainer,
        Via::Grinder => Phrase::ViaGrinder,
    }
}

fn own_cup(order: &Order<'_>) -> Objection {
    let slot = Id::from("service");
    let given = order.held.iter().find(|one| *one.modifier.id() == slot).map(|one| one.given);
    let mut fault = Objection::refuse(Code::OwnCupWithAllergy)
        .about(&slot)
        .name("drink", &order.drink.names)
        .fixes(crate::engine::order::house_cups(order.drink));
    fault.given = given;
    fault
}

fn unknown(bar: &Bar, id: &str) -> Objection {
    let known = bar.book.allergens.iter().map(|one| &one.id);
    let known = known.chain(bar.book.ingredients.iter().map(|one| &one.id));
    let near = crate::engine::order::nearest(id, known);
    let near = near.first().map_or("–", |id| &***id);
    Objection::refuse(Code::UnknownAllergy).text("asked", id).text("near", near)
}
