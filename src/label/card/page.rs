//! Where the parts of a card stand on its paper. Nothing is cut off: what has no room is set smaller,
//! down to a floor, then goes onto a second page.

use super::{
    content::Card,
    para::{Piece, Ruler, with_ruler},
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
    /// An em of small print.
    pub(super) small_em: i64,
}

/// Room at the edges, in millimetres of the small card.
const MARGIN: i64 = 5;

/// The card on its paper.
///
/// What the drink allows is left out where the card would need a second page for it: the work can do
/// without.
///
/// * Errors: a character that the font lacks; no room for it, on two pages either.
pub fn drawn(card: &Card, paper: Paper) -> Result<Drawn, Fault> {
    with_ruler(|ruler| {
        if let Some(one) = on_one_page(ruler, card, paper)? {
            return Ok(one);
        }
        let without = Card { allows: None, ..card.clone() };
        match on_one_page(ruler, &without, paper)? {
            Some(one) => Ok(one),
            None => on_two_pages(ruler, card, paper),
        }
    })
}

fn setting(paper: Paper) -> Setting {
    let grain = paper.grain();
    let floor = Face::Regular.em_of_x_height(X_FLOOR);
    let small_em = floor.max(Face::Regular.em_of_cap(grain * 14 / 10));
    Setting { grain, width: paper.size().0 - 2 * MARGIN * grain, small_em }
}

/// Sections of the card's cup, each with how much worse it is than the best: in every scale, with
/// large labels and with small ones.
fn sections(ruler: &Ruler, card: &Card, paper: Paper) -> Result<Vec<(i64, Laid)>, Fault> {
    let Setting { grain, width, .. } = setting(paper);
    let mut all = Vec::new();
    for (worse, figure, name) in [(0, 35, 21), (4, 31, 19), (8, 27, 17)] {
        let sizes = Sizes { grain, figure: grain * figure / 10, name: grain * name / 10 };
        for (at, ratio) in (0..).zip(paper.ratios()) {
            let laid = laid(ruler, &card.section, *ratio, width, sizes)?;
            all.extend(laid.map(|laid| (worse + 4 * at, laid)));
        }
    }
    Ok(all)
}

/// The steps in every size down to the floor, each with how much worse it is than the largest.
fn steps(ruler: &Ruler, card: &Card, paper: Paper) -> Result<Vec<(i64, Piece)>, Fault> {
    let setting = setting(paper);
    let floor = Face::Regular.em_of_x_height(X_FLOOR);
    let mut all = Vec::new();
    for tenth in 8..=26 {
        let em = Face::Regular.em_of_cap(tenth * setting.grain / 10);
        if em >= floor {
            // What is small is worse for each tenth than what is large.
            let worse = (26 - tenth) + 2 * (19 - tenth).max(0);
            all.push((worse, parts::steps(ruler, card, setting, em)?));
        }
    }
    // The floor itself.
    all.push((40, parts::steps(ruler, card, setting, floor)?));
    Ok(all)
}

/// The section alone, for a page that sets everything else itself.
pub(super) fn section_sheet(card: &Card) -> Result<(Sheet, Ratio), Fault> {
    let paper = Paper::A6;
    let Setting { grain, width, .. } = setting(paper);
    let mut all = with_ruler(|ruler| sections(ruler, card, paper))?;
    all.retain(|(_, laid)| laid.piece.height <= 75 * grain);
    let Some((_, laid)) = all.into_iter().min_by_key(|(worse, _)| *worse) else {
        return Err(no_room(card, paper));
    };
    let edge = grain / 2;
    let (width, height) = (width + 2 * edge, laid.piece.height + 2 * edge);
    let (mut marks, drawn) = laid.under(&card.section, (edge, edge), grain);
    marks.extend(laid.piece.at((edge, edge))?);
    let (title, lang) = (card.title.clone(), card.lang.clone());
    let spoken = card.section.said().join("\n");
    Ok((Sheet { width, height, marks, title, spoken, lang }, drawn.ratio))
}

fn no_room(card: &Card, paper: Paper) -> Fault {
    let (width, height) = paper.size();
    let text = card.title.clone();
    Fault::NoRoom { text, width_mm: width / 1_000, height_mm: height / 1_000 }
}

fn on_one_page(ruler: &Ruler, card: &Card, paper: Paper) -> Result<Option<Drawn>, Fault> {
    let setting = setting(paper);
    let head = parts::head(ruler, card, setting, true)?;
    let figures = parts::figures(ruler, card, setting)?;
    let sections = sections(ruler, card, paper)?;
    let steps = steps(ruler, card, paper)?;
    let mut ways = Vec::new();
    for (one, laid) in &sections {
        ways.extend(steps.iter().map(|(other, piece)| (one + other, laid, piece)));
    }
    ways.sort_by_key(|(worse, _, _)| *worse);
    for (_, laid, steps) in ways {
        let upper = [&head, &laid.piece, &figures, steps];
        let lower = parts::foot(ruler, card, setting, Some(laid.drawn.ratio))?;
        let lower: Vec<&Piece> = lower.iter().collect();
        if let Some((marks, tops)) = page(paper, setting, &upper, &lower)? {
            let (marks, section) = with_cup(card, setting, laid, marks, &tops);
            return Ok(Some(Drawn { sheets: vec![sheet(card, paper, marks, 1)], section }));
        }
    }
    Ok(None)
}

