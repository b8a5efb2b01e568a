//! A shot's way through: read, held to its recipe, answered.

use std::sync::LazyLock;

use super::{
    body::{BodyOf, unknown},
    respond::{unknown_lang, unknown_site},
};
use crate::{
    book::Bar,
    engine::shot::{NoRecipe, Pulled, Recipe, Shot, extraction_yield, judge, recipe},
    in_force::InForce,
    json::{Complaint, SchemaCheck},
    units::{Mass, Percent},
    wire::{Fault, Kind, Problem, ShotAnswer, ShotTicket},
};

static SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<ShotTicket>(false));

/// Reads a shot.
///
/// * Errors: a problem for a body that does not follow the contract, or whose numbers cannot be
///   true together, with each fault.
pub fn read_shot(body: &[u8]) -> Result<ShotTicket, Problem> {
    let shot = BodyOf {
        what: "shot",
        schema: &SCHEMA,
        beyond: beyond_the_schema,
        besides: |_| Vec::new(),
    };
    shot.read(body)
}

/// What a schema cannot say: solids in nothing, and more solids than there was coffee.
fn beyond_the_schema(ticket: &ShotTicket) -> Vec<Complaint> {
    let Some(tds) = ticket.tds_percent else { return Vec::new() };
    let fault =
        |found: String, expected: &str| vec![Complaint::at("/tds_percent", found, expected)];
    if ticket.yield_g == Mass::ZERO {
        return fault(format!("{tds} of no coffee"), "no such field where nothing came");
    }
    let extracted = extraction_yield(tds, ticket.yield_g, ticket.dose_g);
    if extracted > Percent::from_thousandths(Percent::HIGH * 1_000) {
        let expected = "at most as much dissolved as there was dry coffee";
        return fault(format!("{tds}, which is {extracted} of the dose"), expected);
    }
    Vec::new()
}

/// The answer to a shot, as JSON.
///
/// * Errors: an unknown site, a language that the book lacks, a bean, pull or basket without recipe.
pub fn shot_answer(held: &InForce, ticket: &ShotTicket) -> Result<Vec<u8>, Problem> {
    let bar = held.bar(&ticket.site).ok_or_else(|| unknown_site(held, &ticket.site))?;
    let found = held.catalogue(bar, ticket.lang.as_deref());
    let catalogue = found.map_err(|known| unknown_lang(&known, "/lang"))?;
    let recipe = recipe_of(bar, ticket)?;
    let recent: Vec<Pulled> = ticket.recent.iter().map(Pulled::from).collect();
    let judged = judge(recipe, &Shot::from(ticket), &recent);
    let answer = ShotAnswer::of(bar, recipe, &judged, catalogue);
    serde_json::to_vec(&answer).map_err(|fault| Kind::Internal.with(fault))
}

fn recipe_of<'b>(bar: &'b Bar, ticket: &ShotTicket) -> Result<Recipe<'b>, Problem> {
    let ShotTicket { extraction, bean, pull, halves, .. } = ticket;
    let style = extraction.as_deref();
    recipe(bar, style, (bean, pull), *halves).map_err(|none| {
        let book = &bar.book;
        let fault = match none {
            NoRecipe::Extraction => {
                let known = book.extractions.iter().map(|one| &*one.id);
                unknown("/extraction", style.unwrap_or_default(), known)
            }
            NoRecipe::Bean => unknown("/bean", bean, book.beans.iter().map(|one| &*one.id)),
            NoRecipe::Pull => unknown("/pull", pull, book.pulls.iter().map(|one| &*one.id)),
            NoRecipe::BeanNotHere => {
                let ground = bar.site.grinders.iter().flat_map(|one| &one.beans);
                unknown("/bean", bean, ground.chain(&bar.site.pre_dosed).map(|id| &**id))
            }
            NoRecipe::BasketNotHere => {
                let known: Vec<String> =
                    bar.site.baskets.iter().map(|basket| basket.halves.to_string()).collect();
                let expected = format!("{}, the baskets here", known.join(" or "));
                Fault::at("/halves", format!("found {halves}; expected {expected}"))
            }
            NoRecipe::Basket(baskets) if baskets.is_empty() => {
                let found = format!("found the bean `{bean}` at the pull `{pull}`");
                Fault::at("/bean", format!("{found}; expected a pair with a recipe in the book"))
            }
            NoRecipe::Basket(baskets) => {
                let known: Vec<String> = baskets.iter().map(u8::to_string).collect();
                let expected = format!("{}, for which there is a recipe", known.join(" or "));
                Fault::at("/halves", format!("found {halves}; expected {expected}"))
            }
        };
        Kind::InvalidBody.with("The book has no recipe for this shot.").about([fault])
    })
}
