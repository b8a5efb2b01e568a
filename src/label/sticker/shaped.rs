//! What a sticker says, shaped once for every size that is tried.

use std::rc::Rc;

use super::content::Content;
use crate::label::{Face, Fault, Run, shape};

/// The texts of a sticker, shaped.
pub(super) struct Shaped {
    pub(super) allergy: Option<Rc<Run>>,
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
    /// All sentences about allergens, one behind the other.
    pub(super) joined: Option<Rc<Run>>,
}

impl Shaped {
    pub(super) fn of(content: &Content) -> Result<Self, Fault> {
        let Content { allergy, stamps, drink, cup, changes, note, who, hot, allergens, .. } =
            content;
        let (bold, plain) = (Face::Bold, Face::Regular);
        let who_hot: Vec<&str> = who.iter().chain(hot).map(String::as_str).collect();
        Ok(Self {
            allergy: one(bold, allergy.as_deref())?,
            stamps: all(bold, stamps)?,
            drink: all(bold, drink)?,
            cup: one(plain, Some(cup))?,
            changes: all(bold, changes)?,
            note: one(plain, note.as_deref())?,
            who: one(bold, Some(&who.join(BETWEEN)))?,
            who_hot: one(bold, Some(&who_hot.join(BETWEEN)))?,
            hot: one(bold, hot.as_deref())?,
            allergens: all(plain, allergens)?,
            joined: one(plain, Some(&allergens.join(". ")))?,
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
