//! The drinks of a site by allergens: what is recorded of each, and the forms in which it is given.

mod csv;
mod html;
mod text;

use std::collections::BTreeMap;

use jiff::{Timestamp, civil::Date, tz::TimeZone};

pub use csv::csv;
pub use html::html;
pub use text::text;

use super::respond::{drink_row, unknown_lang};
use crate::{
    book::{AllergenTable, Bar, Drink, Id, Region},
    engine::{
        Build, Line, Moment, build_line,
        derive::Allergens,
        objection::{Code, Objection},
        phrase::Phrase,
    },
    in_force::InForce,
    wire::{
        AllergenMatrix, BookStamp, Kind, LegendRow, MatrixAllergen, MatrixDrink, NotNow, Problem,
        Recorded, SiteStamp, TableStamp,
    },
    words::{self, Catalogue},
};

/// The drinks of a site by allergens, and the language in which their forms speak.
#[derive(Debug)]
pub struct Matrix<'a> {
    /// The view.
    pub view: AllergenMatrix<'a>,
    catalogue: &'a Catalogue,
}

impl Matrix<'_> {
    fn say(&self, phrase: Phrase) -> String {
        words::gaps(self.catalogue, phrase, &[])
    }

    /// The word of a cell.
    fn word(&self, recorded: Recorded) -> String {
        self.say(word_of(recorded).0)
    }

    /// A label with what it is about.
    fn told(&self, label: Phrase, what: &str) -> String {
        format!("{}: {what}", self.say(label))
    }

    /// What the matrix was worked from, a line each.
    fn stamps(&self) -> Vec<String> {
        let AllergenMatrix { book, site, site_name, at, region, table, .. } = &self.view;
        let book_said = format!("{} {}", book.id, book.version);
        let mut all = vec![
            self.told(Phrase::MatrixSite, &format!("{site_name} ({})", site.id)),
            self.told(Phrase::MatrixDay, at),
            self.told(Phrase::MatrixRegion, region),
        ];
        match table {
            Some(TableStamp { source, in_force, reviewer, reviewed }) => all.extend([
                self.told(Phrase::MatrixSource, source),
                self.told(Phrase::MatrixInForce, in_force),
                self.told(Phrase::MatrixReviewer, &format!("{reviewer}, {reviewed}")),
            ]),
            None => all.push(self.say(Phrase::MatrixNoTable)),
        }
        all.push(self.told(Phrase::MatrixBook, &format!("{book_said}, {}", book.digest)));
        all.push(self.told(Phrase::MatrixSheet, &site.digest));
        all
    }
}

/// The word of a cell, and what it means.
fn word_of(recorded: Recorded) -> (Phrase, Phrase) {
    match recorded {
        Recorded::Contained => (Phrase::MatrixContained, Phrase::MatrixContainedMeans),
        Recorded::MayBeContained => (Phrase::MatrixMay, Phrase::MatrixMayMeans),
        Recorded::SharedEquipment => (Phrase::MatrixShared, Phrase::MatrixSharedMeans),
        Recorded::NothingRecorded => (Phrase::MatrixNothing, Phrase::MatrixNothingMeans),
    }
}

/// The drinks of a site by allergens, each drink as it is usually made there, on any day of the
/// year: seasons, and what has run out, come and go while a printed sheet stays.
///
/// * `at`: the day for which it is made (ISO 8601 date); that of `now` at the site if not given.
/// * Errors: a language that the book lacks; a day that cannot be read.
pub fn matrix<'a>(
    held: &'a InForce,
    bar: &'a Bar,
    lang: Option<&str>,
    at: Option<&str>,
    now: Timestamp,
) -> Result<Matrix<'a>, Problem> {
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    let day = day(bar, at, now)?;
    let lang = &catalogue.lang;
    let (mut made, mut not_made) = (Vec::new(), Vec::new());
    for drink in &bar.book.drinks {
        match usual(bar, drink, catalogue) {
            Ok(build) => made.push((drink, recorded_of(&build.allergens))),
            Err(all) => not_made.push(not_now(drink, catalogue, &all)),
        }
    }
    let columns = columns(bar, &made);
    let row = |(drink, of): &(&'a Drink, BTreeMap<&'a str, Recorded>)| {
        let cell = |id: &&'a str| (*id, of.get(id).copied().unwrap_or(Recorded::NothingRecorded));
        MatrixDrink {
            id: &drink.id,
            name: drink.names.in_lang(lang),
            recorded: columns.iter().map(cell).collect(),
        }
    };
    let legend = Recorded::ALL.into_iter().map(|recorded| {
        let (word, means) = word_of(recorded);
        let say = |phrase| words::gaps(catalogue, phrase, &[]);
        LegendRow { recorded, word: say(word), text: say(means) }
    });
    let notes = [Phrase::MatrixUsual, Phrase::MatrixStrongest, Phrase::MatrixAsk];
    let region = bar.region().map_or("", |region: &Region| region.names.in_lang(lang));
    let view = AllergenMatrix {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        site_name: bar.site.names.in_lang(lang),
        lang: lang.to_string(),
        at: day.to_string(),
        region,
        table: bar.allergen_table().map(stamp),
        drinks: made.iter().map(row).collect(),
        allergens: columns.iter().map(|id| column(bar, lang, id)).collect(),
        not_made,
        legend: legend.collect(),
        notes: notes.map(|phrase| words::gaps(catalogue, phrase, &[])).to_vec(),
    };
    Ok(Matrix { view, catalogue })
}

