//! A wall chart: many cups in one scale, on shelves.

use super::{
    clip::Band,
    content::Section,
    hatch::Hatch,
    para::{Piece, Ruler, line_step, with_ruler},
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

/// A chart: its cups with what stands at its head.
#[derive(Clone, Debug)]
pub struct Chart {
    /// Its heading.
    pub title: String,
    /// What it was worked from; the scale follows.
    pub stamp: String,
    /// What each hatch stands for.
    pub legend: Vec<(Hatch, String)>,
    /// Language of its texts, as BCP 47 writes it.
    pub lang: String,
    /// Its cups.
    pub cups: Vec<ChartCup>,
}

/// A chart of cups, all in the largest scale in which they have room.
///
/// * Errors: a character that the font lacks; more cups than one sheet takes.
pub fn chart(chart: &Chart) -> Result<Sheet, Fault> {
    with_ruler(|ruler| drawn(ruler, chart))
}

fn drawn(ruler: &Ruler, chart: &Chart) -> Result<Sheet, Fault> {
    let Chart { title, lang, cups, .. } = chart;
    for n in 2..=16 {
        let ratio = Ratio { paper: 2, cup: n };
        let widths = cups.iter().map(|one| ratio.of(widest(&one.section)));
        let cell = widths.max().unwrap_or(0).max(26 * GRAIN) + section::overhang(GRAIN) + GAP;
        let columns = ((SIZE.0 - 2 * MARGIN + GAP) / cell).max(1);
        let texts = cups.iter().map(|one| under(ruler, one, cell - GAP));
        let texts = texts.collect::<Result<Vec<Piece>, Fault>>()?;
        let head = head(ruler, chart, ratio)?;
        if let Some(marks) = shelves(cups, texts, &head, ratio, (columns, cell))? {
            let said = cups.iter().map(|one| format!("{}: {}, {}", one.name, one.cup, one.fill));
            let spoken = said.collect::<Vec<_>>().join("\n");
            let (title, lang) = (title.clone(), lang.clone());
            return Ok(Sheet { width: SIZE.0, height: SIZE.1, marks, title, spoken, lang });
        }
    }
    let (width_mm, height_mm) = (SIZE.0 / 1_000, SIZE.1 / 1_000);
    Err(Fault::NoRoom { text: title.clone(), width_mm, height_mm })
}

fn widest(section: &Section) -> i64 {
    section.cone.diameter_at(section.cone.brim())
}

/// The title with the scale and the stamp, and the legend under it.
fn head(ruler: &Ruler, chart: &Chart, ratio: Ratio) -> Result<Piece, Fault> {
    let Chart { title, stamp, legend, .. } = chart;
    let room = SIZE.0 - 2 * MARGIN;
    let mut piece = Piece::default();
    let mut em = Face::Bold.em_of_cap(7 * GRAIN);
    while em > GRAIN && ruler.width(Face::Bold, em, title)? > room {
        em = em * 19 / 20;
    }
    piece.height = Face::Bold.cap(em);
    piece.line(Face::Bold, em, (0, piece.height), title.clone());
    piece.height += Face::Bold.descent(em);
    let em = Face::Regular.em_of_cap(22 * GRAIN / 10);
    let step = line_step(Face::Regular, em).max(4 * GRAIN) + GRAIN;
    let half = Ratio { paper: ratio.paper / 2, cup: ratio.cup / 2 };
    let ratio = if ratio.cup % 2 == 0 { half } else { ratio };
    piece.height += step;
    let mut x = 0;
    for (hatch, word) in legend {
        let width = SWATCH + GRAIN * 3 / 2 + ruler.width(Face::Regular, em, word)?;
        if x > 0 && x + width > room {
            x = 0;
            piece.height += step;
        }
        let (top, low) = (piece.height - 3 * GRAIN, piece.height + GRAIN / 2);
        let swatch = [(x, top), (x + SWATCH, top), (x + SWATCH, low), (x, low)];
        piece.shapes.extend(hatch.marks(&Band(swatch), GRAIN));
        let pen = Paint::Stroke { width: GRAIN / 5, dash: None };
        piece.shapes.push((Path::polygon(&swatch), pen));
        let at = (x + SWATCH + GRAIN * 3 / 2, piece.height);
        piece.line(Face::Regular, em, at, word.clone());
        x += width + 6 * GRAIN;
    }
    let said = format!("{stamp} {}", ratio.said());
    let width = ruler.width(Face::Regular, em, &said)?;
    if x > 0 && x + width > room {
        piece.height += step;
    }
    for line in ruler.lines(Face::Regular, em, &said, room)? {
        let width = ruler.width(Face::Regular, em, &line)?;
        piece.line(Face::Regular, em, ((room - width).max(0), piece.height), line);
        piece.height += step;
    }
    Ok(piece)
}

/// Width of a hatch in the legend.
const SWATCH: i64 = 9 * GRAIN;

/// What is said under a cup.
fn under(ruler: &Ruler, one: &ChartCup, width: i64) -> Result<Piece, Fault> {
    let mut piece = Piece::default();
    let sizes =
        [(Face::Bold, 26, &one.name), (Face::Bold, 22, &one.fill), (Face::Regular, 17, &one.cup)];
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
    head: &Piece,
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
        for (x, (cup, text)) in (0..).map(|n| MARGIN + n * cell).zip(row.iter().zip(texts.by_ref()))
        {
            let middle = x + section::overhang(GRAIN) + ratio.of(widest(&cup.section)) / 2;
            let drawn = section::measured(&cup.section, ratio, (middle, floor));
            let drawing = section::cup(&cup.section, &drawn, middle, GRAIN);
            marks.extend(drawing.into_iter().map(|(path, paint)| Mark::Shape(path, paint)));
            marks.extend(text.at((x, floor + GRAIN * 2))?);
        }
        y = floor + GRAIN + text_high;
    }
    Ok(Some(marks))
}
