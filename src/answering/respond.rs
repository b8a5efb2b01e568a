//! Answers: a ticket's verdicts, and the standard builds of one drink, as bytes of JSON.

use jiff::Timestamp;
use serde::Serialize;
use serde_json::Value;

use super::{
    builds::Builds,
    pin::pinned,
    render::{Answered, Tally, render},
};
use crate::{
    book::{Bar, Drink, Lang},
    engine::{Line, Moment, Verdict, expand, neighbours::NoneBecause, verdict},
    in_force::{Edition, Editions, InForce, moment},
    till::{TillMap, resolve},
    wire::{
        Answer, BookStamp, CupView, DrinkBuilds, DrinkRow, Fault, Kind, OrderInfo, Problem,
        SiteStamp, Ticket, answer_line,
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

/// What is true when a ticket comes, and of who sent it.
#[derive(Clone, Debug, Default)]
pub struct Sent {
    /// The clock's time, for seasons where the ticket names no time.
    pub now: Timestamp,
    /// What has run out at the ticket's site, by ingredient id.
    pub out_of_stock: Vec<String>,
    /// Whether the sender may override refusals that are no matter of safety.
    pub may_override: bool,
}

/// The answer to a ticket, as JSON.
///
/// * `builds`: finished builds to take from and to keep in.
/// * Errors: an unknown site, a language that the book lacks, a pin that is not held.
pub fn answer(
    editions: &Editions,
    ticket: Ticket,
    asked: Asked,
    sent: &Sent,
    builds: Option<&Builds>,
) -> Result<Answered, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    render(&placed, asked == Asked::Builds, builds)
}

/// An answer as plain text.
#[derive(Clone, Debug)]
pub struct Paragraphs {
    /// The text.
    pub text: String,
    /// How the lines fare.
    pub tally: Tally,
}

/// The answer to a ticket, as plain text of at most 42 columns: one cup a paragraph.
///
/// * Errors: as for [`answer`].
pub fn answer_text(
    editions: &Editions,
    ticket: Ticket,
    asked: Asked,
    sent: &Sent,
) -> Result<Paragraphs, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let Placed { bar, catalogue, lines, .. } = &placed;
    let verdicts: Vec<Verdict<'_>> = lines.iter().map(|line| placed.verdict(line)).collect();
    let answer = Answer::of(bar, lines, &verdicts, catalogue, asked == Asked::Builds);
    let mut tally = Tally::default();
    for verdict in &verdicts {
        tally.count(verdict);
    }
    Ok(Paragraphs {
        text: super::text::paragraphs(bar, catalogue, &answer, placed.order.as_ref()),
        tally,
    })
}

/// A ticket at its bar: everything that its lines are judged by.
pub(super) struct Placed<'e> {
    pub(super) edition: &'e Edition,
    pub(super) bar: &'e Bar,
    pub(super) catalogue: &'e Catalogue,
    pub(super) moment: Moment,
    pub(super) lines: Vec<Line>,
    pub(super) order: Option<OrderInfo>,
}

impl<'e> Placed<'e> {
    pub(super) fn of(editions: &'e Editions, ticket: Ticket, sent: &Sent) -> Result<Self, Problem> {
        let Ticket { site, pin, lang, mut out_of_stock, order, lines } = ticket;
        let (edition, bar) = pinned(editions, &site, pin.as_ref())?;
        let found = edition.held.catalogue(bar, lang.as_deref());
        let catalogue = found.map_err(|known| unknown_lang(&known, "/lang"))?;
        known_ingredients(bar, &out_of_stock)?;
        out_of_stock.extend(sent.out_of_stock.iter().cloned());
        let at = order.as_ref().and_then(|order| order.at.as_deref());
        let mut moment = moment(bar, &out_of_stock, at, sent.now).map_err(|fault| {
            let fault = Fault::at("/order/at", fault.to_string());
            Kind::InvalidBody.with("The ticket's time cannot be read.").about([fault])
        })?;
        moment.may_override = sent.may_override;
        let lines = lines.into_iter().map(Line::from).collect();
        Ok(Self { edition, bar, catalogue, moment, lines, order })
    }

    /// What is answered about a line that is not accepted: why, and ways out; nothing for another.
    pub(super) fn instead(&self, at: usize, line: &Line, verdict: &Verdict<'_>) -> Option<Value> {
        if let Verdict::Accept { .. } = verdict {
            return None;
        }
        let view = answer_line(self.bar, &line.id, at, verdict, self.catalogue, false);
        serde_json::to_value(view).ok()
    }

    /// The verdict on one of its lines.
    pub(super) fn verdict(&self, line: &Line) -> Verdict<'e> {
        by_codes(self.bar, self.edition.held.tills.get(&self.bar.site.id), line, &self.moment)
    }
}

/// The verdict on a line, its till codes resolved first.
fn by_codes<'b>(bar: &'b Bar, till: Option<&TillMap>, line: &Line, moment: &Moment) -> Verdict<'b> {
    if line.codes.is_empty() {
        return verdict(bar, line, moment);
    }
    let resolved = match resolve(till, line) {
        Ok(resolved) => resolved,
        Err(objections) => {
            return Verdict::Refuse { objections, alternatives: Err(NoneBecause::UnknownId) };
        }
    };
    let mut judged = verdict(bar, &resolved.line, moment);
    if let Verdict::Refuse { objections, .. } = &mut judged {
        for objection in objections {
            resolved.point(objection);
        }
    }
    judged
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
    sent: &Sent,
) -> Result<Vec<u8>, Problem> {
    let drink = bar
        .drink(drink)
        .ok_or_else(|| Kind::UnknownDrink.with(format_args!("The book has no drink `{drink}`.")))?;
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let moment = moment(bar, &sent.out_of_stock, None, sent.now)
        .map_err(|fault| Kind::Internal.with(fault))?;
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
    Kind::UnknownSite.with(format_args!("`{site}` is none of {}.", known.join(", ")))
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

fn bytes(answer: &impl Serialize) -> Result<Vec<u8>, Problem> {
    serde_json::to_vec(answer).map_err(|fault| Kind::Internal.with(fault))
}
