//! Outlines of glyphs, as the font has them.

use skrifa::{
    GlyphId, MetadataProvider,
    instance::LocationRef,
    outline::{DrawSettings, OutlinePen},
    prelude::Size,
};

use crate::label::face::{Face, face};

/// Draws the outline of a glyph, in units of the font, upwards.
pub(super) fn outline(of: Face, glyph: u32, pen: &mut impl OutlinePen) -> Option<()> {
    let glyphs = face(of)?.font.outline_glyphs();
    let glyph = glyphs.get(GlyphId::new(glyph))?;
    let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
    glyph.draw(settings, pen).ok().map(|_| ())
}
