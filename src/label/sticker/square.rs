//! A 2-D code as a place on a label.

use crate::label::Path;

/// A square of dark and light modules (ISO/IEC 18004), without its quiet zone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Square {
    /// Modules of a side.
    pub side: usize,
    /// Whether each is dark, row by row from the top.
    pub dark: Vec<bool>,
    /// Dots of a module's side.
    pub dots: u32,
    /// What can be read from it.
    pub text: String,
}

/// Light modules around the square, at each side.
const QUIET: i64 = 4;

impl Square {
    /// Side in dots, quiet zone included.
    pub(super) fn side_dots(&self) -> i64 {
        (self.modules() + 2 * QUIET) * i64::from(self.dots)
    }

    fn modules(&self) -> i64 {
        i64::try_from(self.side).unwrap_or_default()
    }

    /// The dark modules as one shape.
    ///
    /// * `left`, `top`: where its quiet zone begins, in dots.
    /// * `um`: micrometres of so many dots, so that every edge lies on one.
    pub(super) fn shape(&self, left: i64, top: i64, um: impl Fn(i64) -> i64) -> Path {
        let dots = i64::from(self.dots);
        let place = |module: i64| (module + QUIET) * dots;
        let mut path = Path::default();
        for (y, row) in (0..).zip(self.dark.chunks(self.side.max(1))) {
            let mut x = 0;
            for stretch in row.chunk_by(|a, b| a == b) {
                let length = i64::try_from(stretch.len()).unwrap_or_default();
                if stretch.first() == Some(&true) {
                    let (l, r) = (um(left + place(x)), um(left + place(x + length)));
                    let (t, b) = (um(top + place(y)), um(top + place(y + 1)));
                    path.0.extend(Path::rect(l, t, r - l, b - t).0);
                }
                x += length;
            }
        }
        path
    }
}
