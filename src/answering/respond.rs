//! Answers: a ticket's verdicts, and the standard builds of one drink, as bytes of JSON.

use jiff::Timestamp;
use serde::Serialize;

use crate::{
    book::{Bar, Drink, Lang},
    engine::{Line, Verdict, expand},
    in_force::{InForce, moment},
    wire::{
        Answer, BookStamp, CupView, DrinkBuilds, DrinkRow, Fault, Kind, Pin, Problem, SiteStamp,
        Ticket, answer_line,
    },
    words::Catalogue,
};

/// What is asked about a ticket.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Verdicts with builds.
    Builds,
    /// Verdicts alone.
    Verdicts,
}

/// The answer to a ticket.
///
/// * `now`: the clock's time, for seasons where the ticket names no time.
/// * Errors: an unknown site, a language that the book lacks, a pin that is not held.
pub fn answer(
    held: &InForce,
    ticket: Ticket,
    asked: Asked,
    now: Timestamp,
) -> Result<Vec<u8>, Problem> {
    let Ticket { site, pin, lang, out_of_stock, order, lines } = ticket;
    let bar = held.bar(&site).ok_or_else(|| unknown_site(held, &site))?;
    pinned(held, bar, pin.unwrap_or_default())?;
    let catalogue =
        held.catalogue(bar, lang.as_deref()).map_err(|known| unknown_lang(&known, "/lang"))?;
    known_ingredients(bar, &out_of_stock)?;
    let at = order.as_ref().and_then(|order| order.at.as_deref());
    let moment = moment(bar, &out_of_stock, at, now).map_err(|fault| {
        let fault = Fault::at("/order/at", fault.to_string());
        Kind::InvalidBody.with("The ticket's time cannot be read.").about([fault])
    })?;
    let lines: Vec<Line> = lines.into_iter().map(Line::from).collect();
    let verdicts = expand(bar, &lines, &moment);
    bytes(&Answer::of(bar, &lines, &verdicts, catalogue, asked == Asked::Builds))
}

/// Refuses an `out_of_stock` that names nothing: a slip of the till would leave a drink on offer.
fn known_ingredients(bar: &Bar, ids: &[String]) -> Result<(), Problem> {
    let unknown = ids.iter().enumerate().filter(|(_, id)| bar.ingredient(id).is_none());
    let faults: Vec<Fault> = unknown
        .map(|(at, id)| {
            Fault::at(
                format!("/out_of_stock/{at}"),
                format!("found `{id}`; expected the id of an ingredient of the book"),
            )
        })
        .collect();
    if faults.is_empty() {
        return Ok(());
    }
    Err(Kind::InvalidBody.with("The ticket names ingredients that the book lacks.").about(faults))
}

/// The standard builds of one drink at one site, one for each of its cups.
///
/// * Errors: an unknown drink, a language that the book lacks.
pub fn drink_builds(
    held: &InForce,
    bar: &Bar,
    drink: &str,
    lang: Option<&str>,
    now: Timestamp,
) -> Result<Vec<u8>, Problem> {
    let drink = bar
        .drink(drink)
        .ok_or_else(|| Kind::UnknownDrink.with(format_args!("The book has no drink `{drink}`.")))?;
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let moment = moment(bar, &[], None, now).map_err(|fault| Kind::Internal.with(fault))?;
    let row = drink_row(bar, drink, catalogue);
    let lines: Vec<Line> = row
        .cups
        .iter()
        .map(|cup| {
            let capacity = bar.usual_capacity(cup.service, &cup.vessel);
            Line::standard(&drink.id, cup.service.as_str(), &cup.size, capacity)
        })
        .collect();
    let verdicts: Vec<Verdict<'_>> = expand(bar, &lines, &moment);
    let one = |(at, (line, verdict))| {
        let line: &Line = line;
        answer_line(bar, &line.id, at, verdict, catalogue, true)
    };
    bytes(&DrinkBuilds {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        lang: catalogue.lang.to_string(),
        lines: lines.iter().zip(&verdicts).enumerate().map(one).collect(),
        drink: row,
    })
}

/// One drink of a list.
pub(crate) fn drink_row(bar: &Bar, drink: &Drink, catalogue: &Catalogue) -> DrinkRow {
    let places = usize::from(bar.book.currency_places);
    let sizes = bar.book.sizes.iter();
    let cups = drink.cups.iter().flat_map(|(service, row)| {
        sizes.clone().filter_map(|size| row.get_key_value(&size.id)).map(|(size, cup)| CupView {
            service: *service,
            size: size.to_string(),
            vessel: cup.vessel.to_string(),
            price: cup.price.with_places(places),
        })
    });
    DrinkRow {
        id: drink.id.to_string(),
        name: drink.names.in_lang(&catalogue.lang).to_owned(),
        aliases: drink.aliases.clone(),
        cups: cups.collect(),
    }
}

/// The problem of a site that is not there.
pub(crate) fn unknown_site(held: &InForce, site: &str) -> Problem {
    let known: Vec<&str> = held.bars.keys().map(|id| &**id).collect();
    Kind::UnknownSite.with(format_args!("There is no site `{site}`. Sites: {}.", known.join(", ")))
}

/// The problem of a language that the book lacks.
pub(crate) fn unknown_lang(known: &[Lang], place: &str) -> Problem {
    let known: Vec<&str> = known.iter().map(|lang| &**lang).collect();
    let detail = format!("The book speaks {}.", known.join(", "));
    if place.starts_with('/') {
        let fault = Fault::at(place, detail.clone());
        Kind::InvalidBody.with(detail).about([fault])
    } else {
        Kind::InvalidQuery.with(detail)
    }
}

/// Holds a ticket to what it is pinned to.
fn pinned(held: &InForce, bar: &Bar, pin: Pin) -> Result<(), Problem> {
    let Pin { book, overlay, site } = pin;
    let digest = held.digest().to_string();
    let not_held = |what: &str, wanted: &str, have: String| {
        let detail = format!("The ticket is pinned to {what} {wanted}, which is not held.");
        Err(Kind::NotHeld.with(detail).holding([have]))
    };
    if let Some(wanted) = book
        && wanted != digest
        && wanted != held.book().version
    {
        return not_held("book", &wanted, digest);
    }
    if let Some(wanted) = overlay {
        let have = bar.overlay_digest.map_or_else(|| "none".to_owned(), |one| one.to_string());
        if wanted != have {
            return not_held("overlay", &wanted, have);
        }
    }
    match site {
        Some(wanted) if wanted != bar.site_digest.to_string() => {
            not_held("site sheet", &wanted, bar.site_digest.to_string())
        }
        _ => Ok(()),
    }
}

fn bytes(answer: &impl Serialize) -> Result<Vec<u8>, Problem> {
    serde_json::to_vec(answer).map_err(|fault| Kind::Internal.with(fault))
}
