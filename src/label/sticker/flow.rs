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
}

/// A line that has its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) zone: Zone,
    pub(super) text: Text,
    /// Where its room begins and ends from above.
    pub(super) top: i64,
    pub(super) bottom: i64,
    /// Whether it begins an element.
    pub(super) first: bool,
}

/// The room of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Room {
    pub(super) width: i64,
    pub(super) height: i64,
    pub(super) margin: i64,
    /// Left and upper edge of the code's place, which reaches to the corner.
    pub(super) code: Option<(i64, i64)>,
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
        let Element { zone, run, em } = element;
        let face = run.face;
        let framed = if *zone == Zone::Allergy { FRAME + INSIDE } else { 0 };
        self.y += self.gap(element) + framed;
        let (margin, step) = (self.room.margin, face.cap(*em) + face.descent(*em) + em / 8);
        let from = self.y;
        let width = |line: usize| {
            let top = from + step * i64::try_from(line).unwrap_or_default();
            self.right(top + step) - margin - 2 * framed
        };
        let runs = wrapped(run, *em, width)?;
        if runs.len() > most {
            return Ok(Placed::Not);
        }
        let limit = self.room.height - margin - framed;
        let mut rest = Vec::new();
        for (at, run) in runs.into_iter().enumerate() {
            let ascent = face.cap(*em).max(run.top(*em));
            let depth = if has_tails(&run) {
                face.descent(*em).max(run.depth(*em))
            } else {
                run.depth(*em)
            };
            let bottom = self.y + ascent + depth;
            let beside = margin + framed + run.width(*em) > self.right(bottom) - framed;
            if bottom > limit || beside || !rest.is_empty() {
                rest.push(run.text);
                continue;
            }
            let x = if run.leftwards {
                self.right(bottom) - framed - run.width(*em)
            } else {
                margin + framed
            };
            let text = Text { run, em: *em, x, baseline: self.y + ascent };
            let (top, zone) = (self.y, *zone);
            self.rows.push(Row { zone, text, top, bottom, first: at == 0 });
            self.y = bottom + em / 8;
        }
        self.y += framed;
        if rest.is_empty() {
            return Ok(Placed::Whole);
        }
        let set = self.rows.iter().rev().take_while(|row| row.zone == *zone && !row.first).count();
        let begun = self.rows.get(self.rows.len().wrapping_sub(set + 1));
        let begun = begun.is_some_and(|row| row.zone == *zone && row.top >= from);
        if begun {
            let run = Rc::new(shape(face, &rest.join(" "))?);
            Ok(Placed::Rest(Element { run, ..element.clone() }))
        } else {
            Ok(Placed::Not)
        }
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

/// Whether letters of a line reach under it: in capitals none do.
fn has_tails(run: &Run) -> bool {
    run.text.chars().any(char::is_lowercase)
}
