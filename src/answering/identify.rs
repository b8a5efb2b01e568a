//! The way of amounts through: read, compared with every drink, answered.

use std::{
    collections::HashMap,
    sync::{Arc, LazyLock, Mutex, PoisonError},
};

use super::{
    body::{BodyOf, unknown},
    respond::{unknown_lang, unknown_site},
};
use crate::{
    book::Bar,
    engine::identify::{Amounts, Standards, identify},
    in_force::InForce,
    json::{Complaint, SchemaCheck},
    wire::{CupTicket, DrinksNear, Fault, Kind, Problem},
};

static SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<CupTicket>(false));

/// Reads what is in a cup.
///
/// * Errors: a problem for a body that does not follow the contract, or a cup with nothing in it.
pub fn read_cup(body: &[u8]) -> Result<CupTicket, Problem> {
    let cup =
        BodyOf { what: "cup", schema: &SCHEMA, beyond: nothing_in_it, besides: |_| Vec::new() };
    cup.read(body)
}

/// What a schema cannot say: that there is nothing in the cup.
fn nothing_in_it(ticket: &CupTicket) -> Vec<Complaint> {
    let nothing = Amounts::from(ticket).is_nothing();
    let expected = "coffee, milk, water, ice or an ingredient";
    nothing.then(|| Complaint::at("", "nothing in the cup", expected)).into_iter().collect()
}

/// The standard cups of each site, each until another edition is in force there: working them out
/// costs as much as a build of every drink.
#[derive(Debug, Default)]
pub struct StandardCups(Mutex<HashMap<String, (u64, Arc<Standards>)>>);

impl StandardCups {
    fn of(&self, edition: u64, bar: &Bar) -> Arc<Standards> {
        let all = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let site = &*bar.site.id;
        if let Some((_, kept)) = all().get(site).filter(|(number, _)| *number == edition) {
            return Arc::clone(kept);
        }
        // Worked out without the lock, so that a large book holds up no other site.
        let made = Arc::new(Standards::of(bar));
        all().insert(site.to_owned(), (edition, Arc::clone(&made)));
        made
    }
}

/// The drinks that the cup is nearest to, as JSON.
///
/// * `kept`: where standard cups are kept, with the number of the edition.
/// * Errors: an unknown site, a language, a pull or an ingredient that the book lacks.
pub fn drinks_near(
    held: &InForce,
    ticket: &CupTicket,
    kept: Option<(&StandardCups, u64)>,
) -> Result<Vec<u8>, Problem> {
    let bar = held.bar(&ticket.site).ok_or_else(|| unknown_site(held, &ticket.site))?;
    let found = held.catalogue(bar, ticket.lang.as_deref());
    let catalogue = found.map_err(|known| unknown_lang(&known, "/lang"))?;
    known_ids(bar, ticket)?;
    let standards = match kept {
        Some((kept, edition)) => kept.of(edition, bar),
        None => Arc::new(Standards::of(bar)),
    };
    let near = identify(bar, &standards, &Amounts::from(ticket));
    let answer = DrinksNear::of(bar, &near, catalogue);
    serde_json::to_vec(&answer).map_err(|fault| Kind::Internal.with(fault))
}

fn known_ids(bar: &Bar, ticket: &CupTicket) -> Result<(), Problem> {
    let pulls = || bar.book.pulls.iter().map(|one| &*one.id);
    let strange = |pull: &&str| !pulls().any(|known| known == *pull);
    let pull = ticket.pull.as_deref().filter(strange);
    let mut faults: Vec<Fault> =
        pull.map(|pull| unknown("/pull", pull, pulls())).into_iter().collect();
    for (at, id) in ticket.ingredients.iter().enumerate() {
        if bar.ingredient(id).is_none() {
            let known = bar.book.ingredients.iter().map(|one| &*one.id);
            faults.push(unknown(format!("/ingredients/{at}"), id, known));
        }
    }
    if faults.is_empty() {
        return Ok(());
    }
    Err(Kind::InvalidBody.with("The cup names what the book lacks.").about(faults))
}
