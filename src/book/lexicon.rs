//! Words of a note that mean a field of the ticket, in every language of the book.

use super::types::{Book, ExampleModifier, Id, Modifier, SlotValue, Words};

/// What a word of a note means.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// An allergy to this allergen or ingredient.
    Allergy(Id),
    /// A diet.
    Diet(Id),
    /// A value of a slot.
    Value(Id, Id),
    /// A modifier as a ticket would give it.
    Given(Box<ExampleModifier>),
    /// A modifier, of which the word does not say what is wanted.
    Open(Id),
}

impl Meaning {
    /// What matters more comes first: allergies, diets, then modifiers.
    const fn rank(&self) -> u8 {
        match self {
            Self::Allergy(_) => 0,
            Self::Diet(_) => 1,
            Self::Value(..) | Self::Given(_) => 2,
            Self::Open(_) => 3,
        }
    }
}

/// The words that mean a field, what matters most first.
#[derive(Clone, Debug, Default)]
pub struct Lexicon(Vec<(Vec<String>, Meaning)>);

impl Lexicon {
    /// The names of allergens, diets, modifiers and values in every language, and the book's own
    /// `note_words`.
    pub(super) fn of(book: &Book) -> Self {
        let mut all = Self::default();
        for allergen in &book.allergens {
            all.names(&allergen.names, &Meaning::Allergy(allergen.id.clone()));
        }
        for diet in &book.diets {
            all.names(&diet.names, &Meaning::Diet(diet.id.clone()));
        }
        for row in &book.services {
            let value = Id::from(row.id.as_str());
            all.names(&row.names, &Meaning::Value("service".into(), value));
        }
        for size in &book.sizes {
            all.names(&size.names, &Meaning::Value("size".into(), size.id.clone()));
        }
        for modifier in &book.modifiers {
            all.modifier(book, modifier);
        }
        for words in &book.note_words {
            let meaning = match (&words.allergy, &words.diet, &words.modifier) {
                (Some(id), _, _) => Meaning::Allergy(id.clone()),
                (None, Some(id), _) => Meaning::Diet(id.clone()),
                (None, None, Some(given)) => Meaning::Given(Box::new(given.clone())),
                (None, None, None) => continue,
            };
            for text in words.words.values().flatten() {
                all.push(text, meaning.clone());
            }
        }
        all.0.sort_by_key(|(_, meaning)| meaning.rank());
        all
    }

    fn modifier(&mut self, book: &Book, modifier: &Modifier) {
        let id = || modifier.id().clone();
        let plain = |count| {
            let id = modifier.id().to_string();
            Meaning::Given(Box::new(ExampleModifier { id, value: None, count }))
        };
        match modifier {
            Modifier::Slot(slot) => {
                self.names(&slot.names, &Meaning::Open(id()));
                for value in &slot.values {
                    let names = value.names.as_ref().or_else(|| name_of_milk(book, value));
                    if let Some(names) = names {
                        self.names(names, &Meaning::Value(id(), value.id.clone()));
                    }
                }
            }
            Modifier::Counter(counter) if counter.min < 0 => {
                self.names(&counter.names, &Meaning::Open(id()));
            }
            Modifier::Counter(counter) => self.names(&counter.names, &plain(Some(1))),
            Modifier::Flag(flag) => self.names(&flag.names, &plain(None)),
        }
    }

    fn names(&mut self, names: &Words, meaning: &Meaning) {
        for text in names.0.values() {
            self.push(text, meaning.clone());
        }
    }

    fn push(&mut self, text: &str, meaning: Meaning) {
        let words = words_of(text);
        if !words.is_empty() {
            self.0.push((words, meaning));
        }
    }

    /// Everything that the words of `note` mean, with the words as the book has them; what matters
    /// most first, each meaning once.
    ///
    /// A word about an allergy or a diet is understood with one letter wrong too.
    pub fn find(&self, note: &str) -> Vec<(String, &Meaning)> {
        let said = words_of(note);
        let mut found: Vec<(String, &Meaning)> = Vec::new();
        for (words, meaning) in &self.0 {
            let lenient = meaning.rank() < 2;
            let here = said
                .windows(words.len())
                .any(|some| some.iter().zip(words).all(|(said, word)| same(said, word, lenient)));
            if here && !found.iter().any(|(_, known)| *known == meaning) {
                found.push((words.join(" "), meaning));
            }
        }
        found
    }
}

fn name_of_milk<'b>(book: &'b Book, value: &SlotValue) -> Option<&'b Words> {
    let milk = value.milk()?;
    book.ingredients.iter().find(|one| one.id == *milk).map(|one| &one.names)
}

/// The words of a text, in lower case and without marks.
fn words_of(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_owned).collect()
}

/// Whether two words are the same, a slip of one letter allowed in a long one where `lenient`.
fn same(said: &str, word: &str, lenient: bool) -> bool {
    said == word || (lenient && word.chars().count() >= 5 && strsim::osa_distance(said, word) <= 1)
}
