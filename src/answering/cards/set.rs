//! The cards of a whole site, and its wall chart.

use super::{content::card_of, day};
use crate::{
    answering::{
        matrix::usual,
        respond::{drink_row, unknown_lang},
    },
    book::{Bar, Drink},
    engine::{
        Build, Line, Moment, build_line,
        objection::Objection,
        phrase::{Gap, Phrase},
    },
    in_force::InForce,
    label::card::{Card, Chart, ChartCup, Hatch},
    wire::{BookStamp, Kind, Problem},
    words::{self, Catalogue},
};

/// The cards of a site.
#[derive(Clone, Debug)]
pub struct CardSet {
    /// Each card with the name of its file, without an ending.
    pub cards: Vec<(String, Card)>,
    /// Drinks and cups that are not made there, each with why.
    pub not_made: Vec<(String, String)>,
    /// Heading of the cards.
    pub title: String,
    /// The drinks in their usual cups, for a wall.
    pub chart: Chart,
}

/// Which cards of a site are wanted.
#[derive(Clone, Copy, Debug, Default)]
pub struct CardSetWish<'a> {
    /// Language; the site's first if not given.
    pub lang: Option<&'a str>,
    /// The one drink of which there are to be cards, by id; all of them if not given.
    pub only: Option<&'a str>,
    /// A card for every cup of each drink, beside that for the usual one.
    pub every_cup: bool,
    /// Day that is printed on them.
    pub effective: Option<&'a str>,
}

/// The cards of a site's drinks, on any day of the year: a printed card stays when a season ends.
///
/// * Errors: a language or a drink that the book lacks; no day where one is to be printed.
pub fn card_set(held: &InForce, bar: &Bar, wish: CardSetWish<'_>) -> Result<CardSet, Problem> {
    let CardSetWish { lang, only, every_cup, effective } = wish;
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let effective = day(effective)?;
    let say = |phrase| words::gaps(catalogue, phrase, &[]);
    let site = [("site", Gap::Name(&bar.site.names))];
    let BookStamp { id, version, .. } = BookStamp::of(bar);
    let mut set = CardSet {
        cards: Vec::new(),
        not_made: Vec::new(),
        title: words::gaps(catalogue, Phrase::CardCards, &site),
        chart: Chart {
            title: words::gaps(catalogue, Phrase::CardChart, &site),
            stamp: format!("{id} {version} · {}", say(Phrase::CardScale)),
            legend: LEGEND.map(|(hatch, phrase)| (hatch, say(phrase))).to_vec(),
            lang: catalogue.lang.to_string(),
            cups: Vec::new(),
        },
    };
    for drink in wanted(bar, only)? {
        match usual(bar, drink, catalogue) {
            Ok(build) => {
                let card = card_of(bar, &build, catalogue, effective);
                set.chart.cups.push(chart_cup(&card, &build, catalogue));
                set.cards.push((drink.id.to_string(), card));
            }
            Err(why) => set.not_made.push(not_made(drink, catalogue, &why)),
        }
        if every_cup {
            for (name, made) in others(bar, drink, catalogue) {
                match made {
                    Ok(build) => set.cards.push((name, card_of(bar, &build, catalogue, effective))),
                    Err(why) => set.not_made.push((name, in_words(catalogue, &why))),
                }
            }
        }
    }
    Ok(set)
}

/// The drinks of which there are to be cards.
fn wanted<'b>(bar: &'b Bar, only: Option<&str>) -> Result<Vec<&'b Drink>, Problem> {
    let drinks = &bar.book.drinks;
    let Some(only) = only else { return Ok(drinks.iter().collect()) };
    bar.drink(only).map(|drink| vec![drink]).ok_or_else(|| {
        let known: Vec<&str> = drinks.iter().map(|drink| &*drink.id).collect();
        Kind::UnknownDrink.with(format_args!("`{only}` is none of {}.", known.join(", ")))
    })
}

/// What each hatch stands for.
const LEGEND: [(Hatch, Phrase); 9] = [
    (Hatch::Coffee, Phrase::PartCoffee),
    (Hatch::Milk, Phrase::PartMilk),
    (Hatch::Foam, Phrase::CardLegendFoam),
    (Hatch::Water, Phrase::PartWater),
    (Hatch::Infusion, Phrase::CardLegendTea),
    (Hatch::Ice, Phrase::PartIce),
    (Hatch::Powder, Phrase::CardLegendPowder),
    (Hatch::Syrup, Phrase::CardLegendSyrup),
    (Hatch::Thick, Phrase::CardLegendThick),
];

fn chart_cup(card: &Card, build: &Build<'_>, catalogue: &Catalogue) -> ChartCup {
    let vessel = build.order.vessel.vessel;
    ChartCup {
        name: card.title.clone(),
        cup: vessel.names.in_lang(&catalogue.lang).to_owned(),
        fill: card.section.fill.figure.clone(),
        section: card.section.clone(),
    }
}

fn not_made(drink: &Drink, catalogue: &Catalogue, why: &[Objection]) -> (String, String) {
    (drink.names.in_lang(&catalogue.lang).to_owned(), in_words(catalogue, why))
}

fn in_words(catalogue: &Catalogue, why: &[Objection]) -> String {
    why.first().map(|one| words::objection(catalogue, one)).unwrap_or_default()
}

/// A cup's build, or why there is none, with the name of its file.
type Cup<'b> = (String, Result<Build<'b>, Vec<Objection>>);

/// Every cup of a drink.
fn others<'b>(bar: &'b Bar, drink: &'b Drink, catalogue: &Catalogue) -> Vec<Cup<'b>> {
    let cups = drink_row(bar, drink, catalogue).cups.into_iter();
    let build = cups.map(|cup| {
        let capacity = bar.usual_capacity(cup.service, &cup.vessel);
        let line = Line::standard(&drink.id, cup.service.as_str(), &cup.size, capacity);
        let name = format!("{}-{}-{}", drink.id, cup.service.as_str(), cup.size);
        (name, build_line(bar, &line, &Moment::default()))
    });
    build.collect()
}
