//! The catalogue of one language, and those of all languages of a book.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::template::Template;
use crate::{
    book::{Book, Lang},
    engine::{objection::Code, phrase::Phrase},
    json::{Complaint, child},
};

/// Catalogues compiled in: language and JSON text, key to template.
const BUILT_IN: [(&str, &str); 2] =
    [("en", include_str!("en.json")), ("de", include_str!("de.json"))];

/// Sentences of one language.
#[derive(Clone, Debug)]
pub struct Catalogue {
    /// The language.
    pub lang: Lang,
    pub(super) mark: char,
    phrases: Vec<Template>,
    codes: HashMap<Code, Template>,
}

/// The catalogues of every language of a book.
#[derive(Clone, Debug)]
pub struct Speech(HashMap<Lang, Catalogue>);

/// Key of the character between whole units and decimals.
const MARK: &str = "decimal-mark";

fn refusal_key(code: Code) -> String {
    format!("refusal.{}", code.as_str())
}

/// Every key that a catalogue has.
fn keys() -> impl Iterator<Item = String> {
    let phrases = Phrase::ALL.iter().map(|phrase| phrase.key().to_owned());
    let codes = Code::ALL.iter().copied().map(refusal_key);
    [MARK.to_owned()].into_iter().chain(phrases).chain(codes)
}

impl Speech {
    /// The catalogues of the languages of `book`, its own wording put over the built-in one.
    ///
    /// * Result: a catalogue of each language that has every sentence, without the wording that is
    ///   complained about; and the complaints: each sentence that a language lacks, each key that
    ///   means nothing, and each gap that a template has and the English one has not, or lacks.
    pub fn of(book: &Book) -> (Self, Vec<Complaint>) {
        let english = built_in("en").unwrap_or_default();
        let mut complaints = Vec::new();
        let mut all = HashMap::new();
        for lang in &book.languages {
            let pointer = child("/phrases", lang);
            let mut texts = built_in(lang).unwrap_or_default();
            for (key, text) in book.phrases.get(lang).into_iter().flatten() {
                let faults = wording(&child(&pointer, key), key, text, &english);
                if faults.is_empty() || !texts.contains_key(key) {
                    texts.insert(key.clone(), text.clone());
                }
                complaints.extend(faults);
            }
            let missing: Vec<String> = keys().filter(|key| !texts.contains_key(key)).collect();
            if missing.is_empty() {
                all.insert(lang.clone(), Catalogue::of(lang, &texts));
            }
            complaints.extend(missing.iter().map(|key| {
                let found = format!("no sentence `{key}` in `{lang}`");
                let plain = english.get(key).map_or("", String::as_str);
                Complaint::at(child(&pointer, key), found, format!("a sentence such as `{plain}`"))
            }));
        }
        for lang in book.phrases.keys().filter(|lang| !book.languages.contains(lang)) {
            let here = child("/phrases", lang);
            complaints.push(Complaint::at(here, format!("`{lang}`"), "a language of the book"));
        }
        (Self(all), complaints)
    }

    /// The catalogue of `lang`, if the book has that language.
    pub fn in_lang(&self, lang: &str) -> Option<&Catalogue> {
        self.0.get(lang)
    }
}

/// What is wrong with a book's own wording `text` of a sentence.
fn wording(
    here: &str,
    key: &str,
    text: &str,
    english: &BTreeMap<String, String>,
) -> Vec<Complaint> {
    let Some(plain) = english.get(key) else {
        let found = format!("the key `{key}`");
        return vec![Complaint::at(here, found, "a key of the catalogue")];
    };
    let (own, known) = (Template::parse(text), Template::parse(plain));
    let (own, known): (BTreeSet<&str>, BTreeSet<&str>) =
        (own.gaps().collect(), known.gaps().collect());
    let strange = own.difference(&known).map(|gap| {
        let expected = format!("only the gaps of `{plain}`");
        Complaint::at(here, format!("the gap `{{{gap}}}`"), expected)
    });
    let lacking = known.difference(&own).map(|gap| {
        let expected = format!("every gap of `{plain}`");
        Complaint::at(here, format!("no gap `{{{gap}}}`"), expected)
    });
    strange.chain(lacking).collect()
}

fn built_in(lang: &str) -> Option<BTreeMap<String, String>> {
    let (_, text) = BUILT_IN.iter().find(|(known, _)| *known == lang)?;
    serde_json::from_str(text).ok()
}

impl Catalogue {
    /// The built-in sentences in English, for telling what is wrong where no other can.
    pub fn plain() -> Self {
        Self::of(&Lang::from("en"), &built_in("en").unwrap_or_default())
    }

    fn of(lang: &Lang, texts: &BTreeMap<String, String>) -> Self {
        let template = |key: &str| Template::parse(texts.get(key).map_or("", String::as_str));
        Self {
            lang: lang.clone(),
            mark: texts.get(MARK).and_then(|mark| mark.chars().next()).unwrap_or('.'),
            phrases: Phrase::ALL.iter().map(|phrase| template(phrase.key())).collect(),
            codes: Code::ALL.iter().map(|code| (*code, template(&refusal_key(*code)))).collect(),
        }
    }

    pub(super) fn phrase(&self, phrase: Phrase) -> &Template {
        // The list is made from `Phrase::ALL`, in the order in which the variants are declared.
        &self.phrases[phrase as usize]
    }

    pub(super) fn code(&self, code: Code) -> Option<&Template> {
        self.codes.get(&code)
    }
}

#[cfg(test)]
mod tests {
    use super::{BUILT_IN, Phrase, Template, built_in, keys};
    use crate::engine::objection::Notice;

    #[test]
    fn every_built_in_language_says_every_sentence_with_the_same_gaps() {
        let english = built_in("en").expect("a catalogue");
        for (lang, _) in BUILT_IN {
            let texts = built_in(lang).expect("a catalogue");
            let known: Vec<String> = keys().collect();
            for key in &known {
                let text = texts.get(key).unwrap_or_else(|| panic!("{lang} lacks {key}"));
                let gaps = |text: &str| {
                    let mut gaps: Vec<String> =
                        Template::parse(text).gaps().map(str::to_owned).collect();
                    gaps.sort();
                    gaps
                };
                assert_eq!(gaps(text), gaps(&english[key]), "{lang} {key}");
            }
            for key in texts.keys() {
                assert!(known.contains(key), "{lang} says {key}, which nothing asks for");
            }
        }
        for (at, phrase) in Phrase::ALL.iter().enumerate() {
            assert_eq!(*phrase as usize, at);
        }
        for notice in Notice::ALL {
            let key = format!("notice.{}", notice.as_str());
            assert!(english.contains_key(&key), "{key} has no sentence");
        }
    }
}
