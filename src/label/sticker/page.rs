//! One way of setting what a cup's stickers say: in these sizes, by this name of the drink.

use std::rc::Rc;

use super::{
    content::{Content, Zone},
    flow::{Element, Flow, Placed, Room},
    layout::{Label, corner_of, dots_to_um},
    shaped::{BETWEEN, Shaped},
    sizes::{Sentences, Sizes},
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
    /// Whether a word that is wider than a line may be broken.
    pub(super) may_break: bool,
}

/// How the stickers of one cup begin, where it takes several.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Head {
    /// Allergies and drink in their sizes.
    Usual,
    /// Both in the least letters, where they leave no room for anything else.
    Least,
    /// Allergies on the first alone, where they fill it; the others say so.
    Once,
}

/// Most lines of a drink's name, where it has a shorter one.
const NAME_LINES: usize = 2;

fn element(zone: Zone, run: &Rc<Run>, em: i64) -> Element {
    Element { zone, run: Rc::clone(run), em, beside: false }
}

impl Page<'_> {
    fn room(&self, with_code: bool) -> Room {
        let Label { width, height, dpi, margin, .. } = self.label;
        let code = self.content.code.as_ref().filter(|_| with_code).map(|code| {
            let (left, top) = corner_of(self.label, code);
            (dots_to_um(left, dpi), dots_to_um(top, dpi))
        });
        Room { width, height, margin, code, may_break: self.may_break }
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
        let Shaped { procedure, cup, changes, note, .. } = self.shaped;
        let Sizes { cup: vessel, change, who, small, .. } = self.sizes;
        let procedure = procedure.iter().map(|run| element(Zone::Procedure, run, small));
        let cup = cup.iter().map(|run| element(Zone::Cup, run, vessel));
        let changes = changes.iter().map(|run| element(Zone::Change, run, change));
        let note = note.iter().map(|run| element(Zone::Note, run, who));
        let mut all: Vec<Element> = cup.chain(procedure).chain(changes).chain(note).collect();
        if let Some(cup) = all.iter_mut().find(|one| one.zone == Zone::Cup) {
            cup.beside = self.sizes.beside;
        }
        all
    }

    /// Whose it is, that it is hot, and the sentences about allergens.
    fn lower(&self) -> Vec<Element> {
        let Shaped { who, who_hot, hot, allergens, joined, even, .. } = self.shaped;
        let Sizes { who: large, small, set, .. } = self.sizes;
        let mut all = Vec::with_capacity(6);
        let joined = if set == Sentences::Even { even } else { joined };
        if set == Sentences::Apart {
            all.extend(who.iter().map(|run| element(Zone::Who, run, large)));
            all.extend(hot.iter().map(|run| element(Zone::Hot, run, small)));
            all.extend(allergens.iter().map(|run| element(Zone::Allergens, run, small)));
        } else {
            all.extend(who_hot.iter().map(|run| element(Zone::Who, run, large)));
            all.extend(joined.iter().map(|run| element(Zone::Allergens, run, small)));
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
        let spare = self.label.height - self.label.margin - end;
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
        let separate = Self { sizes: Sizes { set: Sentences::Apart, ..self.sizes }, ..*self };
        let modes = [Head::Usual, Head::Least, Head::Once].into_iter();
        let mut told = None;
        for head in modes {
            match separate.parts_under(parts, head) {
                Err(Fault::NoRoom { text, width_mm, height_mm }) => {
                    told = Some(Fault::NoRoom { text, width_mm, height_mm });
                }
                other => return other,
            }
        }
        Err(told.unwrap_or_else(|| self.no_room(Zone::Drink)))
    }

    fn parts_under(&self, parts: usize, of: Head) -> Result<Vec<Flow>, Fault> {
        let mut left: Vec<Element> = self.middle().into_iter().chain(self.lower()).collect();
        left.reverse();
        let mut flows = Vec::new();
        while flows.is_empty() || !left.is_empty() {
            let part = flows.len() + 1;
            let mut flow = self.begun((part, parts), of)?;
            let may_be_bare = part == 1 && of == Head::Once;
            let head = flow.rows.len();
            while let Some(element) = left.pop() {
                if flow.whole(&element, usize::MAX)? {
                    continue;
                }
                let is_alone = flow.rows.len() == head;
                match if is_alone { flow.set(&element, usize::MAX)? } else { Placed::Not } {
                    Placed::Whole => {}
                    Placed::Rest(rest) => left.push(rest),
                    Placed::Not if is_alone && !may_be_bare => {
                        return Err(self.no_room(element.zone));
                    }
                    Placed::Not => left.push(element),
                }
                break;
            }
            flows.push(flow);
        }
        Ok(flows)
    }

    /// One of several stickers with what stands on each of them.
    fn begun(&self, (part, parts): (usize, usize), of: Head) -> Result<Flow, Fault> {
        let mut flow = Flow::new(self.room(false));
        // Whoever reads the second knows the drink from the first.
        let is_large = part == 1 && of == Head::Usual;
        let drink = if is_large { self.sizes.drink } else { self.sizes.change };
        let which = format!("{} {part}/{parts}", self.content.part);
        let cup = self.content.which.iter();
        let which: Vec<&str> = std::iter::once(&which).chain(cup).map(String::as_str).collect();
        let which = Rc::new(shape(Face::Bold, &which.join(BETWEEN))?);
        let which = element(Zone::Who, &which, self.sizes.who);
        let mut head = self.head(drink);
        if let Some(band) = head.iter_mut().find(|one| one.zone == Zone::Allergy)
            && of != Head::Usual
        {
            band.em = self.sizes.change;
            if let (Head::Once, 2.., Some(see)) = (of, part, &self.shaped.see_allergy) {
                band.run = Rc::clone(see);
            }
        }
        for element in head.iter().chain([&which]) {
            if !flow.whole(element, usize::MAX)? {
                return Err(self.no_room(element.zone));
            }
        }
        Ok(flow)
    }

    /// The fault of a zone that does not fit; what stands in it may be a guest's.
    pub(super) fn no_room(&self, zone: Zone) -> Fault {
        let Label { width, height, .. } = self.label;
        Fault::NoRoom {
            text: format!("what stands in `{}`", zone.as_str()),
            width_mm: width / 1_000,
            height_mm: height / 1_000,
        }
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
