//! A site's sheet, read beside its book.

use super::{Notes, identity, printers, records, usage};
use crate::{
    book::types::{AllergyRoute, Book, Costs, Site, Words},
    json::child,
    units::{Mass, Money, Volume},
};

pub(super) fn check(notes: &mut Notes<'_>, site: &Site, book: &Book, root: &str) {
    identity::readable(notes, root, site.min_reader.as_deref());
    notes.refer(&child(root, "region"), &site.region, |n| &n.regions);
    languages(notes, site, book, root);
    hours(notes, site, root);
    notes.refer_all(&child(root, "stock"), &site.stock, |n| &n.ingredients);
    let vessels = child(root, "vessels");
    notes.once(&vessels, site.vessels.iter().map(|one| &one.id));
    for (at, one) in site.vessels.iter().enumerate() {
        notes.refer(&format!("{vessels}/{at}/id"), &one.id, |n| &n.vessels);
        if let Some(own) = &one.replaced_by {
            let here = format!("{vessels}/{at}/replaced_by");
            records::vessel(notes, &here, own);
            named(notes, &child(&here, "names"), &own.names, site);
            notes.refer(&child(&here, "material"), &own.material, |n| &n.materials);
        }
    }
    let jugs = child(root, "jugs");
    notes.once(&jugs, site.jugs.iter().map(|one| &one.id));
    for (at, one) in site.jugs.iter().enumerate() {
        notes.refer(&format!("{jugs}/{at}/id"), &one.id, |n| &n.jugs);
        if let Some(own) = &one.replaced_by {
            let here = format!("{jugs}/{at}/replaced_by");
            records::jug_room(notes, &here, own);
            named(notes, &child(&here, "names"), &own.names, site);
            notes.refer(&child(&here, "material"), &own.material, |n| &n.materials);
        }
    }
    equipment(notes, site, root);
    if let Some(costs) = &site.costs {
        paid(notes, costs, book, &child(root, "costs"));
    }
    notes.refer_all(&child(root, "pre_dosed"), &site.pre_dosed, |n| &n.beans);
    if let Some(record) = &site.usage {
        usage::check(notes, record, &child(root, "usage"));
    }
    let kept = child(root, "dedicated_for");
    notes.refer_all(&kept, &site.dedicated_for, |n| &n.allergens);
    if site.dedicated_for.is_empty() == (site.allergy_route == AllergyRoute::Dedicated) {
        let expected = "the allergens that equipment is kept for with route `dedicated`, else none";
        notes.note(&kept, format!("{} of them", site.dedicated_for.len()), expected);
    }
}

/// Complains about purchases of nothing, and about costs of what the book lacks.
fn paid(notes: &mut Notes<'_>, costs: &Costs, book: &Book, root: &str) {
    for (id, purchase) in &costs.ingredients {
        let here = format!("{root}/ingredients/{id}");
        notes.refer(&here, id, |n| &n.ingredients);
        let (g, ml) = (purchase.g.map_or(0, Mass::mg), purchase.ml.map_or(0, Volume::ul));
        if (g > 0) == (ml > 0) || purchase.g.is_some() == purchase.ml.is_some() {
            notes.note(&here, "not exactly one amount", "either `g` or `ml`, more than 0");
        }
        let record = book.ingredients.iter().find(|one| one.id == *id);
        if ml > 0 && record.is_some_and(|one| one.density_kg_m3.is_none()) {
            let expected = "`g`, since its record has no density";
            notes.note(&here, "an amount in `ml`", expected);
        }
        if purchase.price < Money::ZERO {
            notes.note(&child(&here, "price"), purchase.price, "0 or more");
        }
    }
    for (id, price) in &costs.packaging {
        let here = format!("{root}/packaging/{id}");
        notes.refer(&here, id, |n| &n.vessels);
        if *price < Money::ZERO {
            notes.note(&here, price, "0 or more");
        }
    }
}

fn languages(notes: &mut Notes<'_>, site: &Site, book: &Book, root: &str) {
    let told = !notes.aside.touches("languages");
    for (at, lang) in site.languages.iter().enumerate() {
        if told && !book.languages.contains(lang) {
            let known: Vec<&str> = book.languages.iter().map(|lang| &**lang).collect();
            let here = format!("{root}/languages/{at}");
            notes.note(&here, format!("`{lang}`"), format!("one of {}", known.join(", ")));
        }
    }
    named(notes, &child(root, "names"), &site.names, site);
}

/// Complains about each language of the site in which `names` is silent.
fn named(notes: &mut Notes<'_>, here: &str, names: &Words, site: &Site) {
    for lang in &site.languages {
        if names.0.get(lang).is_none_or(|name| name.trim().is_empty()) {
            let found = format!("no text in `{lang}`");
            notes.note(here, found, "a name in each language of the site");
        }
    }
}

fn hours(notes: &mut Notes<'_>, site: &Site, root: &str) {
    if jiff::tz::TimeZone::get(&site.time_zone).is_err() {
        let here = child(root, "time_zone");
        let found = format!("`{}`", site.time_zone);
        notes.note(&here, found, "an IANA time zone such as `Europe/Berlin`");
    }
    let mut seen = Vec::new();
    for (at, opening) in site.opening_hours.iter().enumerate() {
        if opening.from == opening.to {
            let here = format!("{root}/opening_hours/{at}/to");
            notes.note(&here, format!("`{}`", opening.to), "another time than `from`");
        }
        for day in &opening.days {
            if seen.contains(&(*day, &opening.from)) {
                let here = format!("{root}/opening_hours/{at}/days");
                notes.note(&here, format!("{day:?} a second time"), "each day once at a time");
            }
            seen.push((*day, &opening.from));
        }
    }
}

fn equipment(notes: &mut Notes<'_>, site: &Site, root: &str) {
    notes.once(&child(root, "wands"), site.wands.iter().map(|wand| &wand.id));
    notes.once(&child(root, "grinders"), site.grinders.iter().map(|grinder| &grinder.id));
    printers::check(notes, site, root);
    if site.pour_mark_ml > Volume::from_ul(50_000) {
        let here = child(root, "pour_mark_ml");
        notes.note(&here, site.pour_mark_ml, "at most 50 mL, so that no pour rounds to nothing");
    }
    for (at, wand) in site.wands.iter().enumerate() {
        notes.refer_all(&format!("{root}/wands/{at}/only"), &wand.only, |n| &n.ingredients);
        if wand.steam_g_s.mg_s() < 100 {
            let here = format!("{root}/wands/{at}/steam_g_s");
            notes.note(&here, wand.steam_g_s, "at least 0.1 g/s, from one timed jug");
        }
    }
    for (at, grinder) in site.grinders.iter().enumerate() {
        notes.refer_all(&format!("{root}/grinders/{at}/beans"), &grinder.beans, |n| &n.beans);
    }
    if site.steam.dryness.thousandths() < 500 {
        let here = format!("{root}/steam/dryness");
        notes.note(&here, site.steam.dryness, "at least 0.5: steam, not water");
    }
    if !site.baskets.iter().any(|basket| basket.halves == 2) {
        notes.note(&child(root, "baskets"), "no double basket", "a basket of 2 halves");
    }
}
