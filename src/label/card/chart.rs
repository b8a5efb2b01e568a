//! A wall chart: many cups in one scale, on shelves.

use super::{
    content::Section,
    para::{Piece, Ruler, line_step},
    section::{self, Ratio},
};
use crate::label::{Face, Fault, Mark, Paint, Path, Sheet};

/// One cup of a chart.
#[derive(Clone, Debug)]
pub struct ChartCup {
    /// The drink.
    pub name: String,
    /// Its cup.
    pub cup: String,
    /// How far it is filled.
    pub fill: String,
    /// The section.
    pub section: Section,
}

/// ISO 216 A3, on its side, in micrometres.
const SIZE: (i64, i64) = (420_000, 297_000);
const MARGIN: i64 = 10_000;
/// Between two cups, and between a shelf and the cups under it.
const GAP: i64 = 5_000;
const GRAIN: i64 = 1_000;

/// A chart of cups, all in the largest scale in which they have room.
///
/// * `title`: what stands at its head; `stamp`: what it was worked from.
/// * Errors: a character that the font lacks; more cups than one sheet takes.
pub fn chart(title: &str, stamp: &str, lang: &str, cups: &[ChartCup]) -> Result<Sheet, Fault> {
    let ruler = Ruler::default();
    for n in 2..=16 {
        let ratio = Ratio { paper: 2, cup: n };
        let widths = cups.iter().map(|one| ratio.of(widest(&one.section)));
        let cell = widths.max().unwrap_or(0).max(26 * GRAIN) + section::overhang(GRAIN) + GAP;
        let columns = ((SIZE.0 - 2 * MARGIN + GAP) / cell).max(1);
        let texts = cups.iter().map(|one| under(&ruler, one, cell - GAP));
        let texts = texts.collect::<Result<Vec<Piece>, Fault>>()?;
        let head = head(&ruler, title, stamp, ratio)?;
        if let Some(marks) = shelves(cups, texts, head, ratio, (columns, cell))? {
            let said = cups.iter().map(|one| format!("{}: {}, {}", one.name, one.cup, one.fill));
            let spoken = said.collect::<Vec<_>>().join("\n");
            let (title, lang) = (title.to_owned(), lang.to_owned());
            return Ok(Sheet { width: SIZE.0, height: SIZE.1, marks, title, spoken, lang });
        }
    }
    let (width_mm, height_mm) = (SIZE.0 / 1_000, SIZE.1 / 1_000);
    Err(Fault::NoRoom { text: title.to_owned(), width_mm, height_mm })
}

fn widest(section: &Section) -> i64 {
    section.cone.diameter_at(section.cone.brim())
}

/// The title with the scale and the stamp.
fn head(ruler: &Ruler, title: &str, stamp: &str, ratio: Ratio) -> Result<Piece, Fault> {
    let (face, em) = (Face::Bold, Face::Bold.em_of_cap(7 * GRAIN));
    let mut piece = Piece::default();
    let small = Face::Regular.em_of_cap(22 * GRAIN / 10);
    piece.height = Face::Bold.cap(em);
    piece.line(face, em, (0, piece.height), title.to_owned());
    let half = Ratio { paper: ratio.paper / 2, cup: ratio.cup / 2 };
    let ratio = if ratio.cup % 2 == 0 { half } else { ratio };
    let said = format!("{stamp} {}", ratio.said());
    let width = ruler.width(Face::Regular, small, &said)?;
    let room = SIZE.0 - 2 * MARGIN;
    let beside = ruler.width(face, em, title)? + GAP + width <= room;
    if beside {
        piece.line(Face::Regular, small, (room - width, piece.height), said);
    } else {
        for line in ruler.lines(Face::Regular, small, &said, room)? {
            piece.height += line_step(Face::Regular, small) + GRAIN;
            piece.line(Face::Regular, small, (0, piece.height), line);
        }
    }
    piece.height += Face::Bold.descent(em);
    Ok(piece)
}

/// What is said under a cup.
fn under(ruler: &Ruler, one: &ChartCup, width: i64) -> Result<Piece, Fault> {
    let mut piece = Piece::default();
    let sizes = [(Face::Bold, 26, &one.name), (Face::Bold, 22, &one.fill), (Face::Regular, 17, &one.cup)];
    for (face, cap, text) in sizes {
        let em = face.em_of_cap(cap * GRAIN / 10);
        piece.height += GRAIN * 8 / 10;
        for (at, line) in ruler.lines(face, em, text, width)?.into_iter().enumerate() {
            piece.height += if at == 0 { face.cap(em) } else { line_step(face, em) };
            piece.line(face, em, (0, piece.height), line);
        }
        piece.height += face.descent(em);
    }
    Ok(piece)
}

/// The cups on shelves, so many to each; none if they have no room.
fn shelves(
    cups: &[ChartCup],
    texts: Vec<Piece>,
    head: Piece,
    ratio: Ratio,
    (columns, cell): (i64, i64),
) -> Result<Option<Vec<Mark>>, Fault> {
    let columns = usize::try_from(columns).unwrap_or(1);
    let high = |one: &ChartCup| ratio.of(one.section.cone.brim());
    let rows: Vec<(i64, i64)> = cups
        .chunks(columns)
        .zip(texts.chunks(columns))
        .map(|(cups, texts)| {
            let cup = cups.iter().map(high).max().unwrap_or_default();
            let text = texts.iter().map(|piece| piece.height).max().unwrap_or_default();
            (cup, text)
        })
        .collect();
    let needed: i64 = rows.iter().map(|(cup, text)| cup + text + GAP + GRAIN).sum();
    let room = SIZE.1 - 2 * MARGIN - head.height;
    if needed > room {
        return Ok(None);
    }
    let between = (room - needed) / i64::try_from(rows.len()).unwrap_or(1).max(1);
    let between = between.min(8 * GRAIN) + GAP;
    let mut y = MARGIN + head.height;
    let mut marks = head.at((MARGIN, MARGIN))?;
    let mut texts = texts.into_iter();
    for (row, (cup_high, text_high)) in cups.chunks(columns).zip(rows) {
        let floor = y + between + cup_high;
        let shelf = Path::line(&[(MARGIN, floor + GRAIN), (SIZE.0 - MARGIN, floor + GRAIN)]);
        marks.push(Mark::Shape(shelf, Paint::Stroke { width: GRAIN / 5, dash: None }));
        for (x, (cup, text)) in (0..).map(|n| MARGIN + n * cell).zip(row.iter().zip(texts.by_ref())) {
            let middle = x + section::overhang(GRAIN) + ratio.of(widest(&cup.section)) / 2;
            let (drawing, _) = section::cup(&cup.section, ratio, (middle, floor), GRAIN);
            marks.extend(drawing.into_iter().map(|(path, paint)| Mark::Shape(path, paint)));
            marks.extend(text.at((x, floor + GRAIN * 2))?);
        }
        y = floor + GRAIN + text_high;
    }
    Ok(Some(marks))
}
