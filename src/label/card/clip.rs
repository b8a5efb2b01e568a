//! Lines, dots and shapes cut to what lies between the walls of a cup.

/// What lies between two heights in a cup: a shape of four corners without inward ones, in
/// micrometres of the paper, from the upper left clockwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Band(pub(super) [(i64, i64); 4]);

impl Band {
    /// Its left, top, right and bottom.
    pub(super) fn extent(&self) -> (i64, i64, i64, i64) {
        let fold = |(l, t, r, b): (i64, i64, i64, i64), (x, y): &(i64, i64)| {
            (l.min(*x), t.min(*y), r.max(*x), b.max(*y))
        };
        self.0.iter().fold((i64::MAX, i64::MAX, i64::MIN, i64::MIN), fold)
    }

    /// Its sides, clockwise.
    fn sides(&self) -> impl Iterator<Item = ((i64, i64), (i64, i64))> {
        let [a, b, c, d] = self.0;
        [(a, b), (b, c), (c, d), (d, a)].into_iter()
    }

    /// Whether a point lies within.
    pub(super) fn holds(&self, point: (i64, i64)) -> bool {
        self.sides().all(|side| beside(side, point) >= 0)
    }

    /// The part of a line that lies within, if any does.
    ///
    /// Cut at each side in turn: what lies beyond the side goes (Cyrus and Beck 1978, from memory).
    pub(super) fn cut(&self, from: (i64, i64), to: (i64, i64)) -> Option<((i64, i64), (i64, i64))> {
        let (mut from, mut to) = (from, to);
        for side in self.sides() {
            let (a, b) = (beside(side, from), beside(side, to));
            if a < 0 && b < 0 {
                return None;
            }
            if a < 0 {
                from = between(from, to, a, b);
            } else if b < 0 {
                to = between(to, from, b, a);
            }
        }
        (from != to).then_some((from, to))
    }
}

/// On which side of a line a point lies: 0 on it, above 0 to the right of who walks along it.
fn beside(((ax, ay), (bx, by)): ((i64, i64), (i64, i64)), (x, y): (i64, i64)) -> i64 {
    (bx - ax) * (y - ay) - (by - ay) * (x - ax)
}

/// The point between `outer` and `inner` where the side lies; `a` and `b` are how far each lies
/// beside it.
fn between(outer: (i64, i64), inner: (i64, i64), a: i64, b: i64) -> (i64, i64) {
    let part = |from: i64, to: i64| {
        let way = i128::from(to - from) * i128::from(-a) / i128::from(b - a).max(1);
        from + i64::try_from(way).unwrap_or_default()
    };
    (part(outer.0, inner.0), part(outer.1, inner.1))
}

#[cfg(test)]
mod tests {
    use super::Band;

    #[test]
    fn lines_end_at_the_walls() {
        let band = Band([(0, 0), (100, 0), (80, 100), (20, 100)]);
        assert!(band.holds((50, 50)) && !band.holds((5, 90)));
        assert_eq!(band.cut((-50, 50), (150, 50)), Some(((10, 50), (90, 50))));
        assert_eq!(band.cut((-50, -10), (150, -10)), None);
        assert_eq!(band.cut((30, 20), (60, 70)), Some(((30, 20), (60, 70))));
    }
}
