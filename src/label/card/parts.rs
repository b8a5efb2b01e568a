//! The parts of a card beside the section: head, numbers, steps, allergens, cautions, stamps.

use super::{
    content::{Card, Row},
    page::Setting,
    para::{Piece, Ruler, line_step},
    section::Ratio,
};
use crate::label::{Face, Fault, Paint, Path};

/// What is framed of the order, the drink, its cup, and what is different.
///
/// * `told`: whether what is told of the order stands under it.
pub(super) fn head(
    ruler: &Ruler,
    card: &Card,
    setting: Setting,
    told: bool,
) -> Result<Piece, Fault> {
    let Setting { grain, width, .. } = setting;
    let framed: Vec<(Face, i64, &String)> =
        card.asked.framed().map(|text| (Face::Bold, 34, text)).collect();
    let mut piece = frame(ruler, setting, &framed)?;
    if piece.height > 0 {
        piece.height += grain * 2;
    }
    let mut em = Face::Bold.em_of_cap(grain * 54 / 10);
    let least = Face::Bold.em_of_cap(grain * 42 / 10);
    while em > least && ruler.width(Face::Bold, em, &card.title)? > width {
        em = (em * 19 / 20).max(least);
    }
    stack(ruler, &mut piece, Face::Bold, em, &card.title, width)?;
    let em = Face::Regular.em_of_cap(grain * 21 / 10);
    piece.height += grain;
    stack(ruler, &mut piece, Face::Regular, em, &card.cup, width)?;
    if !card.changes.is_empty() {
        piece.height += grain;
        let em = Face::Bold.em_of_cap(grain * 32 / 10);
        stack(ruler, &mut piece, Face::Bold, em, &card.changes.join(" · "), width)?;
    }
    for text in card.asked.told().filter(|_| told) {
        piece.height += grain;
        let em = Face::Bold.em_of_cap(grain * 19 / 10);
        stack(ruler, &mut piece, Face::Bold, em, text, width)?;
    }
    Ok(piece)
}

/// Adds the lines of a text under what is there.
fn stack(
    ruler: &Ruler,
    piece: &mut Piece,
    face: Face,
    em: i64,
    text: &str,
    width: i64,
) -> Result<(), Fault> {
    let cap = face.cap(em);
    for (at, line) in ruler.lines(face, em, text, width)?.into_iter().enumerate() {
        let y = if at == 0 {
            piece.height + cap
        } else {
            piece.height - face.descent(em) + line_step(face, em)
        };
        piece.line(face, em, (0, y), line);
        piece.height = y + face.descent(em);
    }
    Ok(())
}

/// Columns of numbers beside their names.
const COLUMNS: i64 = 4;

/// What is said of the section above, then the numbers of the work, in rows: what they are of, then each above what it says.
pub(super) fn figures(ruler: &Ruler, card: &Card, setting: Setting) -> Result<Piece, Fault> {
    let Setting { grain, width, .. } = setting;
    let first = grain * 19;
    let column = (width - first) / COLUMNS;
    let big = Face::Bold.em_of_cap(grain * 33 / 10);
    let small = Face::Regular.em_of_cap(grain * 161 / 100);
    let (cap, step) = (Face::Bold.cap(big), line_step(Face::Regular, small));
    let room = grain * 12 / 10;
    let mut piece = Piece::default();
    if let Some(text) = &card.stirred {
        stack(ruler, &mut piece, Face::Regular, setting.small_em, text, width)?;
    }
    for (at, Row { name, figures }) in card.figures.iter().enumerate() {
        let top = if at == 0 && piece.height == 0 { 0 } else { piece.height + grain * 18 / 10 };
        let em = Face::Regular.em_of_cap(grain * 19 / 10);
        let mut low = top;
        for (at, line) in (0..).zip(ruler.lines(Face::Regular, em, name, first - room)?) {
            let y = top + Face::Regular.cap(em) + at * line_step(Face::Regular, em);
            piece.line(Face::Regular, em, (0, y), line);
            low = low.max(y + Face::Regular.descent(em));
        }
        let (mut x, mut y) = (first, top);
        for figure in figures {
            let wide = ruler.width(Face::Bold, big, &figure.value)?;
            let columns = (wide + room + column - 1) / column;
            if x > first && x + columns * column > width {
                (x, y) = (first, low + grain * 12 / 10);
            }
            piece.line(Face::Bold, big, (x, y + cap), figure.value.clone());
            let mut under = y + cap + grain * 3 / 10;
            for line in ruler.lines(Face::Regular, small, &figure.name, columns * column - room)? {
                under += step;
                piece.line(Face::Regular, small, (x, under), line);
            }
            low = low.max(under + Face::Regular.descent(small));
            x += columns * column;
        }
        piece.height = low;
    }
    Ok(piece)
}

