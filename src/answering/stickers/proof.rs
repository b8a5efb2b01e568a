//! Whether what a drink's stickers can say has room on a site's labels: measured, not guessed.

use std::cmp::Reverse;

use super::content::{Cup, said};
use crate::{
    book::{Bar, Printer, StickerRules},
    engine::{Build, Given, Line, Moment, build_line},
    in_force::{InForce, ways},
    label::{
        Sheet,
        sticker::{Content, Label, Sticker, over, stickers},
    },
    wire::OrderInfo,
    words::{self, Catalogue},
};

/// A label of a site, in one of its languages.
#[derive(Clone, Copy, Debug)]
pub struct LabelOfSite<'a> {
    /// The bar.
    pub bar: &'a Bar,
    /// The language.
    pub catalogue: &'a Catalogue,
    /// The label.
    pub label: Label,
}

/// Every label of a site's printers in each of its languages, each once.
pub fn labels_of<'a>(held: &'a InForce, bar: &'a Bar) -> Vec<LabelOfSite<'a>> {
    let mut all: Vec<LabelOfSite<'a>> = Vec::new();
    for lang in &bar.site.languages {
        let Ok(catalogue) = held.catalogue(bar, Some(lang)) else { continue };
        for Printer { media, dpi, .. } in &bar.site.printers {
            let (width, height) = (media.width_mm.um(), media.height_mm.um());
            let StickerRules { read_at_mm, held_at_mm, margin_mm, code: _ } = bar.site.stickers;
            let (read_at, held_at) = (read_at_mm.um(), held_at_mm.um());
            let label =
                Label { width, height, dpi: *dpi, read_at, held_at, margin: margin_mm.um() };
            if !all.iter().any(|one| one.label == label && one.catalogue.lang == catalogue.lang) {
                all.push(LabelOfSite { bar, catalogue, label });
            }
        }
    }
    all
}

/// How a drink's orders fit on a label.
#[derive(Clone, Debug, Default)]
pub struct DrinkFit {
    /// Orders with at most one modifier, by how many stickers a cup takes: one, two, three, and more.
    pub orders: [usize; 4],
    /// Orders with all that goes together.
    pub crowded: usize,
    /// Most stickers that a cup takes.
    pub most: usize,
    /// What is set on more than one, the most crowded first, and what cannot be set at all.
    pub unfit: Vec<Unfit>,
}

/// An order that does not fit on one sticker.
#[derive(Clone, Debug)]
pub struct Unfit {
    /// The drink, and what is different, in words.
    pub order: String,
    /// What is missing of the height in the least letters, in micrometres.
    pub over: i64,
    /// Stickers that its cup takes; none if it cannot be drawn.
    pub takes: Option<usize>,
    /// Why it cannot be drawn.
    pub fault: Option<String>,
    /// What is drawn.
    pub sheets: Vec<Sheet>,
}

/// Crowded orders that are kept to be looked at, of each drink.
const KEPT: usize = 3;

/// Whose cup it is, for the proof: a name as long as most, and a time.
fn somebody(name: &str, reference: &str) -> OrderInfo {
    OrderInfo {
        r#ref: Some(reference.to_owned()),
        name: Some(name.to_owned()),
        at: Some("2026-11-28T10:45:00+01:00".to_owned()),
    }
}

/// A drink as it comes, with every modifier in each of its ways, and with as much at once as it takes.
pub fn stickers_fit(at: LabelOfSite<'_>, drink: &str) -> DrinkFit {
    let ways = ways(at.bar);
    let mut fit = DrinkFit::default();
    let usual = somebody("Annalise K", "A-217");
    let bare = Line { drink: drink.to_owned(), quantity: 1, ..Line::default() };
    let singles =
        ways.iter().flatten().map(|one| Line { modifiers: vec![one.clone()], ..bare.clone() });
    for line in std::iter::once(bare.clone()).chain(singles) {
        if let Ok(build) = build_line(at.bar, &line, &Moment::default()) {
            fit.count(at, &line, &build, &usual, true);
        }
    }
    let crowded = crowded(at, &bare, &ways);
    let longest =
        somebody("Maximiliane-Charlotte von und zu Altdorf", "ORDER-2026-11-28-TABLE-27-0000001");
    if let Ok(build) = build_line(at.bar, &crowded, &Moment::default()) {
        fit.count(at, &crowded, &build, &usual, false);
        fit.count(at, &crowded, &build, &longest, false);
    }
    for allergen in &at.bar.book.allergens {
        let declared = Line { allergies: vec![allergen.id.to_string()], ..crowded.clone() };
        if let Ok(build) = build_line(at.bar, &declared, &Moment::default()) {
            fit.count(at, &declared, &build, &longest, false);
        }
    }
    fit.unfit.sort_by_key(|one| (one.takes.is_some(), Reverse(one.over)));
    let failed = fit.unfit.iter().filter(|one| one.takes.is_none()).count();
    fit.unfit.truncate(failed.max(KEPT));
    fit
}

