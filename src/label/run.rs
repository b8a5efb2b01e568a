//! A line of text as glyphs with places: shaped by the font, in the order in which it is seen.

use std::ops::Range;

use harfrust::{Direction, ShapeOptions, UnicodeBuffer, script};
use skrifa::{GlyphId, MetadataProvider, instance::LocationRef, prelude::Size};
use unicode_bidi::{BidiInfo, Level};

use super::{
    face::{Face, Loaded, face, up, whole},
    fault::Fault,
};

/// One glyph of a run; measures in units of the font.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Glyph {
    /// Its number in the font.
    pub id: u32,
    /// Where its origin stands, from the start of the run.
    pub x: i64,
    /// How far its origin stands above the baseline.
    pub y: i64,
    /// Room it takes along the line.
    pub advance: i64,
    /// Left, bottom, right and top of its ink, from its origin, upwards; none without ink.
    ink: Option<(i64, i64, i64, i64)>,
    /// The bytes of the text that it stands for.
    pub text: Range<usize>,
}

/// A line of text, shaped; measures in units of the font.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// Its face.
    pub face: Face,
    /// The text.
    pub text: String,
    /// Its glyphs, from left to right.
    pub glyphs: Vec<Glyph>,
    /// Whether the text runs from right to left.
    pub leftwards: bool,
    /// Whether all of it runs from left to right, so that it can be cut between two glyphs.
    is_plain: bool,
    /// Units of an em.
    units: i64,
    /// Room along the line.
    advance: i64,
    /// Where ink begins and ends along the line; it may lean out of the advance.
    ink: Range<i64>,
    /// Highest ink above the baseline.
    top: i64,
    /// Deepest ink under the baseline, above 0.
    depth: i64,
}

/// Shapes a line of text.
///
/// * Errors: a character that the font lacks.
pub fn shape(with: Face, text: &str) -> Result<Run, Fault> {
    let Some(face) = face(with) else {
        return Err(Fault::Unwritten("the font cannot be read".to_owned()));
    };
    let mut run = Run {
        face: with,
        text: text.to_owned(),
        glyphs: Vec::with_capacity(text.len()),
        leftwards: false,
        is_plain: true,
        units: face.em,
        advance: 0,
        ink: 0..0,
        top: 0,
        depth: 0,
    };
    if text.is_ascii() {
        add(&mut run, face, 0..text.len(), false)?;
    } else {
        let order = BidiInfo::new(text, None);
        for paragraph in &order.paragraphs {
            run.leftwards = paragraph.level.is_rtl();
            let (levels, ranges) = order.visual_runs(paragraph, paragraph.range.clone());
            for range in ranges {
                let backwards = levels.get(range.start).is_some_and(Level::is_rtl);
                add(&mut run, face, range, backwards)?;
            }
        }
    }
    Ok(run)
}

/// Adds the glyphs of a stretch of one direction.
fn add(run: &mut Run, face: &Loaded, range: Range<usize>, backwards: bool) -> Result<(), Fault> {
    let text = run.text.get(range.clone()).unwrap_or_default().to_owned();
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(&text);
    buffer.set_direction(if backwards { Direction::RightToLeft } else { Direction::LeftToRight });
    buffer.guess_segment_properties();
    // Digits and marks alone are of no script; they are shaped like Latin.
    if !backwards && text.is_ascii() {
        buffer.set_script(script::LATIN);
    }
    let is_latin = !backwards && buffer.script() == script::LATIN;
    let options = ShapeOptions::new().plan(is_latin.then_some(&face.latin));
    let shaped = face.shaping.shaper(&face.font).build().shape(buffer, options);
    let bounds = face.font.glyph_metrics(Size::unscaled(), LocationRef::default());
    let starts: Vec<usize> =
        shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
    run.is_plain &= !backwards && starts.is_sorted();
    for (info, place) in shaped.glyph_infos().iter().zip(shaped.glyph_positions()) {
        let start = info.cluster as usize;
        if info.glyph_id == 0 {
            let char = text.get(start..).and_then(|rest| rest.chars().next()).unwrap_or('\u{fffd}');
            let word = text.split(' ').find(|word| word.contains(char)).unwrap_or_default();
            return Err(Fault::NoGlyph { char, text: word.to_owned() });
        }
        let end = starts.iter().copied().filter(|one| *one > start).min().unwrap_or(text.len());
        let ink = bounds.bounds(GlyphId::new(info.glyph_id));
        run.push(Glyph {
            id: info.glyph_id,
            x: run.advance + i64::from(place.x_offset),
            y: i64::from(place.y_offset),
            advance: i64::from(place.x_advance),
            ink: ink.map(|ink| {
                (whole(ink.x_min), whole(ink.y_min), whole(ink.x_max), whole(ink.y_max))
            }),
            text: range.start + start..range.start + end,
        });
    }
    Ok(())
}

impl Run {
    /// Adds a glyph behind the others.
    fn push(&mut self, glyph: Glyph) {
        let Glyph { x, y, advance, ink, .. } = glyph;
        if let Some((left, bottom, right, top)) = ink {
            self.ink.start = self.ink.start.min(x + left);
            self.ink.end = self.ink.end.max(x + right);
            self.top = self.top.max(y + top);
            self.depth = self.depth.max(-(y + bottom));
        }
        self.advance += advance;
        self.glyphs.push(glyph);
    }

    /// Whether it can be cut between two glyphs and stay as it was shaped.
    pub(super) const fn is_plain(&self) -> bool {
        self.is_plain
    }

    /// A stretch of a plain run, by the bytes of its text.
    pub(super) fn cut(&self, range: Range<usize>) -> Self {
        let mut cut = Self {
            face: self.face,
            text: self.text.get(range.clone()).unwrap_or_default().to_owned(),
            glyphs: Vec::with_capacity(range.len()),
            leftwards: false,
            is_plain: true,
            units: self.units,
            advance: 0,
            ink: 0..0,
            top: 0,
            depth: 0,
        };
        let mut from = None;
        let within = self.glyphs.iter().filter(|glyph| range.contains(&glyph.text.start));
        for glyph in within {
            // A mark over a letter has an offset, and the letter has not.
            let from = *from.get_or_insert(glyph.x);
            let text = glyph.text.start - range.start..glyph.text.end - range.start;
            cut.push(Glyph { x: glyph.x - from, text, ..glyph.clone() });
        }
        cut
    }

    /// Room that it takes along the line in micrometres, with ink that leans out.
    pub fn width(&self, em_um: i64) -> i64 {
        let widest = self.advance.max(self.ink.end) - self.ink.start.min(0);
        up(widest.max(0) * em_um, self.units)
    }

    /// How far its origin stands to the right of its left end, in micrometres.
    pub fn inset(&self, em_um: i64) -> i64 {
        up(-self.ink.start.min(0) * em_um, self.units)
    }

    /// Highest ink above the baseline, in micrometres.
    pub fn top(&self, em_um: i64) -> i64 {
        up(self.top.max(0) * em_um, self.units)
    }

    /// Deepest ink under the baseline, in micrometres.
    pub fn depth(&self, em_um: i64) -> i64 {
        up(self.depth.max(0) * em_um, self.units)
    }

    /// Units of an em.
    pub const fn units(&self) -> i64 {
        self.units
    }
}
