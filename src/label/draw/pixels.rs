//! A sheet as dots of a printer.

use std::collections::HashMap;

use skrifa::outline::OutlinePen;
use tiny_skia::{FillRule, Mask, PathBuilder, Stroke, StrokeDash, Transform};

use super::outline::outline;
use crate::label::{Face, Fault, Ink, Mark, Paint, Path, Seg, Sheet, Text};

/// Dots of a sheet, row by row from the top: how much of each is covered, 0 to 255.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pixels {
    /// Dots of a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Dots per inch.
    pub dpi: u32,
    /// How much of each is covered.
    pub cover: Vec<u8>,
}

/// The dots of a sheet at `dpi`.
///
/// Glyphs begin on whole dots, so that one letter looks alike wherever it stands.
///
/// * Errors: a sheet of no size, or with more dots than a picture may have.
pub fn pixels(sheet: &Sheet, dpi: u16) -> Result<Pixels, Fault> {
    let grid = Grid { dpi: i64::from(dpi) };
    let (width, height) = (grid.dots(sheet.width), grid.dots(sheet.height));
    let sides = u32::try_from(width).ok().zip(u32::try_from(height).ok());
    let (width, height) = sides
        .filter(|(width, height)| {
            let dots = width.checked_mul(*height);
            dots.is_some_and(|dots| (1..=MOST_DOTS).contains(&dots))
        })
        .ok_or_else(|| {
            let most = MOST_DOTS / 1_000_000;
            Fault::Unwritten(format!(
                "{width} × {height} dots; a picture has at most {most} million"
            ))
        })?;
    let mut mask = Mask::new(width, height)
        .ok_or_else(|| Fault::Unwritten("there is no room for the picture".to_owned()))?;
    let mut stamps = HashMap::new();
    for mark in &sheet.marks {
        match mark {
            Mark::Text(text) => write(&mut mask, grid, text, &mut stamps),
            Mark::Shape(path, paint) => shape(&mut mask, grid, path, *paint),
        }
    }
    Ok(Pixels { width, height, dpi: u32::from(dpi), cover: mask.take() })
}

/// Most dots of a picture: a sheet of A4 at 300 dots per inch has 8.7 million, and each takes a byte.
const MOST_DOTS: u32 = 12_000_000;

/// The grid of a printer's dots.
#[derive(Clone, Copy)]
struct Grid {
    dpi: i64,
}

/// Micrometres of an inch.
const INCH: i64 = 25_400;

impl Grid {
    /// The nearest whole number of dots.
    const fn dots(self, um: i64) -> i64 {
        (um * self.dpi * 2 + INCH).div_euclid(INCH * 2)
    }

    /// Dots, with their parts.
    #[expect(clippy::cast_precision_loss, reason = "lengths of a label are far below 2^52")]
    fn exact(self, um: i64) -> f64 {
        um as f64 * self.dpi as f64 / INCH as f64
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "parts of a dot beyond seven digits are nothing"
)]
fn narrow(value: f64) -> f32 {
    value as f32
}

/// A glyph's dots, and where they stand from its origin.
struct Stamp {
    left: i64,
    top: i64,
    width: usize,
    cover: Vec<u8>,
}

type Stamps = HashMap<(Face, i64, u32), Option<Stamp>>;

fn write(mask: &mut Mask, grid: Grid, text: &Text, stamps: &mut Stamps) {
    let Text { run, em, x, baseline } = text;
    let origin = x + run.inset(*em);
    for glyph in &run.glyphs {
        let at = |units: i64| units * em / run.units();
        let (x, y) = (grid.dots(origin + at(glyph.x)), grid.dots(baseline - at(glyph.y)));
        let stamp = stamps
            .entry((run.face, *em, glyph.id))
            .or_insert_with(|| stamp(run.face, glyph.id, grid.exact(*em), run.units()));
        if let Some(stamp) = stamp {
            press(mask, stamp, x, y);
        }
    }
}