/// The work, numbered.
///
/// * `em`: size of an em, in micrometres.
pub(super) fn steps(ruler: &Ruler, card: &Card, setting: Setting, em: i64) -> Result<Piece, Fault> {
    let Setting { grain, width, .. } = setting;
    let face = Face::Regular;
    let indent = em * 6 / 4;
    let mut piece = Piece::default();
    for (at, step) in card.steps.iter().enumerate() {
        if at > 0 {
            piece.height += grain * 9 / 10;
        }
        let baseline = piece.height + face.cap(em);
        piece.line(Face::Bold, em, (0, baseline), (at + 1).to_string());
        for (at, line) in (0..).zip(ruler.lines(face, em, step, width - indent)?) {
            let y = baseline + at * line_step(face, em);
            piece.line(face, em, (indent, y), line);
            piece.height = y + face.descent(em);
        }
    }
    Ok(piece)
}

/// What stands at the lower edge, from above.
pub(super) fn foot(
    ruler: &Ruler,
    card: &Card,
    setting: Setting,
    ratio: Option<Ratio>,
) -> Result<Vec<Piece>, Fault> {
    Ok(vec![
        allergens(ruler, card, setting)?,
        cautions(ruler, card, setting)?,
        stamps(ruler, card, setting, ratio)?,
    ])
}

/// The allergens, in a frame.
pub(super) fn allergens(ruler: &Ruler, card: &Card, setting: Setting) -> Result<Piece, Fault> {
    let contains = card.contains.iter().map(|text| (Face::Bold, 23, text));
    let may_contain = card.may_contain.iter().map(|text| (Face::Regular, 18, text));
    let all: Vec<(Face, i64, &String)> = contains.chain(may_contain).collect();
    frame(ruler, setting, &all)
}

/// Texts in a frame; nothing where there is none.
///
/// * `texts`: each with its face and the height of its capitals in tenths of a millimetre.
fn frame(ruler: &Ruler, setting: Setting, texts: &[(Face, i64, &String)]) -> Result<Piece, Fault> {
    let Setting { grain, width, .. } = setting;
    if texts.is_empty() {
        return Ok(Piece::default());
    }
    let (edge, frame) = (grain * 17 / 10, grain / 2);
    let mut within = Piece { height: edge, ..Piece::default() };
    for (at, (face, cap, text)) in texts.iter().enumerate() {
        within.height += if at == 0 { 0 } else { grain * 7 / 10 };
        let em = face.em_of_cap(grain * cap / 10);
        stack(ruler, &mut within, *face, em, text, width - 2 * edge)?;
    }
    for line in &mut within.lines {
        line.x += edge;
    }
    within.height += edge;
    let inset = frame / 2;
    let outline = Path::rect(inset, inset, width - frame, within.height - frame);
    within.shapes.push((outline, Paint::Stroke { width: frame, dash: None }));
    Ok(within)
}

/// The cautions and what the drink allows, in small print.
pub(super) fn cautions(ruler: &Ruler, card: &Card, setting: Setting) -> Result<Piece, Fault> {
    let mut piece = Piece::default();
    let scalds = card.scalds.iter().map(|text| (Face::Bold, text));
    let others = card.cautions.iter().chain(&card.allows).map(|text| (Face::Regular, text));
    for (face, text) in scalds.chain(others) {
        if piece.height > 0 {
            piece.height += setting.grain * 6 / 10;
        }
        stack(ruler, &mut piece, face, setting.small_em, text, setting.width)?;
    }
    Ok(piece)
}

/// What the card was worked from, and the scale.
pub(super) fn stamps(
    ruler: &Ruler,
    card: &Card,
    setting: Setting,
    ratio: Option<Ratio>,
) -> Result<Piece, Fault> {
    let scale = ratio.map(|ratio| format!("{} {}", card.headings.section, ratio.said()));
    let all: Vec<&str> = card.stamps.iter().chain(&scale).map(String::as_str).collect();
    let mut piece = Piece::default();
    let text = all.join(" · ");
    stack(ruler, &mut piece, Face::Regular, setting.small_em, &text, setting.width)?;
    Ok(piece)
}
