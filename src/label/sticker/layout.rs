//! The layout of a cup's stickers: the largest letters with which everything fits on one, else more
//! than one.

use super::{
    content::{Content, Zone},
    flow::{Element, FRAME, Flow, Placed, Room, Row},
    sizes::Sizes,
    square::Square,
};
use crate::label::{Face, Fault, Mark, Paint, Path, Sheet};

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

/// White at the edges of a label: what a printer may be off by.
const MARGIN: i64 = 1_500;

/// Most lines of a drink's name, where it has a shorter one.
const NAME_LINES: usize = 2;

/// Most stickers for one cup.
const MOST_PARTS: usize = 12;

/// The stickers of a cup.
///
/// * Errors: a character that the font lacks; a label on which a single line has no room.
pub fn stickers(content: &Content, label: Label) -> Result<Vec<Sticker>, Fault> {
    let codes = content.code.is_some().then_some(true).into_iter().chain([false]);
    for with_code in codes {
        for sizes in Sizes::steps(label.read_at, label.dpi) {
            for name in 0..content.drink.len().max(1) {
                let page = Page { content, label, sizes, name };
                if let Some(flow) = page.single(with_code)? {
                    let code = match (&content.code, with_code) {
                        (Some(_), true) => CodePlace::Here,
                        (Some(_), false) => CodePlace::NoRoom,
                        (None, _) => CodePlace::None,
                    };
                    return Ok(vec![page.finished(flow, 1, 1, code)?]);
                }
            }
        }
    }
    several(content, label)
}

/// Everything on as many stickers as it takes, in the least letters that may be.
fn several(content: &Content, label: Label) -> Result<Vec<Sticker>, Fault> {
    let Some(sizes) = Sizes::steps(label.read_at, label.dpi).next_back() else {
        return Ok(Vec::new());
    };
    let name = content.drink.len().saturating_sub(1);
    let page = Page { content, label, sizes, name };
    // How many there are stands on each, so it is guessed until it is true.
    for parts in 2..=MOST_PARTS {
        let flows = page.parts(parts)?;
        if flows.len() == parts {
            let code = if content.code.is_some() { CodePlace::NoRoom } else { CodePlace::None };
            let one = |(at, flow)| page.finished(flow, at + 1, parts, code);
            return flows.into_iter().enumerate().map(one).collect();
        }
    }
    Err(page.no_room(&content.drink.join(", ")))
}

/// A way of setting what a cup's stickers say.
struct Page<'a> {
    content: &'a Content,
    label: Label,
    sizes: Sizes,
    /// Which of the drink's names.
    name: usize,
}