/// The marks of a page with the cup under the labels of its section, the second part.
fn with_cup(
    card: &Card,
    setting: Setting,
    laid: &Laid,
    labels: Vec<Mark>,
    tops: &[i64],
) -> (Vec<Mark>, SectionDrawn) {
    let top = tops.get(1).copied().unwrap_or_default();
    let at = (MARGIN * setting.grain, top);
    let (mut marks, section) = laid.under(&card.section, at, setting.grain);
    marks.extend(labels);
    (marks, section)
}

/// What is told of the order stands on both pages, or on the one on which it has room.
fn on_two_pages(ruler: &Ruler, card: &Card, paper: Paper) -> Result<Drawn, Fault> {
    let setting = setting(paper);
    let mut sections = sections(ruler, card, paper)?;
    sections.sort_by_key(|(worse, _)| *worse);
    let mut steps = steps(ruler, card, paper)?;
    steps.sort_by_key(|(worse, _)| *worse);
    for told in [(true, true), (true, false), (false, true)] {
        let head = |told| parts::head(ruler, card, setting, told);
        let Some((first, section)) = first_page(ruler, card, paper, &head(told.0)?, &sections)?
        else {
            continue;
        };
        if let Some(second) = second_page(ruler, card, paper, &head(told.1)?, &steps)? {
            let sheets = vec![sheet(card, paper, first, 1), sheet(card, paper, second, 2)];
            return Ok(Drawn { sheets, section });
        }
    }
    Err(no_room(card, paper))
}

/// The section, the numbers and the allergens; none if they have no room.
fn first_page(
    ruler: &Ruler,
    card: &Card,
    paper: Paper,
    head: &Piece,
    sections: &[(i64, Laid)],
) -> Result<Option<(Vec<Mark>, SectionDrawn)>, Fault> {
    let setting = setting(paper);
    let figures = parts::figures(ruler, card, setting)?;
    let allergens = parts::allergens(ruler, card, setting)?;
    for (_, laid) in sections {
        let stamps = parts::stamps(ruler, card, setting, Some(laid.drawn.ratio))?;
        let upper = [head, &laid.piece, &figures];
        if let Some((marks, tops)) = page(paper, setting, &upper, &[&allergens, &stamps])? {
            return Ok(Some(with_cup(card, setting, laid, marks, &tops)));
        }
    }
    Ok(None)
}

/// The steps with allergens and cautions; none if they have no room.
fn second_page(
    ruler: &Ruler,
    card: &Card,
    paper: Paper,
    head: &Piece,
    steps: &[(i64, Piece)],
) -> Result<Option<Vec<Mark>>, Fault> {
    let setting = setting(paper);
    let allergens = parts::allergens(ruler, card, setting)?;
    let cautions = parts::cautions(ruler, card, setting)?;
    let stamps = parts::stamps(ruler, card, setting, None)?;
    for (_, steps) in steps {
        let lower = [&allergens, &cautions, &stamps];
        if let Some((second, _)) = page(paper, setting, &[head, steps], &lower)? {
            return Ok(Some(second));
        }
    }
    Ok(None)
}

/// The marks of a page, and where each of its upper parts begins.
type Placed = (Vec<Mark>, Vec<i64>);

/// Parts from the top, and others down to the lower edge, with rules between them.
///
/// * Result: the marks with the upper end of each upper part; none if they have no room.
fn page(
    paper: Paper,
    setting: Setting,
    upper: &[&Piece],
    lower: &[&Piece],
) -> Result<Option<Placed>, Fault> {
    let Setting { grain, width, .. } = setting;
    let (margin, least) = (MARGIN * grain, grain * 22 / 10);
    let lower = || lower.iter().filter(|piece| piece.height > 0);
    let below: i64 = lower().map(|piece| piece.height + least).sum();
    let gaps = i64::try_from(upper.len()).unwrap_or(1) - 1;
    let above: i64 = upper.iter().map(|piece| piece.height).sum();
    let left = paper.size().1 - 2 * margin - above - below - gaps * least;
    if left < 0 {
        return Ok(None);
    }
    // White that is left over goes between the parts, and what is too much above the lower ones.
    let gap = least + (left / (gaps + 1)).min(grain * 28 / 10);
    let rule = |y: i64| {
        let line = Path::line(&[(margin, y), (margin + width, y)]);
        Mark::Shape(line, Paint::Stroke { width: grain * 18 / 100, dash: None })
    };
    let (mut marks, mut tops) = (Vec::new(), Vec::new());
    let mut y = margin;
    for (at, piece) in upper.iter().enumerate() {
        if at > 0 {
            marks.push(rule(y + gap / 2));
            y += gap;
        }
        tops.push(y);
        marks.extend(piece.at((margin, y))?);
        y += piece.height;
    }
    y = paper.size().1 - margin - below;
    for piece in lower() {
        y += least;
        marks.extend(piece.at((margin, y))?);
        y += piece.height;
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
