//! Where the parts of a card stand on its paper. Nothing is cut off: what has no room is set smaller,
//! down to a floor, then goes onto a second page.

use super::{
    content::Card,
    para::{Piece, Ruler},
    parts,
    section::{Laid, Ratio, SectionDrawn, Sizes, laid},
};
use crate::label::{Face, Fault, Mark, Paint, Path, Sheet};

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 105 × 148 mm (ISO 216).
    A6,
    /// 210 × 297 mm (ISO 216).
    A4,
}

/// A card with everything that is on it.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Its pages; one, unless it has more to say than fits.
    pub sheets: Vec<Sheet>,
    /// The section, which is on the first.
    pub section: SectionDrawn,
}

/// Least height of a small x that is read on paper: 1.2 mm, as for small print of food (Regulation
/// (EU) No 1169/2011, Article 13(2)).
const X_FLOOR: i64 = 1_200;

impl Paper {
    /// Width and height in micrometres.
    pub const fn size(self) -> (i64, i64) {
        match self {
            Self::A6 => (105_000, 148_000),
            Self::A4 => (210_000, 297_000),
        }
    }

    /// Dots per inch at which it is made a picture.
    pub const fn dpi(self) -> u16 {
        match self {
            Self::A6 => 300,
            Self::A4 => 150,
        }
    }

    /// The paper with the id, such as `a6`.
    pub fn of(id: &str) -> Option<Self> {
        match id {
            "a6" => Some(Self::A6),
            "a4" => Some(Self::A4),
            _ => None,
        }
    }

    /// What a millimetre of the small card is on this one.
    const fn grain(self) -> i64 {
        match self {
            Self::A6 => 1_000,
            Self::A4 => 2_000,
        }
    }

    /// The scales in which a cup may be drawn, the largest first.
    const fn ratios(self) -> &'static [Ratio] {
        const fn ratio(paper: i64, cup: i64) -> Ratio {
            Ratio { paper, cup }
        }
        const ALL: &[Ratio] =
            &[ratio(1, 1), ratio(2, 3), ratio(1, 2), ratio(2, 5), ratio(1, 3), ratio(1, 4)];
        match self {
            Self::A4 => ALL,
            Self::A6 => ALL.split_at(1).1,
        }
    }
}

/// How large the parts of a card are set.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setting {
    /// A millimetre of the small card, in micrometres.
    pub(super) grain: i64,
    /// Width of a line, in micrometres.
    pub(super) width: i64,
    /// An em of the steps.
    pub(super) step_em: i64,
    /// An em of small print.
    pub(super) small_em: i64,
}

/// Room at the edges, in millimetres of the small card.
const MARGIN: i64 = 5;

/// The card on its paper.
///
/// * Errors: a character that the font lacks; no room for it, on two pages either.
pub fn drawn(card: &Card, paper: Paper) -> Result<Drawn, Fault> {
    let ruler = Ruler::default();
    if let Some(one) = on_one_page(&ruler, card, paper)? {
        return Ok(one);
    }
    on_two_pages(&ruler, card, paper)
}

/// Every way of setting a card, the best first: large text and a large cup both count.
fn ways(paper: Paper) -> Vec<(Setting, Ratio)> {
    let grain = paper.grain();
    let width = paper.size().0 - 2 * MARGIN * grain;
    let floor = Face::Regular.em_of_x_height(X_FLOOR);
    let small_em = floor.max(Face::Regular.em_of_cap(grain * 17 / 10));
    let mut all = Vec::new();
    for tenth in 14..=27 {
        let step_em = Face::Regular.em_of_cap(tenth * grain / 10);
        if step_em < floor {
            continue;
        }
        for (at, ratio) in (0..).zip(paper.ratios()) {
            // One size of the cup is worth four tenths of a millimetre of the text.
            let cost = (27 - tenth) + 4 * at + if tenth < 18 { 18 - tenth } else { 0 };
            let setting = Setting { grain, width, step_em, small_em: small_em.min(step_em) };
            all.push((cost, setting, *ratio));
        }
    }
    all.sort_by_key(|(cost, _, _)| *cost);
    all.into_iter().map(|(_, setting, ratio)| (setting, ratio)).collect()
}

fn section(
    ruler: &Ruler,
    card: &Card,
    setting: Setting,
    ratio: Ratio,
) -> Result<Option<Laid>, Fault> {
    let Setting { grain, width, .. } = setting;
    let sizes = Sizes { grain, figure: grain * 32 / 10, name: grain * 21 / 10 };
    laid(ruler, &card.section, ratio, width, sizes)
}

/// The section alone, for a page that sets everything else itself.
pub(super) fn section_sheet(card: &Card) -> Result<(Sheet, Ratio), Fault> {
    let ruler = Ruler::default();
    let mut ways = ways(Paper::A6);
    ways.sort_by_key(|(_, ratio)| ratio.cup * 12 / ratio.paper);
    for (setting, ratio) in ways {
        if ratio.of(card.section.cone.brim()) > 60 * setting.grain {
            continue;
        }
        let Some(Laid { piece, .. }) = section(&ruler, card, setting, ratio)? else { continue };
        let edge = setting.grain / 2;
        let (width, height) = (setting.width + 2 * edge, piece.height + 2 * edge);
        let marks = piece.at((edge, edge))?;
        let (title, lang) = (card.title.clone(), card.lang.clone());
        let spoken = card.section.said().join("\n");
        return Ok((Sheet { width, height, marks, title, spoken, lang }, ratio));
    }
    Err(Fault::NoRoom { text: card.title.clone(), width_mm: 95, height_mm: 60 })
}

