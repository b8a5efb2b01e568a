//! How long what is signed lasts.

use jiff::{SignedDuration, Timestamp};

/// How long each role's metadata last from their signing on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lasting {
    /// Says what is newest: as long as somebody may hold a site back before it complains.
    pub timestamp: SignedDuration,
    /// Names one version of everything.
    pub snapshot: SignedDuration,
    /// What the documents are.
    pub targets: SignedDuration,
    /// What the overlay is.
    pub overlay: SignedDuration,
    /// Which keys there are.
    pub root: SignedDuration,
}

impl Default for Lasting {
    fn default() -> Self {
        let days = |n: i64| SignedDuration::from_hours(24 * n);
        Self {
            timestamp: days(1),
            snapshot: days(7),
            targets: days(90),
            overlay: days(365),
            root: days(365),
        }
    }
}

/// The moment so long after `now`, to the second: others read no fractions.
pub(super) fn until(now: Timestamp, lasting: SignedDuration) -> Timestamp {
    let seconds = now.as_second().saturating_add(lasting.as_secs());
    Timestamp::from_second(seconds).unwrap_or(Timestamp::MAX)
}

/// Whether more than half of the time is over in which something lasts.
pub(super) fn half_over(now: Timestamp, expires: Timestamp, lasting: SignedDuration) -> bool {
    expires.duration_since(now) < lasting / 2
}

/// When each role's metadata expire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expiries {
    /// Which keys there are.
    pub root: Timestamp,
    /// What the documents are.
    pub targets: Timestamp,
    /// What the overlay is.
    pub overlay: Timestamp,
    /// Names one version of everything.
    pub snapshot: Timestamp,
    /// Says what is newest.
    pub timestamp: Timestamp,
}

impl Expiries {
    /// Each role with its moment.
    pub fn all(&self) -> [(&'static str, Timestamp); 5] {
        let Self { root, targets, overlay, snapshot, timestamp } = *self;
        [
            ("root", root),
            ("targets", targets),
            ("overlay", overlay),
            ("snapshot", snapshot),
            ("timestamp", timestamp),
        ]
    }

    /// From when on sites complain, if nothing is signed anew.
    pub fn first(&self) -> (&'static str, Timestamp) {
        let all = self.all();
        all.into_iter().min_by_key(|(_, at)| *at).unwrap_or(all[0])
    }

    /// The same of what keys off line alone can sign anew.
    pub fn first_off_line(&self) -> (&'static str, Timestamp) {
        let all = self.all();
        all.into_iter().take(3).min_by_key(|(_, at)| *at).unwrap_or(all[0])
    }
}
