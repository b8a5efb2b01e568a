//! Sheets as PDF: text stays text, in the font that it was measured with, which goes along.

use std::sync::LazyLock;

use krilla::{
    Document, SerializeSettings,
    color::luma,
    geom::{PathBuilder, Point},
    metadata::Metadata,
    num::NormalizedF32,
    page::PageSettings,
    paint::{Fill, FillRule, Stroke, StrokeDash},
    surface::Surface,
    text::{Font, GlyphId, KrillaGlyph},
};

use crate::label::{Face, Fault, Ink, Mark, Paint, Path, Seg, Sheet, Text};

static REGULAR: LazyLock<Option<Font>> = LazyLock::new(|| font(Face::Regular));
static BOLD: LazyLock<Option<Font>> = LazyLock::new(|| font(Face::Bold));

fn font(face: Face) -> Option<Font> {
    Font::new(face.bytes().to_vec().into(), 0)
}

/// Sheets as a document, a page each, as large as the sheet.
///
/// * Errors: what cannot be written.
pub fn pdf(sheets: &[Sheet]) -> Result<Vec<u8>, Fault> {
    let settings = SerializeSettings { xmp_metadata: false, ..SerializeSettings::default() };
    let mut document = Document::new_with(settings);
    if let Some(first) = sheets.first() {
        let about = Metadata::new().title(first.title.clone()).language(first.lang.clone());
        document.set_metadata(about);
    }
    for sheet in sheets {
        let settings = PageSettings::from_wh(points(sheet.width), points(sheet.height))
            .ok_or_else(|| Fault::Unwritten("a page has no size".to_owned()))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        for mark in &sheet.marks {
            match mark {
                Mark::Text(text) => write(&mut surface, text)?,
                Mark::Shape(path, paint) => shape(&mut surface, path, *paint),
            }
        }
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|fault| Fault::Unwritten(format!("{fault:?}")))
}

/// Micrometres as points, of which an inch has 72.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "a label is small"
)]
fn points(um: i64) -> f32 {
    (um as f64 * 72.0 / 25_400.0) as f32
}

fn filled(ink: Ink) -> Fill {
    let paint = match ink {
        Ink::Black => luma::Color::new(0),
        Ink::Paper => luma::Color::new(u8::MAX),
    };
    Fill { paint: paint.into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
}

#[expect(clippy::cast_precision_loss, reason = "measures of a font have sixteen bits")]
fn write(surface: &mut Surface<'_>, text: &Text) -> Result<(), Fault> {
    let Text { run, em, x, baseline } = text;
    let font = match run.face {
        Face::Regular => REGULAR.clone(),
        Face::Bold => BOLD.clone(),
    };
    let font = font.ok_or_else(|| Fault::Unwritten("the font cannot be read".to_owned()))?;
    let part = |units: i64| units as f32 / run.units() as f32;
    let mut along = 0;
    let glyphs: Vec<KrillaGlyph> = run
        .glyphs
        .iter()
        .map(|glyph| {
            let offset = part(glyph.x - along);
            along += glyph.advance;
            KrillaGlyph::new(
                GlyphId::new(glyph.id),
                part(glyph.advance),
                offset,
                part(glyph.y),
                0.0,
                glyph.text.clone(),
                None,
            )
        })
        .collect();
    let start = Point::from_xy(points(x + run.inset(*em)), points(*baseline));
    surface.set_stroke(None);
    surface.set_fill(Some(filled(Ink::Black)));
    surface.draw_glyphs(start, &glyphs, font, &run.text, points(*em), false);
    Ok(())
}

fn shape(surface: &mut Surface<'_>, path: &Path, paint: Paint) {
    let mut builder = PathBuilder::new();
    for seg in &path.0 {
        match seg {
            Seg::Move(x, y) => builder.move_to(points(*x), points(*y)),
            Seg::Line(x, y) => builder.line_to(points(*x), points(*y)),
            Seg::Close => builder.close(),
        }
    }
    let Some(outline) = builder.finish() else { return };
    match paint {
        Paint::Fill(ink) => {
            surface.set_stroke(None);
            surface.set_fill(Some(filled(ink)));
        }
        Paint::Stroke { width, dash } => {
            let dash = dash
                .map(|(on, off)| StrokeDash { array: vec![points(on), points(off)], offset: 0.0 });
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke {
                paint: luma::Color::new(0).into(),
                width: points(width),
                dash,
                ..Stroke::default()
            }));
        }
    }
    surface.draw_path(&outline);
}
