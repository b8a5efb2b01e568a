//! The two faces that everything is set in, and their measures.

use std::sync::LazyLock;

use harfrust::{Direction, ShapePlan, ShaperData, script};
use skrifa::{FontRef, MetadataProvider, instance::LocationRef, prelude::Size};

/// A face: `DejaVu Sans Condensed`, which has Latin, Greek, Cyrillic, Arabic and more, carried in the
/// program so that a sticker looks alike on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    /// For small print and sentences.
    Regular,
    /// For what is read from afar.
    Bold,
}

/// A face, read.
pub(super) struct Loaded {
    pub(super) bytes: &'static [u8],
    pub(super) font: FontRef<'static>,
    pub(super) shaping: ShaperData,
    /// How Latin letters are shaped, worked out once.
    pub(super) latin: ShapePlan,
    /// Units of an em.
    pub(super) em: i64,
    /// Height of a capital, in units.
    pub(super) cap: i64,
    /// Height of a small x, in units.
    pub(super) x_height: i64,
    /// Depth of letters under the baseline, in units, above 0.
    pub(super) descent: i64,
}

static REGULAR: LazyLock<Option<Loaded>> =
    LazyLock::new(|| Loaded::read(dejavu::sans_condensed::regular()));
static BOLD: LazyLock<Option<Loaded>> =
    LazyLock::new(|| Loaded::read(dejavu::sans_condensed::bold()));

/// The face, if its file can be read; a test holds it to that.
pub(super) fn face(face: Face) -> Option<&'static Loaded> {
    match face {
        Face::Regular => REGULAR.as_ref(),
        Face::Bold => BOLD.as_ref(),
    }
}

impl Loaded {
    fn read(bytes: &'static [u8]) -> Option<Self> {
        let font = FontRef::new(bytes).ok()?;
        let metrics = font.metrics(Size::unscaled(), LocationRef::default());
        let shaping = ShaperData::new(&font);
        let shaper = shaping.shaper(&font).build();
        let latin = ShapePlan::new(&shaper, Direction::LeftToRight, Some(script::LATIN), None, &[]);
        Some(Self {
            bytes,
            latin,
            shaping,
            em: i64::from(metrics.units_per_em),
            // Read off the letters themselves: the font's own tables do not say.
            cap: reach(&font, 'H')?.0,
            x_height: reach(&font, 'x')?.0,
            // Letters with tails, not the room that the font would like between lines.
            descent: reach(&font, 'g')?.1,
            font,
        })
    }
}

/// How far a letter reaches above the baseline, and under it.
fn reach(font: &FontRef<'_>, c: char) -> Option<(i64, i64)> {
    let glyph = font.charmap().map(c)?;
    let bounds = font.glyph_metrics(Size::unscaled(), LocationRef::default()).bounds(glyph)?;
    Some((whole(bounds.y_max), whole(-bounds.y_min)))
}

impl Face {
    /// The size of an em in micrometres at which capitals are `cap_um` high.
    pub fn em_of_cap(self, cap_um: i64) -> i64 {
        face(self).map_or(cap_um, |face| up(cap_um * face.em, face.cap))
    }

    /// The size of an em in micrometres at which a small x is `x_um` high.
    pub fn em_of_x_height(self, x_um: i64) -> i64 {
        face(self).map_or(x_um, |face| up(x_um * face.em, face.x_height))
    }

    /// Height of a capital in micrometres at this size of an em.
    pub fn cap(self, em_um: i64) -> i64 {
        face(self).map_or(0, |face| face.cap * em_um / face.em)
    }

    /// Height of a small x in micrometres at this size of an em.
    pub fn x_height(self, em_um: i64) -> i64 {
        face(self).map_or(0, |face| face.x_height * em_um / face.em)
    }

    /// Depth of letters under the baseline in micrometres at this size of an em.
    pub fn descent(self, em_um: i64) -> i64 {
        face(self).map_or(0, |face| up(face.descent * em_um, face.em))
    }

    /// The file of the font.
    pub(super) fn bytes(self) -> &'static [u8] {
        face(self).map_or(&[], |face| face.bytes)
    }
}

/// `part ÷ whole`, rounded up; both are above 0.
pub(super) const fn up(part: i64, whole: i64) -> i64 {
    (part + whole - 1) / whole
}

/// A measure of a font, which are whole numbers held as floats.
#[expect(clippy::cast_possible_truncation, reason = "measures of a font have sixteen bits")]
pub(super) fn whole(value: f32) -> i64 {
    value.round() as i64
}
