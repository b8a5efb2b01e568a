//! Finished builds, kept as bytes until room is wanted or another book is in force.

use std::sync::Arc;

use quick_cache::{Weighter, sync::Cache};

use crate::{
    engine::{Given, Line, What},
    wire::{AllergensOfOrder, CaffeineView},
};

/// An accepted line as bytes, without what differs from ticket to ticket.
#[derive(Debug)]
pub(super) struct Kept {
    /// Everything behind the quantity.
    pub(super) tail: Box<[u8]>,
    /// What the line adds to the allergens of its order.
    pub(super) allergens: AllergensOfOrder,
    /// Caffeine of one cup, where it is known.
    pub(super) caffeine: Option<CaffeineView>,
}

/// Counts bytes, and about what a place costs beside them.
#[derive(Clone, Copy, Debug)]
struct Bytes;

impl Weighter<Box<[u8]>, Arc<Kept>> for Bytes {
    fn weight(&self, key: &Box<[u8]>, kept: &Arc<Kept>) -> u64 {
        u64::try_from(key.len() + kept.tail.len() + 512).unwrap_or(u64::MAX)
    }
}

/// Finished builds by what they depend on: edition, site, language, what has run out or is out of
/// season, drink and modifiers. Nothing of a customer is in a key or in what is kept.
#[derive(Debug)]
pub struct Builds(Cache<Box<[u8]>, Arc<Kept>, Bytes>);

impl Builds {
    /// Room for about `mebibytes`; none keeps nothing.
    pub fn with_room(mebibytes: usize) -> Option<Self> {
        const USUAL: usize = 4_096;
        let room = mebibytes << 20;
        let items = room / USUAL;
        (room > 0)
            .then(|| Self(Cache::with_weighter(items, u64::try_from(room).unwrap_or(0), Bytes)))
    }

    pub(super) fn get(&self, key: &[u8]) -> Option<Arc<Kept>> {
        self.0.get(key)
    }

    pub(super) fn keep(&self, key: &[u8], kept: Arc<Kept>) {
        self.0.insert(key.into(), kept);
    }

    /// Lets go of everything, as when another book comes into force.
    pub fn clear(&self) {
        self.0.clear();
    }

    /// How many are kept.
    pub fn count(&self) -> usize {
        self.0.len()
    }
}

/// Whether nothing of the line is a customer's: only such lines are kept.
pub(super) fn may_keep(line: &Line) -> bool {
    let Line { codes, allergies, diets, confirmed, override_reason, note, .. } = line;
    [codes, allergies, diets, confirmed].into_iter().all(Vec::is_empty)
        && override_reason.is_none()
        && note.is_none()
}

/// Adds drink and modifiers to a key; the order of the modifiers, which changes no build, is left
/// out.
pub(super) fn add_line(key: &mut Vec<u8>, line: &Line) {
    add(key, &line.drink);
    let mut sorted: Vec<&Given> = line.modifiers.iter().collect();
    sorted.sort_by(|one, other| one.id.cmp(&other.id));
    for given in sorted {
        add(key, &given.id);
        match &given.what {
            What::Value(value) => {
                key.push(b'v');
                add(key, value);
            }
            What::Number(number) => {
                key.push(b'n');
                key.extend(number.thousandths().to_le_bytes());
            }
            What::Count(count) => {
                key.push(b'c');
                key.extend(count.to_le_bytes());
            }
            What::Flag => key.push(b'f'),
        }
    }
}

/// Adds a text to a key, its length first, so that no two lists of texts make one key.
pub(super) fn add(key: &mut Vec<u8>, text: &str) {
    key.extend(text.len().to_le_bytes());
    key.extend(text.as_bytes());
}