/// The day for which a matrix is made.
fn day(bar: &Bar, at: Option<&str>, now: Timestamp) -> Result<Date, Problem> {
    let Some(text) = at else {
        // The sheet's zone was checked when it was read.
        let zone = TimeZone::get(&bar.site.time_zone).unwrap_or(TimeZone::UTC);
        return Ok(now.to_zoned(zone).date());
    };
    // The library reads more forms of a day than the contract has.
    let day = text.parse::<Date>().ok().filter(|day| day.to_string() == text);
    day.ok_or_else(|| {
        let detail = format!("`at` is `{text}`, and not a day such as `2026-11-25`.");
        Kind::InvalidQuery.with(detail)
    })
}

/// The drink in its usual cup; where the site cannot make that, in the first that it can.
pub(super) fn usual<'b>(
    bar: &'b Bar,
    drink: &'b Drink,
    catalogue: &Catalogue,
) -> Result<Build<'b>, Vec<Objection>> {
    let usual = Line { drink: drink.id.to_string(), quantity: 1, ..Line::default() };
    let moment = Moment::default();
    build_line(bar, &usual, &moment).or_else(|why| {
        let cups = drink_row(bar, drink, catalogue).cups;
        let mut builds = cups.iter().filter_map(|cup| {
            let capacity = bar.usual_capacity(cup.service, &cup.vessel);
            let line = Line::standard(&drink.id, cup.service.as_str(), &cup.size, capacity);
            build_line(bar, &line, &moment).ok()
        });
        builds.next().ok_or(why)
    })
}

fn not_now<'a>(drink: &'a Drink, catalogue: &Catalogue, all: &[Objection]) -> NotNow<'a> {
    let why = all.first();
    NotNow {
        drink: &drink.id,
        name: drink.names.in_lang(&catalogue.lang),
        code: why.map_or(Code::NoSuchCup, |one| one.code).as_str(),
        text: why.map(|one| words::objection(catalogue, one)).unwrap_or_default(),
    }
}

/// The strongest that is recorded of each allergen of a cup.
fn recorded_of<'b>(allergens: &Allergens<'b>) -> BTreeMap<&'b str, Recorded> {
    let Allergens { ingredients, may_contain, shared, listed: _ } = allergens;
    let shared = shared.iter().map(|one| (one.allergen, Recorded::SharedEquipment));
    let may = may_contain.iter().map(|id| (*id, Recorded::MayBeContained));
    let contained = ingredients.iter().map(|id| (*id, Recorded::Contained));
    let mut all: BTreeMap<&str, Recorded> = BTreeMap::new();
    for (id, recorded) in shared.chain(may).chain(contained) {
        let strongest = all.entry(id).or_insert(recorded);
        *strongest = recorded.max(*strongest);
    }
    all
}

/// The ids of the columns: those of the region's table, then whatever else occurs in any drink, in
/// the order of the book.
fn columns<'a>(bar: &'a Bar, built: &[(&Drink, BTreeMap<&'a str, Recorded>)]) -> Vec<&'a str> {
    let table = bar.allergen_table();
    let listed = table.iter().flat_map(|table| &table.rows).map(|row| &*row.allergen);
    let mut columns: Vec<&str> = listed.collect();
    let occurs = |id: &&str| built.iter().any(|(_, of)| of.contains_key(id));
    let others = bar.book.allergens.iter().map(|one| &*one.id).filter(occurs);
    let others: Vec<&str> = others.filter(|id| !columns.contains(id)).collect();
    columns.extend(others);
    columns
}

fn column<'a>(bar: &'a Bar, lang: &str, id: &'a str) -> MatrixAllergen<'a> {
    let table = bar.allergen_table();
    let groups = table.into_iter().flat_map(|table| &table.groups);
    let mut holding = groups.filter(|group| {
        let covers = bar.allergen(&group.allergen).map_or(&[][..], |one| &one.covers);
        covers.iter().any(|one: &Id| **one == *id)
    });
    MatrixAllergen {
        id,
        name: words::allergen(bar, lang, id),
        group: holding.next().map(|group| group.name.in_lang(lang)),
        listed: table.is_some_and(|table| table.row(id).is_some()),
    }
}

fn stamp(table: &AllergenTable) -> TableStamp<'_> {
    TableStamp {
        source: &table.source,
        in_force: &table.in_force,
        reviewer: &table.reviewer,
        reviewed: &table.reviewed,
    }
}
