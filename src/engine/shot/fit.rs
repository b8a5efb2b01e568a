//! The line of least squares through measured points, in whole numbers.

/// A fitted slope.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slope {
    /// Change of y for 1 of x, in thousandths, rounded half away from zero.
    pub slope: i64,
    /// Its standard error, in thousandths, rounded; unknown with two points.
    pub error: Option<i64>,
}

/// The slope of the line of least squares through points (x, y), both in one and the same fraction
/// of their units.
///
/// All sums are of whole numbers, so the order of the points cannot matter.
///
/// * `points`: each number at most 10⁷ in size, at most 100 of them; more could overflow.
/// * Result: none with fewer than two different x.
/// * Source: the textbook formulas, as in the reference problems of linear regression that NIST
///   certifies (Statistical Reference Datasets).
///
/// ```
/// use cupwright::engine::shot::slope;
///
/// let line = slope(&[(0, 1_000), (1_000, 4_000), (2_000, 7_000)]);
/// assert_eq!(line.map(|line| (line.slope, line.error)), Some((3_000, Some(0))));
/// ```
pub fn slope(points: &[(i64, i64)]) -> Option<Slope> {
    let n = i128::try_from(points.len()).ok()?;
    let sum = |of: fn(i128, i128) -> i128| -> i128 {
        points.iter().map(|(x, y)| of(i128::from(*x), i128::from(*y))).sum()
    };
    let (x, y) = (sum(|x, _| x), sum(|_, y| y));
    let xx = n * sum(|x, _| x * x) - x * x;
    let xy = n * sum(|x, y| x * y) - x * y;
    let yy = n * sum(|_, y| y * y) - y * y;
    if xx == 0 {
        return None;
    }
    let slope = i64::try_from(rounded(1_000 * xy, xx)).ok()?;
    // The residual variance is (yy − xy²/xx) ÷ n(n − 2), that of the slope n ÷ xx times it.
    let error = (n > 2).then(|| {
        let spread = (yy * xx - xy * xy) / (n - 2);
        // One digit more than is kept, for rounding.
        let root = (100 * spread).isqrt();
        i64::try_from(rounded(100 * root, xx)).unwrap_or(i64::MAX)
    });
    Some(Slope { slope, error })
}

/// `part ÷ whole`, rounded half away from zero; `whole` is above 0.
fn rounded(part: i128, whole: i128) -> i128 {
    let magnitude = (2 * part.abs() + whole) / (2 * whole);
    if part < 0 { -magnitude } else { magnitude }
}
