//! A token's address as a square of dark and light modules (ISO/IEC 18004), and how large they are.

use fast_qr::{ECL, QRBuilder};

use crate::units::Length;

/// Light modules that must surround the square on each side (ISO/IEC 18004, section 6.3.8).
pub const QUIET_MODULES: usize = 4;

/// Smallest side of a module, µm: what the camera of a phone still reads at an arm's length off a
/// curved cup. Common practice, no source.
const LEAST_UM: u32 = 400;
/// Fewest printed dots to a side of a module: one more or less, as a print head heats, is then not
/// more than a quarter. Common practice, no source.
const LEAST_DOTS: u32 = 4;
/// Micrometres of an inch.
const INCH_UM: u32 = 25_400;

/// The modules of a code, without the quiet zone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Square {
    side: usize,
    dark: Vec<bool>,
}

impl Square {
    /// The smallest square that holds `text` at error correction level M, which restores about 15 %
    /// of it.
    ///
    /// * Result: `None` for a text with a character other than A to Z, 0 to 9, space and
    ///   `$%*+-./:`, which take five and a half bits each, or for one that no square holds.
    pub fn of(text: &str) -> Option<Self> {
        let narrow =
            |c: u8| c.is_ascii_uppercase() || c.is_ascii_digit() || b" $%*+-./:".contains(&c);
        if !text.bytes().all(narrow) {
            return None;
        }
        let code = QRBuilder::new(text).ecl(ECL::M).build().ok()?;
        let dark = code.data[..code.size * code.size].iter().map(|module| module.value());
        Some(Self { side: code.size, dark: dark.collect() })
    }

    /// Modules of a side: 17 and four times the version.
    pub const fn side(&self) -> usize {
        self.side
    }

    /// Modules of a side with the quiet zone on both ends.
    pub const fn whole_side(&self) -> usize {
        self.side + 2 * QUIET_MODULES
    }

    /// Whether a module is dark; there is none outside.
    ///
    /// * `x`: from the left, from 0, without the quiet zone.
    /// * `y`: from the top.
    pub fn is_dark(&self, x: usize, y: usize) -> bool {
        x < self.side && self.dark.get(y * self.side + x).copied().unwrap_or_default()
    }
}

/// How large a module is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ModuleSize {
    /// Printed dots of its side.
    pub dots: u32,
    /// Its side.
    pub side: Length,
}

/// The smallest module that a printer may print: at least 0.40 mm, at least four dots, and whole
/// dots, so that no two modules differ.
///
/// * `dpi`: dots to an inch, such as 203 or 300; at least 1.
pub fn module_size(dpi: u32) -> ModuleSize {
    let dpi = dpi.max(1);
    let dots = LEAST_UM.saturating_mul(dpi).div_ceil(INCH_UM).max(LEAST_DOTS);
    let um = (i64::from(dots) * i64::from(INCH_UM) * 2 / i64::from(dpi) + 1) / 2;
    ModuleSize { dots, side: Length::from_um(um) }
}

#[cfg(test)]
mod tests {
    use super::{QUIET_MODULES, Square, module_size};
    use crate::units::Length;

    /// Source: ISO/IEC 18004, section 6.3.1: version v has 17 + 4 v modules to a side; table 7:
    /// at level M in alphanumeric mode version 1 holds 20 characters, 2 holds 38, 3 holds 61, 4 holds
    /// 90, 5 holds 122 and 6 holds 154.
    #[test]
    fn a_square_is_of_the_smallest_version_that_holds_its_text() {
        for (characters, version) in [
            (1, 1),
            (20, 1),
            (21, 2),
            (38, 2),
            (39, 3),
            (61, 3),
            (62, 4),
            (90, 4),
            (91, 5),
            (122, 5),
        ] {
            let square = Square::of(&"A".repeat(characters)).expect("a square");
            assert_eq!(square.side(), 17 + 4 * version, "{characters} characters");
            assert_eq!(square.whole_side(), square.side() + 2 * QUIET_MODULES);
        }
        assert_eq!(Square::of("https://cups.example"), None, "small letters take more bits");
        assert_eq!(Square::of(&"A".repeat(4_000)), None);
    }

    /// Source: ISO/IEC 18004, section 6.3.3: a finder pattern of 7 × 7, 5 × 5 and 3 × 3 modules, dark,
    /// light, dark, in three corners, with a light separator.
    #[test]
    fn three_corners_have_the_finder_pattern() {
        let square = Square::of("HTTPS://CUPS.EXAMPLE/V1/B/").expect("a square");
        let far = square.side() - 7;
        for (left, top) in [(0, 0), (far, 0), (0, far)] {
            for (x, y) in (0..7).flat_map(|x| (0..7).map(move |y| (x, y))) {
                let ring = [x, y, 6 - x, 6 - y].into_iter().min().expect("four");
                assert_eq!(square.is_dark(left + x, top + y), ring != 1, "{x}, {y}");
            }
        }
        assert!((0..8).all(|at| !square.is_dark(7, at) && !square.is_dark(at, 7)));
        assert!(!square.is_dark(square.side(), 0) && !square.is_dark(0, square.side()));
    }

    /// Arithmetic: 25.4 mm ÷ dots to an inch × dots to a module.
    #[test]
    fn a_module_is_whole_dots_at_least_four_and_at_least_400_um() {
        for (dpi, dots, um) in [
            (203, 4, 500),
            (300, 5, 423),
            (254, 4, 400),
            (255, 5, 498),
            (600, 10, 423),
            (150, 4, 677),
            (96, 4, 1_058),
        ] {
            let size = module_size(dpi);
            assert_eq!((size.dots, size.side), (dots, Length::from_um(um)), "{dpi} dpi");
        }
        for dpi in [0, 1, u32::MAX] {
            assert!(module_size(dpi).dots >= 4);
        }
    }
}
