//! Strength across sites: each cup of each drink beside the same cup at the book's own bar.

use std::cmp::Reverse;

use crate::{
    book::{Bar, Drink, Id, Remainder, Service},
    engine::{Build, Line, Moment, build_line},
    in_force::InForce,
    units::{Quotient, Volume},
    wire::{BookStamp, StrengthRow, StrengthTable},
};

/// One cup of the book.
#[derive(Clone, Copy)]
struct CupOf<'a> {
    drink: &'a Drink,
    service: Service,
    size: &'a Id,
}

impl CupOf<'_> {
    /// The standard build of this cup at a bar, where it can be made there.
    fn build<'b>(&self, bar: &'b Bar) -> Option<Build<'b>> {
        let row = bar.drink(&self.drink.id)?.cups.get(&self.service)?.get(self.size)?;
        let capacity = bar.usual_capacity(self.service, &row.vessel);
        let line = Line::standard(&self.drink.id, self.service.as_str(), self.size, capacity);
        build_line(bar, &line, &Moment::default()).ok()
    }
}

/// Every cup with coffee at every site, the largest deviation first; then by drink, in the order of
/// the book, and by site.
///
/// Whatever is out of season, or has run out for the moment, is compared too: it is the recipe that
/// is looked at.
pub fn strength_table(held: &InForce) -> Option<StrengthTable> {
    let own = held.training_bar()?;
    let mut rows = Vec::new();
    for drink in &own.book.drinks {
        for (service, sizes) in &drink.cups {
            for size in sizes.keys() {
                let cup = CupOf { drink, service: *service, size };
                let Some(standard) = cup.build(own) else { continue };
                let bars = held.bars.values().filter(|bar| bar.site.id != own.site.id);
                rows.extend(bars.filter_map(|bar| row(bar, cup, &standard)));
            }
        }
    }
    rows.sort_by_key(|row| Reverse(row.deviation_percent.thousandths().abs()));
    Some(StrengthTable { book: BookStamp::of(own), rows })
}

fn row(bar: &Bar, cup: CupOf<'_>, standard: &Build<'_>) -> Option<StrengthRow> {
    let build = cup.build(bar)?;
    let (here, there) = (build.strength()?, standard.strength()?);
    let (usual, wanted) = (here.per_100_ml.usual, there.per_100_ml.usual);
    let tenths = (1_000.0 * (usual - wanted) / wanted).round();
    let deviation = Quotient::from_value(tenths / 10.0);
    let hundredth = |grams: f64| Quotient::from_value((grams * 100.0).round() / 100.0);
    let halves = |build: &Build<'_>| build.solved.coffee.map_or(0, |coffee| coffee.halves);
    let needed = fill_needed(&build, wanted).filter(|_| deviation != Quotient::ZERO);
    Some(StrengthRow {
        site: bar.site.id.to_string(),
        drink: cup.drink.id.to_string(),
        service: cup.service,
        size: cup.size.to_string(),
        solids_g_per_100ml: hundredth(usual),
        standard_g_per_100ml: hundredth(wanted),
        deviation_percent: deviation,
        halves: halves(&build),
        standard_halves: halves(standard),
        fill_ml: build.solved.fill.to_nearest(Volume::from_ul(1_000)),
        fill_needed_ml: needed,
        cup_that_fits: needed
            .and_then(|fill| nearest_cup(bar, cup.service, fill))
            .map(ToString::to_string),
    })
}

/// The fill that gives the wanted strength with the coffee that the cup has.
///
/// Foam and ice stay as they are, so the liquid changes by as much as the fill.
fn fill_needed(build: &Build<'_>, wanted: f64) -> Option<Volume> {
    let has_line = build.order.drink.remainder != Remainder::None;
    let strength = build.strength().filter(|_| has_line)?;
    let liquid = 100.0 * strength.solids.g() / wanted;
    let fill = build.solved.fill.ml() + liquid - strength.liquid.ml();
    (liquid.is_finite() && fill > 0.0)
        .then(|| Volume::from_ml(fill).to_nearest(Volume::from_ul(1_000)))
}

/// The cup whose serving line is nearest, within a tenth, among those in which the book serves coffee
/// in this way; none for a customer's own cup.
fn nearest_cup(bar: &Bar, service: Service, fill: Volume) -> Option<&Id> {
    if service == Service::Own {
        return None;
    }
    let rows = bar.book.drinks.iter().filter_map(|drink| drink.cups.get(&service)).flatten();
    let with_coffee: Vec<&Id> =
        rows.filter(|(_, cup)| cup.halves > 0).map(|(_, cup)| &cup.vessel).collect();
    let off = |ml: Volume| (ml.ul() - fill.ul()).abs();
    let near = bar.book.vessels.iter().filter(|one| with_coffee.contains(&&one.id));
    let near = near.filter(|one| off(one.fill_ml) * 10 <= fill.ul());
    near.min_by_key(|one| off(one.fill_ml)).map(|one| &one.id)
}
