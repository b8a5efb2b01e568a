//! Numbers in as many bits as they take, the most significant bit first.

/// Bits that are written one after the other.
#[derive(Clone, Debug, Default)]
pub(super) struct Bits(Vec<bool>);

impl Bits {
    /// Adds a number in `width` bits, at most 63.
    ///
    /// * Result: `None` if it does not fit.
    pub(super) fn push(&mut self, number: u64, width: u32) -> Option<()> {
        if number >> width != 0 {
            return None;
        }
        self.0.extend((0..width).rev().map(|at| number >> at & 1 == 1));
        Some(())
    }

    /// Adds a place in a list of `count`.
    ///
    /// * Result: `None` if the list is shorter.
    pub(super) fn push_place(&mut self, place: usize, count: usize) -> Option<()> {
        let place = (place < count).then_some(place)?;
        self.push(u64::try_from(place).ok()?, width(u64::try_from(count).ok()?))
    }

    /// Whole bytes, the last filled up with bits that are not set.
    pub(super) fn bytes(&self) -> Vec<u8> {
        let byte = |bits: &[bool]| {
            (0..8).fold(0, |all, at| all << 1 | u8::from(bits.get(at).copied().unwrap_or_default()))
        };
        self.0.chunks(8).map(byte).collect()
    }
}

/// Bits that are read one after the other.
#[derive(Clone, Debug)]
pub(super) struct Reader {
    bytes: Vec<u8>,
    at: usize,
}

impl Reader {
    pub(super) fn of(bytes: Vec<u8>) -> Self {
        Self { bytes, at: 0 }
    }

    /// The next number of `width` bits; `None` at the end.
    pub(super) fn take(&mut self, width: u32) -> Option<u64> {
        let mut number = 0;
        for _ in 0..width {
            let byte = self.bytes.get(self.at / 8)?;
            number = number << 1 | u64::from(byte >> (7 - self.at % 8) & 1);
            self.at += 1;
        }
        Some(number)
    }

    /// The next place in a list of `count`; `None` at the end, or behind the end of the list.
    pub(super) fn take_place(&mut self, count: usize) -> Option<usize> {
        let place = self.take(width(u64::try_from(count).ok()?))?;
        usize::try_from(place).ok().filter(|place| *place < count)
    }
}

/// Bits that each of `count` numbers takes, the first of which is 0.
pub(super) fn width(count: u64) -> u32 {
    u64::BITS - count.saturating_sub(1).leading_zeros()
}

#[cfg(test)]
mod tests {
    use super::{Bits, Reader, width};

    #[test]
    fn a_list_takes_as_many_bits_as_its_last_place() {
        for (count, bits) in [(0, 0), (1, 0), (2, 1), (3, 2), (4, 2), (5, 3), (64, 6), (65, 7)] {
            assert_eq!(width(count), bits, "{count}");
        }
    }

    #[test]
    fn numbers_are_read_as_they_were_written_and_none_that_does_not_fit_is_written() {
        let mut bits = Bits::default();
        assert!(bits.push(5, 3).is_some() && bits.push(1, 1).is_some());
        assert!(bits.push_place(6, 7).is_some() && bits.push(0x1_ffff, 17).is_some());
        assert!(bits.push(8, 3).is_none() && bits.push_place(7, 7).is_none());
        assert_eq!(bits.bytes(), [0b1011_1101, 0xff, 0xff]);
        let mut read = Reader::of(bits.bytes());
        assert_eq!([read.take(3), read.take(1)], [Some(5), Some(1)]);
        assert_eq!([read.take_place(7), read.take_place(1)], [Some(6), Some(0)]);
        assert_eq!([read.take(17), read.take(1)], [Some(0x1_ffff), None]);
        assert_eq!(Reader::of(vec![0xff]).take_place(7), None, "no list of 7 has a place 7");
    }
}
