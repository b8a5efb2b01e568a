//! Dots as PNG (ISO/IEC 15948).

use png::{BitDepth, ColorType, Encoder, PixelDimensions, Unit};

use super::pixels::Pixels;
use crate::label::Fault;

/// Black and white, one bit a dot, as a label printer has them.
pub fn png_bits(pixels: &Pixels) -> Result<Vec<u8>, Fault> {
    let mut rows = Vec::with_capacity(pixels.bytes_of_row() * pixels.cover.len());
    for row in pixels.rows() {
        // In PNG, 1 is white.
        rows.extend(Pixels::bits(row).map(|byte| !byte));
    }
    written(pixels, BitDepth::One, &rows)
}

/// Shades of grey, for screens.
pub fn png_grey(pixels: &Pixels) -> Result<Vec<u8>, Fault> {
    let rows: Vec<u8> = pixels.cover.iter().map(|cover| u8::MAX - cover).collect();
    written(pixels, BitDepth::Eight, &rows)
}

fn written(pixels: &Pixels, depth: BitDepth, rows: &[u8]) -> Result<Vec<u8>, Fault> {
    let fault = |fault: png::EncodingError| Fault::Unwritten(fault.to_string());
    let mut out = Vec::with_capacity(rows.len() / 4 + 128);
    let mut encoder = Encoder::new(&mut out, pixels.width, pixels.height);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(depth);
    // Dots per metre, rounded: an inch has 0.0254 m.
    let per_metre = (pixels.dpi * 10_000 + 127) / 254;
    let dots = PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter };
    encoder.set_pixel_dims(Some(dots));
    let mut writer = encoder.write_header().map_err(fault)?;
    writer.write_image_data(rows).map_err(fault)?;
    writer.finish().map_err(fault)?;
    Ok(out)
}

impl Pixels {
    /// Its rows, from the top.
    pub(super) fn rows(&self) -> impl Iterator<Item = &[u8]> {
        self.cover.chunks_exact(usize::try_from(self.width).unwrap_or(1).max(1))
    }

    /// Bytes of a row of one bit a dot.
    pub(super) fn bytes_of_row(&self) -> usize {
        usize::try_from(self.width.div_ceil(8)).unwrap_or_default()
    }

    /// A row as bits, the left dot highest: 1 where at least half of a dot is covered.
    pub(super) fn bits(row: &[u8]) -> impl Iterator<Item = u8> {
        row.chunks(8).map(|dots| {
            (0..)
                .zip(dots)
                .fold(0, |byte, (at, cover)| byte | (u8::from(*cover >= 128) << (7 - at)))
        })
    }
}