impl Page<'_> {
    fn room(&self, with_code: bool) -> Room {
        let Label { width, height, .. } = self.label;
        let corner = |square: &Square| {
            let (left, top) = self.corner(square);
            (self.um(left), self.um(top))
        };
        let code = self.content.code.as_ref().filter(|_| with_code).map(corner);
        Room { width, height, margin: MARGIN, code }
    }

    /// Micrometres of so many dots.
    fn um(&self, dots: i64) -> i64 {
        let dpi = i64::from(self.label.dpi);
        (dots * 25_400 * 2 + dpi) / (dpi * 2)
    }

    /// Where a code's place begins in the lower right corner, in dots. Its quiet zone may reach to
    /// the edge, for it is white like the margin.
    fn corner(&self, square: &Square) -> (i64, i64) {
        let dots = |um: i64| um * i64::from(self.label.dpi) / 25_400;
        let side = square.side_dots();
        (dots(self.label.width) - side, dots(self.label.height) - side)
    }

    /// What stands above whose it is, and what under it.
    fn above(&self) -> Vec<Element> {
        let Content { allergy, stamps, drink, cup, changes, note, .. } = self.content;
        let Sizes { allergy: band, drink: name, change, cup: vessel, who, .. } = self.sizes;
        let element =
            |zone, text: &str, face, em| Element { zone, text: text.to_owned(), face, em };
        let mut all: Vec<Element> = Vec::with_capacity(8);
        all.extend(allergy.iter().map(|text| element(Zone::Allergy, text, Face::Bold, band)));
        all.extend(stamps.iter().map(|text| element(Zone::Stamp, text, Face::Bold, change)));
        all.extend(drink.get(self.name).map(|text| element(Zone::Drink, text, Face::Bold, name)));
        all.push(element(Zone::Cup, cup, Face::Regular, vessel));
        all.extend(changes.iter().map(|text| element(Zone::Change, text, Face::Bold, change)));
        all.extend(note.iter().map(|text| element(Zone::Note, text, Face::Regular, who)));
        all.retain(|one| !one.text.trim().is_empty());
        all
    }

    fn who(&self, more: Option<String>) -> Option<Element> {
        let parts: Vec<&str> = more.iter().chain(&self.content.who).map(String::as_str).collect();
        let text = parts.join(" · ");
        let (face, em) = (Face::Bold, self.sizes.who);
        (!text.is_empty()).then_some(Element { zone: Zone::Who, text, face, em })
    }

    fn under(&self) -> Vec<Element> {
        let Content { hot, allergens, .. } = self.content;
        let em = self.sizes.small;
        let one = |zone, text: &String, face| Element { zone, text: text.clone(), face, em };
        let hot = hot.iter().map(|text| one(Zone::Hot, text, Face::Bold));
        let allergens = allergens.iter().map(|text| one(Zone::Allergens, text, Face::Regular));
        hot.chain(allergens).filter(|one| !one.text.trim().is_empty()).collect()
    }

    /// Everything on one sticker, what is under the name and changes as low as it goes.
    fn single(&self, with_code: bool) -> Result<Option<Flow>, Fault> {
        let mut flow = Flow::new(self.room(with_code));
        for element in self.above() {
            let most = self.most_lines(&element);
            if !flow.whole(&element, most)? {
                return Ok(None);
            }
        }
        let under: Vec<Element> = self.who(None).into_iter().chain(self.under()).collect();
        let Some(close) = set_all(flow.clone(), &under)? else { return Ok(None) };
        let spare = self.label.height - MARGIN - close.rows.last().map_or(0, |row| row.bottom);
        // Lines that sink beside a code become narrower, and may then be more.
        for share in [8, 7, 6, 5, 4, 3, 2, 1] {
            let mut lower = flow.clone();
            lower.skip(spare * share / 8);
            if let Some(set) = set_all(lower, &under)? {
                return Ok(Some(set));
            }
        }
        Ok(Some(close))
    }

    /// A long name goes over to a shorter one rather than over a third line.
    fn most_lines(&self, element: &Element) -> usize {
        let is_last = self.name + 1 >= self.content.drink.len();
        if element.zone == Zone::Drink && !is_last { NAME_LINES } else { usize::MAX }
    }

    /// Everything on several stickers, each with allergies, drink, and whose it is.
    fn parts(&self, parts: usize) -> Result<Vec<Flow>, Fault> {
        let (head, body): (Vec<Element>, Vec<Element>) =
            self.above().into_iter().partition(|one| one.zone <= Zone::Drink);
        let mut left: Vec<Element> = body.into_iter().chain(self.under()).collect();
        left.reverse();
        let mut flows = Vec::new();
        while flows.is_empty() || !left.is_empty() {
            let mut flow = Flow::new(self.room(false));
            let part = format!("{} {}/{parts}", self.content.part, flows.len() + 1);
            let who = self.who(Some(part));
            for element in head.iter().chain(&who) {
                if !flow.whole(element, usize::MAX)? {
                    return Err(self.no_room(&element.text));
                }
            }
            let begun = flow.rows.len();
            while let Some(element) = left.pop() {
                if flow.whole(&element, usize::MAX)? {
                    continue;
                }
                let is_alone = flow.rows.len() == begun;
                match if is_alone { flow.set(&element, usize::MAX)? } else { Placed::Not } {
                    Placed::Whole => {}
                    Placed::Rest(rest) => left.push(rest),
                    Placed::Not if is_alone => return Err(self.no_room(&element.text)),
                    Placed::Not => left.push(element),
                }
                break;
            }
            flows.push(flow);
        }
        Ok(flows)
    }

    fn no_room(&self, text: &str) -> Fault {
        let Label { width, height, .. } = self.label;
        Fault::NoRoom { text: text.to_owned(), width_mm: width / 1_000, height_mm: height / 1_000 }
    }

    /// The sticker with its frame and code, if nothing on it leaves its place.
    fn finished(
        &self,
        flow: Flow,
        part: usize,
        parts: usize,
        code: CodePlace,
    ) -> Result<Sticker, Fault> {
        let mut zones = zones(&flow.rows);
        let mut marks: Vec<Mark> = Vec::with_capacity(flow.rows.len() + 2);
        if let Some(band) = zones.iter_mut().find(|zone| zone.zone == Zone::Allergy) {
            frame(band, self.label.width, &mut marks);
        }
        if let (Some(square), CodePlace::Here) = (&self.content.code, code) {
            let (left, top) = self.corner(square);
            let shape = square.shape(left, top, |dots| self.um(dots));
            marks.push(Mark::Shape(shape, Paint::Fill(crate::label::Ink::Black)));
            let (x, y, side) = (self.um(left), self.um(top), self.um(square.side_dots()));
            let (zone, lines) = (Zone::Code, Vec::new());
            zones.push(ZoneBox { zone, x, y, width: side, height: side, lines });
        }
        marks.extend(flow.rows.into_iter().map(|row| Mark::Text(row.text)));
        let Label { width, height, .. } = self.label;
        let title = self.content.drink.first().cloned().unwrap_or_default();
        let (spoken, lang) = (self.content.spoken(), self.content.lang.clone());
        let sheet = Sheet { width, height, marks, title, spoken, lang };
        if let Some(text) = sheet.leaving().find_map(|mark| match mark {
            Mark::Text(text) => Some(text.run.text.clone()),
            Mark::Shape(..) => None,
        }) {
            return Err(Fault::Leaves { text });
        }
        Ok(Sticker { sheet, zones, part, parts, code })
    }
}

fn set_all(mut flow: Flow, elements: &[Element]) -> Result<Option<Flow>, Fault> {
    for element in elements {
        if !flow.whole(element, usize::MAX)? {
            return Ok(None);
        }
    }
    Ok(Some(flow))
}

/// The zones that lines come to.
fn zones(rows: &[Row]) -> Vec<ZoneBox> {
    let mut all: Vec<ZoneBox> = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let right = row.text.x + row.text.run.width(row.text.em);
        match all.iter_mut().find(|zone| zone.zone == row.zone) {
            Some(zone) => {
                zone.width = zone.width.max(right - zone.x);
                zone.height = row.bottom - zone.y;
                zone.lines.push(at);
            }
            None => all.push(ZoneBox {
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
fn frame(band: &mut ZoneBox, width: i64, marks: &mut Vec<Mark>) {
    let around = band.x - MARGIN;
    let top = band.y - around;
    let height = band.height + 2 * around;
    let half = FRAME / 2;
    let path = Path::rect(MARGIN + half, top + half, width - 2 * (MARGIN + half), height - FRAME);
    marks.push(Mark::Shape(path, Paint::Stroke { width: FRAME, dash: None }));
    (band.x, band.y) = (MARGIN, top);
    (band.width, band.height) = (width - 2 * MARGIN, height);
}
