//! What is in force: one book, its sites, and a compiled bar for each; replaced whole or not at all.

mod moment;
mod proof;

use std::{collections::BTreeMap, sync::Arc};

pub use moment::{NotATime, moment};

use crate::{
    book::{Bar, Book, BookDocument, Id, Lang, SiteDocument},
    json::{Complaint, Complaints, Digest},
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
    speech: Speech,
}

impl InForce {
    /// Reads, checks and compiles a book and the sheets of its sites, and proves the worked
    /// examples.
    ///
    /// * Errors: the complaints of every document that has any; nothing is half-loaded. Sites are
    ///   judged only by a book that is right by itself.
    pub fn load(book: &Source, sites: &[Source]) -> Result<Self, Vec<Complaints>> {
        let document = BookDocument::read(&book.name, &book.text).map_err(|one| vec![one])?;
        let of_book = |all| vec![Complaints::placed(&book.name, &book.text, all)];
        let speech = Speech::of(&document.book).map_err(of_book)?;
        let mut sheets = vec![document.training_bar()];
        let mut faults = Vec::new();
        for source in sites {
            match SiteDocument::read(&source.name, &source.text, &document.book) {
                Ok(sheet) => sheets.push(sheet),
                Err(complaints) => faults.push(complaints),
            }
        }
        let mut bars: BTreeMap<Id, Arc<Bar>> = BTreeMap::new();
        for sheet in &sheets {
            match Bar::compile(&document, sheet, None, None) {
                Ok(bar) => {
                    let id = sheet.site.id.clone();
                    if bars.insert(id.clone(), Arc::new(bar)).is_some() {
                        let twice =
                            Complaint::at("/id", format!("`{id}` a second time"), "each site once");
                        faults.push(Complaints::placed(&sheet.name, &sheet.text, vec![twice]));
                    }
                }
                Err(complaints) => faults.push(complaints),
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let held = Self { document, bars, speech };
        let unproved = proof::complaints(&held);
        if unproved.is_empty() { Ok(held) } else { Err(of_book(unproved)) }
    }

    /// The book.
    pub fn book(&self) -> &Book {
        &self.document.book
    }

    /// Digest of the book.
    pub fn digest(&self) -> Digest {
        self.document.digest
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
