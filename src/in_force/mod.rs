//! What is in force: one book, its sites, and a compiled bar for each; replaced whole or not at all.

mod editions;
mod loading;
mod moment;
mod pairs;
mod proof;

use std::{collections::BTreeMap, sync::Arc};

pub use editions::{Edition, Editions};
pub use moment::{NotATime, moment};
pub use pairs::{Mix, mix_of, ways};

use crate::{
    book::{Bar, Book, BookDocument, Id, Lang},
    json::{Complaint, Complaints, Digest},
    till::TillMap,
    words::{Catalogue, Speech},
};

/// A text with the name by which people know it.
#[derive(Clone, Debug)]
pub struct Source {
    /// Name, such as a file name.
    pub name: String,
    /// Text.
    pub text: String,
}

/// Everything that a request needs: immutable, shared, swapped whole.
#[derive(Debug)]
pub struct InForce {
    /// The book.
    pub document: BookDocument,
    /// The bars, by site id; the book's training bar among them.
    pub bars: BTreeMap<Id, Arc<Bar>>,
    /// Till maps, by site id.
    pub tills: BTreeMap<Id, TillMap>,
    speech: Speech,
}

impl InForce {
    /// Reads, checks and compiles a book and the sheets of its sites, and proves the worked
    /// examples.
    ///
    /// * Errors: everything that can be complained about, at once, the book's complaints first;
    ///   nothing is half-loaded. What has faults of structure is set aside and the rest is judged:
    ///   the book as a whole, its sentences, and every sheet beside what is left of the book. What
    ///   a bar replaces is judged if no part of the book had to be set aside. A drink is proved
    ///   unless it, or anything it is made of, is complained about; a worked example, if that holds
    ///   for its drink and its modifiers. Where such a complaint is about an ingredient, no
    ///   allergen that an example expects is judged; where one is about any drink, modifier or
    ///   anything that these are made of, no example of a refusal is, since its ways out may lead
    ///   there; and texts that an example expects are not judged while a sentence of the book is
    ///   wrong. Nothing is proved while the book is wrong about what all cups share, such as its
    ///   training bar and its jugs.
    pub fn load(book: &Source, sites: &[Source]) -> Result<Self, Vec<Complaints>> {
        loading::load(book, sites)
    }

    /// With the sheets of tills: each source is named after its site, such as
    /// `ferry-kiosk.till.csv`.
    ///
    /// * Errors: every complaint about every sheet; a site that is not there, or two sheets for one.
    pub fn with_tills(mut self, sources: &[Source]) -> Result<Self, Vec<Complaints>> {
        let mut told = Vec::new();
        for source in sources {
            let file = source.name.rsplit(['/', '\\']).next().unwrap_or_default();
            let site = file.split(".till.").next().unwrap_or_default();
            let told_of = |found: String, expected: &str| {
                let all = vec![Complaint::at("", found, expected)];
                Complaints { document: source.name.clone(), all }
            };
            if self.bar(site).is_none() {
                told.push(told_of(format!("a till of `{site}`"), "a name that begins with a site"));
                continue;
            }
            match TillMap::read(&source.name, &source.text, site) {
                Ok(map) => {
                    if self.tills.insert(map.site.clone(), map).is_some() {
                        let found = format!("a second sheet for `{site}`");
                        told.push(told_of(found, "one sheet for the till of a site"));
                    }
                }
                Err(complaints) => told.push(complaints),
            }
        }
        if told.is_empty() { Ok(self) } else { Err(told) }
    }

    /// The book.
    pub fn book(&self) -> &Book {
        &self.document.book
    }

    /// Digest of the book.
    pub fn digest(&self) -> Digest {
        self.document.digest
    }

    /// Whether every document behind the two is the same.
    pub fn is_same(&self, other: &Self) -> bool {
        let sheets = |held: &Self| -> Vec<(Id, Digest, Option<Digest>)> {
            let bars = held.bars.values();
            bars.map(|bar| (bar.site.id.clone(), bar.site_digest, bar.overlay_digest)).collect()
        };
        self.digest() == other.digest()
            && sheets(self) == sheets(other)
            && self.tills == other.tills
    }

    /// The bar of a site.
    pub fn bar(&self, site: &str) -> Option<&Arc<Bar>> {
        self.bars.get(site)
    }

    /// The book's own training bar.
    pub fn training_bar(&self) -> Option<&Arc<Bar>> {
        self.bars.get(&self.book().training_bar.id)
    }

    /// The catalogue of `lang`, or of the site's first language if none is asked for.
    ///
    /// * Errors: the languages that there are.
    pub fn catalogue(&self, bar: &Bar, lang: Option<&str>) -> Result<&Catalogue, Vec<Lang>> {
        let lang = lang.or_else(|| bar.site.languages.first().map(|lang| &**lang));
        let found = lang.and_then(|lang| self.speech.in_lang(lang));
        found.ok_or_else(|| self.book().languages.clone())
    }
}
