//! Build cards: a build put into the sentences and numbers of a card, and the card's forms.

mod asked;
mod content;
mod figures;
mod section;
mod set;

pub use content::card_of;
pub use set::{CardSet, CardSetWish, card_set};

use jiff::civil::Date;

use self::asked::asked;
use super::respond::{Placed, Sent, unknown_lang};
use crate::{
    book::{Bar, Drink},
    engine::{Build, Given, Line, Moment, Verdict, What, build_line, objection::Objection},
    in_force::{Editions, InForce, moment},
    label::{
        Fault as LabelFault,
        card::{Card, Paper, drawn, html, stacked},
        draw,
    },
    units::Figure,
    wire::{Kind, Problem, Ticket},
    words::{self, Catalogue},
};

/// How a card comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CardForm {
    /// SVG.
    Svg,
    /// PDF, each page as large as the paper.
    Pdf,
    /// PNG in shades of grey.
    Png,
    /// A page to read and to print.
    Html,
}

impl CardForm {
    /// All of them, the usual one first.
    pub const ALL: [Self; 4] = [Self::Svg, Self::Pdf, Self::Png, Self::Html];

    /// Its media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Svg => "image/svg+xml",
            Self::Pdf => "application/pdf",
            Self::Png => "image/png",
            Self::Html => "text/html",
        }
    }

    /// How the name of its file ends.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Svg => "svg",
            Self::Pdf => "pdf",
            Self::Png => "png",
            Self::Html => "html",
        }
    }

    /// The form whose file ends like this.
    pub fn of(ending: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|form| form.ending() == ending)
    }
}

/// What is wanted of a card beside its drink.
#[derive(Clone, Debug, Default)]
pub struct CardWish {
    /// Language; the site's first if not given.
    pub lang: Option<String>,
    /// Way of serving, by id; the site's usual if not given.
    pub service: Option<String>,
    /// Size, by id; the drink's usual if not given.
    pub size: Option<String>,
    /// Day from which it is in force (ISO 8601 date), printed as given.
    pub effective: Option<String>,
}

/// The day from which a card is in force, as it is printed.
///
/// * Errors: it is no day.
fn day(effective: Option<&str>) -> Result<Option<&str>, Problem> {
    let Some(text) = effective else { return Ok(None) };
    // The library reads more forms of a day than the contract has.
    let day = text.parse::<Date>().ok().filter(|day| day.to_string() == text);
    day.map(|_| Some(text)).ok_or_else(|| {
        let detail = format!("`effective` is `{text}`, and not a day such as `2026-11-25`.");
        Kind::InvalidQuery.with(detail)
    })
}

/// The card of a drink in one of its cups.
///
/// * Errors: an unknown drink, language or day; a cup that cannot be made here.
pub fn drink_card(
    held: &InForce,
    bar: &Bar,
    drink: &str,
    wish: &CardWish,
    sent: &Sent,
) -> Result<Card, Problem> {
    let drink = bar
        .drink(drink)
        .ok_or_else(|| Kind::UnknownDrink.with(format_args!("The book has no drink `{drink}`.")))?;
    let lang = wish.lang.as_deref();
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let moment = moment(bar, &sent.out_of_stock, None, sent.now)
        .map_err(|fault| Kind::Internal.with(fault))?;
    let day = day(wish.effective.as_deref())?;
    let build = standard(bar, drink, wish, &moment)
        .map_err(|why| not_made(Kind::NoCard, catalogue, &why))?;
    Ok(card_of(bar, &build, catalogue, day))
}

