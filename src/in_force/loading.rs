//! Loading: every complaint about a book and its sheets, or all of it in force.

use std::{collections::BTreeMap, sync::Arc};

use super::{InForce, Source, proof};
use crate::{
    book::{Aside, Bar, BookDocument, Id, JudgedBook, SiteDocument},
    json::{Complaint, Complaints},
    words::Speech,
};

/// Complaints by document, in the order in which the documents were judged.
#[derive(Default)]
struct Told(Vec<Complaints>);

impl Told {
    /// Adds complaints to those about the same document.
    fn add(&mut self, complaints: Complaints) {
        if complaints.all.is_empty() {
            return;
        }
        let Some(one) = self.0.iter_mut().find(|one| one.document == complaints.document) else {
            self.0.push(complaints);
            return;
        };
        one.all.extend(complaints.all);
        one.all.sort_by(|a, b| (a.place, &a.pointer).cmp(&(b.place, &b.pointer)));
        one.all.dedup();
    }
}

/// See [`InForce::load`].
pub(super) fn load(book: &Source, sites: &[Source]) -> Result<InForce, Vec<Complaints>> {
    let judged = JudgedBook::of(&book.name, &book.text);
    let mut of_book = judged.complaints.clone();
    let speech = judged.document.as_ref().map(|document| {
        let (speech, complaints) = Speech::of(&document.book);
        // Without every language and every sentence, some would only seem to be missing.
        if !["languages", "phrases"].iter().any(|field| judged.aside.touches(field)) {
            of_book.extend(complaints);
        }
        speech
    });
    let placed = |all| Complaints::placed(&book.name, &book.text, all);
    let mut told = Told::default();
    told.add(placed(of_book.clone()));
    let sheets = read_sheets(&judged, sites, &mut told);
    let bars = compiled(&judged, &sheets, &mut told);
    let (Some(document), Some(speech)) = (judged.document.as_ref(), speech) else {
        return Err(told.0);
    };
    told.add(placed(unproved(&judged, document, &bars, &speech, &of_book)));
    // What is not proved is told last, and may be all that is told of the book.
    told.0.sort_by_key(|one| one.document != book.name);
    match judged.document {
        Some(document) if told.0.is_empty() => {
            Ok(InForce { document, bars, tills: BTreeMap::new(), speech })
        }
        Some(_) | None => Err(told.0),
    }
}

/// The sheets that are right beside what could be read of the book, the training bar first.
fn read_sheets(judged: &JudgedBook, sites: &[Source], told: &mut Told) -> Vec<SiteDocument> {
    let document = judged.document.as_ref();
    let beside = document.map(|document| (&*document.book, &judged.aside));
    let training = document.filter(|_| !judged.aside.touches("training_bar"));
    let mut sheets: Vec<SiteDocument> =
        training.map(BookDocument::training_bar).into_iter().collect();
    for source in sites {
        match SiteDocument::read_beside(&source.name, &source.text, beside) {
            Ok(sheet) if sheets.iter().any(|one| one.site.id == sheet.site.id) => {
                let found = format!("`{}` a second time", sheet.site.id);
                let twice = Complaint::at("/id", found, "each site once");
                told.add(Complaints::placed(&sheet.name, &sheet.text, vec![twice]));
            }
            Ok(sheet) => sheets.push(sheet),
            Err(complaints) => told.add(complaints),
        }
    }
    sheets
}

/// The bars that compile, by site id. None where a part of the book is set aside, to which a
/// replacement may lead.
fn compiled(
    judged: &JudgedBook,
    sheets: &[SiteDocument],
    told: &mut Told,
) -> BTreeMap<Id, Arc<Bar>> {
    let mut bars = BTreeMap::new();
    let Some(document) = judged.document.as_ref().filter(|_| judged.aside.is_empty()) else {
        return bars;
    };
    let known = |one: &Complaint| {
        let same = |of_book: &Complaint| {
            (&of_book.pointer, &of_book.found, &of_book.expected)
                == (&one.pointer, &one.found, &one.expected)
        };
        one.place.is_none() && judged.complaints.iter().any(same)
    };
    for sheet in sheets {
        match Bar::compile(document, sheet, None, None) {
            Ok(bar) => {
                bars.insert(sheet.site.id.clone(), Arc::new(bar));
            }
            Err(mut complaints) => {
                // The book as it holds there has the book's own faults too.
                complaints.all.retain(|one| !known(one));
                told.add(complaints);
            }
        }
    }
    bars
}

/// What the book promises and does not keep, as far as that can be proved.
fn unproved(
    judged: &JudgedBook,
    document: &BookDocument,
    bars: &BTreeMap<Id, Arc<Bar>>,
    speech: &Speech,
    of_book: &[Complaint],
) -> Vec<Complaint> {
    if of_book.is_empty() {
        let bar = bars.get(&document.book.training_bar.id);
        return bar.map_or_else(Vec::new, |bar| proof::complaints(bar, speech, &Aside::default()));
    }
    let Some((left, aside)) = judged.provable(of_book) else { return Vec::new() };
    match Bar::compile(&left, &left.training_bar(), None, None) {
        Ok(bar) => aside.of_whole(proof::complaints(&bar, speech, &aside)),
        Err(_) => Vec::new(),
    }
}
