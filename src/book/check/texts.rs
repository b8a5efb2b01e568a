//! Texts: each stands in every language of the book.

use super::Notes;
use crate::{
    book::types::{Book, Lang, Modifier, Words},
    json::child,
};

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    let mut texts = Texts::of(notes, book);
    texts.words("/names", &book.names);
    texts.list("/allergens", book.allergens.iter().map(|one| &one.names));
    texts.list("/diets", book.diets.iter().map(|one| &one.names));
    texts.list("/services", book.services.iter().map(|one| &one.names));
    texts.list("/sizes", book.sizes.iter().map(|one| &one.names));
    texts.list("/materials", book.materials.iter().map(|one| &one.names));
    texts.list("/textures", book.textures.iter().map(|one| &one.names));
    texts.list("/ingredients", book.ingredients.iter().map(|one| &one.names));
    texts.list("/beans", book.beans.iter().map(|one| &one.names));
    texts.list("/pulls", book.pulls.iter().map(|one| &one.names));
    texts.list("/extractions", book.extractions.iter().map(|one| &one.names));
    texts.list("/vessels", book.vessels.iter().map(|one| &one.names));
    texts.list("/jugs", book.jugs.iter().map(|one| &one.names));
    texts.list("/drinks", book.drinks.iter().map(|one| &one.names));
    texts.list("/regions", book.regions.iter().map(|one| &one.names));
    for (at, drink) in book.drinks.iter().enumerate() {
        if let Some(short) = &drink.short_names {
            texts.words(&format!("/drinks/{at}/short_names"), short);
        }
    }
    for (at, row) in book.services.iter().enumerate() {
        texts.words(&format!("/services/{at}/sticker"), &row.sticker);
    }
    for (at, size) in book.sizes.iter().enumerate() {
        texts.words(&format!("/sizes/{at}/sticker"), &size.sticker);
    }
    for (at, modifier) in book.modifiers.iter().enumerate() {
        texts.modifier(&format!("/modifiers/{at}"), modifier);
    }
}

/// Holds texts to the languages of a book.
pub(super) struct Texts<'n, 'a, 'b> {
    notes: &'n mut Notes<'a>,
    languages: &'b [Lang],
}

impl<'n, 'a, 'b> Texts<'n, 'a, 'b> {
    /// Texts of `book`.
    pub(super) fn of(notes: &'n mut Notes<'a>, book: &'b Book) -> Self {
        Self { notes, languages: &book.languages }
    }

    /// Complains about each language in which a text is missing or empty.
    pub(super) fn words(&mut self, pointer: &str, words: &Words) {
        for lang in self.languages {
            match words.0.get(lang).map(|text| text.trim().is_empty()) {
                None => {
                    let found = format!("no text in `{lang}`");
                    self.notes.note(pointer, found, "a text in each language of the book");
                }
                Some(true) => {
                    self.notes.note(&child(pointer, lang), "an empty text", "a text");
                }
                Some(false) => {}
            }
        }
    }

    fn list<'w>(&mut self, pointer: &str, all: impl Iterator<Item = &'w Words>) {
        for (at, words) in all.enumerate() {
            self.words(&format!("{pointer}/{at}/names"), words);
        }
    }

    fn modifier(&mut self, here: &str, modifier: &Modifier) {
        self.words(&child(here, "names"), modifier.names());
        for (at, exclusion) in modifier.excludes().iter().enumerate() {
            self.words(&format!("{here}/excludes/{at}/because"), &exclusion.because);
        }
        if let Some(otherwise) = modifier.otherwise() {
            self.words(&format!("{here}/otherwise/text"), &otherwise.text);
        }
        match modifier {
            Modifier::Slot(slot) => {
                for (at, value) in slot.values.iter().enumerate() {
                    let value_at = format!("{here}/values/{at}");
                    self.words(&child(&value_at, "sticker"), &value.sticker);
                    if let Some(names) = &value.names {
                        self.words(&child(&value_at, "names"), names);
                    }
                    for (at, exclusion) in value.excludes.iter().enumerate() {
                        let because = format!("{value_at}/excludes/{at}/because");
                        self.words(&because, &exclusion.because);
                    }
                }
            }
            Modifier::Counter(counter) => {
                self.words(&child(here, "sticker"), &counter.sticker);
                for (lang, text) in &counter.sticker.0 {
                    if !text.contains("{n}") {
                        let at = child(&child(here, "sticker"), lang);
                        self.notes.note(&at, format!("`{text}`"), "a text with `{n}`, the count");
                    }
                }
            }
            Modifier::Flag(flag) => {
                self.words(&child(here, "sticker"), &flag.sticker);
                if let Some(step) = &flag.step {
                    self.words(&child(here, "step"), step);
                }
            }
        }
    }
}
