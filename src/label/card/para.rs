//! Texts that are tried at several sizes: each is shaped once.

use std::{cell::RefCell, collections::HashMap, rc::Rc};

use crate::label::{Face, Fault, Mark, Paint, Path, Run, Text, shape, wrapped};

/// Texts that were shaped, kept from one card to the next.
#[derive(Debug, Default)]
pub(super) struct Ruler(RefCell<HashMap<(Face, String), Rc<Run>>>);

thread_local! {
    static RULER: Ruler = Ruler::default();
}

/// Most texts that are kept; a card has some dozens.
const MOST: usize = 1_000;

/// Works with the texts that this thread has kept.
pub(super) fn with_ruler<T>(work: impl FnOnce(&Ruler) -> T) -> T {
    RULER.with(|ruler| {
        if ruler.0.borrow().len() > MOST {
            ruler.0.borrow_mut().clear();
        }
        work(ruler)
    })
}

impl Ruler {
    fn shaped(&self, face: Face, text: &str) -> Result<Rc<Run>, Fault> {
        let key = (face, text.to_owned());
        if let Some(run) = self.0.borrow().get(&key) {
            return Ok(Rc::clone(run));
        }
        let run = Rc::new(shape(face, text)?);
        self.0.borrow_mut().insert(key, Rc::clone(&run));
        Ok(run)
    }

    /// Width of a text on one line, in micrometres.
    pub(super) fn width(&self, face: Face, em: i64, text: &str) -> Result<i64, Fault> {
        Ok(self.shaped(face, text)?.width(em))
    }

    /// The lines of a text in a width, at the ends of words.
    ///
    /// * Errors: a character that the font lacks.
    pub(super) fn lines(
        &self,
        face: Face,
        em: i64,
        text: &str,
        width: i64,
    ) -> Result<Vec<String>, Fault> {
        let (runs, _) = wrapped(&*self.shaped(face, text)?, em, |_| width)?;
        Ok(runs.into_iter().map(|run| run.text).collect())
    }
}

/// A line of text at a place that is not shaped yet.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub(super) face: Face,
    pub(super) em: i64,
    /// Its left end.
    pub(super) x: i64,
    pub(super) baseline: i64,
    pub(super) text: String,
}

/// A part of a card, drawn from (0, 0) downwards.
#[derive(Clone, Debug, Default)]
pub(super) struct Piece {
    pub(super) shapes: Vec<(Path, Paint)>,
    pub(super) lines: Vec<Line>,
    pub(super) height: i64,
}

impl Piece {
    /// Adds a line of text.
    pub(super) fn line(&mut self, face: Face, em: i64, (x, baseline): (i64, i64), text: String) {
        self.lines.push(Line { face, em, x, baseline, text });
    }

    /// Its marks, moved to a place.
    ///
    /// * Errors: a character that the font lacks.
    pub(super) fn at(&self, (dx, dy): (i64, i64)) -> Result<Vec<Mark>, Fault> {
        let shape_at =
            |(path, paint): &(Path, Paint)| Mark::Shape(path.clone(), *paint).moved(dx, dy);
        let mut marks: Vec<Mark> = self.shapes.iter().map(shape_at).collect();
        for Line { face, em, x, baseline, text } in &self.lines {
            let run = shape(*face, text)?;
            marks.push(Mark::Text(Text { run, em: *em, x: x + dx, baseline: baseline + dy }));
        }
        Ok(marks)
    }
}

/// From one baseline to the next.
pub(super) fn line_step(face: Face, em: i64) -> i64 {
    (face.cap(em) + face.descent(em)) * 23 / 20 + face.cap(em) / 10
}
