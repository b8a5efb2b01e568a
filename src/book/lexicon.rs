//! Words of a note that mean a field of the ticket, in every language of the book.
//!
//! Notes are written in haste: case, accents, marks, slips of one letter and compounds such as
//! `dairyfree` or `Milchallergie` are understood where a word is about an allergy or a diet. Words for
//! modifiers are taken as they are, since a wrong guess there only asks a needless question.

use unicode_normalization::UnicodeNormalization;

use super::types::{Book, ExampleModifier, Id, Modifier, SlotValue, Words};

/// What a word of a note means.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// An allergy to this allergen or ingredient.
    Allergy(Id),
    /// An allergy, of which the word does not say to what.
    Unnamed,
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
            Self::Allergy(_) | Self::Unnamed => 0,
            Self::Diet(_) => 1,
            Self::Value(..) | Self::Given(_) => 2,
            Self::Open(_) => 3,
        }
    }
}

/// What a note says.
#[derive(Debug, Default)]
pub struct Said<'l> {
    /// Every meaning once, what matters most first, with the words as the note has them and whether a
    /// word such as `no` stands before them.
    pub found: Vec<Found<'l>>,
    /// The words that mean nothing to the book, fillers such as `please` left out.
    pub rest: Vec<String>,
}

/// Words of a note with their meaning.
#[derive(Debug)]
pub struct Found<'l> {
    /// The words, as they were understood.
    pub words: String,
    /// What they mean.
    pub meaning: &'l Meaning,
    /// Whether `no`, `without` or the like stands before them.
    pub negated: bool,
}

/// One entry: folded words, what they mean, and whether they stand only where the whole note means
/// something, as `small` does.
#[derive(Clone, Debug)]
struct Entry {
    words: Vec<String>,
    meaning: Meaning,
    only_alone: bool,
}

/// The words that mean a field, the longest phrases first.
#[derive(Clone, Debug, Default)]
pub struct Lexicon(Vec<Entry>);

/// Stems of words about an allergy of any kind, in the languages that are built in, folded.
const ALLERGY_STEMS: [&str; 7] =
    ["allerg", "intoleran", "unvertraeglich", "anaphyla", "epipen", "coeliac", "zoeliak"];
/// Ends of words that say that something must not be in.
const FREE: [&str; 2] = ["free", "frei"];
/// Words before what is not wanted.
const NOT: [&str; 8] = ["no", "not", "non", "without", "ohne", "kein", "keine", "keinen"];
/// Words that say nothing.
const FILLERS: [&str; 22] = [
    "no", "not", "non", "without", "ohne", "kein", "keine", "keinen", "pls", "please", "plz",
    "bitte", "and", "und", "with", "mit", "for", "to", "the", "a", "in", "drink",
];

impl Lexicon {
    /// The names of allergens, diets, modifiers and values in every language, and the book's own
    /// `note_words`.
    pub(super) fn of(book: &Book) -> Self {
        let mut all = Self::default();
        for allergen in &book.allergens {
            all.names(&allergen.names, &Meaning::Allergy(allergen.id.clone()), false);
        }
        for diet in &book.diets {
            all.names(&diet.names, &Meaning::Diet(diet.id.clone()), false);
        }
        for row in &book.services {
            let value = Id::from(row.id.as_str());
            all.names(&row.names, &Meaning::Value("service".into(), value), true);
        }
        for size in &book.sizes {
            all.names(&size.names, &Meaning::Value("size".into(), size.id.clone()), true);
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
                all.push(text, meaning.clone(), false);
            }
        }
        let meaning = Meaning::Unnamed;
        all.0.push(Entry { words: vec![String::new()], meaning, only_alone: false });
        // The longest phrase says most; of two alike, what matters more.
        all.0.sort_by_key(|one| (std::cmp::Reverse(one.words.len()), one.meaning.rank()));
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
                self.names(&slot.names, &Meaning::Open(id()), false);
                for value in &slot.values {
                    let names = value.names.as_ref().or_else(|| name_of_milk(book, value));
                    if let Some(names) = names {
                        self.names(names, &Meaning::Value(id(), value.id.clone()), true);
                    }
                }
            }
            Modifier::Counter(counter) if counter.min < 0 => {
                self.names(&counter.names, &Meaning::Open(id()), false);
            }
            Modifier::Counter(counter) => self.names(&counter.names, &plain(Some(1)), false),
            Modifier::Flag(flag) => self.names(&flag.names, &plain(None), false),
        }
    }

    fn names(&mut self, names: &Words, meaning: &Meaning, only_alone: bool) {
        for text in names.0.values() {
            self.push(text, meaning.clone(), only_alone);
        }
    }

    fn push(&mut self, text: &str, meaning: Meaning, only_alone: bool) {
        let words = words_of(text);
        if !words.is_empty() {
            // A phrase says what it means; a single word may be part of anything.
            let only_alone = only_alone && words.len() == 1;
            self.0.push(Entry { words, meaning, only_alone });
        }
    }

    /// What `note` says: at each place the longest phrase that the book knows.
    pub fn read(&self, note: &str) -> Said<'_> {
        let said = words_of(note);
        let mut taken: Vec<Option<&Entry>> = vec![None; said.len()];
        let mut found: Vec<(usize, &Entry)> = Vec::new();
        for entry in &self.0 {
            let length = entry.words.len();
            for at in 0..(said.len() + 1).saturating_sub(length) {
                // One word may say two things about allergies, as `Milchallergie` does.
                let alone = |one: &Entry| one.words.len() == 1 && one.meaning.rank() == 0;
                let free = |n: usize| taken[n].is_none_or(|one| alone(one) && alone(entry));
                if (at..at + length).all(free) && entry.is_at(&said[at..at + length]) {
                    taken[at..at + length].fill(Some(entry));
                    found.push((at, entry));
                }
            }
        }
        let means = |n: usize| taken[n].is_some() || FILLERS.contains(&&*said[n]);
        let whole = (0..said.len()).all(means);
        found.retain(|(_, entry)| whole || !entry.only_alone);
        found.sort_by_key(|(at, entry)| (entry.meaning.rank(), *at));
        let mut result = Said::default();
        for (at, entry) in found {
            if result.found.iter().all(|one| *one.meaning != entry.meaning) {
                result.found.push(Found {
                    words: said[at..at + entry.words.len()].join(" "),
                    meaning: &entry.meaning,
                    negated: at > 0 && NOT.contains(&&*said[at - 1]),
                });
            }
        }
        result.rest = (0..said.len()).filter(|n| !means(*n)).map(|n| said[n].clone()).collect();
        result
    }
}

