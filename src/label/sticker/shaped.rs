//! What a sticker says, shaped once for every size that is tried.

use std::rc::Rc;

use super::content::{Content, Sentence};
use crate::label::{Face, Fault, Run, shape};

/// The texts of a sticker, shaped.
pub(super) struct Shaped {
    pub(super) allergy: Option<Rc<Run>>,
    pub(super) see_allergy: Option<Rc<Run>>,
    pub(super) stamps: Vec<Rc<Run>>,
    pub(super) drink: Vec<Rc<Run>>,
    pub(super) cup: Option<Rc<Run>>,
    pub(super) changes: Vec<Rc<Run>>,
    pub(super) note: Option<Rc<Run>>,
    pub(super) who: Option<Rc<Run>>,
    /// Whose it is, and that it is hot.
    pub(super) who_hot: Option<Rc<Run>>,
    pub(super) hot: Option<Rc<Run>>,
    pub(super) allergens: Vec<Rc<Run>>,
    /// The same, those that do not stand out one behind the other.
    pub(super) joined: Vec<Rc<Run>>,
    /// All one behind the other, where there is no room for more.
    pub(super) even: Vec<Rc<Run>>,
    pub(super) procedure: Vec<Rc<Run>>,
}

impl Shaped {
    pub(super) fn of(content: &Content) -> Result<Self, Fault> {
        let Content { allergy, stamps, drink, cup, changes, note, who, hot, .. } = content;
        let (bold, plain) = (Face::Bold, Face::Regular);
        let who_hot: Vec<&str> = who.iter().chain(hot).map(String::as_str).collect();
        Ok(Self {
            allergy: one(bold, allergy.as_deref())?,
            see_allergy: one(bold, content.see_allergy.as_deref())?,
            stamps: all(bold, stamps)?,
            drink: all(bold, drink)?,
            cup: one(plain, Some(cup))?,
            changes: all(bold, changes)?,
            note: one(plain, note.as_deref())?,
            who: one(bold, Some(&who.join(BETWEEN)))?,
            who_hot: one(bold, Some(&who_hot.join(BETWEEN)))?,
            hot: one(bold, hot.as_deref())?,
            allergens: sentences(&content.allergens)?,
            joined: sentences(&joined(&content.allergens))?,
            even: sentences(&even(&content.allergens))?,
            procedure: all(bold, &content.procedure)?,
        })
    }
}

/// What parts short words in one line.
pub(super) const BETWEEN: &str = " · ";

fn one(face: Face, text: Option<&str>) -> Result<Option<Rc<Run>>, Fault> {
    let text = text.map(str::trim).filter(|text| !text.is_empty());
    text.map(|text| shape(face, text).map(Rc::new)).transpose()
}

fn all(face: Face, texts: &[String]) -> Result<Vec<Rc<Run>>, Fault> {
    let shaped = texts.iter().filter_map(|text| one(face, Some(text)).transpose());
    shaped.collect()
}

fn sentences(all: &[Sentence]) -> Result<Vec<Rc<Run>>, Fault> {
    let shaped = all.iter().filter_map(|Sentence { text, stressed }| {
        one(if *stressed { Face::Bold } else { Face::Regular }, Some(text)).transpose()
    });
    shaped.collect()
}

/// Sentences as one, none of which stands out.
fn even(all: &[Sentence]) -> Vec<Sentence> {
    let flat = |one: &Sentence| Sentence { stressed: false, ..one.clone() };
    joined(&all.iter().map(flat).collect::<Vec<_>>())
}

/// Sentences, those that follow each other and do not stand out as one.
fn joined(all: &[Sentence]) -> Vec<Sentence> {
    let groups = all.chunk_by(|a, b| !a.stressed && !b.stressed);
    let one = |group: &[Sentence]| {
        let texts: Vec<&str> = group.iter().map(|one| one.text.as_str()).collect();
        let stressed = group.iter().any(|one| one.stressed);
        Sentence { text: texts.join(". "), stressed }
    };
    groups.map(one).collect()
}