/// The build of a drink as it comes, in the cup that is wished for.
fn standard<'b>(
    bar: &'b Bar,
    drink: &Drink,
    wish: &CardWish,
    moment: &Moment,
) -> Result<Build<'b>, Vec<Objection>> {
    let given = |id: &str, value: &Option<String>| {
        let what = What::Value(value.clone()?);
        Some(Given { id: id.to_owned(), what })
    };
    let mut line = Line { drink: drink.id.to_string(), quantity: 1, ..Line::default() };
    line.modifiers.extend(given("service", &wish.service));
    line.modifiers.extend(given("size", &wish.size));
    if wish.service.as_deref() == Some("own") {
        // A card for customers' own cups is that of the cup which stands for them.
        let row = drink.cups.iter().find(|(service, _)| service.as_str() == "own");
        let size = wish.size.as_deref().unwrap_or(&drink.default_size);
        let cup = row.and_then(|(service, row)| {
            let cup = row.iter().find(|(id, _)| **id == *size).or_else(|| row.iter().next());
            bar.usual_capacity(*service, &cup?.1.vessel)
        });
        line.modifiers.extend(cup.map(|ml| Given {
            id: "capacity".to_owned(),
            what: What::Number(Figure::from_thousandths(ml.ul())),
        }));
    }
    build_line(bar, &line, moment)
}

/// The card of a ticket's line.
///
/// * `line`: its id; it may be left out where the ticket has one line.
/// * Errors: as for an answer; no such line; a line that is not accepted.
pub fn ticket_card(
    editions: &Editions,
    ticket: Ticket,
    line: Option<&str>,
    wish: &CardWish,
    sent: &Sent,
) -> Result<Card, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let day = day(wish.effective.as_deref())?;
    let wanted = match (line, placed.lines.as_slice()) {
        (Some(id), all) => all.iter().find(|one| one.id == id),
        (None, [only]) => Some(only),
        (None, _) => None,
    };
    let Some(wanted) = wanted else {
        let known: Vec<&str> = placed.lines.iter().map(|line| line.id.as_str()).collect();
        let detail = match line {
            Some(_) => format!("`line` names none of the ticket's lines: {}.", known.join(", ")),
            None => format!("A card is of one line: say by `line` which of {}.", known.join(", ")),
        };
        return Err(Kind::NoCard.with(detail));
    };
    match placed.verdict(wanted) {
        Verdict::Accept { build, notices, .. } => {
            let card = card_of(placed.bar, &build, placed.catalogue, day);
            let asked = asked(placed.bar, placed.catalogue, wanted, &build, &notices);
            Ok(Card { asked, ..card })
        }
        Verdict::Ask { objection, .. } => {
            Err(not_made(Kind::NotAllAccepted, placed.catalogue, &[*objection]))
        }
        Verdict::Refuse { objections, .. } => {
            Err(not_made(Kind::NotAllAccepted, placed.catalogue, &objections))
        }
    }
}

/// The problem of a drink that is not made as it is wanted.
fn not_made(kind: Kind, catalogue: &Catalogue, why: &[Objection]) -> Problem {
    let why: Vec<String> = why.iter().map(|one| words::objection(catalogue, one)).collect();
    kind.with(why.join(" "))
}

/// The card in a form.
///
/// * Errors: it has no room on its paper; the font lacks a character.
pub fn card_bytes(card: &Card, paper: Paper, form: CardForm) -> Result<Vec<u8>, Problem> {
    made(card, paper, form).map_err(|fault| {
        let kind = match fault {
            LabelFault::NoGlyph { .. } | LabelFault::NoRoom { .. } => Kind::NotDrawn,
            LabelFault::Leaves { .. } | LabelFault::Unwritten(_) => Kind::Internal,
        };
        kind.with(fault)
    })
}

fn made(card: &Card, paper: Paper, form: CardForm) -> Result<Vec<u8>, LabelFault> {
    if form == CardForm::Html {
        return Ok(html(card)?.into_bytes());
    }
    let sheets = drawn(card, paper)?.sheets;
    if form == CardForm::Pdf {
        return draw::pdf(&sheets);
    }
    let Some(whole) = stacked(&sheets) else { return Ok(Vec::new()) };
    match form {
        CardForm::Png => draw::png_grey(&draw::pixels(&whole, paper.dpi())?),
        CardForm::Svg | CardForm::Pdf | CardForm::Html => Ok(draw::svg(&whole).into_bytes()),
    }
}