/// Rasters one glyph; none if it has no ink.
#[expect(clippy::cast_precision_loss, reason = "units of an em are a few thousand")]
fn stamp(face: Face, glyph: u32, em_dots: f64, units: i64) -> Option<Stamp> {
    let mut pen = Pen { path: PathBuilder::new(), scale: narrow(em_dots / units as f64) };
    outline(face, glyph, &mut pen)?;
    let path = pen.path.finish()?;
    let bounds = path.bounds();
    let edge = |value: f32| crate::label::face::whole(value);
    let (left, top) = (edge(bounds.left().floor()) - 1, edge(bounds.top().floor()) - 1);
    let width = u32::try_from(edge(bounds.right().ceil()) + 1 - left).ok()?;
    let height = u32::try_from(edge(bounds.bottom().ceil()) + 1 - top).ok()?;
    let mut mask = Mask::new(width, height)?;
    let moved = Transform::from_translate(-left as f32, -top as f32);
    mask.fill_path(&path, FillRule::Winding, true, moved);
    Some(Stamp { left, top, width: usize::try_from(width).ok()?, cover: mask.take() })
}

/// Adds a glyph's dots to the sheet's; those that would lie beside it are left out.
fn press(mask: &mut Mask, stamp: &Stamp, x: i64, y: i64) {
    let (width, height) = (i64::from(mask.width()), i64::from(mask.height()));
    let data = mask.data_mut();
    for (row, dots) in (0..).zip(stamp.cover.chunks_exact(stamp.width)) {
        let to_y = y + stamp.top + row;
        if !(0..height).contains(&to_y) {
            continue;
        }
        for (column, cover) in (0..).zip(dots) {
            let to_x = x + stamp.left + column;
            if *cover > 0
                && (0..width).contains(&to_x)
                && let Ok(at) = usize::try_from(to_y * width + to_x)
                && let Some(dot) = data.get_mut(at)
            {
                *dot = dot.saturating_add(*cover);
            }
        }
    }
}

fn shape(mask: &mut Mask, grid: Grid, path: &Path, paint: Paint) {
    let Some(outline) = built(path, grid) else { return };
    let whole = Transform::identity();
    match paint {
        Paint::Fill(Ink::Black) => mask.fill_path(&outline, FillRule::Winding, true, whole),
        Paint::Fill(Ink::Paper) => erase(mask, &outline),
        Paint::Stroke { width, dash } => {
            let width = narrow(grid.exact(width));
            let lengths = |(on, off): (i64, i64)| {
                vec![narrow(grid.exact(on)).max(1.0), narrow(grid.exact(off)).max(1.0)]
            };
            let dash = dash.and_then(|dash| StrokeDash::new(lengths(dash), 0.0));
            let stroke = Stroke { width: width.max(1.0), dash, ..Stroke::default() };
            if let Some(line) = dashed(&outline, &stroke).stroke(&stroke, 1.0) {
                mask.fill_path(&line, FillRule::Winding, true, whole);
            }
        }
    }
}

fn dashed(outline: &tiny_skia::Path, stroke: &Stroke) -> tiny_skia::Path {
    let dashed = stroke.dash.as_ref().and_then(|dash| outline.dash(dash, 1.0));
    dashed.unwrap_or_else(|| outline.clone())
}

/// Takes away what lies under a shape.
fn erase(mask: &mut Mask, outline: &tiny_skia::Path) {
    let Some(mut over) = Mask::new(mask.width(), mask.height()) else { return };
    over.fill_path(outline, FillRule::Winding, true, Transform::identity());
    for (dot, covered) in mask.data_mut().iter_mut().zip(over.data()) {
        *dot = dot.saturating_sub(*covered);
    }
}

fn built(path: &Path, grid: Grid) -> Option<tiny_skia::Path> {
    let mut builder = PathBuilder::new();
    let at = |um: i64| narrow(grid.exact(um));
    for seg in &path.0 {
        match seg {
            Seg::Move(x, y) => builder.move_to(at(*x), at(*y)),
            Seg::Line(x, y) => builder.line_to(at(*x), at(*y)),
            Seg::Close => builder.close(),
        }
    }
    builder.finish()
}

/// Takes an outline in units of the font, which count upwards.
struct Pen {
    path: PathBuilder,
    scale: f32,
}

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(x * self.scale, -y * self.scale);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(x * self.scale, -y * self.scale);
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        let s = self.scale;
        self.path.quad_to(cx * s, -cy * s, x * s, -y * s);
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        let s = self.scale;
        self.path.cubic_to(ax * s, -ay * s, bx * s, -by * s, x * s, -y * s);
    }

    fn close(&mut self) {
        self.path.close();
    }
}
