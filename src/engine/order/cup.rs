//! Phase `cup`: way of serving and size pick the row of the cup table.

use super::collect::Held;
use crate::{
    book::{Bar, Cup, Drink, Id, Service, Vessel},
    engine::{
        objection::{Code, Fix, Manner, Measured, Objection},
        order::Holding,
    },
    units::{Figure, Volume},
};

/// The row of the drink's cup table; values that are the defaults are dropped from `held`.
pub(super) fn cup<'b>(
    bar: &'b Bar,
    drink: &'b Drink,
    held: &mut Vec<Held<'b>>,
) -> Result<(Service, &'b Id, &'b Cup), Objection> {
    let asked = |held: &[Held<'b>], slot: &str| {
        let found = held.iter().find(|one| *one.modifier.id() == slot)?;
        Some((found.holding.cup()?.clone(), found.given))
    };
    let (service_asked, size_asked) = (asked(held, "service"), asked(held, "size"));
    let usual = usual_service(bar, drink);
    let service = match &service_asked {
        None => usual,
        Some((value, given)) => bar
            .book
            .services
            .iter()
            .map(|row| row.id)
            .find(|id| *value == id.as_str())
            .ok_or_else(|| no_such_service(bar, drink, value).at(*given))?,
    };
    let sizes = drink.cups.get(&service).filter(|sizes| !sizes.is_empty());
    let Some(sizes) = sizes else {
        let fault = no_such_service(bar, drink, service.as_str());
        return Err(service_asked.map_or(fault.clone(), |(_, given)| fault.at(given)));
    };
    // The usual size, or else the first in the book's order that this way of serving has.
    let in_order = || bar.book.sizes.iter().find_map(|size| sizes.get_key_value(&size.id));
    let usual_row = sizes.get_key_value(&drink.default_size).or_else(in_order);
    let row = match &size_asked {
        None => usual_row,
        Some((value, _)) => sizes.get_key_value(value),
    };
    let Some((size, cup)) = row else {
        let (value, given) = size_asked.unwrap_or_else(|| (drink.default_size.clone(), 0));
        return Err(no_such_size(bar, drink, service, &value).at(given));
    };
    held.retain(|one| {
        let is_service = *one.modifier.id() == "service";
        one.holding.cup().is_none_or(|value| {
            if is_service {
                *value != usual.as_str()
            } else {
                Some(value) != usual_row.map(|(size, _)| size)
            }
        })
    });
    Ok((service, size, cup))
}

/// The site's usual way of serving, or the only way in which this drink is served at all.
fn usual_service(bar: &Bar, drink: &Drink) -> Service {
    let usual = bar.site.default_service;
    let served = |service: &Service| drink.cups.get(service).is_some_and(|sizes| !sizes.is_empty());
    if served(&usual) {
        return usual;
    }
    drink.cups.keys().copied().find(|service| served(service)).unwrap_or(usual)
}

fn no_such_service(bar: &Bar, drink: &Drink, asked: &str) -> Objection {
    let slot = Id::from("service");
    let others = drink.cups.iter().filter(|(_, sizes)| !sizes.is_empty());
    let fixes = others.map(|(service, _)| Fix::Set(slot.clone(), service.as_str().into()));
    let row = bar.book.services.iter().find(|row| asked == row.id.as_str());
    let fault = Objection::refuse(Code::NoSuchCup).about(&slot).name("drink", &drink.names);
    let named = match row {
        Some(row) => fault.name("cup", &row.names),
        None => fault.text("cup", asked),
    };
    named.fixes(fixes).toward("other-size")
}

/// The other sizes of the drink at this way of serving, as ways out.
fn other_sizes(bar: &Bar, drink: &Drink, service: Service, but: &Id) -> Vec<Fix> {
    let slot = Id::from("size");
    let sizes = drink.cups.get(&service);
    let known = |id: &Id| sizes.is_some_and(|sizes| sizes.contains_key(id)) && id != but;
    let ids = bar.book.sizes.iter().map(|size| &size.id).filter(|id| known(id));
    ids.map(|id| Fix::Set(slot.clone(), id.clone())).collect()
}

fn no_such_size(bar: &Bar, drink: &Drink, service: Service, asked: &Id) -> Objection {
    let fault = Objection::refuse(Code::NoSuchCup)
        .about(&Id::from("size"))
        .name("drink", &drink.names)
        .fixes(other_sizes(bar, drink, service, asked))
        .toward("other-size");
    match bar.size(asked) {
        Some(size) => fault.name("cup", &size.names),
        None => fault.text("cup", asked),
    }
}

