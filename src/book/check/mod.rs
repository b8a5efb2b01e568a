//! Whole-document checks: what a schema cannot say. Every complaint is collected, with its pointer.

mod aside;
mod drinks;
mod figures;
mod identity;
mod modifiers;
mod paths;
mod printers;
mod records;
mod references;
mod regional;
mod site;
mod texts;
mod usage;

pub use aside::Aside;
pub(super) use aside::{OF_BOOK, OF_SITE};
pub(super) use paths::FIXED;
pub use references::NEIGHBOUR_KEYS;

use std::{collections::HashSet, fmt::Display};

use super::types::{Book, Id, Modifier, Site};
use crate::json::{Complaint, child};

/// Everything wrong with a book by itself; worked examples are judged by the engine.
pub fn check_book(book: &Book) -> Vec<Complaint> {
    let aside = Aside::default();
    let mut all = check_records(book, &aside);
    all.extend(check_site_in(&book.training_bar, book, &aside, "/training_bar"));
    all
}

/// Everything wrong with the records of a book, its training bar left out.
///
/// * `aside`: what of the book was set aside, and is not in `book`.
pub(super) fn check_records(book: &Book, aside: &Aside) -> Vec<Complaint> {
    let mut notes = Notes::new(book, aside);
    identity::check(&mut notes, book);
    texts::check(&mut notes, book);
    records::check(&mut notes, book);
    figures::check(&mut notes, book);
    references::check(&mut notes, book);
    regional::check(&mut notes, book);
    drinks::check(&mut notes, book);
    modifiers::check(&mut notes, book);
    paths::check(&mut notes, book);
    notes.complaints
}

/// Everything wrong with a site's sheet, read beside `book`.
pub fn check_site(site: &Site, book: &Book) -> Vec<Complaint> {
    check_site_in(site, book, &Aside::default(), "")
}

/// Everything wrong with a site's sheet that stands at `root` of its document.
///
/// * `aside`: what of the book was set aside, and is not in `book`.
pub(super) fn check_site_in(site: &Site, book: &Book, aside: &Aside, root: &str) -> Vec<Complaint> {
    let mut notes = Notes::new(book, aside);
    site::check(&mut notes, site, book, root);
    notes.complaints
}

/// The ids of one list of the book, with what its elements are called.
pub(super) struct Known<'a> {
    what: &'static str,
    ids: HashSet<&'a str>,
    /// Whether something is set aside that may have any id.
    open: bool,
}

impl<'a> Known<'a> {
    fn of(
        what: &'static str,
        list: &str,
        ids: impl Iterator<Item = &'a Id>,
        aside: &'a Aside,
    ) -> Self {
        let ids = ids.map(|id| &**id).chain(aside.ids(list)).collect();
        Self { what, ids, open: aside.is_open(list) }
    }
}

/// The one of `known` that is nearest to `id`, if one is near.
pub(super) fn nearest<'a>(known: impl Iterator<Item = &'a str>, id: &str) -> Option<&'a str> {
    let near = |known: &str| strsim::jaro_winkler(known, id);
    let close = known.filter(|known| near(known) > 0.8);
    close.max_by(|a, b| near(a).total_cmp(&near(b)).then(b.cmp(a)))
}

/// The complaints so far, and every id that a reference may name.
pub(super) struct Notes<'a> {
    complaints: Vec<Complaint>,
    /// What of the book is set aside.
    aside: &'a Aside,
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
    fn new(book: &'a Book, aside: &'a Aside) -> Self {
        Self {
            complaints: Vec::new(),
            aside,
            allergens: Known::of(
                "an allergen",
                "allergens",
                book.allergens.iter().map(|one| &one.id),
                aside,
            ),
            diets: Known::of("a diet", "diets", book.diets.iter().map(|one| &one.id), aside),
            sizes: Known::of("a size", "sizes", book.sizes.iter().map(|one| &one.id), aside),
            materials: Known::of(
                "a material",
                "materials",
                book.materials.iter().map(|one| &one.id),
                aside,
            ),
            textures: Known::of(
                "a texture",
                "textures",
                book.textures.iter().map(|one| &one.id),
                aside,
            ),
            ingredients: Known::of(
                "an ingredient",
                "ingredients",
                book.ingredients.iter().map(|one| &one.id),
                aside,
            ),
            beans: Known::of("a bean", "beans", book.beans.iter().map(|one| &one.id), aside),
            pulls: Known::of("a pull", "pulls", book.pulls.iter().map(|one| &one.id), aside),
            extractions: Known::of(
                "an extraction",
                "extractions",
                book.extractions.iter().map(|one| &one.id),
                aside,
            ),
            vessels: Known::of(
                "a vessel",
                "vessels",
                book.vessels.iter().map(|one| &one.id),
                aside,
            ),
            jugs: Known::of("a jug", "jugs", book.jugs.iter().map(|one| &one.id), aside),
            drinks: Known::of("a drink", "drinks", book.drinks.iter().map(|one| &one.id), aside),
            modifiers: Known::of(
                "a modifier",
                "modifiers",
                book.modifiers.iter().map(Modifier::id),
                aside,
            ),
            regions: Known::of(
                "a region",
                "regions",
                book.regions.iter().map(|one| &one.id),
                aside,
            ),
        }
    }

    /// Notes a complaint about the value at `pointer`.
    fn note(&mut self, pointer: &str, found: impl Display, expected: impl Display) {
        self.complaints.push(Complaint::at(pointer, found.to_string(), expected.to_string()));
    }

    /// Complains unless `id` is among the ids that `list` picks.
    fn refer(&mut self, pointer: &str, id: &str, list: impl Fn(&Self) -> &Known<'a>) {
        let known = list(self);
        if known.open || known.ids.contains(id) {
            return;
        }
        let near = nearest(known.ids.iter().copied(), id)
            .map(|near| format!(", such as `{near}`"))
            .unwrap_or_default();
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
