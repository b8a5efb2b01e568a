//! Lines set one under the other, beside a code where there is one.

use std::rc::Rc;

use super::content::Zone;
use crate::label::{Fault, Run, Text, shape, wrapped};

/// Something to be said, in one size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Element {
    pub(super) zone: Zone,
    pub(super) run: Rc<Run>,
    pub(super) em: i64,
    /// Whether it stands at the end of the line above, where there is room.
    pub(super) beside: bool,
}

/// A line that has its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) zone: Zone,
    pub(super) text: Text,
    /// Where its room begins and ends from above.
    pub(super) top: i64,
    pub(super) bottom: i64,
}

/// The room of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Room {
    pub(super) width: i64,
    pub(super) height: i64,
    pub(super) margin: i64,
    /// Left and upper edge of the code's place, which reaches to the corner.
    pub(super) code: Option<(i64, i64)>,
    /// Whether a word that is wider than the room may go on in the next line.
    pub(super) may_break: bool,
}

/// Lines, and how far down they reach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Flow {
    pub(super) room: Room,
    pub(super) rows: Vec<Row>,
    y: i64,
}

/// What became of an element.
pub(super) enum Placed {
    /// It stands whole.
    Whole,
    /// None of it has room here.
    Not,
    /// This much of it has none.
    Rest(Element),
}

/// Thickness of the frame round allergies, in micrometres.
pub(super) const FRAME: i64 = 600;

/// White between two texts of one line.
const BESIDE: i64 = 2_500;

/// White between that frame and its words.
const INSIDE: i64 = 700;

impl Flow {
    pub(super) fn new(room: Room) -> Self {
        Self { room, rows: Vec::new(), y: room.margin }
    }

    /// Leaves white.
    pub(super) fn skip(&mut self, um: i64) {
        self.y += um;
    }

    /// Sets an element if all of it has room.
    ///
    /// * `most`: most lines that it may take.
    pub(super) fn whole(&mut self, element: &Element, most: usize) -> Result<bool, Fault> {
        let before = self.clone();
        if matches!(self.set(element, most)?, Placed::Whole) {
            return Ok(true);
        }
        *self = before;
        Ok(false)
    }

    /// Sets as many lines of an element as have room.
    pub(super) fn set(&mut self, element: &Element, most: usize) -> Result<Placed, Fault> {
        let Element { zone, run, em, beside } = element;
        if *beside && let Some(row) = self.at_the_end(element) {
            self.rows.push(row);
            return Ok(Placed::Whole);
        }
        let face = run.face;
        let framed = if *zone == Zone::Allergy { FRAME + INSIDE } else { 0 };
        self.y += self.gap(element) + framed;
        let (margin, step) = (self.room.margin, face.cap(*em) + face.descent(*em) + em / 8);
        let from = self.y;
        let width = |line: usize| {
            let top = from + step * i64::try_from(line).unwrap_or_default();
            self.right(top + step) - margin - 2 * framed
        };
        let (runs, broken) = wrapped(run, *em, width)?;
        if runs.len() > most || (broken && !self.room.may_break) {
            return Ok(Placed::Not);
        }
        let limit = self.room.height - margin - framed;
        let mut read = 0;
        for (at, run) in runs.into_iter().enumerate() {
            let ascent = face.cap(*em).max(run.top(*em));
            let depth = if has_tails(&run) {
                face.descent(*em).max(run.depth(*em))
            } else {
                run.depth(*em)
            };
            let bottom = self.y + ascent + depth;
            let reaches_code = margin + framed + run.width(*em) > self.right(bottom) - framed;
            if bottom > limit || reaches_code {
                return if at == 0 { Ok(Placed::Not) } else { element.rest(read) };
            }
            let found = element.run.text.get(read..).and_then(|rest| rest.find(&run.text));
            read += found.unwrap_or_default() + run.text.len();
            let x = if run.leftwards {
                self.right(bottom) - framed - run.width(*em)
            } else {
                margin + framed
            };
            let text = Text { run, em: *em, x, baseline: self.y + ascent };
            let (top, zone) = (self.y, *zone);
            self.rows.push(Row { zone, text, top, bottom });
            self.y = bottom + em / 8;
        }
        self.y += framed;
        Ok(Placed::Whole)
    }

    /// The element at the right end of the line above, if that has room for it.
    fn at_the_end(&self, element: &Element) -> Option<Row> {
        let Element { zone, run, em, .. } = element;
        let Row { text, top, bottom, .. } = self.rows.last()?;
        let x = self.right(*bottom) - run.width(*em);
        let end = text.x + text.run.width(text.em);
        let has_room = x >= end + BESIDE && !run.leftwards && !text.run.leftwards;
        let (em, baseline) = (*em, text.baseline);
        let text = Text { run: Run::clone(run), em, x, baseline };
        has_room.then_some(Row { zone: *zone, text, top: *top, bottom: *bottom })
    }

    /// White before an element: more where another zone begins.
    fn gap(&self, element: &Element) -> i64 {
        match self.rows.last() {
            None => 0,
            Some(last) if last.zone == element.zone => element.em / 12,
            Some(_) => element.em / 5,
        }
    }

    /// How far to the right a line may reach that ends at `bottom`.
    fn right(&self, bottom: i64) -> i64 {
        let whole = self.room.width - self.room.margin;
        match self.room.code {
            Some((left, top)) if bottom > top => whole.min(left),
            _ => whole,
        }
    }
}

impl Element {
    /// What is left of it from a byte of its text on; of a list of allergens with what the list is of.
    fn rest(&self, from: usize) -> Result<Placed, Fault> {
        let text = &self.run.text;
        let rest = text.get(from..).unwrap_or_default().trim_start_matches([' ', '·']);
        let lead = text.split_once(": ").map(|(lead, _)| lead);
        let rest = match lead.filter(|lead| self.zone == Zone::Allergens && from > lead.len()) {
            Some(lead) => format!("{lead}: … {rest}"),
            None => rest.to_owned(),
        };
        let run = Rc::new(shape(self.run.face, &rest)?);
        Ok(Placed::Rest(Self { run, ..self.clone() }))
    }
}

/// Whether letters of a line reach under it: in capitals none do.
fn has_tails(run: &Run) -> bool {
    run.text.chars().any(char::is_lowercase)
}
