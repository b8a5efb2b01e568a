//! Editions: what is in force, and the last books before it, for tickets that are pinned to them.

use std::sync::{
    Arc,
    atomic::{AtomicU64, Ordering},
};

use jiff::Timestamp;

use super::InForce;
use crate::json::Digest;

/// Numbers editions within this process, so that nothing kept for one is ever given for another.
static NEXT: AtomicU64 = AtomicU64::new(1);

/// A book with its sheets as it was loaded once.
#[derive(Debug)]
pub struct Edition {
    /// What was loaded.
    pub held: Arc<InForce>,
    /// Since when this process has had it in force.
    pub since: Timestamp,
    /// Its number within this process.
    pub number: u64,
}

/// The edition in force, and those before it; replaced whole, never changed.
#[derive(Clone, Debug)]
pub struct Editions {
    now: Arc<Edition>,
    earlier: Vec<Arc<Edition>>,
}

impl Editions {
    /// A first edition.
    pub fn of(held: Arc<InForce>, since: Timestamp) -> Self {
        Self { now: edition(held, since), earlier: Vec::new() }
    }

    /// The edition in force.
    pub fn now(&self) -> &Arc<Edition> {
        &self.now
    }

    /// All editions, the one in force first, the oldest last.
    pub fn all(&self) -> impl Iterator<Item = &Arc<Edition>> {
        [&self.now].into_iter().chain(&self.earlier)
    }

    /// The digests of the books that are held, the one in force first, each once.
    pub fn books(&self) -> Vec<Digest> {
        let mut books = Vec::new();
        for digest in self.all().map(|one| one.held.digest()) {
            if !books.contains(&digest) {
                books.push(digest);
            }
        }
        books
    }

    /// With `held` in force from `since` on; of those before it, the last `most` books are kept,
    /// and of each as many editions, since a sheet may change without its book.
    #[must_use]
    pub fn followed_by(&self, held: Arc<InForce>, since: Timestamp, most: usize) -> Self {
        let all = Self { now: edition(held, since), earlier: self.all().cloned().collect() };
        let mut books = all.books();
        books.truncate(most.max(1));
        let kept = |(at, one): &(usize, &Arc<Edition>)| {
            let digest = one.held.digest();
            let newer = all.earlier[..*at].iter().filter(|other| other.held.digest() == digest);
            let newer = newer.count() + usize::from(all.now.held.digest() == digest);
            books.contains(&digest) && newer < most
        };
        let earlier = all.earlier.iter().enumerate().filter(kept).map(|(_, one)| Arc::clone(one));
        Self { earlier: earlier.collect(), now: Arc::clone(&all.now) }
    }
}

fn edition(held: Arc<InForce>, since: Timestamp) -> Arc<Edition> {
    Arc::new(Edition { held, since, number: NEXT.fetch_add(1, Ordering::Relaxed) })
}