impl Entry {
    /// Whether the words of a note are those of the entry.
    fn is_at(&self, said: &[String]) -> bool {
        if self.meaning == Meaning::Unnamed {
            return ALLERGY_STEMS.iter().any(|stem| said[0].contains(stem));
        }
        let lenient = self.meaning.rank() < 2;
        match (self.words.as_slice(), said) {
            ([word], [said]) => same(said, word, lenient) || (lenient && is_compound(said, word)),
            (words, said) => said.iter().zip(words).all(|(said, word)| same(said, word, lenient)),
        }
    }
}

fn name_of_milk<'b>(book: &'b Book, value: &SlotValue) -> Option<&'b Words> {
    let milk = value.milk()?;
    book.ingredients.iter().find(|one| one.id == *milk).map(|one| &one.names)
}

/// The words of a text, folded: compatibility forms made plain, marks that nobody sees taken out,
/// lower case, `ä` as `ae`, `ß` as `ss`, other accents dropped.
fn words_of(text: &str) -> Vec<String> {
    let unseen = |c: &char| !matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}');
    let plain: String = text.nfkc().filter(unseen).collect::<String>().to_lowercase();
    let mut folded = String::with_capacity(plain.len() + 4);
    for c in plain.chars() {
        match c {
            'ä' => folded.push_str("ae"),
            'ö' => folded.push_str("oe"),
            'ü' => folded.push_str("ue"),
            'ß' => folded.push_str("ss"),
            other => folded.extend(
                other.nfd().filter(|c| !unicode_normalization::char::is_combining_mark(*c)),
            ),
        }
    }
    let words = folded.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_owned).collect()
}

/// Whether two words are the same, a slip of one letter allowed in a long one where `lenient`.
fn same(said: &str, word: &str, lenient: bool) -> bool {
    said == word || (lenient && word.chars().count() >= 6 && strsim::osa_distance(said, word) <= 1)
}

/// Whether a word about an allergy or a diet stands in a compound: before `free`, `frei` or a word for
/// an allergy, after `no` or `non`, or at the end of a longer name.
fn is_compound(said: &str, word: &str) -> bool {
    let letters = word.chars().count();
    let before_free =
        || FREE.iter().any(|end| said.ends_with(end)) && letters >= 3 && said.starts_with(word);
    let in_allergy = || {
        ALLERGY_STEMS.iter().filter_map(|stem| said.find(stem)).any(|at| {
            let before = &said[..at];
            before == word || (letters >= 3 && (before.starts_with(word) || before.ends_with(word)))
        })
    };
    let after_no = || {
        let bare = said.strip_prefix("non").or_else(|| said.strip_prefix("no"));
        letters >= 3 && bare.is_some_and(|bare| bare == word)
    };
    let at_end = || letters >= 5 && said.ends_with(word);
    before_free() || in_allergy() || after_no() || at_end()
}