fn on_one_page(ruler: &Ruler, card: &Card, paper: Paper) -> Result<Option<Drawn>, Fault> {
    for (setting, ratio) in ways(paper) {
        let Some(laid) = section(ruler, card, setting, ratio)? else { continue };
        let Laid { piece, drawn } = laid;
        let upper = vec![
            parts::head(ruler, card, setting)?,
            piece,
            parts::figures(ruler, card, setting)?,
            parts::steps(ruler, card, setting)?,
        ];
        let lower = parts::foot(ruler, card, setting, Some(ratio))?;
        if let Some(made) = page(paper, setting, upper, lower)? {
            let (marks, tops) = made;
            let section = drawn.moved(MARGIN * setting.grain, tops[1]);
            return Ok(Some(Drawn { sheets: vec![sheet(card, paper, marks, 1)], section }));
        }
    }
    Ok(None)
}

fn on_two_pages(ruler: &Ruler, card: &Card, paper: Paper) -> Result<Drawn, Fault> {
    let mut first = None;
    for (setting, ratio) in ways(paper) {
        let Some(Laid { piece, drawn }) = section(ruler, card, setting, ratio)? else { continue };
        let upper = vec![
            parts::head(ruler, card, setting)?,
            piece,
            parts::figures(ruler, card, setting)?,
        ];
        let lower = vec![
            parts::allergens(ruler, card, setting)?,
            parts::stamps(ruler, card, setting, Some(ratio))?,
        ];
        if let Some((marks, tops)) = page(paper, setting, upper, lower)? {
            first = Some((marks, drawn.moved(MARGIN * setting.grain, tops[1])));
            break;
        }
    }
    for (setting, _) in ways(paper) {
        let upper =
            vec![parts::head(ruler, card, setting)?, parts::steps(ruler, card, setting)?];
        let lower = vec![
            parts::allergens(ruler, card, setting)?,
            parts::cautions(ruler, card, setting)?,
            parts::stamps(ruler, card, setting, None)?,
        ];
        let Some((first, section)) = &first else { break };
        if let Some((marks, _)) = page(paper, setting, upper, lower)? {
            let sheets =
                vec![sheet(card, paper, first.clone(), 1), sheet(card, paper, marks, 2)];
            return Ok(Drawn { sheets, section: section.clone() });
        }
    }
    let (width, height) = paper.size();
    let text = card.title.clone();
    Err(Fault::NoRoom { text, width_mm: width / 1_000, height_mm: height / 1_000 })
}

/// Parts from the top, and others down to the lower edge, with rules between them.
///
/// * Result: the marks with the upper end of each upper part; none if they have no room.
fn page(
    paper: Paper,
    setting: Setting,
    upper: Vec<Piece>,
    lower: Vec<Piece>,
) -> Result<Option<(Vec<Mark>, Vec<i64>)>, Fault> {
    let Setting { grain, width, .. } = setting;
    let full = |pieces: Vec<Piece>| -> Vec<Piece> {
        pieces.into_iter().filter(|piece| piece.height > 0).collect()
    };
    let (upper, lower) = (full(upper), full(lower));
    let (margin, gap) = (MARGIN * grain, grain * 22 / 10);
    let count = |pieces: &[Piece]| i64::try_from(pieces.len()).unwrap_or_default();
    let sum = |pieces: &[Piece]| pieces.iter().map(|piece| piece.height).sum::<i64>();
    let gaps = count(&upper) + count(&lower) - 1;
    let room = paper.size().1 - 2 * margin;
    let left = room - sum(&upper) - sum(&lower) - gaps * gap;
    if left < 0 {
        return Ok(None);
    }
    // White that is left over goes between the parts, and what is too much above the lower ones.
    let gap = gap + (left / count(&upper).max(1)).min(grain * 28 / 10);
    let mut marks = Vec::new();
    let mut tops = Vec::new();
    let mut y = margin;
    let rule = |y: i64| {
        let line = Path::line(&[(margin, y), (margin + width, y)]);
        Mark::Shape(line, Paint::Stroke { width: grain * 18 / 100, dash: None })
    };
    for (at, piece) in upper.into_iter().enumerate() {
        if at > 0 {
            marks.push(rule(y + gap / 2));
            y += gap;
        }
        tops.push(y);
        let height = piece.height;
        marks.extend(piece.at((margin, y))?);
        y += height;
    }
    let gap = grain * 22 / 10;
    y = paper.size().1 - margin - sum(&lower) - (count(&lower) - 1) * gap;
    for piece in lower {
        let height = piece.height;
        marks.extend(piece.at((margin, y))?);
        y += height + gap;
    }
    Ok(Some((marks, tops)))
}

fn sheet(card: &Card, paper: Paper, marks: Vec<Mark>, n: usize) -> Sheet {
    let (width, height) = paper.size();
    let title = if n == 1 { card.title.clone() } else { format!("{} ({n})", card.title) };
    let lang = card.lang.clone();
    Sheet { width, height, marks, title, spoken: card.said().join("\n"), lang }
}

/// Sheets of one width as one, each under the one before: for forms that have no pages.
pub fn stacked(sheets: &[Sheet]) -> Option<Sheet> {
    let mut sheets = sheets.iter();
    let mut whole = sheets.next()?.clone();
    for sheet in sheets {
        let down = whole.height;
        whole.marks.extend(sheet.marks.iter().map(|mark| mark.clone().moved(0, down)));
        whole.height += sheet.height;
    }
    Some(whole)
}
