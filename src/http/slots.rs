//! Places for requests that are under way; one that finds none is told to come again.

use std::sync::atomic::{AtomicUsize, Ordering};

/// How many there may be at once, and are.
#[derive(Debug)]
pub(super) struct Slots {
    most: usize,
    taken: AtomicUsize,
}

/// One place; dropping it gives it back.
#[derive(Debug)]
pub(super) struct Slot<'s>(&'s Slots);

impl Slots {
    pub(super) const fn new(most: usize) -> Self {
        Self { most, taken: AtomicUsize::new(0) }
    }

    /// A place, if one is free.
    pub(super) fn take(&self) -> Option<Slot<'_>> {
        let more = |taken| (taken < self.most).then_some(taken + 1);
        let taken = self.taken.fetch_update(Ordering::AcqRel, Ordering::Acquire, more);
        // Made only where it was taken: one that is made and let go of gives a place back.
        taken.ok().map(|_| Slot(self))
    }
}

impl Drop for Slot<'_> {
    fn drop(&mut self) {
        self.0.taken.fetch_sub(1, Ordering::AcqRel);
    }
}

#[cfg(test)]
mod tests {
    use super::Slots;

    #[test]
    fn there_are_as_many_places_as_were_set_and_one_that_is_given_back_is_free_again() {
        let slots = Slots::new(2);
        let (first, second) = (slots.take(), slots.take());
        assert!(first.is_some() && second.is_some() && slots.take().is_none());
        assert!(slots.take().is_none(), "asking in vain frees nothing");
        drop(first);
        assert!(slots.take().is_some());
        assert!(Slots::new(0).take().is_none());
    }
}
