//! Dots as PWG Raster (PWG 5102.4-2012), which printers that know IPP take.

use super::pixels::{Pixels, pixels};
use crate::label::{Fault, Sheet};

/// How a dot is written: a document type of PWG 5102.4.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PwgType {
    /// `black_1`: one bit a dot, 1 is black.
    Black1,
    /// `sgray_8`: eight bits a dot, 255 is white.
    Sgray8,
}

/// Bytes of a page's head.
const HEAD: usize = 1_796;

/// Sheets of one size as a document, a page each.
///
/// * `size_um`: width and height of the label, in micrometres.
/// * Errors: a sheet that has more dots than are drawn.
pub fn pwg<'s>(
    sheets: impl ExactSizeIterator<Item = &'s Sheet>,
    dpi: u16,
    of: PwgType,
    size_um: (i64, i64),
) -> Result<Vec<u8>, Fault> {
    let mut out = b"RaS2".to_vec();
    let pages = sheets.len();
    for sheet in sheets {
        // One page at a time: its dots take a hundred times the room of what is written.
        let page = &pixels(sheet, dpi)?;
        out.extend_from_slice(&head(page, of, size_um, pages));
        match of {
            PwgType::Black1 => rows(&mut out, page.rows().map(|row| Pixels::bits(row).collect())),
            PwgType::Sgray8 => {
                let black_or_white = |cover: &u8| if *cover >= 128 { 0 } else { u8::MAX };
                rows(&mut out, page.rows().map(|row| row.iter().map(black_or_white).collect()));
            }
        }
    }
    Ok(out)
}

/// The name of a size that is none of the standard's own (PWG 5101.1, section 5).
pub(crate) fn media_name((width, height): (i64, i64)) -> String {
    let mm = |um: i64| {
        let mut text = String::new();
        crate::units::write_thousandths(&mut text, um, 3, '.');
        text
    };
    let (width, height) = (mm(width), mm(height));
    format!("custom_{width}x{height}mm_{width}x{height}mm")
}

/// A page's head: numbers of 32 bits, the highest byte first, each at its place (section 4.3).
fn head(page: &Pixels, of: PwgType, size_um: (i64, i64), pages: usize) -> Vec<u8> {
    let mut head = vec![0; HEAD];
    let mut text = |at: usize, text: &str| {
        for (byte, to) in text.bytes().take(63).zip(head.iter_mut().skip(at)) {
            *to = byte;
        }
    };
    text(0, "PwgRaster");
    text(128, "labels");
    text(1_732, &media_name(size_um));
    let mut number = |at: usize, number: u32| {
        for (byte, to) in number.to_be_bytes().into_iter().zip(head.iter_mut().skip(at)) {
            *to = byte;
        }
    };
    let points = |um: i64| u32::try_from((um * 72 + 12_700) / 25_400).unwrap_or_default();
    let (bits, space) = match of {
        PwgType::Black1 => (1, 3),
        PwgType::Sgray8 => (8, 18),
    };
    number(276, page.dpi);
    number(280, page.dpi);
    number(340, 1);
    number(352, points(size_um.0));
    number(356, points(size_um.1));
    number(372, page.width);
    number(376, page.height);
    number(384, bits);
    number(388, bits);
    number(392, (page.width * bits).div_ceil(8));
    number(400, space);
    number(420, 1);
    number(452, u32::try_from(pages).unwrap_or_default());
    // Neither mirrored nor turned.
    number(456, 1);
    number(460, 1);
    number(476, page.height);
    number(472, page.width);
    head
}

/// Rows, packed (section 4.4): how often a row stands, then its bytes in stretches.
fn rows(out: &mut Vec<u8>, rows: impl Iterator<Item = Vec<u8>>) {
    let mut rows = rows.peekable();
    while let Some(row) = rows.next() {
        let mut more = 0;
        while more < u8::MAX && rows.next_if_eq(&row).is_some() {
            more += 1;
        }
        out.push(more);
        pack(out, &row);
    }
}

/// One row: a byte that stands several times, or several bytes that differ, each stretch after its
/// length.
fn pack(out: &mut Vec<u8>, row: &[u8]) {
    let mut rest = row;
    while let Some(first) = rest.first() {
        let same = rest.iter().take(128).take_while(|byte| *byte == first).count();
        if same > 1 || rest.len() == 1 {
            out.extend([u8::try_from(same - 1).unwrap_or_default(), *first]);
            rest = rest.get(same..).unwrap_or_default();
            continue;
        }
        let pairs = rest.windows(2).take(127);
        let differing = pairs.take_while(|pair| pair.first() != pair.last()).count();
        // The last byte of a row has no pair of its own.
        let length = if differing + 1 == rest.len() { differing + 1 } else { differing };
        let length = length.clamp(1, 128);
        if length == 1 {
            out.extend([0, *first]);
        } else {
            out.push(u8::try_from(257 - length).unwrap_or_default());
            out.extend_from_slice(rest.get(..length).unwrap_or_default());
        }
        rest = rest.get(length..).unwrap_or_default();
    }
}