/// The refusal of a cup that the site does not have.
pub(super) fn not_here(bar: &Bar, drink: &Drink, cup: &Cup, held: &[Held<'_>]) -> Objection {
    let mut fault = Objection::refuse(Code::NoSuchCupHere).name("drink", &drink.names);
    if let Some(asked) = held.iter().find(|one| one.holding.cup().is_some()) {
        fault = fault.about(asked.modifier.id()).at(asked.given);
    }
    let named = match bar.vessel_of_book(&cup.vessel) {
        Some(vessel) => fault.name("cup", &vessel.names),
        None => fault.text("cup", &cup.vessel),
    };
    let (service, size) = (Id::from("service"), Id::from("size"));
    let rows = drink
        .cups
        .iter()
        .flat_map(|(service, sizes)| sizes.iter().map(move |(size, cup)| (*service, size, cup)));
    let here = rows.filter(|(_, _, other)| bar.cup_here(&other.vessel).is_some());
    let fixes = here.flat_map(|(way, one, _)| {
        [Fix::Set(service.clone(), way.as_str().into()), Fix::Set(size.clone(), one.clone())]
    });
    let mut unique: Vec<Fix> = Vec::new();
    for fix in fixes {
        if !unique.contains(&fix) {
            unique.push(fix);
        }
    }
    named.fixes(unique).toward("other-size")
}

/// The capacity of the customer's own cup; `None` for a cup of the house.
///
/// * `vessel`: the book's vessel that stands for an own cup of this size.
/// * Errors: an own cup without a capacity, or too small for the size; a capacity without one.
pub(super) fn capacity(
    bar: &Bar,
    drink: &Drink,
    (service, cup): (Service, &Cup),
    vessel: &Vessel,
    held: &[Held<'_>],
) -> Result<Option<Volume>, Objection> {
    let given = held.iter().find_map(|one| {
        if let Holding::Capacity(ml) = one.holding { Some((ml, one)) } else { None }
    });
    match (service, given) {
        (Service::Own, Some((ml, one))) => {
            let least = least_capacity(cup, vessel);
            if ml >= least {
                return Ok(Some(ml));
            }
            let measured =
                Measured { field: "capacity_ml", value: ml.ul(), min: Some(least.ul()), max: None };
            let here = |id: &&Cup| bar.vessel_of_book(&id.vessel);
            let rows = drink.cups.get(&Service::Own).into_iter().flatten();
            let fits = rows.filter(|(_, row)| {
                here(row).is_some_and(|vessel| least_capacity(row, vessel) <= ml)
            });
            let fits = fits.map(|(size, _)| Fix::Set("size".into(), size.clone()));
            Err(Objection::refuse(Code::OwnCupTooSmall)
                .about(one.modifier.id())
                .at(one.given)
                .name("drink", &drink.names)
                .measure(measured)
                .fixes(fits)
                .fixes(house_cups(drink)))
        }
        (Service::Own, None) => Err(capacity_needed(bar, drink, held)),
        (Service::Here | Service::Takeaway, Some((_, one))) => {
            let mut fault = Objection::refuse(Code::NotApplicable)
                .about(one.modifier.id())
                .at(one.given)
                .name("modifier", one.modifier.names())
                .name("drink", &drink.names);
            fault.words = one.modifier.otherwise().map(|otherwise| otherwise.text.clone());
            Err(fault.fixes([
                Fix::Set("service".into(), Service::Own.as_str().into()),
                Fix::Withdraw(one.modifier.id().clone()),
            ]))
        }
        (Service::Here | Service::Takeaway, None) => Ok(None),
    }
}

/// What an own cup must hold: the drink's fill, and the room over it that its stand-in has.
fn least_capacity(cup: &Cup, vessel: &Vessel) -> Volume {
    cup.fill_ml.map_or(Volume::ZERO, |fill| fill + vessel.brim_ml - vessel.fill_ml)
}

/// Ways out of an own cup, into the cups of the house.
pub fn house_cups(drink: &Drink) -> impl Iterator<Item = Fix> {
    let served = drink.cups.iter().filter(|(_, sizes)| !sizes.is_empty());
    let of_house = served.filter(|(service, _)| **service != Service::Own);
    of_house.map(|(service, _)| Fix::Set("service".into(), service.as_str().into()))
}

/// Asks how much the customer's own cup holds, with a choice for each size that it could be.
fn capacity_needed(bar: &Bar, drink: &Drink, held: &[Held<'_>]) -> Objection {
    let slot = Id::from("capacity");
    let mut fault =
        Objection::refuse(Code::CapacityNeeded).about(&slot).name("drink", &drink.names);
    fault.manner = Manner::Ask;
    fault.given = held.iter().find(|one| *one.modifier.id() == "service").map(|one| one.given);
    let asked = held.iter().find(|one| *one.modifier.id() == "size");
    let asked = asked.and_then(|one| one.holding.cup());
    let rows = drink.cups.get(&Service::Own).into_iter().flatten();
    let rows = rows.filter(|(size, _)| asked.is_none_or(|asked| asked == *size));
    let choices = rows.filter_map(|(size, row)| {
        let brim = bar.vessel_of_book(&row.vessel)?.brim_ml;
        Some(Fix::All(vec![
            Fix::Set("size".into(), size.clone()),
            Fix::SetNumber(slot.clone(), Figure::from_thousandths(brim.ul())),
        ]))
    });
    fault.fixes(choices.collect::<Vec<_>>())
}
