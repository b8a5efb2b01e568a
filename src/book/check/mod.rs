//! Whole-document checks: what a schema cannot say. Every complaint is collected, with its pointer.

mod drinks;
mod identity;
mod modifiers;
mod paths;
mod records;
mod references;
mod site;
mod texts;

pub(super) use paths::FIXED;

use std::{collections::HashSet, fmt::Display};

use super::types::{Book, Id, Modifier, Site};
use crate::json::{Complaint, child};

/// Everything wrong with a book by itself; worked examples are judged by the engine.
pub fn check_book(book: &Book) -> Vec<Complaint> {
    let mut notes = Notes::new(book);
    identity::check(&mut notes, book);
    texts::check(&mut notes, book);
    records::check(&mut notes, book);
    references::check(&mut notes, book);
    drinks::check(&mut notes, book);
    modifiers::check(&mut notes, book);
    paths::check(&mut notes, book);
    site::check(&mut notes, &book.training_bar, book, "/training_bar");
    notes.complaints
}

/// Everything wrong with a site's sheet, read beside `book`.
pub fn check_site(site: &Site, book: &Book) -> Vec<Complaint> {
    let mut notes = Notes::new(book);
    site::check(&mut notes, site, book, "");
    notes.complaints
}

/// The ids of one list of the book, with what its elements are called.
pub(super) struct Known<'a> {
    what: &'static str,
    ids: HashSet<&'a str>,
}

impl<'a> Known<'a> {
    fn of(what: &'static str, ids: impl Iterator<Item = &'a Id>) -> Self {
        Self { what, ids: ids.map(|id| &**id).collect() }
    }

    /// The known id nearest to `id`, if one is near.
    fn nearest(&self, id: &str) -> Option<&'a str> {
        let close = |known: &&&str| strsim::jaro_winkler(known, id) > 0.8;
        self.ids.iter().filter(close).copied().max_by(|a, b| {
            let (near_a, near_b) = (strsim::jaro_winkler(a, id), strsim::jaro_winkler(b, id));
            near_a.total_cmp(&near_b).then(b.cmp(a))
        })
    }
}

/// The complaints so far, and every id that a reference may name.
pub(super) struct Notes<'a> {
    complaints: Vec<Complaint>,
    allergens: Known<'a>,
    diets: Known<'a>,
    sizes: Known<'a>,
    materials: Known<'a>,
    textures: Known<'a>,
    ingredients: Known<'a>,
    beans: Known<'a>,
    pulls: Known<'a>,
    extractions: Known<'a>,
    vessels: Known<'a>,
    jugs: Known<'a>,
    drinks: Known<'a>,
    modifiers: Known<'a>,
    regions: Known<'a>,
}

impl<'a> Notes<'a> {
    fn new(book: &'a Book) -> Self {
        Self {
            complaints: Vec::new(),
            allergens: Known::of("an allergen", book.allergens.iter().map(|one| &one.id)),
            diets: Known::of("a diet", book.diets.iter().map(|one| &one.id)),
            sizes: Known::of("a size", book.sizes.iter().map(|one| &one.id)),
            materials: Known::of("a material", book.materials.iter().map(|one| &one.id)),
            textures: Known::of("a texture", book.textures.iter().map(|one| &one.id)),
            ingredients: Known::of("an ingredient", book.ingredients.iter().map(|one| &one.id)),
            beans: Known::of("a bean", book.beans.iter().map(|one| &one.id)),
            pulls: Known::of("a pull", book.pulls.iter().map(|one| &one.id)),
            extractions: Known::of("an extraction", book.extractions.iter().map(|one| &one.id)),
            vessels: Known::of("a vessel", book.vessels.iter().map(|one| &one.id)),
            jugs: Known::of("a jug", book.jugs.iter().map(|one| &one.id)),
            drinks: Known::of("a drink", book.drinks.iter().map(|one| &one.id)),
            modifiers: Known::of("a modifier", book.modifiers.iter().map(Modifier::id)),
            regions: Known::of("a region", book.regions.iter().map(|one| &one.id)),
        }
    }

    /// Notes a complaint about the value at `pointer`.
    fn note(&mut self, pointer: &str, found: impl Display, expected: impl Display) {
        self.complaints.push(Complaint::at(pointer, found.to_string(), expected.to_string()));
    }

    /// Complains unless `id` is among the ids that `list` picks.
    fn refer(&mut self, pointer: &str, id: &str, list: impl Fn(&Self) -> &Known<'a>) {
        let known = list(self);
        if known.ids.contains(id) {
            return;
        }
        let near = known.nearest(id).map(|near| format!(", such as `{near}`")).unwrap_or_default();
        let expected = format!("the id of {} of the book{near}", known.what);
        self.note(pointer, format!("`{id}`, which the book does not have"), expected);
    }

    /// Complains about each of `ids` that is not among the ids that `list` picks.
    fn refer_all(&mut self, pointer: &str, ids: &[Id], list: impl Fn(&Self) -> &Known<'a>) {
        for (at, id) in ids.iter().enumerate() {
            self.refer(&child(pointer, at), id, &list);
        }
    }

    /// Complains about every id that stands in a list a second time.
    fn once<'b>(&mut self, pointer: &str, ids: impl Iterator<Item = &'b Id>) {
        let mut seen = HashSet::new();
        for (at, id) in ids.enumerate() {
            if !seen.insert(id) {
                let here = child(&child(pointer, at), "id");
                self.note(&here, format!("`{id}` a second time"), "each id once in this list");
            }
        }
    }

    /// Complains unless `low` is at most `high`.
    fn ordered<T: PartialOrd + Display>(&mut self, pointer: &str, low: &T, high: &T) {
        if low > high {
            let expected = format!("at least {low}, its lower bound");
            self.note(pointer, high, expected);
        }
    }
}
