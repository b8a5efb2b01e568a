//! The layout of a cup's stickers: the largest letters with which everything fits on one, else more
//! than one.

use super::{
    code::Code,
    content::{Content, Zone},
    flow::{FRAME, Flow, Row},
    page::Page,
    shaped::Shaped,
    sizes::Sizes,
};
use crate::label::{Fault, Ink, Mark, Paint, Path, Sheet};

/// A label as a printer has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Label {
    /// Width, in micrometres.
    pub width: i64,
    /// Height, in micrometres.
    pub height: i64,
    /// Dots per inch.
    pub dpi: u16,
    /// Distance from which it is read, in micrometres.
    pub read_at: i64,
    /// Distance from which whose it is is read, in micrometres.
    pub held_at: i64,
    /// White at each edge, in micrometres.
    pub margin: i64,
}

/// One sticker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sticker {
    /// What is drawn.
    pub sheet: Sheet,
    /// Its zones from top to bottom.
    pub zones: Vec<ZoneBox>,
    /// Which of the cup's stickers it is, from 1.
    pub part: usize,
    /// How many stickers the cup has.
    pub parts: usize,
    /// What became of the code.
    pub code: CodePlace,
}

/// What became of a code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CodePlace {
    /// It stands on the sticker.
    Here,
    /// It is left out, so that all that is said fits on one sticker.
    NoRoom,
    /// There is none.
    None,
}

/// A zone of a sticker; measures in micrometres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ZoneBox {
    /// What stands there.
    pub zone: Zone,
    /// Left edge.
    pub x: i64,
    /// Upper edge.
    pub y: i64,
    /// Width.
    pub width: i64,
    /// Height.
    pub height: i64,
    /// Its lines, by their places among the texts of the sheet.
    pub lines: Vec<usize>,
}

/// Most stickers for one cup.
pub const MOST_PARTS: usize = 40;

/// The stickers of a cup.
///
/// * Errors: a character that the font lacks; a label on which a single line has no room.
pub fn stickers(content: &Content, label: Label) -> Result<Vec<Sticker>, Fault> {
    let shaped = Shaped::of(content)?;
    let whole =
        |sizes, name| Page { content, shaped: &shaped, label, sizes, name, may_break: false };
    let fits = |code: &Code| {
        let (left, top) = corner_of(label, code);
        left >= 0 && top >= 0
    };
    let has_code = content.code.as_ref().is_some_and(fits);
    let with_codes = has_code.then_some(true).into_iter().chain([false]);
    for with_code in with_codes {
        for sizes in Sizes::steps(label) {
            for name in 0..content.drink.len().max(1) {
                if let Some(flow) = whole(sizes, name).single(with_code)? {
                    return one(content, label, flow, with_code);
                }
            }
        }
    }
    // Smaller letters go before broken words, and broken words before a second sticker.
    if let Some(page) = least(content, &shaped, label)
        && let Some(flow) = page.single(false)?
    {
        return one(content, label, flow, false);
    }
    several(content, &shaped, label)
}

/// The only sticker of a cup.
fn one(
    content: &Content,
    label: Label,
    flow: Flow,
    with_code: bool,
) -> Result<Vec<Sticker>, Fault> {
    let code = match (&content.code, with_code) {
        (Some(_), true) => CodePlace::Here,
        (Some(_), false) => CodePlace::NoRoom,
        (None, _) => CodePlace::None,
    };
    Ok(vec![finished(content, label, flow, (1, 1), code)?])
}

/// The least letters and the shortest name.
fn least<'a>(content: &'a Content, shaped: &'a Shaped, label: Label) -> Option<Page<'a>> {
    let sizes = Sizes::steps(label).next_back()?;
    let name = content.drink.len().saturating_sub(1);
    Some(Page { content, shaped, label, sizes, name, may_break: true })
}

/// What is missing of the label's height for everything on one sticker in the least letters, in
/// micrometres; 0 if nothing is, or if it cannot be drawn at all.
pub fn over(content: &Content, label: Label) -> i64 {
    let Ok(shaped) = Shaped::of(content) else { return 0 };
    // Tall enough for whatever is said.
    let tall = Label { height: 10_000_000, ..label };
    let Some(page) = least(content, &shaped, tall) else { return 0 };
    let set = page.close(false).ok().flatten();
    let end = set.and_then(|flow| flow.rows.last().map(|row| row.bottom));
    end.map_or(0, |end| (end + label.margin - label.height).max(0))
}

