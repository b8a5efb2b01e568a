//! Sizes of letters: by the distance they are read from, and never under what small print may be.

use super::layout::Label;
use crate::label::Face;

/// Height of capitals in micrometres that are seen under a visual angle from a distance.
///
/// * `distance_um`: from eye to letter, in micrometres.
/// * `minutes`: visual angle in minutes of arc; ISO 9241-303 (before it ISO 9241-3) asks for 16 at
///   least, and prefers 20 to 22.
/// * Result: `2 d tan(a/2)`, rounded up.
///
/// ```
/// // Read from 60 cm under 20 minutes of arc: 3.5 mm.
/// assert_eq!(cupwright::label::sticker::cap_at(600_000, 20), 3_491);
/// ```
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "lengths of a room"
)]
pub fn cap_at(distance_um: i64, minutes: u32) -> i64 {
    let half = f64::from(minutes) / 120.0 * std::f64::consts::PI / 180.0;
    // Two terms of the tangent's series: at half a degree the third is under 1e-11.
    let tangent = half + half * half * half / 3.0;
    (2.0 * distance_um as f64 * tangent).ceil() as i64
}

/// Least height of a small x in small print, in micrometres: Regulation (EU) No 1169/2011, Article
/// 13(2), for packages whose largest side has 80 cm² or more. It is law for prepacked food, and used
/// here as what nobody should go under.
const LEAST_X: i64 = 1_200;

/// Sizes of an em in micrometres, each for what it is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sizes {
    pub(super) allergy: i64,
    pub(super) drink: i64,
    pub(super) change: i64,
    pub(super) cup: i64,
    pub(super) who: i64,
    pub(super) small: i64,
    /// How sentences stand; where not apart, that it is hot stands behind whose it is.
    pub(super) set: Sentences,
    /// Whether the cup stands behind the drink, where there is room.
    pub(super) beside: bool,
}

/// One step: angles in minutes of arc, and how much may be drawn together.
struct Step {
    drink: u32,
    change: u32,
    who: u32,
    /// The cup's angle where drink and changes are read from; none where it is read in the hand.
    cup: Option<u32>,
    /// Height of small print's x, in thousandths of the least.
    x: i64,
    /// How sentences stand.
    set: Sentences,
}

/// How sentences about allergens stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sentences {
    /// Each begins a line.
    Apart,
    /// One behind the other, but for what stands out.
    Joined,
    /// One behind the other.
    Even,
}

const fn step(drink: u32, change: u32, who: u32, cup: Option<u32>, x: i64, set: Sentences) -> Step {
    Step { drink, change, who, cup, x, set }
}

const STEPS: [Step; 6] = [
    step(28, 22, 22, Some(18), 1_250, Sentences::Apart),
    step(24, 20, 20, Some(16), 1_125, Sentences::Apart),
    step(22, 18, 18, Some(16), 1_000, Sentences::Apart),
    step(20, 16, 16, None, 1_000, Sentences::Apart),
    step(20, 16, 16, None, 1_000, Sentences::Joined),
    step(20, 16, 16, None, 1_000, Sentences::Even),
];

impl Sizes {
    /// The sizes to try, the largest first. The last are the least that may be.
    ///
    /// Small print has a whole number of the label's dots.
    pub(super) fn steps(label: Label) -> impl DoubleEndedIterator<Item = Self> {
        let Label { read_at, held_at, dpi, .. } = label;
        STEPS.iter().map(move |Step { drink, change, who, cup, x, set }| {
            let bold = |distance, minutes| Face::Bold.em_of_cap(cap_at(distance, minutes));
            Self {
                allergy: bold(read_at, (*change).max(20)),
                drink: bold(read_at, *drink),
                change: bold(read_at, *change),
                cup: cup.map_or_else(|| bold(held_at, 20), |cup| bold(read_at, cup)),
                who: bold(held_at, *who),
                small: Face::Regular.em_of_x_height(whole_dots(LEAST_X * x / 1_000, dpi)),
                set: *set,
                beside: *set != Sentences::Apart,
            }
        })
    }
}

/// The least length that is not under `um` and has a whole number of dots.
fn whole_dots(um: i64, dpi: u16) -> i64 {
    let dpi = i64::from(dpi);
    let dots = (um * dpi + 25_399) / 25_400;
    (dots * 25_400 + dpi - 1) / dpi
}
