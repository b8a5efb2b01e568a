//! Chance that falls the same way every time (the generator `SplitMix64`, from memory).

pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn of(seed: u64) -> Self {
        Self(seed)
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `most`, which is not 0.
    pub(super) fn below(&mut self, most: usize) -> usize {
        let most = u64::try_from(most).expect("a number");
        usize::try_from(self.next() % most).expect("a number")
    }

    /// Whether something of which one in `n` happens does.
    pub(super) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    pub(super) fn of_these<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}
