//! Reading a book or a site's sheet: all complaints at once, or the whole document.

use std::sync::{Arc, LazyLock};

use serde::Deserialize;
use serde_json::Value;

use super::{
    check::{Aside, OF_BOOK, OF_SITE, check_records, check_site_in},
    types::{Book, Site},
};
use crate::json::{
    Complaint, Complaints, Digest, Limits, SchemaCheck, Structure, read_structure, segments,
};

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

/// A book as far as it can be judged: what is wrong with it, and what of it was read.
#[derive(Debug)]
pub struct JudgedBook {
    /// Everything wrong with the book by itself.
    pub complaints: Vec<Complaint>,
    /// The document; its typed book lacks what is set aside. `None` where nothing can be read.
    pub document: Option<BookDocument>,
    /// What of the document is set aside, since its structure has faults.
    pub aside: Aside,
}

/// Lists from which a proof can leave out an element, with everything that is made of it.
const LEFT_OUT: [&str; 14] = [
    "allergens",
    "beans",
    "cautions",
    "diets",
    "drinks",
    "examples",
    "extractions",
    "ingredients",
    "materials",
    "modifiers",
    "regions",
    "sizes",
    "textures",
    "vessels",
];

/// Fields on which no cup depends.
const OF_NO_CUP: [&str; 7] =
    ["schema", "id", "version", "names", "phrases", "region_may_replace", "site_may_replace"];

impl JudgedBook {
    /// Reads a book and judges everything in it that can be judged.
    ///
    /// Elements and fields whose structure has faults are set aside, and the rest is checked as a
    /// whole; what is set aside counts as there for whatever names it.
    pub fn of(name: &str, text: &str) -> Self {
        let Structure { digest, value, mut complaints } =
            match read_structure(text, Limits::DOCUMENT, &BOOK_SCHEMA) {
                Ok(structure) => structure,
                Err(one) => {
                    return Self { complaints: vec![one], document: None, aside: Aside::default() };
                }
            };
        let (left, aside) = Aside::of(&value, &complaints, &OF_BOOK);
        let book = match Book::deserialize(&*left) {
            Ok(book) => book,
            Err(fault) => {
                if complaints.is_empty() {
                    complaints.push(unlike_schema(&fault));
                }
                return Self { complaints, document: None, aside };
            }
        };
        let mut more = check_records(&book, &aside);
        more.extend(check_site_in(&book.training_bar, &book, &aside, "/training_bar"));
        complaints.extend(aside.of_whole(more));
        drop(left);
        let document = BookDocument {
            name: name.to_owned(),
            digest,
            value: Arc::new(value),
            book: Arc::new(book),
            text: text.into(),
        };
        Self { complaints, document: Some(document), aside }
    }

    /// What can be proved of a book that has `complaints`: itself without every element that has
    /// one, without everything made of those elements, and so on until nothing is left to complain
    /// about; and what that leaves out.
    ///
    /// Drinks and modifiers left out are no reason to leave out what only points at them. `None`
    /// where a complaint is about something that every cup may depend on, such as the training bar,
    /// a jug or a way of serving.
    pub fn provable(&self, complaints: &[Complaint]) -> Option<(BookDocument, Aside)> {
        let whole = self.document.as_ref()?;
        let mut faults = complaints.to_vec();
        let mut count = 0;
        loop {
            let (left, aside) = Aside::of(&whole.value, &faults, &OF_BOOK);
            let aside = aside.forgetting();
            let apart = |field: &str| LEFT_OUT.contains(&field) && !aside.is_whole(field);
            if !aside.fields().all(|field| apart(field) || OF_NO_CUP.contains(&field)) {
                return None;
            }
            let book = Book::deserialize(&*left).ok()?;
            let more = aside.of_whole(check_records(&book, &aside));
            if more.is_empty() {
                let bar = &book.training_bar;
                let own = check_site_in(bar, &book, &aside, "/training_bar");
                let of_records =
                    |one: &Complaint| segments(&one.pointer).any(|field| field == "replaced_by");
                if own.iter().any(of_records) || aside.may_hold("regions", &bar.region) {
                    return None;
                }
                let value = Arc::new(left.into_owned());
                let document = BookDocument { value, book: Arc::new(book), ..whole.clone() };
                return Some((document, aside));
            }
            if aside.count() <= count {
                return None;
            }
            count = aside.count();
            faults.extend(more);
        }
    }
}

/// The complaint about a document that follows its schema and still cannot be held.
fn unlike_schema(fault: &serde_json::Error) -> Complaint {
    Complaint::at("", fault.to_string(), "the published schema")
}

impl BookDocument {
    /// Reads and checks a book by itself; worked examples are judged later, by the engine.
    ///
    /// * Errors: every complaint at once; nothing is half-loaded.
    pub fn read(name: &str, text: &str) -> Result<Self, Complaints> {
        let JudgedBook { complaints, document, aside: _ } = JudgedBook::of(name, text);
        match document {
            Some(document) if complaints.is_empty() => Ok(document),
            Some(_) | None => Err(Complaints::placed(name, text, complaints)),
        }
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
        Self::read_beside(name, text, Some((book, &Aside::default())))
    }

    /// Reads a site's sheet and checks it against what could be read of its book.
    ///
    /// * `book`: the book, and what of it is set aside; without it, only the structure is judged.
    /// * Errors: every complaint at once, as for a book.
    pub fn read_beside(
        name: &str,
        text: &str,
        book: Option<(&Book, &Aside)>,
    ) -> Result<Self, Complaints> {
        let placed = |all| Complaints::placed(name, text, all);
        let Structure { digest, value, mut complaints } =
            read_structure(text, Limits::DOCUMENT, &SITE_SCHEMA)
                .map_err(|one| placed(vec![one]))?;
        let (left, aside) = Aside::of(&value, &complaints, &OF_SITE);
        let site = match Site::deserialize(&*left) {
            Ok(site) => site,
            Err(fault) => {
                if complaints.is_empty() {
                    complaints.push(unlike_schema(&fault));
                }
                return Err(placed(complaints));
            }
        };
        if let Some((book, beside)) = book {
            complaints.extend(aside.of_whole(check_site_in(&site, book, beside, "")));
        }
        if !complaints.is_empty() {
            return Err(placed(complaints));
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
