//! Reading a book or a site's sheet: all complaints at once, or the whole document.

use std::sync::{Arc, LazyLock};

use serde_json::Value;

use super::{
    check_book, check_site,
    types::{Book, Site},
};
use crate::json::{Complaints, Digest, Limits, SchemaCheck, read_typed};

static BOOK_SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<Book>(true));
static SITE_SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<Site>(true));

/// The compiled schema of a book.
pub fn book_schema() -> &'static SchemaCheck {
    &BOOK_SCHEMA
}

/// The compiled schema of a site's sheet.
pub fn site_schema() -> &'static SchemaCheck {
    &SITE_SCHEMA
}

/// A book as it was read.
#[derive(Clone, Debug)]
pub struct BookDocument {
    /// The name by which people know the document, such as its file name.
    pub name: String,
    /// The document without its `x-…` members, for resolving.
    pub value: Arc<Value>,
    /// Digest of the document as written.
    pub digest: Digest,
    /// The typed book.
    pub book: Arc<Book>,
    /// The text, for the places of later complaints.
    pub text: Arc<str>,
}

/// A site's sheet as it was read.
#[derive(Clone, Debug)]
pub struct SiteDocument {
    /// The name by which people know the document, such as its file name.
    pub name: String,
    /// Digest of the document as written.
    pub digest: Digest,
    /// The typed sheet.
    pub site: Arc<Site>,
    /// The text, for the places of later complaints.
    pub text: Arc<str>,
    /// Pointer of the sheet in that text: empty, or where a book carries its training bar.
    pub root: &'static str,
}

impl BookDocument {
    /// Reads and checks a book by itself; worked examples are judged later, by the engine.
    ///
    /// * Errors: every complaint at once; nothing is half-loaded.
    pub fn read(name: &str, text: &str) -> Result<Self, Complaints> {
        let (digest, value, book) = read_typed::<Book>(name, text, Limits::DOCUMENT, &BOOK_SCHEMA)?;
        let complaints = check_book(&book);
        if !complaints.is_empty() {
            return Err(Complaints::placed(name, text, complaints));
        }
        Ok(Self {
            name: name.to_owned(),
            digest,
            value: Arc::new(value),
            book: Arc::new(book),
            text: text.into(),
        })
    }

    /// The training bar that the book carries, as a site's sheet.
    pub fn training_bar(&self) -> SiteDocument {
        SiteDocument {
            name: self.name.clone(),
            digest: Digest::of(&self.value["training_bar"]),
            site: Arc::new(self.book.training_bar.clone()),
            text: Arc::clone(&self.text),
            root: "/training_bar",
        }
    }
}

impl SiteDocument {
    /// Reads a site's sheet and checks it against `book`.
    ///
    /// * Errors: every complaint at once; nothing is half-loaded.
    pub fn read(name: &str, text: &str, book: &Book) -> Result<Self, Complaints> {
        let (digest, _, site) = read_typed::<Site>(name, text, Limits::DOCUMENT, &SITE_SCHEMA)?;
        let complaints = check_site(&site, book);
        if !complaints.is_empty() {
            return Err(Complaints::placed(name, text, complaints));
        }
        Ok(Self {
            name: name.to_owned(),
            digest,
            site: Arc::new(site),
            text: text.into(),
            root: "",
        })
    }
}
