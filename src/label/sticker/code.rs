//! A 2-D code as a place on a label.

use crate::label::{Path, QUIET_MODULES, Square, module_size};

/// A code, with the size in which a printer prints it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    square: Square,
    /// Dots of a module's side.
    dots: i64,
    /// What can be read from it.
    pub text: String,
}

impl Code {
    /// The code that holds `text`, in the least modules that a printer may print.
    ///
    /// * Result: none for a text that no such code holds.
    pub fn of(text: &str, dpi: u16) -> Option<Self> {
        let dots = i64::from(module_size(u32::from(dpi)).dots);
        Some(Self { square: Square::of(text)?, dots, text: text.to_owned() })
    }

    /// Side in dots, quiet zone included.
    pub(super) fn side_dots(&self) -> i64 {
        i64::try_from(self.square.whole_side()).unwrap_or_default() * self.dots
    }

    /// The dark modules as one shape.
    ///
    /// * `left`, `top`: where its quiet zone begins, in dots.
    /// * `um`: micrometres of so many dots, so that every edge lies on one.
    pub(super) fn shape(&self, left: i64, top: i64, um: impl Fn(i64) -> i64) -> Path {
        let side = self.square.side();
        let at =
            |module: usize| i64::try_from(module + QUIET_MODULES).unwrap_or_default() * self.dots;
        let mut path = Path::default();
        for y in 0..side {
            let row: Vec<bool> = (0..side).map(|x| self.square.is_dark(x, y)).collect();
            let mut x = 0;
            for stretch in row.chunk_by(|a, b| a == b) {
                let end = x + stretch.len();
                if stretch.first() == Some(&true) {
                    let (from, to) = (um(left + at(x)), um(left + at(end)));
                    let (over, under) = (um(top + at(y)), um(top + at(y + 1)));
                    path.0.extend(Path::rect(from, over, to - from, under - over).0);
                }
                x = end;
            }
        }
        path
    }
}