/// Lines as they are sold.
///
/// * Result: how often a line's cup takes so many stickers, each as often as it is sold; lines that
///   the site does not accept are left out.
pub fn sold_fit(at: LabelOfSite<'_>, lines: &[(Line, usize)]) -> DrinkFit {
    let mut fit = DrinkFit::default();
    let usual = somebody("Annalise K", "A-217");
    for (line, count) in lines {
        let Ok(build) = build_line(at.bar, line, &Moment::default()) else { continue };
        let before = fit.orders;
        fit.count(at, line, &build, &usual, true);
        for (now, before) in fit.orders.iter_mut().zip(before) {
            *now = before + (*now - before) * count;
        }
    }
    fit
}

/// The drink with every modifier that it takes beside the others, the longest to say first.
fn crowded(at: LabelOfSite<'_>, bare: &Line, ways: &[Vec<Given>]) -> Line {
    let mut line = bare.clone();
    let mut all: Vec<(usize, Vec<(usize, &Given)>)> = Vec::new();
    for one in ways {
        let mut said: Vec<(usize, &Given)> = one
            .iter()
            .map(|given| (words_of(at, bare, given), given))
            .filter(|(length, _)| *length > 0)
            .collect();
        said.sort_by_key(|(length, _)| Reverse(*length));
        all.extend(said.first().map(|(length, _)| *length).map(|length| (length, said)));
    }
    all.sort_by_key(|(length, _)| Reverse(*length));
    for (_, said) in all {
        for (_, given) in said {
            let mut more = line.clone();
            more.modifiers.push(given.clone());
            if build_line(at.bar, &more, &Moment::default()).is_ok() {
                line = more;
                break;
            }
        }
    }
    line
}

/// Letters that a modifier alone adds to a sticker; 0 if the drink does not take it.
fn words_of(at: LabelOfSite<'_>, bare: &Line, given: &Given) -> usize {
    let line = Line { modifiers: vec![given.clone()], ..bare.clone() };
    let Ok(build) = build_line(at.bar, &line, &Moment::default()) else { return 0 };
    let changes = build.changes.iter();
    changes.map(|one| words::sticker(at.catalogue, &one.sticker).chars().count()).sum()
}

impl DrinkFit {
    /// Orders in all.
    pub fn all(&self) -> usize {
        self.orders.iter().sum()
    }

    /// Counts another in.
    pub fn add(&mut self, other: Self) {
        for (sum, one) in self.orders.iter_mut().zip(other.orders) {
            *sum += one;
        }
        self.crowded += other.crowded;
        self.most = self.most.max(other.most);
        self.unfit.extend(other.unfit);
    }

    fn count(
        &mut self,
        at: LabelOfSite<'_>,
        line: &Line,
        build: &Build<'_>,
        info: &OrderInfo,
        is_plain: bool,
    ) {
        let LabelOfSite { bar, catalogue, label } = at;
        let cup = Cup { bar, catalogue, info: Some(info), line, place: (10, 12), reprint: false };
        let content = said(cup, build).content;
        match stickers(&content, label) {
            Ok(set) => {
                self.most = self.most.max(set.len());
                let place = set.len().clamp(1, 4) - 1;
                match self.orders.get_mut(place) {
                    Some(count) if is_plain => *count += 1,
                    _ => self.crowded += 1,
                }
                if set.len() > 1 {
                    self.unfit.push(unfit(&content, label, Some(set), None));
                }
            }
            Err(fault) => self.unfit.push(unfit(&content, label, None, Some(fault.to_string()))),
        }
    }
}

fn unfit(
    content: &Content,
    label: Label,
    set: Option<Vec<Sticker>>,
    fault: Option<String>,
) -> Unfit {
    let mut words: Vec<&str> = content.allergy.iter().map(String::as_str).collect();
    words.extend(content.drink.first().map(String::as_str));
    words.extend(content.changes.iter().map(String::as_str));
    Unfit {
        order: words.join(", "),
        over: over(content, label),
        takes: set.as_ref().map(Vec::len),
        fault,
        sheets: set.into_iter().flatten().map(|one| one.sheet).collect(),
    }
}