/// Everything on as many stickers as it takes, in the least letters that may be.
fn several(content: &Content, shaped: &Shaped, label: Label) -> Result<Vec<Sticker>, Fault> {
    let Some(page) = least(content, shaped, label) else { return Ok(Vec::new()) };
    // How many there are stands on each, so it is guessed until it is true.
    let mut guessed = 2;
    for _ in 0..MOST_PARTS {
        let flows = page.parts(guessed)?;
        let parts = flows.len();
        if parts == guessed {
            let code = if content.code.is_some() { CodePlace::NoRoom } else { CodePlace::None };
            let one = |(at, flow)| finished(content, label, flow, (at + 1, parts), code);
            return flows.into_iter().enumerate().map(one).collect();
        }
        if parts > MOST_PARTS {
            break;
        }
        guessed = parts;
    }
    Err(page.no_room(Zone::Change))
}

/// Micrometres of so many dots.
pub(super) fn dots_to_um(dots: i64, dpi: u16) -> i64 {
    let dpi = i64::from(dpi);
    (dots * 25_400 * 2 + dpi) / (dpi * 2)
}

/// Where a code's place begins in the lower right corner, in dots. Its quiet zone may reach to the
/// edge, for it is white like the margin.
pub(super) fn corner_of(label: Label, code: &Code) -> (i64, i64) {
    let dots = |um: i64| um * i64::from(label.dpi) / 25_400;
    let side = code.side_dots();
    (dots(label.width) - side, dots(label.height) - side)
}

/// The sticker with its frame and code, if nothing on it leaves its place.
///
/// * `place`: which of the cup's stickers it is, from 1, and how many there are.
fn finished(
    content: &Content,
    label: Label,
    flow: Flow,
    (part, parts): (usize, usize),
    code: CodePlace,
) -> Result<Sticker, Fault> {
    let mut zones = zones(&flow.rows);
    let mut marks: Vec<Mark> = Vec::with_capacity(flow.rows.len() + 2);
    if let Some(band) = zones.iter_mut().find(|zone| zone.zone == Zone::Allergy) {
        frame(band, label, &mut marks);
    }
    if let (Some(drawn), CodePlace::Here) = (&content.code, code) {
        let (left, top) = corner_of(label, drawn);
        let um = |dots| dots_to_um(dots, label.dpi);
        marks.push(Mark::Shape(drawn.shape(left, top, um), Paint::Fill(Ink::Black)));
        let (x, y, side) = (um(left), um(top), um(drawn.side_dots()));
        let (zone, lines) = (Zone::Code, Vec::new());
        zones.push(ZoneBox { zone, x, y, width: side, height: side, lines });
    }
    marks.extend(flow.rows.into_iter().map(|row| Mark::Text(row.text)));
    let Label { width, height, .. } = label;
    let title = content.drink.first().cloned().unwrap_or_default();
    let (spoken, lang) = (content.spoken(), content.lang.clone());
    let sheet = Sheet { width, height, marks, title, spoken, lang };
    let leaves = sheet.leaving().next().is_some();
    if leaves {
        return Err(Fault::Leaves { text: "a line".to_owned() });
    }
    Ok(Sticker { sheet, zones, part, parts, code })
}

/// The zones that lines come to.
fn zones(rows: &[Row]) -> Vec<ZoneBox> {
    let mut all: Vec<ZoneBox> = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let right = row.text.x + row.text.run.width(row.text.em);
        match all.last_mut() {
            Some(zone) if zone.zone == row.zone => {
                zone.width = zone.width.max(right - zone.x);
                zone.height = row.bottom - zone.y;
                zone.lines.push(at);
            }
            _ => all.push(ZoneBox {
                zone: row.zone,
                x: row.text.x,
                y: row.top,
                width: right - row.text.x,
                height: row.bottom - row.top,
                lines: vec![at],
            }),
        }
    }
    all
}

/// Draws the frame round allergies, across the whole label.
fn frame(band: &mut ZoneBox, label: Label, marks: &mut Vec<Mark>) {
    let Label { width, margin, .. } = label;
    let around = band.x - margin;
    let top = band.y - around;
    let height = band.height + 2 * around;
    let half = FRAME / 2;
    let path = Path::rect(margin + half, top + half, width - 2 * (margin + half), height - FRAME);
    marks.push(Mark::Shape(path, Paint::Stroke { width: FRAME, dash: None }));
    (band.x, band.y) = (margin, top);
    (band.width, band.height) = (width - 2 * margin, height);
}
