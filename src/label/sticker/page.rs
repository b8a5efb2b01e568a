//! One way of setting what a cup's stickers say: in these sizes, by this name of the drink.

use std::rc::Rc;

use super::{
    content::{Content, Zone},
    flow::{Element, Flow, Placed, Room},
    layout::{Label, MARGIN, corner_of, dots_to_um},
    shaped::{BETWEEN, Shaped},
    sizes::Sizes,
};
use crate::label::{Face, Fault, Run, shape};

/// A way of setting what a cup's stickers say.
#[derive(Clone, Copy)]
pub(super) struct Page<'a> {
    pub(super) content: &'a Content,
    pub(super) shaped: &'a Shaped,
    pub(super) label: Label,
    pub(super) sizes: Sizes,
    /// Which of the drink's names.
    pub(super) name: usize,
}

/// Most lines of a drink's name, where it has a shorter one.
const NAME_LINES: usize = 2;

fn element(zone: Zone, run: &Rc<Run>, em: i64) -> Element {
    Element { zone, run: Rc::clone(run), em }
}

impl Page<'_> {
    fn room(&self, with_code: bool) -> Room {
        let Label { width, height, dpi, .. } = self.label;
        let code = self.content.code.as_ref().filter(|_| with_code).map(|code| {
            let (left, top) = corner_of(self.label, code);
            (dots_to_um(left, dpi), dots_to_um(top, dpi))
        });
        Room { width, height, margin: MARGIN, code }
    }

    /// What every sticker of a cup begins with.
    ///
    /// * `drink`: size of the drink's name.
    fn head(&self, drink: i64) -> Vec<Element> {
        let Shaped { allergy, stamps, drink: names, .. } = self.shaped;
        let band = allergy.iter().map(|run| element(Zone::Allergy, run, self.sizes.allergy));
        let stamps = stamps.iter().map(|run| element(Zone::Stamp, run, self.sizes.change));
        let name = names.get(self.name).map(|run| element(Zone::Drink, run, drink));
        band.chain(stamps).chain(name).collect()
    }

    /// What stands between the drink and whose it is.
    fn middle(&self) -> Vec<Element> {
        let Shaped { cup, changes, note, .. } = self.shaped;
        let Sizes { cup: vessel, change, who, .. } = self.sizes;
        let cup = cup.iter().map(|run| element(Zone::Cup, run, vessel));
        let changes = changes.iter().map(|run| element(Zone::Change, run, change));
        let note = note.iter().map(|run| element(Zone::Note, run, who));
        cup.chain(changes).chain(note).collect()
    }

    /// Whose it is, that it is hot, and the sentences about allergens.
    fn lower(&self) -> Vec<Element> {
        let Shaped { who, who_hot, hot, allergens, joined, .. } = self.shaped;
        let Sizes { who: large, small, joined: is_joined, .. } = self.sizes;
        let mut all = Vec::with_capacity(6);
        if is_joined {
            all.extend(who_hot.iter().map(|run| element(Zone::Who, run, large)));
            all.extend(joined.iter().map(|run| element(Zone::Allergens, run, small)));
        } else {
            all.extend(who.iter().map(|run| element(Zone::Who, run, large)));
            all.extend(hot.iter().map(|run| element(Zone::Hot, run, small)));
            all.extend(allergens.iter().map(|run| element(Zone::Allergens, run, small)));
        }
        all
    }

    /// What stands above whose it is, if it has room.
    fn upper(&self, with_code: bool) -> Result<Option<Flow>, Fault> {
        let mut flow = Flow::new(self.room(with_code));
        for element in self.head(self.sizes.drink).into_iter().chain(self.middle()) {
            // A long name goes over to a shorter one rather than over a third line.
            let has_shorter = self.name + 1 < self.shaped.drink.len();
            let is_name = element.zone == Zone::Drink && has_shorter;
            if !flow.whole(&element, if is_name { NAME_LINES } else { usize::MAX })? {
                return Ok(None);
            }
        }
        Ok(Some(flow))
    }

    /// Everything on one sticker, line under line, if it has room.
    pub(super) fn close(&self, with_code: bool) -> Result<Option<Flow>, Fault> {
        let Some(flow) = self.upper(with_code)? else { return Ok(None) };
        set_all(flow, &self.lower())
    }

    /// The same, what stands under the changes as low as it goes.
    pub(super) fn single(&self, with_code: bool) -> Result<Option<Flow>, Fault> {
        let Some(flow) = self.upper(with_code)? else { return Ok(None) };
        let lower = self.lower();
        let Some(close) = set_all(flow.clone(), &lower)? else { return Ok(None) };
        let end = close.rows.last().map_or(0, |row| row.bottom);
        let spare = self.label.height - MARGIN - end;
        // Lines that sink beside a code become narrower, and may then be more.
        for share in [8, 7, 6, 5, 4, 3, 2, 1] {
            let mut low = flow.clone();
            low.skip(spare * share / 8);
            if let Some(set) = set_all(low, &lower)? {
                return Ok(Some(set));
            }
        }
        Ok(Some(close))
    }

    /// Everything on several stickers, each with the declared allergies, the drink, and which it is.
    ///
    /// * `parts`: how many of them, as each says.
    /// * Errors: a label on which a single line has no room beside these.
    pub(super) fn parts(&self, parts: usize) -> Result<Vec<Flow>, Fault> {
        let separate = Self { sizes: Sizes { joined: false, ..self.sizes }, ..*self };
        match separate.parts_with(parts, false) {
            // Where a long name or allergy fills the label, both go down to the least letters.
            Err(Fault::NoRoom { .. }) => separate.parts_with(parts, true),
            other => other,
        }
    }

    fn parts_with(&self, parts: usize, tight: bool) -> Result<Vec<Flow>, Fault> {
        let mut left: Vec<Element> = self.middle().into_iter().chain(self.lower()).collect();
        left.reverse();
        let mut flows = Vec::new();
        while flows.is_empty() || !left.is_empty() {
            let mut flow = self.begun((flows.len() + 1, parts), tight)?;
            let head = flow.rows.len();
            while let Some(element) = left.pop() {
                if flow.whole(&element, usize::MAX)? {
                    continue;
                }
                let is_alone = flow.rows.len() == head;
                match if is_alone { flow.set(&element, usize::MAX)? } else { Placed::Not } {
                    Placed::Whole => {}
                    Placed::Rest(rest) => left.push(rest),
                    Placed::Not if is_alone => return Err(self.no_room(&element.run.text)),
                    Placed::Not => left.push(element),
                }
                break;
            }
            flows.push(flow);
        }
        Ok(flows)
    }

    /// One of several stickers with what stands on each of them.
    fn begun(&self, (part, parts): (usize, usize), tight: bool) -> Result<Flow, Fault> {
        let mut flow = Flow::new(self.room(false));
        // Whoever reads the second knows the drink from the first.
        let is_first = part == 1 && !tight;
        let drink = if is_first { self.sizes.drink } else { self.sizes.change };
        let which = format!("{} {part}/{parts}", self.content.part);
        let cup = self.content.which.iter();
        let which: Vec<&str> = std::iter::once(&which).chain(cup).map(String::as_str).collect();
        let which = Rc::new(shape(Face::Bold, &which.join(BETWEEN))?);
        let which = element(Zone::Who, &which, self.sizes.who);
        let mut head = self.head(drink);
        for band in head.iter_mut().filter(|one| tight && one.zone == Zone::Allergy) {
            band.em = self.sizes.change;
        }
        for element in head.iter().chain([&which]) {
            if !flow.whole(element, usize::MAX)? {
                return Err(self.no_room(&element.run.text));
            }
        }
        Ok(flow)
    }

    pub(super) fn no_room(&self, text: &str) -> Fault {
        let Label { width, height, .. } = self.label;
        Fault::NoRoom { text: text.to_owned(), width_mm: width / 1_000, height_mm: height / 1_000 }
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
