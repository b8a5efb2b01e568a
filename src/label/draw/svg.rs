//! A sheet as SVG that needs no font: glyphs are outlines, and everything it says stands in it as text
//! for whoever cannot see it.

use std::{collections::BTreeMap, fmt::Write as _};

use skrifa::outline::OutlinePen;

use super::{escaped::escaped, outline::outline};
use crate::{
    label::{Face, Ink, Mark, Paint, Path, Seg, Sheet, Text, plain},
    units::write_thousandths,
};

/// The sheet as an SVG document in millimetres.
pub fn svg(sheet: &Sheet) -> String {
    let mut out = String::with_capacity(32 * 1024);
    let (width, height) = (mm(sheet.width), mm(sheet.height));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\" lang=\"{}\" \
         aria-labelledby=\"title desc\"><title id=\"title\">{}</title><desc id=\"desc\">{}</desc>",
        escaped(&sheet.lang),
        escaped(&sheet.title),
        escaped(&plain(&sheet.spoken))
    );
    let mut glyphs = BTreeMap::new();
    let mut marks = String::with_capacity(16 * 1024);
    for mark in &sheet.marks {
        match mark {
            Mark::Text(text) => write_text(&mut marks, text, &mut glyphs),
            Mark::Shape(path, paint) => write_shape(&mut marks, path, *paint),
        }
    }
    out.push_str("<defs>");
    for ((bold, glyph), outline) in &glyphs {
        let _ = write!(out, "<path id=\"{}\" d=\"{outline}\"/>", id(*bold, *glyph));
    }
    let _ = write!(
        out,
        "</defs><rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>{marks}</svg>"
    );
    out
}

fn id(bold: bool, glyph: u32) -> String {
    format!("{}{glyph}", if bold { 'b' } else { 'r' })
}

fn write_text(out: &mut String, text: &Text, glyphs: &mut BTreeMap<(bool, u32), String>) {
    let Text { run, em, x, baseline } = text;
    let bold = run.face == Face::Bold;
    let (x, y) = (mm(x + run.inset(*em)), mm(*baseline));
    // Units of the font, which count upwards, as millimetres.
    let scale = scale(*em, run.units());
    let _ = write!(
        out,
        "<g aria-label=\"{}\" transform=\"translate({x} {y}) scale({scale} -{scale})\">",
        escaped(&plain(&run.text))
    );
    for glyph in &run.glyphs {
        let shape = glyphs.entry((bold, glyph.id)).or_insert_with(|| {
            let mut pen = Pen(String::new());
            let _ = outline(run.face, glyph.id, &mut pen);
            pen.0
        });
        if shape.is_empty() {
            continue;
        }
        let _ = write!(out, "<use href=\"#{}\"", id(bold, glyph.id));
        for (name, at) in [("x", glyph.x), ("y", glyph.y)] {
            if at != 0 {
                let _ = write!(out, " {name}=\"{at}\"");
            }
        }
        out.push_str("/>");
    }
    out.push_str("</g>");
}

/// Millimetres of one unit, with nine places.
fn scale(em: i64, units: i64) -> String {
    let billionths = em * 1_000_000 / units;
    format!("{}.{:09}", billionths / 1_000_000_000, billionths % 1_000_000_000)
}

fn write_shape(out: &mut String, path: &Path, paint: Paint) {
    out.push_str("<path d=\"");
    for seg in &path.0 {
        let _ = match seg {
            Seg::Move(x, y) => write!(out, "M{} {}", mm(*x), mm(*y)),
            Seg::Line(x, y) => write!(out, "L{} {}", mm(*x), mm(*y)),
            Seg::Close => write!(out, "Z"),
        };
    }
    let _ = match paint {
        Paint::Fill(Ink::Black) => write!(out, "\"/>"),
        Paint::Fill(Ink::Paper) => write!(out, "\" fill=\"#fff\"/>"),
        Paint::Stroke { width, dash } => {
            let dash = dash.map_or_else(String::new, |(on, off)| {
                format!(" stroke-dasharray=\"{} {}\"", mm(on), mm(off))
            });
            let width = mm(width);
            write!(out, "\" fill=\"none\" stroke=\"#000\" stroke-width=\"{width}\"{dash}/>")
        }
    };
}

fn mm(um: i64) -> String {
    let mut text = String::new();
    write_thousandths(&mut text, um, 3, '.');
    text
}

/// Writes an outline as path data, in units of the font.
struct Pen(String);

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let _ = write!(self.0, "M{x} {y}");
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let _ = write!(self.0, "L{x} {y}");
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        let _ = write!(self.0, "Q{cx} {cy} {x} {y}");
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        let _ = write!(self.0, "C{ax} {ay} {bx} {by} {x} {y}");
    }

    fn close(&mut self) {
        self.0.push('Z');
    }
}
